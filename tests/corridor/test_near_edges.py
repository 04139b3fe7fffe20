"""Straight pieces near edges: by hand, against exact predicates, and the moves of a frame against both."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPolygon, Polygon

from routescreen.corridor import burn_moves
from routescreen.corridor.burn import BurnInput, trench_rules
from routescreen.corridor.burn_bands import strip_corners
from routescreen.corridor.burn_segments import crossing_segments
from routescreen.corridor.frame import build_frame
from routescreen.corridor.ground import GroundSampler, ground_on_frame
from routescreen.corridor.near_edges import NearEdges, edges_of
from routescreen.corridor.near_kernel import FAR, NEAR, SURE_M, UNSURE, met_pairs, near_pieces
from routescreen.corridor.obstacles import Obstacles
from routescreen.corridor.stencil import N_MOVES
from routescreen.corridor.treatment import resolve_crossings
from routescreen.project import RasterGrid
from tests.corridor.cases import ASSUMPTIONS, burnt_case, corridor, crossing, straight, strip

HERE = (0.0, 0.0, 100.0, 0.0)  # one piece along x
BOUNDS = (-50.0, -50.0, 150.0, 50.0)


def told(piece, geometry, half_m, clearance_m=0.0, bucket_m=25.0):
    """What is told of one piece and one obstacle."""
    edges = NearEdges.of(Obstacles.of(np.array([geometry], dtype=object), np.array([clearance_m])))
    ends = np.array([piece])
    buckets = edges.within(BOUNDS, half_m, bucket_m)
    return int(near_pieces(ends[:, :2], ends[:, 2:], np.array([True]), half_m, buckets)[0])


def test_a_line_is_near_to_what_it_crosses_and_unsure_of_what_it_touches():
    assert told(HERE, LineString([(50, -10), (50, 10)]), 0.0) == NEAR
    assert told(HERE, LineString([(50, 1e-3), (50, 10)]), 0.0) == FAR
    assert told(HERE, LineString([(100.001, -10), (100.001, 10)]), 0.0) == FAR
    assert told(HERE, LineString([(50, 0), (50, 10)]), 0.0) == UNSURE  # ends on it
    assert told(HERE, LineString([(100, -10), (100, 10)]), 0.0) == UNSURE  # through its end
    assert told(HERE, LineString([(20, 0), (60, 0)]), 0.0) == UNSURE  # along it


def test_a_strip_ends_square_and_keeps_clearances():
    # a strip of 10 m: from x = 0 to 100, 5 m to each side
    post = LineString([(50, 8), (50, 20)])
    assert told(HERE, post, 5.0) == FAR
    assert told(HERE, post, 5.0, clearance_m=2.9) == FAR  # 3 m off
    assert told(HERE, post, 5.0, clearance_m=3.1) == NEAR
    ahead = LineString([(104, 0), (120, 0)])
    assert told(HERE, ahead, 5.0) == FAR
    assert told(HERE, ahead, 5.0, clearance_m=3.9) == FAR
    assert told(HERE, ahead, 5.0, clearance_m=4.1) == NEAR
    # off the corner (100, 5) by 3 and 4: 5 m
    corner = LineString([(103, 9), (120, 40)])
    assert told(HERE, corner, 5.0, clearance_m=4.9) == FAR
    assert told(HERE, corner, 5.0, clearance_m=5.1) == NEAR


def test_at_the_very_limit_nothing_is_told():
    post = LineString([(50, 8), (50, 20)])
    # a clearance counts as a micrometre less
    assert told(HERE, post, 5.0, clearance_m=3.0 + 1e-6) == UNSURE
    assert told(HERE, LineString([(50, 5), (50, 20)]), 5.0) == UNSURE  # touches the strip's side


def test_edges_of_all_kinds_of_shapes_in_order_of_the_shapes():
    ring = Polygon([(0, 0), (9, 0), (9, 9), (0, 9)], holes=[[(3, 3), (6, 3), (6, 6)]])
    two = MultiPolygon([shapely.box(20, 0, 21, 1), shapely.box(30, 0, 31, 1)])
    shapes = np.array([LineString([(0, 0), (1, 0), (1, 5)]), ring, two, shapely.Point(7, 8)], dtype=object)
    edge_m, owner = edges_of(shapes)
    assert np.bincount(owner).tolist() == [2, 7, 8, 1]
    assert (np.diff(owner) >= 0).all()
    np.testing.assert_array_equal(edge_m[:2], [[0, 0, 1, 0], [1, 0, 1, 5]])
    np.testing.assert_array_equal(edge_m[-1], [7, 8, 7, 8])
    length_m = np.hypot(edge_m[:, 2] - edge_m[:, 0], edge_m[:, 3] - edge_m[:, 1])
    for k, shape in enumerate(shapes):
        whole_m = shape.length
        assert length_m[owner == k].sum() == pytest.approx(whole_m)
    assert edges_of(np.zeros(0, dtype=object))[0].shape == (0, 4)


def test_no_trench_in_the_middle_of_a_graveyard_whose_edges_are_far():
    # strip and clearance take 27.5 + 20 m: on the axis, 80 m from the long edges, no edge is near
    yard = shapely.box(100, -80, 300, 80)
    frame, _, burnt = burnt_case(straight(crossing("graveyard", yard)))
    ahead = burnt.move_ok[:, 10, 0]
    assert not ahead[10:30].any()
    assert ahead[2:7].all()  # ends 20 m short of it at least
    starts = frame.node_xy_m[np.unravel_index(burnt.pair_move // N_MOVES, frame.shape)]
    inside = burnt.pair_move[shapely.contains_properly(yard.buffer(-60), shapely.points(starts))]
    n_inside = int(shapely.contains_properly(yard.buffer(-60), shapely.points(frame.node_xy_m)).sum())
    assert len(inside) == n_inside * N_MOVES > 0  # and every move in there meets it


coordinate = st.floats(-60, 160).map(lambda value: round(value, 3))
grown = st.sampled_from([0.0, 1.0, 12.5])


@st.composite
def scenes(draw):
    """Thrown pieces and triangles or lines, at the far coordinates of a national grid."""
    origin = draw(st.sampled_from([(0.0, 0.0), (432_100.0, 5_899_700.0)]))
    place = st.tuples(coordinate, coordinate)
    pieces = draw(st.lists(st.tuples(place, place).filter(lambda p: p[0] != p[1]), min_size=1, max_size=8))
    ends = np.array(pieces).reshape(-1, 4) + np.tile(origin, 2)
    shapes = []
    for corners in draw(
        st.lists(st.lists(place, min_size=2, max_size=4, unique=True), min_size=1, max_size=5)
    ):
        at = np.array(corners) + origin
        is_area = len(at) > 2 and abs(shapely.Polygon(at).area) > 1.0 and shapely.Polygon(at).is_valid
        shapes.append(Polygon(at) if is_area else LineString(at))
    return ends, np.array(shapes, dtype=object)


@given(scenes(), grown, grown, st.sampled_from([4.0, 25.0, 300.0]))
@settings(max_examples=300, deadline=None)
def test_what_is_sure_is_what_exact_predicates_say(scene, half_m, clearance_m, bucket_m):
    ends, shapes = scene
    obstacles = Obstacles.of(shapes, np.full(len(shapes), clearance_m))
    buckets = NearEdges.of(obstacles).within(bounds(ends), half_m, bucket_m)
    found = near_pieces(ends[:, :2], ends[:, 2:], np.ones(len(ends), np.bool_), half_m, buckets)
    limit_m = max(clearance_m - 1e-6, 0.0)
    edges = shapely.boundary(shapes)
    edges = np.where(shapely.get_dimensions(shapes) == 1, shapes, edges)
    for piece, said in zip(ends, found, strict=True):
        work = LineString(piece.reshape(2, 2))
        if half_m > 0.0:
            work = Polygon(strip_corners(piece[None, :2], piece[None, 2:], 2.0 * half_m)[0])
        away_m = shapely.distance(edges, work)
        if said == NEAR:
            assert away_m.min() <= limit_m
        elif said == FAR:
            assert away_m.min() > limit_m
        else:  # only where rounding counts: at the limit, or just touched
            touched_m = shapely.distance(shapely.boundary(work), edges) if half_m > 0.0 else away_m
            assert np.minimum(np.abs(away_m - limit_m), touched_m).min() < 10.0 * SURE_M


@given(scenes())
@settings(max_examples=200, deadline=None)
def test_pairs_that_meet_are_those_of_exact_predicates(scene):
    ends, shapes = scene
    obstacles = Obstacles.of(shapes, np.zeros(len(shapes)))
    buckets = NearEdges.of(obstacles).within(bounds(ends), 0.0, 25.0)
    piece, owner = np.empty(100, np.int64), np.empty(100, np.int64)
    is_unsure, seen = np.zeros(len(ends), np.bool_), np.full(len(shapes), -1, np.int64)
    n = met_pairs(ends[:, :2], ends[:, 2:], buckets, seen, is_unsure, piece, owner)
    pairs = list(zip(piece[:n].tolist(), owner[:n].tolist(), strict=True))
    assert len(set(pairs)) == n
    edges = np.where(shapely.get_dimensions(shapes) == 1, shapes, shapely.boundary(shapes))
    for k, end in enumerate(ends):
        meets = np.flatnonzero(shapely.intersects(edges, LineString(end.reshape(2, 2)))).tolist()
        own = sorted(found for of, found in pairs if of == k)
        assert is_unsure[k] or own == meets
        assert set(own) <= set(meets)


def bounds(ends):
    return (*ends.reshape(-1, 2).min(axis=0).tolist(), *ends.reshape(-1, 2).max(axis=0).tolist())


@st.composite
def corridors(draw):
    """A short corridor, straight or bent, with features of several kinds and barred ground cover."""
    origin = draw(st.sampled_from([(0.0, 0.0), (432_100.0, 5_899_700.0)]))
    place = st.tuples(st.floats(-20, 180), st.floats(-60, 100)).map(
        lambda xy: (round(xy[0], draw(st.sampled_from([0, 6]))), round(xy[1], 6))
    )
    rows = []
    for kind in draw(st.lists(st.sampled_from(["railway", "road", "building", "gas_pipeline"]), max_size=4)):
        at = draw(place)
        if kind == "building":
            shape = shapely.box(at[0], at[1], at[0] + 12.0, at[1] + 9.0)
        else:
            shape = LineString(
                [at, draw(place.filter(lambda xy, at=at: np.hypot(xy[0] - at[0], xy[1] - at[1]) > 5))]
            )
        rows.append(crossing(kind, shapely.transform(shape, lambda xy: xy + origin)))
    bent = LineString([(200 * np.sin(a), 200 - 200 * np.cos(a)) for a in np.linspace(0.0, 0.9, 40)])
    axis = draw(st.sampled_from([bent, LineString([(0, 0), (160, 0)])]))
    outline = axis.buffer(40.0, cap_style="flat") if axis is bent else strip(160.0, 80.0)
    cover = np.zeros((20, 30), np.int16)
    barred = [k for k, one in enumerate(ASSUMPTIONS.cover.values()) if not one.trench_allowed]
    for at in draw(st.lists(st.tuples(st.integers(0, 19), st.integers(0, 29)), max_size=5)):
        cover[at] = barred[0]
    grid = RasterGrid(cover, origin[0] - 50.0, origin[1] + 100.0, 10.0, 10.0)
    moved = [shapely.transform(shape, lambda xy: xy + origin) for shape in (outline, axis)]
    return corridor(moved[0], axis=moved[1], crossings=rows, ground_cover=grid)


@given(corridors(), st.sampled_from([10.0, 5.0]))
@settings(max_examples=60, deadline=None)
def test_moves_are_judged_as_by_exact_predicates_alone(inp, cell_m):
    frame = build_frame(inp, cell_m=cell_m)
    crossings = resolve_crossings(inp.crossings, ASSUMPTIONS)
    sampler = GroundSampler(inp, ASSUMPTIONS)
    what = BurnInput(frame, inp, crossings, sampler, ground_on_frame(frame, sampler), ASSUMPTIONS)
    rules = trench_rules(what, crossing_segments(crossings, window_m=ASSUMPTIONS.frame.tangent_window_m))
    fast = burn_moves.judge_moves(frame, rules)
    judge = burn_moves._Judge.of(frame, rules)
    batch = burn_moves._moves_from(frame, 0, frame.shape[0])
    is_wide, is_narrow, (met, piece) = judge._exactly(batch)
    np.testing.assert_array_equal(fast.move_ok.ravel()[batch.flat], is_wide | is_narrow)
    np.testing.assert_array_equal(fast.move_narrow.ravel()[batch.flat], is_narrow)
    pairs = set(zip(batch.flat[piece].tolist(), met.tolist(), strict=True))
    assert set(zip(fast.pair_move.tolist(), fast.pair_crossing.tolist(), strict=True)) == pairs
    assert len(fast.pair_move) == len(pairs)
