"""What is burnt onto the frame, in cases that can be checked by hand."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString

from routescreen.assumptions import load_assumptions
from routescreen.corridor.burn_segments import crossing_segments, smoothed_tangent
from routescreen.corridor.burn_shafts import bin_outline
from routescreen.corridor.stencil import MOVES, N_BINS
from routescreen.corridor.treatment import resolve_crossings
from routescreen.drives.methods import method_geometry
from routescreen.errors import InputError
from routescreen.project import RasterGrid
from tests.corridor.cases import ASSUMPTIONS, burnt_case, corridor, crossing, flat, strip, table

AXIS = LineString([(0, 0), (400, 0)])
AHEAD = 0  # index of the move (1, 0)


def straight(*rows, width_m=200.0, **more):
    return corridor(strip(400.0, width_m), axis=AXIS, crossings=list(rows), **more)


def across(x_m):
    return LineString([(x_m, -150), (x_m, 150)])


# open cut


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


# drives


@pytest.mark.parametrize(
    ("row", "level_m"),
    [
        pytest.param(crossing("motorway", across(200)), 50.0, id="surface-is-the-terrain"),
        pytest.param(crossing("railway", across(200)), 49.2, id="formation-0.8-below-the-terrain"),
        pytest.param(crossing("railway", across(200), base_level_m=47.0), 47.0, id="formation-as-stated"),
        pytest.param(crossing("river", across(200)), 46.5, id="bed-2.5-below-water-and-1.0-scour"),
        pytest.param(
            crossing("river", across(200), water_depth_m=5.0, scour_m=0.0), 45.0, id="bed-as-stated"
        ),
        pytest.param(crossing("dyke", across(200), base_level_m=44.0), 44.0, id="base-as-stated"),
        pytest.param(crossing("dyke", across(200), base_level_m=58.0), 50.0, id="never-above-the-terrain"),
        pytest.param(crossing("dyke", across(200)), 50.0, id="base-on-level-ground"),
        pytest.param(crossing("motorway", across(200), base_level_m=46.0), 46.0, id="road-in-a-cutting"),
        pytest.param(crossing("river", across(200), base_level_m=43.0), 43.0, id="bed-level-as-stated"),
        pytest.param(
            crossing("graveyard", across(200), treatment="trenchless", half_width_m=5.0),
            50.0,
            id="no-level-of-its-own-by-override",
        ),
    ],
)
@pytest.mark.parametrize("own_cover_m", [None, 6.0])
def test_ceiling_by_reference_level(row, level_m, own_cover_m):
    row = {**row, "min_cover_m": own_cover_m}
    _, _, burnt = burnt_case(straight(row, terrain=flat(50.0)))
    kind_m = own_cover_m or ASSUMPTIONS.treatments[row["kind"]].required_cover_m
    for k, name in enumerate(burnt.method_names):
        cover_m = method_geometry(ASSUMPTIONS, name).cover_m
        expected = min(50.0 - cover_m, level_m - max(kind_m, cover_m))
        assert burnt.ceiling_m[k, 20, 10] == pytest.approx(expected)
        assert burnt.ceiling_m[k, 5, 10] == pytest.approx(50.0 - cover_m)
    assert (burnt.service_ceiling_m == 1e9).all()


def test_terrain_that_is_the_bed_already():
    inp = straight(crossing("river", across(200)), terrain=flat(50.0), terrain_is_bed=True)
    _, _, burnt = burnt_case(inp)
    cover_m = method_geometry(ASSUMPTIONS, burnt.method_names[0]).cover_m
    assert burnt.ceiling_m[0, 20, 10] == pytest.approx(50.0 - 1.0 - max(2.5, cover_m))


def test_base_of_a_dyke_is_the_lowest_ground_beside_it():
    terrain = flat(50.0)
    terrain.values[:, 43] = 41.0  # a strip with its middle at x = 235, 23 m from the dyke's foot at 212
    _, _, burnt = burnt_case(straight(crossing("dyke", across(200)), terrain=terrain))
    cover_m = method_geometry(ASSUMPTIONS, burnt.method_names[0]).cover_m
    assert burnt.ceiling_m[0, 20, 10] == pytest.approx(41.0 - max(4.0, cover_m))


def test_service_ceiling_is_its_underside_less_clearance_and_record():
    pipe = crossing("gas_pipeline", across(200), depth_m=1.5, diameter_m=0.9)
    _, _, burnt = burnt_case(straight(pipe, terrain=flat(50.0)))
    kind = ASSUMPTIONS.treatments["gas_pipeline"]
    expected = 50.0 - 1.5 - 0.9 - kind.service_clearance_m - kind.record_uncertainty_m
    np.testing.assert_allclose(burnt.service_ceiling_m[:, 20, 10], expected)
    cover_m = method_geometry(ASSUMPTIONS, burnt.method_names[0]).cover_m
    assert burnt.ceiling_m[0, 20, 10] == pytest.approx(50.0 - cover_m)


@pytest.mark.parametrize("own_m", [0.5, 6.0])
def test_cover_stated_by_a_service_counts_from_its_underside(own_m):
    pipe = crossing(
        "gas_pipeline", across(200), depth_m=1.5, diameter_m=0.9, min_cover_m=own_m, base_level_m=9.0
    )
    _, _, burnt = burnt_case(straight(pipe, terrain=flat(50.0)))
    kind = ASSUMPTIONS.treatments["gas_pipeline"]
    np.testing.assert_allclose(
        burnt.service_ceiling_m[:, 20, 10], 47.6 - kind.service_clearance_m - kind.record_uncertainty_m
    )
    for k, name in enumerate(burnt.method_names):
        cover_m = method_geometry(ASSUMPTIONS, name).cover_m
        assert burnt.ceiling_m[k, 20, 10] == pytest.approx(min(50.0 - cover_m, 47.6 - own_m))


def test_what_knows_no_level_asks_for_the_largest_cover():
    more = load_assumptions("[treatments.building]\nrequired_cover_m = 7.0\n")
    for own_m, expected_m in ((None, 7.0), (5.0, 7.0), (9.0, 9.0)):
        house = crossing("building", shapely.box(195, -5, 205, 5), treatment="trenchless", min_cover_m=own_m)
        _, _, burnt = burnt_case(straight(house), assumptions=more)
        np.testing.assert_allclose(burnt.ceiling_m[:, 20, 10], -expected_m)


def test_overlapping_features_the_strictest_wins():
    rows = [crossing("river", across(200)), crossing("motorway", across(200), min_cover_m=20.0)]
    _, _, burnt = burnt_case(straight(*rows, terrain=flat(50.0)))
    np.testing.assert_allclose(burnt.ceiling_m[:, 20, 10], 30.0)


def test_no_drive_beside_what_bars_it():
    _, _, burnt = burnt_case(straight(crossing("building", shapely.box(195, -5, 205, 5))))
    for k, name in enumerate(burnt.method_names):
        reach_m = method_geometry(ASSUMPTIONS, name).half_width_m
        reach_m += ASSUMPTIONS.treatments["building"].drive_clearance_m
        rows = np.flatnonzero(burnt.ceiling_m[k, 20] == -1e9)
        # row 10 + n: the cell's near edge lies 10 n - 5 m from the middle, the wall at 5 m
        widest = max(n for n in range(11) if max(10 * n - 5 - 5, 0) <= reach_m)
        assert (rows.min(), rows.max()) == (10 - widest, 10 + widest)


def test_outside_the_corridor_no_drive_no_move_no_shaft():
    outline = shapely.Polygon([(0, -100), (400, -100), (400, 40), (0, 100)])
    inp = corridor(outline, axis=AXIS, start=(0, 0), end=(400, 0))
    frame, _, burnt = burnt_case(inp)
    assert not frame.is_valid.all()
    assert (burnt.ceiling_m[:, ~frame.is_valid] == -1e9).all()
    assert (burnt.ceiling_m[:, frame.is_valid] > -1e8).all()
    assert not burnt.move_ok[~frame.is_valid].any()
    assert not burnt.shaft_ok[..., ~frame.is_valid].any()


def test_outer_bores_count_their_own_ground():
    # a bank falls away to the right from y = -5: a drive centred on y = 0 has bores 9 m to the side
    terrain = flat(50.0, pixel_m=1.0, shape=(600, 800))
    terrain.values[306:, :] = 40.0  # pixels whose middle lies below y = -6
    _, _, burnt = burnt_case(straight(terrain=terrain))
    for k, name in enumerate(burnt.method_names):
        size = method_geometry(ASSUMPTIONS, name)
        low_m = 40.0 if size.half_width_m >= 1.5 else 50.0
        assert burnt.ceiling_m[k, 20, 10] == pytest.approx(low_m - size.cover_m)
        assert burnt.ceiling_m[k, 20, 7] == pytest.approx(50.0 - size.cover_m)


# segments


def test_tangent_at_a_corner_is_smoothed_over_the_window():
    xy = np.array([(0.0, 0.0), (100.0, 0.0), (100.0, 100.0)])
    chainage = np.array([0.0, 100.0, 200.0])
    found = smoothed_tangent(np.array([50.0, 95.0, 100.0, 150.0]), xy, chainage, 20.0, is_ring=False)
    angles = np.degrees(np.arctan2(found[:, 1], found[:, 0]))
    np.testing.assert_allclose(angles, [0.0, math.degrees(math.atan2(5, 15)), 45.0, 90.0], atol=1e-9)


def test_tangent_of_a_pieced_line_is_that_of_the_whole():
    ways = [LineString([(0, 0), (100, 0)]), LineString([(100, 0), (100, 100)])]
    split = resolve_crossings(table("crossings", [crossing("river", way) for way in ways]), ASSUMPTIONS)
    whole = resolve_crossings(
        table("crossings", [crossing("river", LineString([(0, 0), (100, 0), (100, 100)]))]), ASSUMPTIONS
    )
    first, second = (crossing_segments(c, window_m=20.0) for c in (split, whole))
    first, second = (s.taken(~s.is_outline) for s in (first, second))
    lines = shapely.normalize(first.lines()), shapely.normalize(second.lines())
    order = [np.argsort(shapely.to_wkt(line)) for line in lines]
    np.testing.assert_allclose(np.abs(first.tangent[order[0]]), np.abs(second.tangent[order[1]]), atol=1e-9)


def test_angle_segments_cover_the_centre_line_without_gap():
    line = LineString([(0, 0), (60, 5), (70, 40), (71, 41), (200, 0)])
    crossings = resolve_crossings(table("crossings", [crossing("river", line)]), ASSUMPTIONS)
    segments = crossing_segments(crossings, window_m=20.0)
    pieces = segments.taken(~segments.is_outline)
    np.testing.assert_allclose(pieces.xy_m[1:, :2], pieces.xy_m[:-1, 2:])
    assert shapely.length(pieces.lines()).sum() == pytest.approx(line.length, abs=1e-9)
    assert shapely.hausdorff_distance(shapely.union_all(pieces.lines()), line) < 1e-9
    np.testing.assert_allclose(pieces.sin_min_angle, math.sin(math.radians(60.0)))
    np.testing.assert_allclose(np.hypot(*pieces.tangent.T), 1.0)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(3, 60), st.floats(-1.5, 1.5)), min_size=1, max_size=6), st.floats(0, 1))
def test_direction_hardly_turns_within_a_piece(steps, share):
    """So that the angle at the exact meeting point is that of the piece, within 2 deg."""
    heading = np.cumsum([turn for _, turn in steps])
    length = np.array([length for length, _ in steps])
    xy = np.vstack(
        [(0, 0), np.cumsum(np.column_stack([np.cos(heading), np.sin(heading)]) * length[:, None], 0)]
    )
    line = LineString(np.round(xy, 6))
    crossings = resolve_crossings(table("crossings", [crossing("river", line)]), ASSUMPTIONS)
    pieces = crossing_segments(crossings, window_m=20.0)
    pieces = pieces.taken(~pieces.is_outline)
    first, last = pieces.xy_m[:, :2], pieces.xy_m[:, 2:]
    chainage = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line.coords, axis=0).T))])
    begin = np.concatenate([[0.0], np.cumsum(np.hypot(*(last - first).T))[:-1]])
    at = begin + share * np.hypot(*(last - first).T)
    there = smoothed_tangent(at, np.array(line.coords), chainage, 20.0, is_ring=False)
    ends = [[line.interpolate(min(max(a + d, 0.0), line.length)) for a in at] for d in (-10.0, 10.0)]
    has_direction = shapely.distance(*ends) > 0.1  # else the line comes back to where the window began
    turn = np.degrees(np.arccos(np.clip((there * pieces.tangent).sum(axis=1), -1, 1)))
    assert turn[has_direction].max(initial=0.0) <= 2.0


# the river's round end: centre (100, 0), radius 15; on a circle the chord over an arc is square to the radius
@pytest.mark.parametrize(
    ("chord", "angles_deg"),
    [
        pytest.param([(0.0, 16.0), (90.0, 13.0)], [1.91], id="along the edge, never meeting the line"),
        pytest.param([(70.0, 40.0), (80.0, 14.0)], [68.96], id="slanting into the long edge"),
        pytest.param([(110.0, 0.5), (140.0, 0.5)], [88.09], id="straight at the very end"),
    ],
)
def test_edge_of_a_line_holds_its_direction_and_angle(chord, angles_deg):
    """A river of half-width 15 m that ends at x = 100: who slips past its middle crosses it all the same."""
    met, found_deg = met_edge(crossing("river", LineString([(-200, 0), (100, 0)])), chord)
    # on the arc a piece holds the direction of its middle, up to 2 deg off
    np.testing.assert_allclose(found_deg, angles_deg, atol=2.0 if chord[0][0] > 100 else 0.01)
    np.testing.assert_allclose(met.sin_min_angle, math.sin(math.radians(60.0)))


def met_edge(row, chord):
    """The pieces of an outline that a straight run meets, and the angles to them [deg]."""
    segments = crossing_segments(resolve_crossings(table("crossings", [row]), ASSUMPTIONS), window_m=20.0)
    met = segments.taken(shapely.intersects(segments.lines(), LineString(chord)))
    assert met.is_outline.all()
    assert len(met)
    along = np.subtract(chord[1], chord[0]) / np.hypot(*np.subtract(chord[1], chord[0]))
    sine = np.abs(along[0] * met.tangent[:, 1] - along[1] * met.tangent[:, 0])
    return met, np.degrees(np.arcsin(np.minimum(sine, 1.0)))


@pytest.mark.parametrize("x_m", [111.0, 112.5, 114.0])
def test_round_end_of_a_wide_line_is_met_at_its_own_angle(x_m):
    """Square to the river and past its end: the tip of its outline is only grazed.

    Near the tip the window of 20 m lies on the arc as a whole, where its chord is square to the radius.
    """
    _, found_deg = met_edge(crossing("river", LineString([(-200, 0), (100, 0)])), [(x_m, -50.0), (x_m, 50.0)])
    from_tip = math.acos((x_m - 100.0) / 15.0)
    assert from_tip * 15.0 + 10.0 <= math.pi / 2 * 15.0 + 1.6
    np.testing.assert_allclose(found_deg, math.degrees(from_tip), atol=2.5)


@pytest.mark.parametrize("half_width_m", [0.25, 2.0, 6.0])
def test_round_end_of_a_thin_line_has_the_direction_of_the_line(half_width_m):
    """Its arc is shorter than the window: the outline would turn back on itself within it."""
    river = crossing("river", LineString([(-200, 0), (100, 0)]), half_width_m=half_width_m)
    x_m = 100.0 + 0.8 * half_width_m
    for chord, angle_deg in (([(x_m, -50.0), (x_m, 50.0)], 90.0), ([(x_m, -0.1), (x_m + 20, -0.1)], 0.0)):
        _, found_deg = met_edge(river, chord)
        np.testing.assert_allclose(found_deg, angle_deg, atol=1e-6)


@settings(max_examples=20, deadline=None)
@given(st.floats(0.25, 20.0), st.floats(30.0, 200.0), st.floats(0.0, 1.0))
def test_long_edge_follows_the_line_however_it_bends(half_width_m, radius_m, share):
    """Along a circular arc the direction at the edge is square to the radius, within 2 deg, at any point."""
    angle = np.linspace(0.0, 1.5, 121)
    line = LineString(radius_m * np.column_stack([np.cos(angle), np.sin(angle)]))
    row = crossing("river", line, half_width_m=half_width_m)
    segments = crossing_segments(resolve_crossings(table("crossings", [row]), ASSUMPTIONS), window_m=20.0)
    edge = segments.taken(segments.is_outline)
    point = edge.xy_m[:, :2] + share * (edge.xy_m[:, 2:] - edge.xy_m[:, :2])
    # half the window from the ends: nearer the window is cut off
    inner = np.abs(np.arctan2(point[:, 1], point[:, 0]) - 0.75) < 0.75 - 10.5 / radius_m
    square = np.column_stack([-point[:, 1], point[:, 0]]) / np.hypot(*point.T)[:, None]
    turn = np.degrees(np.arccos(np.clip(np.abs((square * edge.tangent).sum(axis=1)), 0, 1)))
    assert inner.any()
    assert (edge.sin_min_angle > 0.0).all()
    assert turn[inner].max() <= 2.5  # 2 deg, and the half step of the drawn arc


def test_trench_along_the_inside_of_an_edge_is_judged_where_it_enters():
    """A river of half-width 15 m beside the run: y = 10 lies inside, and meets no centre line."""
    bent = LineString([(-50, 40), (150, 0), (250, 0), (450, 40)])
    river = crossing("river", bent, trench="yes", treatment="open_cut")
    frame, _, burnt = burnt_case(straight(river))
    row = 9  # y = 10
    line = LineString([frame.node_xy_m[0, row], frame.node_xy_m[-1, row]])
    shores = bent.buffer(15.0).boundary.intersection(line)
    entered = sorted({int(x // 10) for x, _ in shapely.get_coordinates(shores)})
    assert len(entered) == 2
    assert not bent.intersects(LineString([(150, 10), (250, 10)]))
    assert not burnt.move_ok[entered, row, AHEAD].any()


def test_edge_of_an_area_beside_a_line_keeps_no_angle_of_its_own():
    """A road ends in a square drawn as an area, 40 m wide: only the road's own edge holds its angle."""
    road = crossing("road", LineString([(-200, 0), (0, 0)]))
    square = crossing("road", shapely.box(-1, -20, 39, 20), min_angle_deg=0.0)
    crossings = resolve_crossings(table("crossings", [road, square]), ASSUMPTIONS)
    segments = crossing_segments(crossings, window_m=20.0)
    has_angle = segments.is_outline & (segments.sin_min_angle > 0.0)
    assert len(crossings) == 1
    assert np.abs(segments.xy_m[has_angle][:, [1, 3]]).max() <= 5.02


