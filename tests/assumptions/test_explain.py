"""The commented file, the differences, the flat list for the run record."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import routescreen
from routescreen.assumptions import assumptions_text, flat_items, load_assumptions, only_different
from routescreen.assumptions.explain import (
    NAMES_NOT_USED_YET,
    NOT_USED_YET,
    USED_ALL_THE_SAME,
    is_used,
)
from routescreen.assumptions.loading import PROFILES


def test_the_full_text_loads_as_the_defaults() -> None:
    again = load_assumptions(assumptions_text())
    assert again == load_assumptions()
    assert list(flat_items(again).items()) == list(flat_items(load_assumptions()).items()), "same order too"


def test_the_defaults_differ_in_nothing() -> None:
    assert only_different(load_assumptions()) == []


def test_differences_name_key_default_and_value() -> None:
    a = load_assumptions(
        "[link]\nn_systems = 1\n[rates]\nTR20 = [1, 2, 3]\n[treatments.river]\nseasons = ['D']"
    )
    assert only_different(a) == [
        ("link.n_systems", 2, 1),
        ("treatments.river.seasons", ("Q", "D"), ("D",)),
        ("rates.TR20", (9.0, 12.0, 17.0), (1.0, 2.0, 3.0)),
    ]


def test_new_entries_differ_from_nothing() -> None:
    a = load_assumptions(
        "[[osm.own_cover]]\nkey = 'k'\nvalues = ['v']\ngeometry = ['polygon']\ncover = 'peat'"
    )
    assert ("osm.own_cover[0].cover", None, "peat") in only_different(a)


def test_flat_items_hold_plain_values_only() -> None:
    for key, value in flat_items(load_assumptions()).items():
        parts = value if isinstance(value, tuple) else (value,)
        assert all(isinstance(part, bool | int | float | str) for part in parts), key


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("link.n_systems", 2),
        ("pipe.sizes[3].outer_diameter_m", 0.5),
        ("soil.sand_dense.tau_kPa", (0.7, 1.4, 3.5)),
        ("methods.two_pass.drivability.silt.rate_m_per_day", (14.0, 25.0, 42.0)),
        ("treatments.river.water_depth_m", 2.5),
        ("cover_codes.esa.10", "forest"),
    ],
)
def test_flat_items_are_found_by_their_path(key: str, value: object) -> None:
    assert flat_items(load_assumptions())[key] == value


@pytest.mark.parametrize(
    ("profile", "n_cables", "n_pipes", "supply_item"),
    [("dc525", 4, 2, "CA10"), ("dc525_return", 6, 3, "CA10"), ("ac110", 3, 3, "CA20")],
)
def test_profiles_come_ready(profile: str, n_cables: int, n_pipes: int, supply_item: str) -> None:
    a = load_assumptions(f"[link]\nprofile = '{profile}'")
    assert (a.link.n_cables, a.n_pipes_per_trench, a.cable.supply_item) == (n_cables, n_pipes, supply_item)
    assert a.link.profile == profile
    assert profile in PROFILES


def test_a_project_wins_over_its_profile() -> None:
    a = load_assumptions("[link]\nprofile = 'ac110'\ncurrent_A = 800\n[trench]\npipe_spacing_m = 0.4")
    assert (a.link.current_A, a.trench.pipe_spacing_m) == (800.0, 0.4)
    assert a.trench.cover_to_pipe_m == 1.2, "from the profile"


def test_what_is_marked_as_not_used_yet_is_read_by_no_code_and_the_rest_of_its_groups_is() -> None:
    """Read from the sources: an attribute of the group, however the assumptions are called there."""
    root = Path(routescreen.__file__).parent
    code = "\n".join(path.read_text(encoding="utf-8") for path in sorted(root.rglob("*.py")))
    read = {f"{group}.{key}" for group, key in re.findall(r"\.(ranges|programme)\.(\w+)", code)}
    keys = [key for key in flat_items(load_assumptions()) if key.startswith(NOT_USED_YET)]
    assert len(keys) > len(USED_ALL_THE_SAME)
    of_groups = [key for key in keys if key.startswith(("ranges.", "programme."))]
    assert {".".join(key.split(".")[:2]) for key in of_groups if is_used(key)} == read
    assert all(any(key.startswith(used) for key in keys) for used in USED_ALL_THE_SAME)


def test_a_value_of_the_checks_is_used_where_code_outside_the_assumptions_names_it() -> None:
    root = Path(routescreen.__file__).parent
    # the formulae read no assumptions: their arguments only share names with them
    rooms = ("assumptions", "engineering")
    sources = [path for path in sorted(root.rglob("*.py")) if path.parent.name not in rooms]
    words = set(re.findall(r"\w+", "\n".join(path.read_text(encoding="utf-8") for path in sources)))
    keys = [key for key in flat_items(load_assumptions()) if key.startswith("checks.")]
    used, named = {k for k in keys if is_used(k)}, {k for k in keys if k.split(".")[-1] in words}
    assert used <= named
    assert named == used
    assert is_used("checks.thrust.restart_friction_factor")


# entries whose names are data: bill items, code lists, tags of map features
NAMES_ARE_DATA = ("rates.", "cover_codes.", "osm.")


def _attributes_read() -> set[str]:
    """Return every name that a module asks for as an attribute, but for the one that says what is unused."""
    sources = sorted(Path(routescreen.__file__).parent.rglob("*.py"))
    code = [path.read_text(encoding="utf-8") for path in sources if path.name != "explain.py"]
    return set(re.findall(r"\.([A-Za-z]\w*)", "\n".join(code)))


def test_what_no_module_asks_for_is_said_to_be_unused() -> None:
    """A name that two groups share can hide an unused value, and never blames a used one."""
    keys = [key for key in flat_items(load_assumptions()) if not key.startswith(NAMES_ARE_DATA)]
    read = _attributes_read()
    told = [key for key in keys if is_used(key) and key.rpartition(".")[2] not in read]
    assert len(keys) > 1500
    assert told == []


def test_what_is_said_to_be_unused_of_every_cable_method_cover_and_soil_is_asked_for_nowhere() -> None:
    names = {key.rpartition(".")[2] for key in flat_items(load_assumptions())}
    assert set(NAMES_NOT_USED_YET) <= names
    assert sorted(set(NAMES_NOT_USED_YET) & _attributes_read()) == []
