"""Bad assumptions: each fault makes one problem that names the key, the value and what is allowed."""

from __future__ import annotations

import pytest

from routescreen.assumptions import load_assumptions
from routescreen.errors import AssumptionsError, Problem

FILE = "project.toml"


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(AssumptionsError) as caught:
        load_assumptions(text, file=FILE)
    return caught.value.problems


ONE_FAULT = [
    pytest.param("[link]\nn_systems = 0", "link.n_systems", "0", "not less than 1", id="count below one"),
    pytest.param("[link]\nn_systems = 2.5", "link.n_systems", "2.5", "a whole number", id="count in parts"),
    pytest.param("[link]\nn_systems = true", "link.n_systems", "True", "a whole number", id="count as truth"),
    pytest.param("[link]\ncurrent_A = '2'", "link.current_A", "'2'", "a number", id="number as text"),
    pytest.param("[link]\ncurrent_A = nan", "link.current_A", "nan", "finite", id="nan"),
    pytest.param("[link]\ncurrent_A = inf", "link.current_A", "inf", "finite", id="infinite"),
    pytest.param("[link]\ncurrent_kA = 2", "link.current_kA", "2", "current_A", id="unknown key"),
    pytest.param("[links]\nn_systems = 2", "links", "{'n_systems': 2}", "link, cable", id="unknown group"),
    pytest.param(
        "[soil.silt]\nresistivity_moist_Km_per_W = 0.9\n",
        "soil.silt",
        "gamma",
        "saturated <= moist <= dry",
        id="moist ground that leads heat better than saturated",
    ),
    pytest.param(
        "[soil.silt]\nresistivity_dry_Km_per_W = 1.05\n",
        "soil.silt",
        "gamma",
        "resistivity_moist_Km_per_W = 1.1, resistivity_dry_Km_per_W = 1.05",
        id="dry ground that leads heat better than moist",
    ),
    pytest.param("link = 3", "link", "3", "a table", id="group that is no table"),
    pytest.param(
        "[link]\nprofile = 'ac220'", "link.profile", "'ac220'", "dc525_return", id="unknown profile"
    ),
    pytest.param(
        "[grout]\nloss_frac = [0.3, 0.2, 0.4]", "grout.loss_frac", "[0.3, 0.2", "low <=", id="disorder"
    ),
    pytest.param(
        "[grout]\nloss_frac = [0.3, 0.4]", "grout.loss_frac", "[0.3, 0.4]", "high", id="two of three"
    ),
    pytest.param("[grout]\nloss_frac = [-1, 0, 1]", "grout.loss_frac", "-1", "without negative", id="sign"),
    pytest.param("[grout]\nloss_frac = true", "grout.loss_frac", "True", "low", id="range as truth"),
    pytest.param(
        "[soil.silt]\ntau_kPa = [0, 1, 2]", "soil.silt.tau_kPa", "0", "greater than 0", id="zero friction"
    ),
    pytest.param(
        "[rates]\nTR20 = [1, 'x', 3]", "rates.TR20.expected", "'x'", "a number", id="text in a range"
    ),
    pytest.param("[rates]\nTR20 = -5", "rates.TR20", "-5", "without negative", id="negative rate"),
    pytest.param("[rates]\nZZ99 = 5", "rates.ZZ99", "5", "known codes", id="rate of an unknown item"),
    pytest.param(
        "[treatments.road]\ntrench = 'maybe'",
        "treatments.road.trench",
        "'maybe'",
        "'consent'",
        id="unknown word",
    ),
    pytest.param(
        "[treatments.road]\nmin_angle_deg = 91",
        "treatments.road.min_angle_deg",
        "91",
        "90",
        id="angle too large",
    ),
    pytest.param(
        "[treatments.road]\ntrench_items = ['CR99']",
        "treatments.road.trench_items[0]",
        "'CR99'",
        "under [rates]",
        id="bill item without a rate",
    ),
    pytest.param(
        "[treatments.road]\ntrench_items = ['road']",
        "treatments.road.trench_items[0]",
        "'road'",
        "form",
        id="no bill item at all",
    ),
    pytest.param(
        "[treatments.sewer]\nservice_diameter_m = 0",
        "treatments.sewer",
        "{",
        "greater than 0",
        id="thin service",
    ),
    pytest.param(
        "[treatments.lane]\nlike = 'trak'",
        "treatments.lane.like",
        "'trak'",
        "track",
        id="like something unknown",
    ),
    pytest.param(
        "[trench]\ntopsoil_width_frac = 1.2", "trench.topsoil_width_frac", "1.2", "1", id="share above one"
    ),
    pytest.param(
        "[trench]\nbedding_item = 'TR59'", "trench.bedding_item", "'TR59'", "[rates]", id="bedding item"
    ),
    pytest.param(
        "[trench]\nslice_factors = [1.0, 2.0]",
        "trench",
        "{",
        "equally long",
        id="slices without their factors",
    ),
    pytest.param(
        "[trench]\nslice_base_m = [1.75, 4.5, 3.0]", "trench", "{", "grow downwards", id="slices out of order"
    ),
    pytest.param(
        "[trench]\nslice_base_m = [1.75, 1.75, 3.0]", "trench", "{", "grow downwards", id="slice of no height"
    ),
    pytest.param(
        "[trench]\nslice_base_m = [0.0, 1.75, 3.0]",
        "trench.slice_base_m[0]",
        "0",
        "greater than 0",
        id="slice above the ground",
    ),
    pytest.param(
        "[shaft]\ndepth_step_m = 0", "shaft.depth_step_m", "0", "greater than 0", id="no depth step"
    ),
    pytest.param("[cable]\nouter_diameter_mm = 120", "cable", "{", "grow outwards", id="insulation outside"),
    pytest.param("[cable]\nramp_radius_m = 3.4", "cable", "{", "bend_radius_pulled_m", id="ramp too tight"),
    pytest.param("[grout]\nvent = 'crown'", "grout.vent", "'crown'", "ground", id="unknown vent"),
    pytest.param("[cable]\ndrum_empty_t = 50", "cable", "{", "drum_gross_t", id="drum heavier than its load"),
    pytest.param(
        "[pipe.jacking_string]\nwall_mm = 250",
        "pipe.jacking_string",
        "{",
        "radius",
        id="wall as thick as the pipe",
    ),
    pytest.param(
        "[pipe.jacking_string]\nouter_diameter_m = 0.4",
        "methods.two_pass.driven_outer_diameter_m",
        "0.5",
        "0.4 m, the string's",
        id="string of another diameter than the drive",
    ),
    pytest.param(
        "[pipe]\ntrench_outer_diameter_m = 0.3",
        "pipe.trench_outer_diameter_m",
        "0.3",
        "0.28",
        id="pipe not listed",
    ),
    pytest.param(
        "[cable]\nouter_diameter_mm = 160",
        "pipe.trench_outer_diameter_m",
        "0.28",
        "0.240",
        id="cable too thick",
    ),
    pytest.param(
        "[methods.two_pass]\nleast_length_m = 2000",
        "methods.two_pass",
        "{",
        "longest_m",
        id="least above longest",
    ),
    pytest.param(
        "[methods.two_pass]\narc_radius_m = 599",
        "methods.two_pass",
        "{",
        "least_radius_m",
        id="arc too tight",
    ),
    pytest.param(
        "[methods.guided_thrust]\narc_radius_m = 2000",
        "methods.guided_thrust",
        "{",
        "least_radius_m",
        id="arc without a least radius",
    ),
    pytest.param(
        "[methods.hdd]\narc_radius_m = 2000",
        "methods.hdd",
        "{",
        "shaft_to_shaft",
        id="arc from pit to pit",
    ),
    pytest.param(
        "[methods.two_pass]\ngeometry_kind = 'arc'",
        "methods.two_pass.geometry_kind",
        "'arc'",
        "shaft",
        id="kind",
    ),
    pytest.param(
        "[methods.hdd]\ngeometry_kind = 'shaft_to_shaft'",
        "methods.hdd",
        "{",
        "surface_to",
        id="angles of no use",
    ),
    pytest.param(
        "[methods.two_pass.drivability]\nlava = { grade = 'no' }",
        "methods.two_pass.drivability",
        "'lava'",
        "sand_dense",
        id="drivability of an unknown soil",
    ),
    pytest.param(
        "[soil.silt]\nspoil_clean_frac = 0.5", "soil.silt", "{", "add up to 1", id="shares that do not add up"
    ),
    pytest.param(
        "[frame]\ndefault_soil = 'mud'", "frame.default_soil", "'mud'", "sand_dense", id="default soil"
    ),
    pytest.param(
        "[frame]\ncover_code_list = 'x'", "frame.cover_code_list", "'x'", "esa, clc", id="code list"
    ),
    pytest.param(
        "[cover_codes.esa]\n10 = 'jungle'",
        "cover_codes.esa.10",
        "'jungle'",
        "forest",
        id="code to an unknown class",
    ),
    pytest.param(
        "[cover_codes.esa]\nx = 'forest'", "cover_codes.esa.x", "'x'", "whole number", id="code as word"
    ),
    pytest.param(
        "[[osm.own_kinds]]\nkey = 'k'\nvalues = ['v']\ngeometry = ['line']\nkind = 'ford'",
        "osm.own_kinds[0].kind",
        "'ford'",
        "motorway",
        id="tag to an unknown kind",
    ),
    pytest.param(
        "[methods.two_pass]\nis_enabled = false\n[methods.guided_thrust]\nis_enabled = false\n"
        "[methods.enterable]\nis_enabled = false",
        "methods",
        "two_pass",
        "at least one",
        id="no method left",
    ),
]