def test_banks_of_an_area_are_measured_for_the_angle():
    lake = resolve_crossings(table("crossings", [crossing("lake", shapely.box(0, 0, 80, 60))]), ASSUMPTIONS)
    segments = crossing_segments(lake, window_m=20.0)
    banks = segments.taken(~segments.is_outline)
    assert shapely.length(banks.lines()).sum() == pytest.approx(280.0)


# shafts


def test_shaft_keeps_its_clearance_from_the_outline():
    # railway at x = 200: outline 193 .. 207, clearance 15. Straight ahead the plan reaches length / 2
    _, _, burnt = burnt_case(straight(crossing("railway", across(200))))
    for k, name in enumerate(burnt.method_names):
        size = method_geometry(ASSUMPTIONS, name)
        for role, plan_m in enumerate((size.launch_plan_m, size.reception_plan_m)):
            straight_bin = bin_outline(plan_m, 2, max_heading_rad=math.radians(30.0))
            reach_m = straight_bin[:, 0].max()
            assert reach_m >= plan_m[0] / 2.0
            columns = np.flatnonzero(burnt.shaft_ok[k, role, 2, :, 10])
            before = [i for i in columns if i < 20]
            assert max(before) == math.floor((200 - 7 - 15 - reach_m) / 10.0)


@settings(max_examples=60, deadline=None)
@given(
    st.integers(0, N_BINS - 1),
    st.floats(0.0, 1.0),
    st.floats(1.0, 15.0),
    st.floats(1.0, 40.0),
)
def test_bin_outline_holds_the_plan_at_every_heading_of_the_bin(bin_index, share, length_m, width_m):
    heading = math.radians(-30.0 + 12.0 * (bin_index + share))
    corners = np.array([[-1, -1], [-1, 1], [1, 1], [1, -1]]) * [length_m / 2, width_m / 2]
    ahead, right = (
        np.array([math.cos(heading), math.sin(heading)]),
        np.array([-math.sin(heading), math.cos(heading)]),
    )
    plan = shapely.Polygon(corners[:, :1] * ahead + corners[:, 1:] * right)
    outline = shapely.Polygon(bin_outline((length_m, width_m), bin_index, max_heading_rad=math.radians(30.0)))
    assert outline.buffer(1e-9).covers(plan)
    assert outline.area <= 1.3 * plan.area + 0.2 * (length_m**2 + width_m**2)  # and not much more


