"""Open-cut moves on the frame, in cases that can be checked by hand."""

import numpy as np
import shapely
from shapely import LineString

from routescreen.corridor.stencil import MOVES
from routescreen.project import RasterGrid
from tests.corridor.cases import ASSUMPTIONS, across, burnt_case, crossing, straight

AHEAD = 0  # index of the move (1, 0)


def test_open_ground_allows_every_move_inside_the_corridor():
    frame, _, burnt = burnt_case(straight())
    n_columns, n_rows = frame.shape
    column, row = np.indices(frame.shape)
    for m, (columns, rows) in enumerate(MOVES):
        fits = (column + columns < n_columns) & (row + rows >= 0) & (row + rows < n_rows)
        assert not (burnt.move_ok[..., m] & ~fits).any()
        # where the outer trenches, 5.6 m aside, stay inside too, ends included
        middle = (column > 0) & (row > 0) & (row < n_rows - 1)
        middle &= (column + columns < n_columns - 1) & (row + rows > 0) & (row + rows < n_rows - 1)
        np.testing.assert_array_equal(burnt.move_ok[..., m][middle], fits[middle])
    assert not burnt.move_narrow.any()
    assert len(burnt.pair_move) == len(burnt.inside_node) == 0


def test_trench_runs_up_to_the_clearance_and_no_further():
    # railway at x = 200: half-width 7, clearance 15: closed from 178 to 222 for trench ahead
    _, _, burnt = burnt_case(straight(crossing("railway", across(200))))
    ahead = burnt.move_ok[:, 10, AHEAD]
    np.testing.assert_array_equal(np.flatnonzero(~ahead), [17, 18, 19, 20, 21, 22, 40])
    # from 170 to 180 comes within 13 m, from 160 to 170 keeps 23; from 220 to 230 starts within 13


def test_strip_keeps_its_clearance_sideways():
    # railway along y = -60: outline to -53, clearance 15: the strip's edge (27.5 m) must stay above -38
    _, _, burnt = burnt_case(straight(crossing("railway", LineString([(-50, -60), (450, -60)]))))
    offsets_ok = np.flatnonzero(burnt.move_ok[20, :, AHEAD])
    # rows are offsets -100 .. 100 to the right, y = 100 - 10 j: y >= -10.5 is row 11 at most
    assert offsets_ok.max() == 11


def test_narrow_strip_near_buildings_only():
    house = crossing("building", shapely.box(190, 30, 210, 45))
    _, _, burnt = burnt_case(straight(house))
    # y = 0: full strip reaches 27.5, 2.5 m from the house whose clearance is 10; narrow reaches 15
    assert burnt.move_ok[19, 10, AHEAD]
    assert burnt.move_narrow[19, 10, AHEAD]
    assert not burnt.move_narrow[5, 10, AHEAD]  # 185 m away: no need
    # y = 10: the narrow strip reaches 25, 5 m from the house
    assert not burnt.move_ok[19, 9, AHEAD]


def test_narrow_strip_is_not_for_open_country():
    # the same geometry, but a turbine's foot instead of a house: no building near
    foot = crossing("graveyard", shapely.box(190, 45, 210, 60))
    _, _, burnt = burnt_case(straight(foot))
    assert not burnt.move_ok[19, 10, AHEAD]  # 45 - 27.5 = 17.5 < 20


def test_crossing_angle_is_kept_exactly():
    # a road (60 deg) that runs at exactly 45 deg to the axis: straight ahead fails, a diagonal passes
    road = crossing("road", LineString([(100, -150), (400, 150)]))
    _, crossings, burnt = burnt_case(straight(road))
    diagonal = MOVES.tolist().index([1, 1])  # to the right, square to the road
    line = LineString([(100, -150), (400, 150)])
    frame, *_ = burnt_case(straight())
    for i, j in ((24, 10), (25, 10)):
        step = LineString([frame.node_xy_m[i, j], frame.node_xy_m[i + 1, j]])
        assert burnt.move_ok[i, j, AHEAD] == (not step.intersects(line))
    square = LineString([frame.node_xy_m[24, 9], frame.node_xy_m[25, 10]])
    assert square.intersects(line)
    assert burnt.move_ok[24, 9, diagonal]
    assert crossings.min_angle_deg[0] == 60.0


def test_no_angle_no_ban():
    _, _, burnt = burnt_case(
        straight(crossing("forest", shapely.box(150, -20, 250, 20), treatment="open_cut"))
    )
    assert burnt.move_ok[:40, 10, AHEAD].all()


def test_water_in_the_ground_cover_bars_the_trench_that_enters_it():
    water = ASSUMPTIONS.cover_names.index("water")
    values = np.zeros((40, 60), dtype=np.int16)
    values[:, 30] = water  # x from 200 to 210
    cover = RasterGrid(values, -100.0, 200.0, 10.0, 10.0)
    _, _, burnt = burnt_case(straight(ground_cover=cover))
    np.testing.assert_array_equal(np.flatnonzero(~burnt.move_ok[:, 10, AHEAD]), [19, 20, 40])


def test_inside_flags_by_hand():
    field = crossing("archaeological_site", shapely.box(95, -15, 125, 15))
    frame, _, burnt = burnt_case(straight(field))
    n_rows = frame.shape[1]
    ahead = {i: (10 + i * n_rows) * 17 for i in (9, 10, 12)}
    found = {int(p): k for k, p in enumerate(burnt.pair_move)}
    flags = {
        i: (bool(burnt.pair_start_inside[found[p]]), bool(burnt.pair_end_inside[found[p]]))
        for i, p in ahead.items()
    }
    assert flags == {9: (False, True), 10: (True, True), 12: (True, False)}
    columns, rows = np.divmod(burnt.inside_node, n_rows)
    assert (set(columns), set(rows)) == ({10, 11, 12}, {9, 10, 11})