@pytest.mark.parametrize(("text", "key", "value", "allowed"), ONE_FAULT)
def test_one_fault_one_problem(text: str, key: str, value: str, allowed: str) -> None:
    found = problems_of(text)
    assert [problem.column for problem in found if problem.column == key] == [key]
    problem = next(problem for problem in found if problem.column == key)
    assert problem.file == FILE
    assert problem.value is not None
    assert value in problem.value
    assert "allowed: " in problem.problem
    assert allowed in problem.problem.partition("allowed: ")[2]
    assert problem.remedy


@pytest.mark.parametrize("written", ["5", "12.5", "[1.0, 2.0, 4.0]", "[3, 3, 3]"])
def test_an_unknown_rate_is_told_as_it_was_written(written: str) -> None:
    (problem,) = problems_of(f"[rates]\nZZ99 = {written}")
    assert problem.value == written


@pytest.mark.parametrize(("text", "key", "value", "allowed"), ONE_FAULT)
def test_a_fault_brings_no_others_along(text: str, key: str, value: str, allowed: str) -> None:
    followers = {problem.column for problem in problems_of(text)} - {key}
    if key == "pipe.trench_outer_diameter_m" and value == "0.28":
        # a thicker cable is too thick for every narrow pipe, and the list names each
        assert followers == {
            "methods.guided_thrust.pipe_outer_diameter_m",
            "methods.enterable.pipe_outer_diameter_m",
        }
    else:
        assert followers == set()


