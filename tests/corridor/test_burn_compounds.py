"""Where a shaft has land for its compound: by hand, and against every place drawn one by one."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, box
from shapely.affinity import rotate

from routescreen.corridor.burn_compounds import (
    N_PARTS,
    CompoundNeed,
    compound_needs,
    compound_room,
    edge_grid,
)
from routescreen.corridor.compounds import (
    compound_outlines,
    compound_reach_m,
    contact,
    places,
)
from routescreen.corridor.frame import Frame, build_frame
from routescreen.corridor.stencil import N_BINS
from routescreen.drives.methods import enabled_methods, method_geometry
from routescreen.project import RasterGrid
from tests.corridor.cases import ASSUMPTIONS, burnt_case, crossing, straight

STEEPEST_RAD = math.radians(30.0)
BIN_RAD = 2.0 * STEEPEST_RAD / N_BINS
FRAME = build_frame(straight(), cell_m=10.0)
NODE = (20, 10)  # x = 200, y = 0; the axis runs along x, its right is -y
HERE = np.array([200.0, 0.0])
ALONG = np.array([1.0, 0.0])
PIT = CompoundNeed(plan_m=(2.0, 8.5), size_m=(20.0, 15.0))
LAUNCH = CompoundNeed(plan_m=(8.0, 21.0), size_m=(75.0, 40.0))
MIDDLE = N_BINS // 2
OPEN, CLOSED = True, False
LESS_M, MORE_M = 0.01, 0.001


def room(need: CompoundNeed, *land: shapely.Geometry, frame: Frame = FRAME) -> list[bool]:
    """Return whether a compound has room at the node, by heading bin, whatever else bars the shaft."""
    asked = np.zeros((1, 2, N_BINS, *frame.shape), dtype=np.bool_)
    asked[0, 0, :, *NODE] = True
    barred = np.array([*land, None], dtype=object)[:-1]
    found = compound_room(frame, [need, need], barred, asked, max_heading_rad=STEEPEST_RAD)
    assert not (found & ~asked).any()
    return [bool(is_free) for is_free in found[0, 0, :, *NODE]]


def around(hole: shapely.Polygon) -> shapely.Geometry:
    """Return barred land all round a hole."""
    return box(-200.0, -400.0, 600.0, 400.0).difference(hole)


def test_a_shaft_ends_where_its_corners_do() -> None:
    """A plan of 8 x 21 m: 4 m out ahead, over the whole width; 10.5 m to the side; 11.2 m at its corner."""
    ahead = contact((8.0, 21.0), 0.0, 0.0)
    assert ahead.reach_m == pytest.approx((4.0, 4.0))
    assert ahead.corner_m == pytest.approx((-10.5, 10.5))
    aside = contact((8.0, 21.0), math.pi / 2.0, math.pi / 2.0)
    assert aside.reach_m == pytest.approx((10.5, 10.5))
    assert aside.corner_m == pytest.approx((-4.0, 4.0))
    corner_rad = math.atan2(10.5, 4.0)
    corner = contact((8.0, 21.0), corner_rad, corner_rad)
    assert corner.reach_m == pytest.approx((math.hypot(4.0, 10.5),) * 2)
    assert corner.corner_m == pytest.approx((0.0, 0.0), abs=1e-12)
    over = contact((8.0, 21.0), corner_rad - 0.1, corner_rad + 0.1)
    assert over.reach_m[1] == pytest.approx(math.hypot(4.0, 10.5))
    turned = contact((8.0, 21.0), 0.0, math.radians(6.0))
    assert turned.reach_m[1] == pytest.approx(4.0 * math.cos(0.10472) + 10.5 * math.sin(0.10472), abs=1e-4)


def test_open_land_has_room_and_a_field_closer_than_the_compound_has_none() -> None:
    assert room(PIT) == [OPEN] * N_BINS
    assert room(PIT, around(box(188.0, -12.0, 212.0, 12.0))) == [CLOSED] * N_BINS
    assert room(LAUNCH, around(Point(*HERE).buffer(40.0))) == [CLOSED] * N_BINS


@pytest.mark.parametrize(
    "gate",
    [
        box(160.0, -60.0, 400.0, 60.0),
        box(0.0, -60.0, 240.0, 60.0),
        box(140.0, -15.0, 260.0, 200.0),
        box(140.0, -200.0, 260.0, 15.0),
    ],
    ids=["ahead", "behind", "left", "right"],
)
def test_one_open_side_is_enough(gate: shapely.Polygon) -> None:
    assert room(LAUNCH, around(box(180.0, -14.0, 220.0, 14.0))) == [CLOSED] * N_BINS
    assert room(LAUNCH, around(gate)) == [OPEN] * N_BINS


def test_the_last_centimetre() -> None:
    """A lane 20 m wide, closed 10 m behind the pit: only 15 m deep across the lane is there a place ahead.

    At headings up to 6 degrees the pit reaches cos 6 + 4.25 sin 6 = 1.439 m ahead, so the compound ends at
    16.439 m at the most.
    """
    end_m = math.cos(math.radians(6.0)) + 4.25 * math.sin(math.radians(6.0)) + 15.0
    for over_m, is_open in ((MORE_M, OPEN), (-LESS_M, CLOSED)):
        lane = box(190.0, -10.0 - MORE_M, 200.0 + end_m + over_m, 10.0 + MORE_M)
        assert room(PIT, around(lane))[MIDDLE] == is_open
    narrow = box(190.0, -10.0 + LESS_M, 200.0 + end_m + MORE_M, 10.0 - MORE_M)
    assert room(PIT, around(narrow))[MIDDLE] is CLOSED


@pytest.mark.parametrize(
    ("end_m", "expected"),
    [
        (16.40, [CLOSED, CLOSED, CLOSED, CLOSED, CLOSED]),
        (17.00, [CLOSED, CLOSED, OPEN, CLOSED, CLOSED]),
        (17.50, [CLOSED, OPEN, OPEN, OPEN, CLOSED]),
        (18.00, [OPEN, OPEN, OPEN, OPEN, OPEN]),
    ],
)
def test_the_steeper_the_drive_the_further_out_the_compound(end_m: float, expected: list[bool]) -> None:
    """cos p + 4.25 sin p is 1.439, 2.264 and 2.991 m at 6, 18 and 30 degrees, 15 m deep all of them."""
    assert room(PIT, around(box(190.0, -10.01, 200.0 + end_m, 10.01))) == expected


@pytest.mark.parametrize("side", [1, -1], ids=["right", "left"])
def test_a_lane_turned_to_one_side_suits_the_drives_that_turn_there(side: int) -> None:
    """The lane turned 30 degrees, 16.87 m long beyond the pit's middle: room at 18 to 30 degrees only.

    There the pit reaches cos 12 + 4.25 sin 12 = 1.862 m at the most, at 6 degrees cos 24 + 4.25 sin 24 =
    2.642 m; the compound is 15 m deep.
    """
    lane = rotate(box(190.0, -10.01, 216.87, 10.01), -30.0 * side, origin=tuple(HERE))  # to the right is -y
    expected = [CLOSED, CLOSED, CLOSED, CLOSED, OPEN]
    assert room(PIT, around(lane)) == expected[::side]


def test_a_compound_never_hides_inside_barred_land() -> None:
    """The pit stands in a clearing as large as itself in a field 600 m wide without an edge anywhere near."""
    field = box(-100.0, -300.0, 500.0, 300.0)
    assert room(PIT, field.difference(box(198.0, -5.0, 202.0, 5.0))) == [CLOSED] * N_BINS
    assert room(PIT, field) == [CLOSED] * N_BINS
    grid = edge_grid(np.array([field], dtype=object), (200.0, 0.0, 200.0, 0.0), 50.0, 15.0)
    assert len(grid.edge_m) > 0


NEEDS = [LAUNCH, PIT, CompoundNeed((8.0, 21.0), (12.0, 9.0))]
SPANS = st.tuples(*[st.floats(-140.0, 140.0).map(lambda metres: round(metres, 6))] * 2)
LANDS = st.lists(
    st.one_of(
        st.builds(lambda at, r: Point(at).buffer(r, quad_segs=2), SPANS, st.floats(0.5, 70.0)),
        st.builds(lambda a, b, r: shapely.LineString([a, b]).buffer(r), SPANS, SPANS, st.floats(0.1, 8.0)),
        st.builds(
            lambda at, w, h: box(at[0], at[1], at[0] + w, at[1] + h), SPANS, *[st.floats(1.0, 90.0)] * 2
        ),
        st.builds(
            lambda w, h, turn: box(-300, -300, 300, 300).difference(rotate(box(-w, -h, w, h), turn)),
            *[st.floats(6.0, 90.0)] * 2,
            st.floats(0.0, 90.0),
        ),
    ),
    min_size=1,
    max_size=8,
)


def touching(need: CompoundNeed, heading_rad: float) -> tuple[shapely.Polygon, list[shapely.Polygon]]:
    """Return the plan of a shaft in the origin and all places of its compound, the axis along x."""
    length_m, width_m = need.plan_m
    plan = box(-length_m / 2, -width_m / 2, length_m / 2, width_m / 2)
    plan = rotate(plan, -heading_rad, origin=(0, 0), use_radians=True)  # to the right is -y
    return plan, compound_outlines(np.zeros(2), ALONG, heading_rad, need.plan_m, need.size_m)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(NEEDS), st.floats(-STEEPEST_RAD, STEEPEST_RAD))
def test_every_place_is_a_compound_against_its_shaft(need: CompoundNeed, heading_rad: float) -> None:
    plan, outlines = touching(need, heading_rad)
    for outline in outlines:
        sides = np.hypot(*np.diff(shapely.get_coordinates(outline), axis=0).T)
        assert sorted(sides[:2]) == pytest.approx(sorted(need.size_m))
        assert outline.area == pytest.approx(need.size_m[0] * need.size_m[1])
        assert outline.distance(plan) < 1e-6
        assert outline.intersection(plan).area < 1e-6


@settings(max_examples=40, deadline=None)
@given(
    LANDS,
    st.sampled_from(NEEDS),
    st.floats(0.0, 2.0 * math.pi),
    st.integers(0, N_BINS - 1),
    st.floats(0.0, 1.0),
)
def test_open_means_a_clear_place_at_any_heading_and_closed_none_over_some_part_of_them(
    lands: list[shapely.Geometry], need: CompoundNeed, bearing_rad: float, heading_bin: int, share: float
) -> None:
    """Each place is drawn at headings of a part of the class; a box a little larger than all counts."""
    axis = np.array([math.cos(bearing_rad), math.sin(bearing_rad)])
    frame = replace(
        FRAME,
        node_xy_m=np.zeros_like(FRAME.node_xy_m),
        tangent=np.broadcast_to(axis, FRAME.tangent.shape),
    )
    turned = [rotate(land, bearing_rad, origin=(0, 0), use_radians=True) for land in lands]
    is_open = room(need, *turned, frame=frame)[heading_bin]
    barred = shapely.union_all(lands)
    low_rad = -STEEPEST_RAD + BIN_RAD * heading_bin
    if is_open:
        _, at_one = touching(need, low_rad + share * BIN_RAD)
        assert shapely.area(shapely.intersection(barred, np.array(at_one))).min() < 1e-3
        return
    is_clear = []
    for part in range(N_PARTS):
        headings = low_rad + BIN_RAD / N_PARTS * (part + np.linspace(0.0, 1.0, 4))
        drawn = np.array([touching(need, float(heading))[1] for heading in headings])
        is_clear.append((~shapely.intersects(barred, _boxes(need, drawn, grown_m=0.25))).any())
    assert not all(is_clear)


def _boxes(need: CompoundNeed, drawn: np.ndarray, grown_m: float) -> np.ndarray:
    """Return the rectangle round each place at all headings, square to the place's own sides."""
    boxes = []
    for place, outlines in zip(places(need.size_m), drawn.T, strict=True):
        out = np.array([math.cos(place.out_rad), -math.sin(place.out_rad)])
        axes = np.stack([out, [out[1], -out[0]]])
        level = shapely.get_coordinates(outlines) @ axes.T
        low, high = level.min(axis=0) - grown_m, level.max(axis=0) + grown_m
        corners = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
        boxes.append(shapely.Polygon(corners @ axes))
    return np.array(boxes)


