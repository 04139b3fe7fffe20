"""No feature may ever be missed, however narrow and at whatever angle: thrown lines and slivers."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString

from routescreen.corridor.burn_segments import crossing_segments, segments_on_cells
from routescreen.corridor.frame import build_frame, cell_quads, to_chainage_offset
from routescreen.corridor.stencil import MOVES, N_MOVES
from routescreen.corridor.treatment import resolve_crossings
from routescreen.drives.methods import enabled_methods, method_geometry
from routescreen.drives.open_cut import widest_band_m
from tests.corridor.cases import ASSUMPTIONS, burnt_case, corridor, crossing, strip, table

STRAIGHT = corridor(strip(160.0, 80.0), axis=LineString([(0, 0), (160, 0)]))
ARC = LineString([(200 * np.sin(a), 200 - 200 * np.cos(a)) for a in np.linspace(0.0, 0.9, 40)])
BENT = corridor(ARC.buffer(40.0, cap_style="flat"))
FRAMES = {name: build_frame(inp, cell_m=10.0) for name, inp in (("straight", STRAIGHT), ("bent", BENT))}
INPUTS = {"straight": STRAIGHT, "bent": BENT}
BAND_M = widest_band_m([list(ASSUMPTIONS.soil).index("sand_dense")], [], ASSUMPTIONS)

# to the micrometre: the widening of slivers below knows no numbers whose squares vanish
point = st.tuples(st.floats(-20, 180), st.floats(-60, 140)).map(lambda xy: (round(xy[0], 6), round(xy[1], 6)))


@st.composite
def features(draw):
    """A line of any direction, or a sliver from a tenth of a millimetre to 5 m wide."""
    ends = draw(st.lists(point, min_size=2, max_size=4, unique=True))
    line = LineString(ends)
    if line.length < 1e-3:
        line = LineString([ends[0], (ends[0][0] + 1.0, ends[0][1])])
    if draw(st.booleans()):
        width_m = draw(st.sampled_from([1e-4, 0.01, 0.5, 5.0]))
        return line.buffer(width_m / 2.0, cap_style="flat", join_style="bevel")
    return line


def case(name, geometry, kind):
    inp = INPUTS[name]
    row = crossing(kind, geometry)
    return burnt_case(
        corridor(inp.outline, axis=inp.axis, crossings=[row])
        if inp.axis
        else corridor(inp.outline, crossings=[row])
    )


def all_moves(frame):
    """Every move between nodes of the corridor, by plain loops: flat index and line."""
    flat, lines = [], []
    n_columns, n_rows = frame.shape
    for i, j in zip(*np.nonzero(frame.is_valid), strict=True):
        for m, (columns, rows) in enumerate(MOVES):
            a, b = i + columns, j + rows
            if a < n_columns and 0 <= b < n_rows and frame.is_valid[a, b]:
                flat.append((i * n_rows + j) * N_MOVES + m)
                lines.append(LineString([frame.node_xy_m[i, j], frame.node_xy_m[a, b]]))
    return np.array(flat), np.array(lines, dtype=object)


MOVE_LINES = {name: all_moves(frame) for name, frame in FRAMES.items()}


@pytest.mark.parametrize("name", ["straight", "bent"])
@settings(max_examples=25, deadline=None)
@given(geometry=features())
def test_moves_meet_exactly_the_features_that_their_lines_meet(name, geometry):
    frame, crossings, burnt = case(name, geometry, "track")
    flat, lines = MOVE_LINES[name]
    outline = crossings.outline[0]
    np.testing.assert_array_equal(burnt.pair_move, flat[shapely.intersects(lines, outline)])
    n_rows = frame.shape[1]
    node, move = np.divmod(burnt.pair_move, N_MOVES)
    xy = frame.node_xy_m.reshape(-1, 2)
    ends = node, node + MOVES[move, 0] * n_rows + MOVES[move, 1]
    for found, end in zip((burnt.pair_start_inside, burnt.pair_end_inside), ends, strict=True):
        np.testing.assert_array_equal(found, shapely.intersects_xy(outline, xy[end, 0], xy[end, 1]))
    inside = frame.is_valid.ravel() & shapely.intersects_xy(outline, xy[:, 0], xy[:, 1])
    np.testing.assert_array_equal(burnt.inside_node, np.flatnonzero(inside))


@pytest.mark.parametrize("name", ["straight", "bent"])
@settings(max_examples=15, deadline=None)
@given(geometry=features())
def test_no_trench_comes_within_the_clearance_of_what_bars_it(name, geometry):
    _, crossings, burnt = case(name, geometry, "railway")
    flat, lines = MOVE_LINES[name]
    ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
    along = (ends[:, 1] - ends[:, 0]) / shapely.length(lines)[:, None]
    side = np.column_stack([along[:, 1], -along[:, 0]])
    strips, bands = (
        shapely.polygons(np.stack([ends[:, 0] - s, ends[:, 0] + s, ends[:, 1] + s, ends[:, 1] - s], axis=1))
        for s in (side * width_m / 2.0 for width_m in (ASSUMPTIONS.working_strip_m, BAND_M))
    )
    clear_m = ASSUMPTIONS.treatments["railway"].shaft_clearance_m
    is_clear = shapely.distance(strips, crossings.outline[0]) >= clear_m - 1e-6
    assert not burnt.move_narrow.any()
    ok = burnt.move_ok.ravel()[flat]
    # the corridor's edge bars some moves; none may be allowed that is not clear
    assert not (ok & ~is_clear).any()
    if name == "straight":
        is_inside = shapely.contains_properly(INPUTS[name].outline, bands)
        np.testing.assert_array_equal(ok[is_inside], is_clear[is_inside])


@pytest.mark.parametrize("name", ["straight", "bent"])
@settings(max_examples=15, deadline=None)
@given(geometry=features(), kind=st.sampled_from(["motorway", "building", "gas_pipeline"]))
def test_ceilings_know_every_feature_within_reach_of_a_bore(name, geometry, kind):
    frame, crossings, burnt = case(name, geometry, kind)
    column, row = np.nonzero(frame.is_valid)
    quads = cell_quads(frame, column, row)
    treatment = ASSUMPTIONS.treatments[kind]
    for k, method in enumerate(burnt.method_names):
        size = method_geometry(ASSUMPTIONS, method)
        away_m = shapely.distance(quads, crossings.outline[0])
        ceiling_m, service_m = burnt.ceiling_m[k][column, row], burnt.service_ceiling_m[k][column, row]
        if kind == "building":
            is_shut = away_m <= size.half_width_m + treatment.drive_clearance_m - 1e-6
            np.testing.assert_array_equal(ceiling_m == -1e9, is_shut)
        elif kind == "motorway":  # flat ground at level 0
            is_near = away_m <= size.half_width_m - 1e-6
            under_m = -max(treatment.required_cover_m, size.cover_m)
            np.testing.assert_allclose(ceiling_m, np.where(is_near, under_m, -size.cover_m))
        else:
            is_near = away_m <= size.half_width_m - 1e-6
            np.testing.assert_array_equal(service_m < 1e9, is_near)


@pytest.mark.parametrize("name", ["straight", "bent"])
@settings(max_examples=40, deadline=None)
@given(geometry=features(), ends=st.tuples(point, point))
def test_every_chord_that_meets_a_feature_passes_a_cell_that_carries_it(name, geometry, ends):
    """At each point where they meet, the cell that holds the point carries the segment met there."""
    frame = FRAMES[name]
    crossings = resolve_crossings(table("crossings", [crossing("track", geometry)]), ASSUMPTIONS)
    segments = crossing_segments(crossings, window_m=ASSUMPTIONS.frame.tangent_window_m)
    kept, start, segment = segments_on_cells(frame, segments)
    chord = LineString(ends) if ends[0] != ends[1] else LineString([ends[0], (ends[0][0] + 1, ends[0][1])])
    n_columns, n_rows = frame.shape
    for met in _meetings(chord, segments):
        s, t = to_chainage_offset(frame, np.array([[met.x, met.y]]))
        i = round(float(s[0]) / frame.column_spacing_m)
        j = round((float(t[0]) - frame.offset0_m) / frame.cell_m)
        if 0 <= i < n_columns and 0 <= j < n_rows and frame.is_valid[i, j]:
            carried = segment[start[i * n_rows + j] : start[i * n_rows + j + 1]]
            assert (shapely.distance(kept.lines()[carried], met) < 1e-6).any()


@pytest.mark.parametrize("name", ["straight", "bent"])
@settings(max_examples=60, deadline=None)
@given(
    geometry=features(),
    ends=st.tuples(point, point),
    method=st.sampled_from(enabled_methods(ASSUMPTIONS)),
)
def test_what_any_bore_of_a_drive_meets_stands_in_a_cell_of_its_centre_line(name, geometry, ends, method):
    """The centre line and both outermost bores: every segment met is listed where the centre line runs."""
    frame, _, burnt = case(name, geometry, "river")
    aside_m = method_geometry(ASSUMPTIONS, method).half_width_m
    centre = np.array(ends)
    if np.hypot(*(centre[1] - centre[0])) < 1.0:
        centre[1] = centre[0] + [1.0, 0.0]
    along = (centre[1] - centre[0]) / np.hypot(*(centre[1] - centre[0]))
    side = aside_m * np.array([along[1], -along[0]])
    n_rows = frame.shape[1]
    column, row = np.nonzero(frame.is_valid)
    is_touched = shapely.intersects(cell_quads(frame, column, row), LineString(centre))
    lists = [
        burnt.cell_segment[burnt.cell_segment_start[c] : burnt.cell_segment_start[c + 1]]
        for c in (column * n_rows + row)[is_touched]
    ]
    listed = set(np.concatenate([*lists, np.zeros(0, dtype=np.int32)]).tolist())
    # only over the cells of the corridor: where the centre line runs outside, no drive runs at all
    inside = shapely.intersection(
        LineString(centre), shapely.union_all(cell_quads(frame, column, row)[is_touched])
    )
    lines = shapely.linestrings(burnt.segment_xy_m.reshape(-1, 2, 2))
    for part in shapely.get_parts(inside):
        if part.length == 0.0:
            continue
        for shift in (-1.0, 0.0, 1.0):
            bore = shapely.transform(part, lambda xy, shift=shift: xy + shift * side)
            met = np.flatnonzero(shapely.intersects(lines, bore))
            assert set(met.tolist()) <= listed


def test_outer_bores_meet_what_the_centre_line_does_not():
    """Guards the law above: a ditch that ends 7 m beside the run is listed in the row of the run."""
    ditch = LineString([(83, -40), (83, -8)])
    frame, _, burnt = case("straight", ditch, "track")
    reach_m = max(method_geometry(ASSUMPTIONS, name).half_width_m for name in burnt.method_names)
    assert reach_m > 7.0
    middle = frame.shape[1] // 2
    cell = 8 * frame.shape[1] + middle
    found = burnt.segment_xy_m[
        burnt.cell_segment[burnt.cell_segment_start[cell] : burnt.cell_segment_start[cell + 1]]
    ]
    assert (found[:, [1, 3]].max(axis=1) > -9.0).any()
    assert shapely.distance(cell_quads(frame, np.array([8]), np.array([middle]))[0], ditch) > 2.9


def _meetings(chord, segments):
    """Points where a chord meets any segment of the features."""
    common = shapely.intersection(segments.lines(), chord)
    return shapely.points(shapely.get_coordinates(common))


@pytest.mark.parametrize("name", ["straight", "bent"])
@settings(max_examples=20, deadline=None)
@given(geometry=features())
def test_cells_carry_every_segment_within_reach_and_little_more(name, geometry):
    frame = FRAMES[name]
    crossings = resolve_crossings(table("crossings", [crossing("river", geometry)]), ASSUMPTIONS)
    segments = crossing_segments(crossings, window_m=20.0)
    reach_m = 7.0
    kept, start, segment = segments_on_cells(frame, segments, reach_m=reach_m)
    column, row = np.nonzero(frame.is_valid)
    away_m = shapely.distance(cell_quads(frame, column, row)[:, None], segments.lines()[None, :])
    cells = column * frame.shape[1] + row
    n_found = np.diff(start)[cells]
    # widened by the margin (half a metre of 10 m, and the more on the bent frame) and to sharp corners
    assert (n_found >= (away_m <= reach_m).sum(axis=1)).all()
    assert (n_found <= (away_m <= 1.5 * (reach_m + 1.0)).sum(axis=1)).all()
    assert start[-1] == len(segment)
    assert set(np.unique(segment)) == set(range(len(kept)))


def test_the_thrown_features_do_meet_the_frames():
    """Guards the tests above against passing for want of meetings."""
    sliver = LineString([(40, -60), (120, 140)]).buffer(5e-5, cap_style="flat")
    for name in FRAMES:
        _, _, burnt = case(name, sliver, "track")
        assert len(burnt.pair_move) > 100
        assert burnt.cell_segment_start[-1] > 10