def test_more_systems_than_strip_widths_names_each_strip() -> None:
    found = problems_of("[link]\nn_systems = 3")
    assert [problem.column for problem in found] == [
        "trench.working_strip_by_n_systems_m",
        "trench.protective_strip_by_n_systems_m",
        "trench.narrow_strip_by_n_systems_m",
    ]


def test_all_problems_come_together_structure_and_sense() -> None:
    found = problems_of(
        "[link]\ncurrent_A = -1\nbogus = 1\n[rates]\nTR20 = [3, 2, 1]\n[frame]\ndefault_soil = 'mud'\n"
        "[soil.loess]\nlike = 'silt'\ng_MPa = nan\n[treatments.road]\ntrench_items = ['CR99']"
    )
    assert {problem.column for problem in found} == {
        "link.current_A",
        "link.bogus",
        "rates.TR20",
        "frame.default_soil",
        "soil.loess.g_MPa",
        "treatments.road.trench_items[0]",
    }
    assert len(found) == 6


def test_a_new_entry_without_its_keys_makes_one_problem() -> None:
    (problem,) = problems_of("[cover.tundra]\ntrench_allowed = true")
    assert problem.column == "cover.tundra"
    assert "shaft_allowed" in problem.problem
    assert "like" in problem.remedy


def test_a_soil_without_drivability_is_named_for_each_method() -> None:
    soil = load_assumptions().soil["silt"].model_dump(exclude_none=True)
    soil["tau_kPa"] = [0.6, 1.2, 3.0]
    lines = [f"{key} = {_toml(value)}" for key, value in soil.items()]
    found = problems_of("[soil.loess]\n" + "\n".join(lines))
    assert [problem.column for problem in found] == [
        f"methods.{method}.drivability.loess" for method in load_assumptions().methods
    ]


