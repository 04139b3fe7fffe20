"""Compounds and layout strips on a hand-made plan: one two-pass drive along x from 520 to 800."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
import shapely.affinity
from shapely import Polygon, box

from routescreen.assumptions import load_assumptions
from routescreen.audit import audit_plan
from routescreen.corridor.compounds import compound_outlines, refused_ground
from routescreen.corridor.ground import GroundSampler
from routescreen.corridor.treatment import resolve_crossings
from routescreen.screening_tables import audit_checks
from routescreen.sites import SitePlan, place_sites
from tests.audit.place import STRAIGHT, Run, correct_plan, crossing, place, plan, with_cover, with_pin

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.plan import Plan
    from routescreen.project import CorridorInput

ASSUMPTIONS = load_assumptions()
BUILT_UP = list(ASSUMPTIONS.cover).index("built_up")
# Launch shaft 8 x 21 m, reception shaft 5 x 21 m; compounds 40 x 75 m and 30 x 50 m. [practice]
LAUNCH = box(516.0, -10.5, 524.0, 10.5)
RECEPTION = box(797.5, -10.5, 802.5, 10.5)


def sites(inp: CorridorInput, drawn: Plan | None = None, axes: NDArray[np.float64] | None = None) -> SitePlan:
    return place_sites(
        drawn or correct_plan(),
        resolve_crossings(inp.crossings, ASSUMPTIONS),
        ASSUMPTIONS,
        sampler=GroundSampler(inp, ASSUMPTIONS),
        outline=inp.outline,
        refused=refused_ground(inp.pins),
        axes=axes,
    )


def test_compounds_touch_their_shafts_and_have_the_size_of_their_role() -> None:
    launch, reception = sites(place()).compounds
    assert launch.area == pytest.approx(40.0 * 75.0)
    assert reception.area == pytest.approx(30.0 * 50.0)
    for compound, shaft in ((launch, LAUNCH), (reception, RECEPTION)):
        assert compound.distance(shaft) == pytest.approx(0.0, abs=1e-6)
        assert compound.intersection(shaft).area == pytest.approx(0.0, abs=1e-6)


def test_compounds_lie_off_bores_and_strings_and_where_they_can_away_from_the_drive() -> None:
    found = sites(place())
    launch, reception = found.compounds
    assert launch.bounds[2] <= 520.0 + 1e-6
    # bores: 4 at 6 m, 0.56 m wide; strings: 4 at 6 m, strips of 6 m; working strip 55 m [practice]
    bores, strings = box(520.0, -9.28, 800.0, 9.28), box(802.5, -12.0, 1102.5, 12.0)
    assert launch.intersection(bores).area == 0.0
    # the strings are 1.5 m wider than the shaft on each side: behind it no compound can touch it and be clear
    assert reception.intersection(strings).area == pytest.approx(0.0, abs=1e-6)
    assert reception.intersection(bores).area == pytest.approx(0.0, abs=1e-6)
    assert found.warnings == ()
    assert found.conflicts == ()


def test_strip_lies_behind_the_reception_as_long_as_the_drive_and_20_m() -> None:
    ((drive, strip),) = sites(place()).strips
    assert drive == 0
    assert strip.bounds == pytest.approx((802.5, -12.0, 802.5 + 280.0 + 20.0, 12.0))


def test_a_drive_launched_at_its_upper_end_lays_its_string_before_its_lower_end() -> None:
    drawn = plan(STRAIGHT, Run(1, is_launched_at_lower=False))
    ((_, strip),) = sites(place(), drawn).strips
    assert strip.bounds == pytest.approx((517.5 - 300.0, -12.0, 517.5, 12.0))


WEST = box(400.0, -150.0, 515.0, 150.0)
NORTH = box(400.0, 0.0, 524.0, 200.0)


@pytest.mark.parametrize(
    ("inp", "closed"),
    [
        pytest.param(place(crossing("wetland", NORTH)), NORTH, id="feature without shafts north of it"),
        pytest.param(with_cover(place(), NORTH, BUILT_UP), NORTH, id="built-up ground north of it"),
        pytest.param(
            with_pin(place(), "no_shaft", 500.0, 60.0, 45.0),
            shapely.Point(500.0, 60.0).buffer(45.0),
            id="no shaft wanted north of it",
        ),
        pytest.param(place(crossing("wetland", WEST)), WEST, id="feature behind it: then ahead"),
    ],
)
def test_launch_compound_keeps_off_what_bears_none(inp: CorridorInput, closed: Polygon) -> None:
    compound = sites(inp).compounds[0]
    assert compound.intersection(closed).area == pytest.approx(0.0, abs=1e-6)
    assert compound.intersection(LAUNCH).area == pytest.approx(0.0, abs=1e-6)


def test_compounds_of_neighbouring_shafts_do_not_overlap() -> None:
    drawn = plan(
        [(0.0, 0.0), (400.0, 0.0), (520.0, 0.0), (580.0, 0.0), (700.0, 0.0), (1500.0, 0.0)],
        Run(1, is_launched_at_lower=True),
        Run(3, is_launched_at_lower=False),
    )
    compounds = sites(place(), drawn).compounds
    assert shapely.union_all(compounds).area == pytest.approx(sum(c.area for c in compounds))


def test_no_room_anywhere_is_named_by_the_shaft() -> None:
    inp = with_cover(place(), box(300.0, -300.0, 700.0, 300.0), BUILT_UP)
    found = sites(inp)
    warning = next(text for text in found.warnings if "compound" in text)
    assert "demo-H001" in warning
    assert "3000 m2 on ground cover built-up" in warning
    (conflict,) = (c for c in found.conflicts if c.element == "shaft")
    assert (conflict.index, conflict.text) == (0, warning)
    assert (conflict.overlap_m2, conflict.site_m2) == pytest.approx((3000.0, 3000.0))


def test_land_in_conflict_stands_among_the_checks_and_is_amber() -> None:
    inp = with_cover(place(), box(300.0, -300.0, 700.0, 300.0), BUILT_UP)
    conflicts = sites(inp).conflicts
    checks = audit_checks(audit_plan(correct_plan(), inp, ASSUMPTIONS), conflicts)
    rows = checks[checks["check"] == "site_land"]
    assert rows["status"].tolist() == ["amber"] * len(conflicts)
    row = rows[rows["element"] == "shaft"].iloc[0]
    assert (row["element_index"], row["demand"], row["capacity"], row["unit"]) == (
        0,
        pytest.approx(3000.0),
        0.0,
        "m2",
    )


def test_a_shaft_hemmed_in_on_its_axes_gets_a_turned_compound() -> None:
    """Free land is a strip 76 m wide at 45 degrees: no place along or across the drive fits into it."""
    free = shapely.affinity.rotate(box(516.0 - 150.0, -38.0, 516.0 + 150.0, 38.0), 45.0, origin=(520.0, 0.0))
    hemmed = box(300.0, -300.0, 740.0, 300.0).difference(free)
    found = sites(place(crossing("wetland", hemmed)))
    compound = found.compounds[0]
    assert compound.intersection(hemmed).area == pytest.approx(0.0, abs=1e-6)
    assert compound.distance(LAUNCH) == pytest.approx(0.0, abs=1e-6)
    assert compound.area == pytest.approx(3000.0)


def test_a_compound_off_the_outermost_bore_and_the_next_shaft_of_a_bend() -> None:
    bend = [(0.0, 0.0), (520.0, 0.0), (800.0, 0.0), (1040.0, 140.0), (1500.0, 140.0)]
    drawn = plan(bend, Run(1, is_launched_at_lower=False), Run(2))
    found = sites(place(), drawn)
    for run in ((1, 2), (2, 3)):
        bores = shapely.LineString([bend[k] for k in run]).buffer(9.28 - 0.01, cap_style="flat")
        for compound in found.compounds:
            assert compound.intersection(bores).area < 0.5
    for _, strip in found.strips:
        for compound in found.compounds:
            assert compound.intersection(strip).area < 0.5


def only(free: Polygon, *shafts: Polygon) -> CorridorInput:
    """Return the place with wetland all round but for a free piece and the shafts."""
    open_land = shapely.union_all([free.buffer(0.01, join_style="mitre"), *shafts])
    return place(crossing("wetland", box(300.0, -300.0, 790.0, 300.0).difference(open_land)))


def test_a_place_that_only_the_axis_leads_to_is_found() -> None:
    """Where the axis runs 3 degrees off the drive, what lies 22.5 off the axis lies 25.5 off the drive."""
    axis = np.array([np.cos(np.radians(3.0)), np.sin(np.radians(3.0))])
    outlines = compound_outlines(np.array([520.0, 0.0]), axis, np.radians(3.0), (8.0, 21.0), (75.0, 40.0))
    free = next(o for o in outlines if o.bounds[2] < 525.0 and _turn_deg(o) == pytest.approx(25.5, abs=1e-6))
    axes = np.array([axis, axis])
    without, found = sites(only(free, LAUNCH)), sites(only(free, LAUNCH), axes=axes)
    assert any(c.element == "shaft" and c.index == 0 for c in without.conflicts)
    assert not any(c.element == "shaft" for c in found.conflicts)
    assert found.compounds[0].symmetric_difference(free).area < 1.0
    assert found.compounds[0].distance(LAUNCH) == pytest.approx(0.0, abs=1e-6)


def _turn_deg(outline: Polygon) -> float:
    """Return the bearing of an outline's first side against the x axis, in a right angle [deg]."""
    start, end = shapely.get_coordinates(outline)[:2]
    return float(np.degrees(np.arctan2(*(end - start)[::-1])) % 90.0)