def test_no_compound_reaches_further_than_is_looked() -> None:
    reach_m = compound_reach_m(ASSUMPTIONS)
    methods = [method_geometry(ASSUMPTIONS, name) for name in enabled_methods(ASSUMPTIONS)]
    farthest_m = max(
        np.hypot(*shapely.get_coordinates(outline).T).max()
        for need in compound_needs(methods, ASSUMPTIONS)
        for heading_rad in np.linspace(-STEEPEST_RAD, STEEPEST_RAD, 31)
        for outline in touching(need, heading_rad)[1]
    )
    assert 0.8 * reach_m < farthest_m <= reach_m


HOLED = box(-200.0, -300.0, 600.0, 300.0).difference(box(165.0, -25.0, 235.0, 25.0))


@pytest.mark.parametrize(
    ("land", "is_open"),
    [
        pytest.param({}, OPEN, id="nothing"),
        pytest.param({"crossings": [crossing("wetland", HOLED)]}, CLOSED, id="bears no shaft"),
        pytest.param({"crossings": [crossing("wetland", HOLED, shaft_allowed="yes")]}, OPEN, id="bears one"),
        pytest.param(
            {"crossings": [crossing("wetland", HOLED, shaft_allowed="consent")]}, CLOSED, id="by consent"
        ),
        pytest.param({"cover": "built_up"}, CLOSED, id="cover without compounds"),
        pytest.param({"cover": "paved"}, OPEN, id="cover by consent"),
        pytest.param({"pins": True}, CLOSED, id="refused ground"),
    ],
)
def test_what_counts_as_barred(land: dict, is_open: bool) -> None:
    """Free land is 70 m along and 50 m across: 8 x 21 m of a shaft stand there, 75 x 40 m beside it don't."""
    cut = {**land}
    if (name := cut.pop("cover", None)) is not None:
        values = np.full((80, 160), ASSUMPTIONS.cover_names.index(name), dtype=np.int16)
        values[35:45, 73:87] = 0  # x 165 to 235, y -25 to 25
        cut["ground_cover"] = RasterGrid(values, -200.0, 200.0, 5.0, 5.0)
    if cut.pop("pins", False):
        cut["pins"] = [
            {"role": "no_shaft", "radius_m": 185.0, "geometry": Point(200.0, y_m)} for y_m in (-200.0, 200.0)
        ]  # a lane 30 m wide at the shaft
    rows = cut.pop("crossings", [])
    frame, _, burnt = burnt_case(straight(*rows, **cut))
    k = burnt.method_names.index("two_pass")
    assert burnt.shaft_room[k, 0, MIDDLE][NODE]
    assert burnt.shaft_ok[k, 0, MIDDLE][NODE] == is_open
    assert frame.node_xy_m[NODE] == pytest.approx(HERE)
