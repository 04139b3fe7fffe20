"""Corridors, axes, terminals and pins: sound, in one piece, in their place."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from shapely import MultiLineString, MultiPolygon, Polygon

from tests.inputs.site import area, at, line, point

if TYPE_CHECKING:
    from tests.inputs.site import Site


def test_missing_layer_corridor_names_the_layers_there_are(site: Site) -> None:
    site.gpkg.unlink()
    site.layer("corridors", [area(0, 0, 1000, 200)], corridor_id=["A"])
    problem = site.problem()
    assert problem.layer == "corridor"
    assert "it has: corridors" in problem.remedy


def test_corridor_without_features(site: Site) -> None:
    site.layer("corridor", [], corridor_id=[])
    assert "no features" in site.problem().problem


def test_missing_layer_crossings(site: Site) -> None:
    site.gpkg.unlink()
    site.layer("corridor", [area(0, 0, 1000, 200)], corridor_id=["A"])
    problem = site.problem()
    assert (problem.layer, "may be empty" in problem.remedy) == ("crossings", True)


def test_self_crossing_corridor_is_never_repaired(site: Site) -> None:
    twisted = Polygon([at(0, 0), at(1000, 200), at(1000, 0), at(0, 200)])
    site.layer("corridor", [twisted], corridor_id=["A"])
    problem = site.problem()
    assert (problem.layer, problem.feature) == ("corridor", "corridor/1")
    # The two diagonals meet in the middle.
    assert "Self-intersection" in problem.problem
    assert "400500 5900100" in problem.problem


@pytest.mark.parametrize(
    "shapes",
    [
        pytest.param([MultiPolygon([area(0, 0, 400, 200), area(430, 0, 1000, 200)])], id="one-feature"),
        pytest.param([area(0, 0, 400, 200), area(430, 0, 1000, 200)], id="two-features-of-one-id"),
    ],
)
def test_disconnected_corridor_says_where_the_gap_is(site: Site, shapes: list[object]) -> None:
    site.layer("corridor", shapes, corridor_id=["A"] * len(shapes))
    problem = site.problem()
    assert problem.feature == "A"
    assert "in 2 pieces; the widest gap is 30.0 m, at x 400400 m" in problem.problem


def test_pieces_that_touch_are_one_corridor(site: Site) -> None:
    site.layer("corridor", [area(0, 0, 400, 200), area(400, 0, 1000, 200)], corridor_id=["A", "A"])
    outline = site.read().outline
    assert outline is not None
    assert outline.area == pytest.approx(1000 * 200)


def test_corridor_without_id_has_the_default_one(site: Site) -> None:
    site.layer("corridor", [area(0, 0, 1000, 200)])
    assert site.read().corridor_id == "corridor"


def test_several_corridors_need_ids(site: Site) -> None:
    site.layer("corridor", [area(0, 0, 400, 200), area(500, 0, 1000, 200)], corridor_id=["A", None])
    problem = site.problem()
    assert (problem.feature, "no id" in problem.problem) == ("corridor/2", True)


def test_several_corridors_are_read_each_with_its_surroundings(site: Site) -> None:
    # More than twice the works margin of 200 m apart, so that nothing is near both.
    site.layer("corridor", [area(0, 0, 100, 200), area(900, 0, 1000, 200)], corridor_id=["B", "A"])
    site.layer("crossings", [line((50, 0), (50, 200)), line((950, 0), (950, 200))], kind=["road", "track"])
    site.layer(
        "terminals",
        [point(0, 100), point(100, 100), point(900, 100), point(1000, 100)],
        role=["start", "end", "start", "end"],
        corridor_id=["B", "B", "A", "A"],
    )
    first, second = site.read_all()
    assert (first.corridor_id, second.corridor_id) == ("B", "A")
    assert first.crossings["kind"].tolist() == ["road"]
    assert second.crossings["kind"].tolist() == ["track"]
    assert first.end == point(100, 100)
    assert second.start == point(900, 100)


def test_terminals_of_several_corridors_must_say_whose_they_are(site: Site) -> None:
    site.layer("corridor", [area(0, 0, 400, 200), area(500, 0, 1000, 200)], corridor_id=["A", "B"])
    site.layer("terminals", [point(0, 100), point(400, 100)], role=["start", "end"], corridor_id=[None, "C"])
    found = {(problem.feature, problem.value) for problem in site.problems()}
    assert found == {("terminals/1", None), ("terminals/2", "C")}


def test_fixed_alignment(site: Site) -> None:
    site.layer("corridor", [line((0, 100), (500, 120), (1000, 100))], corridor_id=["A"])
    result = site.read()
    assert result.outline is None
    assert result.fixed_line == line((0, 100), (500, 120), (1000, 100))


def test_fixed_alignment_in_pieces_is_joined_in_the_direction_of_the_first(site: Site) -> None:
    pieces = [line((0, 100), (500, 100)), line((1000, 100), (500, 100))]
    site.layer("corridor", pieces, corridor_id=["A", "A"])
    joined = site.read().fixed_line
    assert joined is not None
    assert list(joined.coords) == [at(0, 100), at(500, 100), at(1000, 100)]


@pytest.mark.parametrize(
    ("shape", "part"),
    [
        pytest.param(
            line((0, 0), (1000, 200), (1000, 0), (0, 200)), "crosses or meets itself", id="crossing"
        ),
        pytest.param(line((0, 0), (900, 0), (900, 90), (0, 0)), "crosses or meets itself", id="closed"),
        pytest.param(
            MultiLineString([line((0, 100), (400, 100)), line((450, 100), (1000, 100))]),
            "widest gap is 50.0 m",
            id="in-pieces",
        ),
    ],
)
def test_unsound_fixed_alignment(site: Site, shape: object, part: str) -> None:
    site.layer("corridor", [shape], corridor_id=["A"])
    assert part in site.problem().problem


def test_corridor_of_areas_and_lines(site: Site) -> None:
    site.layer("corridor", [area(0, 0, 400, 200), line((400, 100), (1000, 100))], corridor_id=["A", "A"])
    assert "mixes areas and lines" in site.problem().problem


def test_corridor_too_small_to_be_in_metres(site: Site) -> None:
    site.layer("corridor", [area(0, 0, 1.0, 0.2)], corridor_id=["A"])
    assert "The corridor is 1" in site.problem().problem


@pytest.mark.parametrize("bad", ["A;B", "A/B", "A|B"])
def test_ids_with_signs_that_results_use_themselves(site: Site, bad: str) -> None:
    site.layer("corridor", [area(0, 0, 1000, 200)], corridor_id=[bad])
    assert "characters" in site.problem().problem


def test_terminal_outside_says_how_far(site: Site) -> None:
    site.layer("terminals", [point(-30, 100), point(995, 100)], role=["start", "end"])
    problem = site.problem()
    assert (problem.layer, problem.feature) == ("terminals", "terminals/1")
    assert "30.0 m outside the corridor A" in problem.problem


def test_terminals_on_the_very_edge_are_inside(site: Site) -> None:
    site.layer("terminals", [point(0, 100), point(1000, 100)], role=["start", "end"])
    assert site.read().end == point(1000, 100)


@pytest.mark.parametrize(
    ("roles", "wrong"),
    [
        pytest.param(["start", "start"], {"start", "end"}, id="two-starts-and-no-end"),
        pytest.param(["start"], {"end"}, id="no-end"),
    ],
)
def test_roles_of_the_terminals(site: Site, roles: list[str], wrong: set[str]) -> None:
    site.layer("terminals", [point(10 * i, 100) for i in range(len(roles))], role=roles)
    assert {problem.value for problem in site.problems()} == wrong


def test_terminals_in_one_place(site: Site) -> None:
    site.layer("terminals", [point(5, 100), point(5, 100)], role=["start", "end"])
    assert "same place" in site.problem().problem


def test_terminal_away_from_a_fixed_alignment(site: Site) -> None:
    site.layer("corridor", [line((0, 100), (1000, 100))], corridor_id=["A"])
    site.layer("terminals", [point(0, 104), point(1000, 106)], role=["start", "end"])
    # It may leave the line by 5 m.
    assert site.problem().feature == "terminals/2"


@pytest.mark.parametrize(
    ("shapes", "part"),
    [
        pytest.param([line((0, 100), (400, 100)), line((500, 100), (1000, 100))], "unbroken", id="broken"),
        pytest.param([line((0, 0), (900, 200), (900, 0), (0, 200))], "meets itself", id="crossing-itself"),
        pytest.param([line((0, 900), (1000, 900))], "lies outside", id="outside"),
    ],
)
def test_unsound_axis(site: Site, shapes: list[object], part: str) -> None:
    site.layer("axis", shapes)
    problem = site.problem()
    assert (problem.layer, part in problem.problem) == ("axis", True)


def test_axis_in_pieces_keeps_its_direction(site: Site) -> None:
    site.layer("axis", [line((1000, 100), (500, 90)), line((500, 90), (0, 100))])
    axis = site.read().axis
    assert axis is not None
    assert list(axis.coords) == [at(1000, 100), at(500, 90), at(0, 100)]


def test_pin_outside_the_corridor(site: Site) -> None:
    pins = [point(100, 230), point(200, 230), point(300, 1000)]
    site.layer("pins", pins, role=["shaft", "via", "no_shaft"], radius_m=[50.0, 10.0, 10.0])
    # The first reaches the corridor by its radius, and where no shaft may stand is no wish to be met.
    assert site.problem().feature == "pins/2"


def test_a_radius_below_nothing_says_nothing_of_the_place(site: Site) -> None:
    site.layer("pins", [point(100, 100)], role=["shaft"], radius_m=[-5.0])
    assert site.problem().column == "radius_m"


def test_unknown_roles_of_terminals_are_told_once(site: Site) -> None:
    site.layer("terminals", [point(5, 100), point(995, 100)], role=["Start", "Ende"])
    assert [(p.column, p.value) for p in site.problems()] == [("role", "Start"), ("role", "Ende")]