@settings(max_examples=15, deadline=None)
@given(
    st.floats(150, 250), st.floats(-60, 60), st.floats(0, math.pi), st.floats(-30, 30), st.integers(0, 400)
)
def test_no_allowed_shaft_breaks_a_clearance(x, y, turn, heading_deg, seed):
    end = 90.0 * np.array([math.cos(turn), math.sin(turn)])
    dyke = crossing("dyke", LineString([(x - end[0], y - end[1]), (x + end[0], y + end[1])]))
    frame, crossings, burnt = burnt_case(straight(dyke))
    bin_index = min(int((heading_deg + 30.0) // 12.0), N_BINS - 1)
    heading = math.radians(heading_deg)
    clear_m = ASSUMPTIONS.treatments["dyke"].shaft_clearance_m
    ahead = np.array([math.cos(heading), -math.sin(heading)])  # to the right is -y
    side = np.array([ahead[1], -ahead[0]])
    for k, name in enumerate(burnt.method_names):
        length_m, width_m = method_geometry(ASSUMPTIONS, name).launch_plan_m
        nodes = np.argwhere(burnt.shaft_ok[k, 0, bin_index])
        nodes = nodes[np.random.default_rng(seed).permutation(len(nodes))[:60]]
        for i, j in nodes:
            corners = [
                frame.node_xy_m[i, j] + a * length_m / 2 * ahead + b * width_m / 2 * side
                for a, b in ((-1, -1), (-1, 1), (1, 1), (1, -1))
            ]
            plan = shapely.Polygon(corners)
            assert plan.distance(crossings.outline[0]) >= clear_m - 1e-5
            assert strip(400.0, 200.0).buffer(1e-2).covers(plan)


@pytest.mark.parametrize(
    ("own", "is_free"), [("yes", True), ("consent", False), ("no", False), (None, False)]
)
def test_shaft_in_a_feature_by_its_own_word(own, is_free):
    site = crossing("archaeological_site", shapely.box(150, -60, 250, 60), shaft_allowed=own)
    _, _, burnt = burnt_case(straight(site))
    assert burnt.shaft_ok[:, :, :, 20, 10].all() == is_free
    assert burnt.shaft_ok[:, :, :, 20, 10].any() == is_free


def test_ground_cover_without_shafts_counts_under_the_whole_plan():
    forest = ASSUMPTIONS.cover_names.index("forest")
    values = np.zeros((40, 60), dtype=np.int16)
    values[:, 30] = forest  # x from 200 to 210; consent counts as no
    cover = RasterGrid(values, -100.0, 200.0, 10.0, 10.0)
    _, _, burnt = burnt_case(straight(ground_cover=cover))
    size = method_geometry(ASSUMPTIONS, "two_pass")
    k = burnt.method_names.index("two_pass")
    outline = bin_outline(size.launch_plan_m, 2, max_heading_rad=math.radians(30.0))
    reach_m = outline[:, 0].max()
    shut = [i for i in range(41) if 10.0 * i > 200.0 - reach_m and 10.0 * i < 210.0 + reach_m]
    inner = np.arange(2, 39)
    found = [i for i in inner if not burnt.shaft_ok[k, 0, 2, i, 10]]
    assert found == shut


# pins


def pin(role, x, y, radius_m=None):
    return {"role": role, "geometry": shapely.Point(x, y), "radius_m": radius_m}


def test_pins_move_to_the_nearest_node_that_serves():
    inp = straight(pins=[pin("shaft", 103, 4, 20.0), pin("via", 287, -33, 10.0)])
    _, _, burnt = burnt_case(inp)
    assert dict(enumerate(burnt.pin_shaft))[10] == 10
    assert (burnt.pin_shaft >= 0).sum() == 1
    assert burnt.pin_via[29] == 13
    assert (burnt.pin_via >= 0).sum() == 1


def test_no_shaft_pin_keeps_whole_plans_out():
    _, _, burnt = burnt_case(straight(pins=[pin("no_shaft", 200, 0, 40.0)]))
    shut = ~burnt.shaft_ok.any(axis=(0, 1, 2))[:, 10]
    # guided thrust receives in the shortest plan: half its length, 1 m, beyond the 40 m
    assert set(np.flatnonzero(shut)) >= set(range(16, 25))
    assert not shut[15]
    assert not shut[25]


def test_pins_that_cannot_be_served_are_all_named():
    rows = [crossing("building", shapely.box(150, -80, 250, 80))]
    inp = straight(*rows, pins=[pin("shaft", 200, 0, 15.0), pin("via", 200, 0, 15.0), pin("via", 20, 0)])
    with pytest.raises(InputError) as caught:
        burnt_case(inp)
    assert [problem.value for problem in caught.value.problems] == ["shaft", "via"]
    assert all("within 15 m" in problem.problem for problem in caught.value.problems)


@pytest.mark.parametrize("roles", [("shaft", "via"), ("via", "shaft"), ("via", "via"), ("shaft", "shaft")])
def test_pins_side_by_side_in_one_column_contradict_each_other(roles):
    inp = straight(pins=[pin("via", 20, 0), pin(roles[0], 200, 0), pin(roles[1], 202, 31)])
    with pytest.raises(InputError) as caught:
        burnt_case(inp)
    (problem,) = caught.value.problems
    assert problem.feature == "1, 2"
    assert f"Pin 1 ({roles[0]}) and pin 2 ({roles[1]})" in problem.problem


def test_shaft_and_via_on_one_node_agree():
    _, _, burnt = burnt_case(straight(pins=[pin("shaft", 200, 0), pin("via", 202, 1)]))
    assert burnt.pin_shaft[20] == burnt.pin_via[20] == 10


# laws


def mirror(geometry):
    return shapely.transform(geometry, lambda xy: xy * [1.0, -1.0])


def test_mirrored_corridor_gives_mirrored_arrays():
    rows = [
        crossing("river", LineString([(150, -150), (180, 20), (260, 150)])),
        crossing("building", shapely.box(60, 30, 80, 50)),
        crossing("road", LineString([(300, -120), (330, 130)])),
    ]
    _, _, burnt = burnt_case(straight(*rows))
    _, _, other = burnt_case(straight(*({**row, "geometry": mirror(row["geometry"])} for row in rows)))
    flipped_move = [MOVES.tolist().index([columns, -rows]) for columns, rows in MOVES.tolist()]
    np.testing.assert_array_equal(other.move_ok[:, ::-1][..., flipped_move], burnt.move_ok)
    np.testing.assert_array_equal(other.move_narrow[:, ::-1][..., flipped_move], burnt.move_narrow)
    np.testing.assert_allclose(other.ceiling_m[:, :, ::-1], burnt.ceiling_m)
    np.testing.assert_array_equal(other.shaft_ok[:, :, ::-1, :, ::-1], burnt.shaft_ok)
    assert len(other.pair_move) == len(burnt.pair_move)


def test_reversed_axis_gives_reversed_ceilings_and_shafts():
    rows = [crossing("river", LineString([(150, -150), (180, 20), (260, 150)]))]
    _, _, burnt = burnt_case(straight(*rows))
    back = corridor(strip(400.0, 200.0), axis=LineString([(400, 0), (0, 0)]), crossings=rows)
    _, _, other = burnt_case(back)
    np.testing.assert_allclose(other.ceiling_m[:, ::-1, ::-1], burnt.ceiling_m)
    # a heading to the right stays one to the right when walked backwards
    np.testing.assert_array_equal(other.shaft_ok[..., ::-1, ::-1], burnt.shaft_ok)


def test_fixed_line_burns_in_one_row():
    inp = corridor(
        fixed_line=LineString([(0, 0), (250, 0), (400, 60)]), crossings=[crossing("railway", across(150))]
    )
    frame, _, burnt = burnt_case(inp)
    assert frame.shape[1] == 1
    assert not burnt.move_ok[..., 1:].any()
    np.testing.assert_array_equal(
        np.flatnonzero(~burnt.move_ok[:, 0, AHEAD]), [12, 13, 14, 15, 16, 17, frame.shape[0] - 1]
    )
    assert burnt.shaft_ok[:, :, 2, 5, 0].all()


def test_a_wider_clearance_only_takes_moves_away():
    wide = load_assumptions("[treatments.railway]\nshaft_clearance_m = 25.0\n")
    row = crossing("railway", LineString([(120, -150), (260, 150)]))
    _, _, burnt = burnt_case(straight(row))
    _, _, less = burnt_case(straight(row), assumptions=wide)
    assert not (less.move_ok & ~burnt.move_ok).any()
    assert less.move_ok.sum() < burnt.move_ok.sum()
    assert not (less.shaft_ok & ~burnt.shaft_ok).any()