def _toml(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else repr(value)


def test_a_near_miss_is_guessed_in_the_remedy() -> None:
    (problem,) = problems_of("[treatments.road]\nhalf_widht_m = 3")
    assert problem.remedy == "Did you mean half_width_m?"


@pytest.mark.parametrize(
    ("text", "column", "remedy"),
    [
        pytest.param('default_soil = "silt"', "default_soil", "[frame]", id="at the top"),
        pytest.param(
            "[trench]\nMO10 = [1.0, 2.0, 3.0]", "trench.MO10", "[rates]", id="rate in another table"
        ),
        pytest.param("[report]\nrates = 3", "report.rates", "the top of the file", id="table in a table"),
        pytest.param(
            '[frame]\nshaft_allowed = "yes"',
            "frame.shaft_allowed",
            "[treatments.NAME] or [cover.NAME]",
            id="of named entries, each table once",
        ),
        pytest.param(
            "[soil.silt]\ncost_factor = 1.2",
            "soil.silt.cost_factor",
            "[methods.NAME.drivability.NAME]",
            id="of entries in entries",
        ),
    ],
)
def test_a_key_of_another_table_is_sent_there(text: str, column: str, remedy: str) -> None:
    (problem,) = problems_of(text)
    assert problem.column == column
    assert problem.remedy == f"It belongs to {remedy}: write it there."


def test_broken_toml_names_the_line() -> None:
    (problem,) = problems_of("[link]\nn_systems = = 2")
    assert problem.file == FILE
    assert "line 2" in problem.problem


def test_no_text_and_empty_text_are_the_defaults() -> None:
    assert load_assumptions() == load_assumptions("") == load_assumptions("# only a remark\n")


@pytest.mark.parametrize(
    ("text", "column", "meant"),
    [
        pytest.param("[cover.forrest]\ntrench_allowed = true\n", "cover.forrest", "forest", id="cover"),
        pytest.param(
            "[treatments.railwya]\ntrench = 'no'\n", "treatments.railwya", "railway", id="treatment"
        ),
    ],
)
def test_a_misspelt_entry_asks_for_the_known_name(text: str, column: str, meant: str) -> None:
    with pytest.raises(AssumptionsError) as caught:
        load_assumptions(text)
    problem = next(p for p in caught.value.problems if p.column == column)
    assert f"perhaps {meant}?" in problem.problem
    assert f"Write {meant}" in problem.remedy
    assert "permanent_land_eur_per_m2" not in str(problem)  # no list of keys to wade through


def test_a_new_entry_unlike_any_other_lists_the_keys_it_lacks() -> None:
    with pytest.raises(AssumptionsError) as caught:
        load_assumptions("[cover.quarry]\ntrench_allowed = true\n")
    (problem,) = caught.value.problems
    assert "shaft_allowed" in problem.problem
    assert "erhaps" not in str(problem)
