"""The band of all trenches beside what the centre line does not meet: hand-checkable cases and a law."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString

from routescreen.corridor.stencil import MOVES, N_MOVES
from routescreen.drives.open_cut import widest_band_m
from routescreen.project import RasterGrid
from tests.corridor.cases import ASSUMPTIONS, burnt_case, corridor, crossing, strip

AXIS = LineString([(0, 0), (400, 0)])
AHEAD = 0  # index of the move (1, 0)
# two trenches 10 m apart, the bottom of each 1.18 m wide: by hand from the default assumptions
HALF_BAND_M = 10.0 / 2.0 + 1.18 / 2.0
MIDDLE_ROW = 10


def straight(*rows, **more):
    return corridor(strip(400.0, 200.0), axis=AXIS, crossings=list(rows), **more)


def along(y_m):
    return LineString([(-50, y_m), (450, y_m)])


def test_the_band_is_as_wide_as_reckoned_by_hand():
    assert widest_band_m([list(ASSUMPTIONS.soil).index("sand_dense")], [], ASSUMPTIONS) == pytest.approx(
        2 * HALF_BAND_M, abs=1e-9
    )


@pytest.mark.parametrize("side", [-1, 1])
@given(away_m=st.floats(0.0, 40.0))
@settings(max_examples=8, deadline=None)
def test_no_trench_runs_along_on_top_of_a_service(side, away_m):
    main = crossing("gas_pipeline", along(side * away_m))
    _, crossings, burnt = burnt_case(straight(main))
    reach_m = HALF_BAND_M + crossings.features.half_width_m[0] + crossings.features.shaft_clearance_m[0]
    if abs(away_m - reach_m) > 0.01:
        assert burnt.move_ok[20, MIDDLE_ROW, AHEAD] == (away_m > reach_m)


def test_a_service_square_to_the_trench_is_crossed():
    _, _, burnt = burnt_case(straight(crossing("gas_pipeline", LineString([(200, -150), (200, 150)]))))
    assert burnt.move_ok[5:35, 3:-3, AHEAD].all()


@pytest.mark.parametrize(
    ("y_m", "is_ok"), [(10.6, True), (10.58, False)], ids=["clear by 1 cm", "short by 1 cm"]
)
def test_an_outer_trench_stays_out_of_a_road_along_it(y_m, is_ok):
    # the outline begins 5 m before the road's line, the band ends 5.59 m from its own
    _, crossings, burnt = burnt_case(straight(crossing("road", along(y_m))))
    assert crossings.features.half_width_m[0] == 5.0
    assert burnt.move_ok[20, MIDDLE_ROW, AHEAD] == is_ok


def test_what_asks_for_no_angle_bars_no_band():
    assert ASSUMPTIONS.treatments["hedge"].min_angle_deg == 0.0
    _, _, burnt = burnt_case(straight(crossing("hedge", along(4.0))))
    assert burnt.move_ok[20, MIDDLE_ROW, AHEAD]


def test_outer_trenches_stay_in_the_corridor():
    # the corridor ends at y = 100 m: the band of the outermost row would lie half outside
    _, _, burnt = burnt_case(straight())
    assert not burnt.move_ok[20, 0, AHEAD]
    assert burnt.move_ok[20, 1, AHEAD]


def test_moves_at_a_terminal_are_judged_by_their_line():
    road = crossing("road", along(6.0))
    frame, _, burnt = burnt_case(straight(road, start=(0, 0), end=(400, 0)))
    (first, row), (last, _) = frame.start, frame.end
    assert burnt.move_ok[first, row, AHEAD]
    assert burnt.move_ok[last - 1, row, AHEAD]
    assert not burnt.move_ok[1 : last - 1, row, AHEAD].any()


@pytest.mark.parametrize(
    ("y_m", "is_ok"), [(5.5, False), (6.5, True)], ids=["outer trench in it", "beside it"]
)
def test_outer_trenches_stay_out_of_water_known_from_the_ground_cover(y_m, is_ok):
    # pixels of 1 m; water from y_m on above the middle row
    names = list(ASSUMPTIONS.cover)
    classes = np.full((400, 600), names.index("cropland"), dtype=np.int16)
    classes[: 200 - math.floor(y_m)] = names.index("water")
    cover = RasterGrid(classes, -100.0, 200.0, 1.0, 1.0)
    _, _, burnt = burnt_case(straight(ground_cover=cover))
    assert burnt.move_ok[20, MIDDLE_ROW, AHEAD] == is_ok


point = st.tuples(st.floats(0, 400), st.floats(-90, 90)).map(lambda xy: (round(xy[0], 3), round(xy[1], 3)))


@settings(max_examples=15, deadline=None)
@given(
    ends=st.lists(point, min_size=2, max_size=2, unique=True), kind=st.sampled_from(["gas_pipeline", "road"])
)
def test_no_band_meets_a_thrown_line_at_less_than_its_angle(ends, kind):
    line = LineString(ends)
    if line.length < 60.0:
        return
    frame, crossings, burnt = burnt_case(straight(crossing(kind, line)))
    treatment = ASSUMPTIONS.treatments[kind]
    clear_m = treatment.shaft_clearance_m if kind == "gas_pipeline" else 0.0
    core = shapely.intersection(line, line.centroid.buffer(line.length / 2.0 - 25.0))  # away from its ends
    outline = core.buffer(crossings.features.half_width_m[0] + max(clear_m - 0.01, 0.0), cap_style="flat")
    xy = frame.node_xy_m.reshape(-1, 2)
    n_rows = frame.shape[1]
    flat = np.flatnonzero(burnt.move_ok.ravel())
    node, move = np.divmod(flat, N_MOVES)
    last = node + MOVES[move, 0] * n_rows + MOVES[move, 1]
    is_tied = np.isin(node, [frame.start[0] * n_rows + frame.start[1]]) | np.isin(
        last, [frame.end[0] * n_rows + frame.end[1]]
    )
    step = xy[last] - xy[node]
    unit = step / np.hypot(*step.T)[:, None]
    side = np.column_stack([unit[:, 1], -unit[:, 0]]) * (HALF_BAND_M - 0.01)
    corners = np.stack([xy[node] - side, xy[node] + side, xy[last] + side, xy[last] - side], axis=1)
    direction = np.subtract(*np.asarray(line.coords)[::-1]) / line.length
    angle = np.degrees(
        np.arcsin(np.minimum(np.abs(unit[:, 0] * direction[1] - unit[:, 1] * direction[0]), 1.0))
    )
    is_flat = angle < treatment.min_angle_deg - 1e-6
    assert not (shapely.intersects(shapely.polygons(corners), outline) & is_flat & ~is_tied).any()