def test_land_that_bears_no_compound_counts_before_what_the_plan_takes() -> None:
    """Free land is where the bores run, 41 m of them; all else is wetland: the compound stands over them."""
    free = box(524.0, -37.5, 564.0, 37.5)
    found = sites(only(free, LAUNCH))
    (conflict,) = (c for c in found.conflicts if (c.element, c.index) == ("shaft", 0))
    assert found.compounds[0].symmetric_difference(free).area < 1.0
    assert conflict.overlap_m2 == pytest.approx(40.0 * 18.56)  # 4 bores of 0.56 m, 6 m apart, 40 m of them
    assert "bores of drive demo-D001" in conflict.text


def test_a_shaft_of_two_drives_has_the_place_found_beside_the_plan_of_its_larger_compound() -> None:
    """Reception (5 x 21 m) and launch (8 x 21 m) at 520, the launch's drive 20 degrees off the other.

    The common plan is 8 x 21 m in line with the first drive; the launch's own lies in line with the second.
    """
    end = 520.0 + 300.0 * np.cos(np.radians(20.0)), 300.0 * np.sin(np.radians(20.0))
    drawn = plan([(0.0, 0.0), (220.0, 0.0), (520.0, 0.0), end, (1500.0, 0.0)], Run(1), Run(2))
    axis = np.array([1.0, 0.0])
    at = np.array([520.0, 0.0]), axis
    own = compound_outlines(*at, np.radians(-20.0), (8.0, 21.0), (75.0, 40.0))
    common = compound_outlines(*at, 0.0, (8.0, 21.0), (75.0, 40.0))
    free = own[0]
    assert free.symmetric_difference(common[0]).area > 100.0
    room = shapely.Point(520.0, 0.0).buffer(12.0)
    found = sites(only(free, room), drawn, np.array([axis] * 3))
    assert found.compounds[1].symmetric_difference(free).area < 1.0
    texts = [c.text for c in found.conflicts if (c.element, c.index) == ("shaft", 1)]
    assert not any("wetland" in text for text in texts)
