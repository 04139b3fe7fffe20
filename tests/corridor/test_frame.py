import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.corridor.axis import frame_axis, restation, smooth
from routescreen.corridor.centre import corridor_width_m, end_middles
from routescreen.corridor.frame import (
    build_frame,
    cell_quads,
    locate_on_axis,
    reference_axis,
    to_chainage_offset,
    to_xy,
)
from routescreen.errors import InputError
from tests.corridor.cases import corridor, strip


def sine_line(length_m=3000.0, swing_m=300.0, wave_m=800.0):
    x = np.linspace(0.0, length_m, 120)
    return shapely.LineString(np.column_stack([x, swing_m * np.sin(x / wave_m)]))


SETTLED_M = 1e-6  # the middle line is found by iteration, until it moves by a billionth of the width


def test_straight_corridor_by_hand():
    frame = build_frame(corridor(strip(100.0, 50.0)), cell_m=10.0)
    assert frame.shape == (11, 5)
    np.testing.assert_allclose(frame.station_xy_m, [(10.0 * i, 0.0) for i in range(11)], atol=SETTLED_M)
    np.testing.assert_allclose(frame.tangent, [(1.0, 0.0)] * 11, atol=SETTLED_M)
    np.testing.assert_allclose(frame.boundary_xy_m[:2], [(-5.0, 0.0), (5.0, 0.0)], atol=SETTLED_M)
    np.testing.assert_allclose(frame.boundary_xy_m[-1], (105.0, 0.0), atol=SETTLED_M)
    # looking along +x, right is -y, and row 0 is the leftmost
    np.testing.assert_allclose(frame.offset_m, [-20.0, -10.0, 0.0, 10.0, 20.0])
    np.testing.assert_allclose(
        frame.node_xy_m[3], [(30.0, 20.0 - 10.0 * j) for j in range(5)], atol=SETTLED_M
    )
    assert frame.is_valid.all()
    assert (frame.start, frame.end) == ((0, 2), (10, 2))


def test_columns_share_the_length_evenly():
    frame = build_frame(corridor(strip(104.0, 50.0)), cell_m=10.0)
    assert frame.shape[0] == 11
    assert frame.column_spacing_m == pytest.approx(10.4)
    assert frame.cell_m == 10.0


def test_cell_is_the_quad_round_its_node():
    frame = build_frame(corridor(strip(100.0, 50.0)), cell_m=10.0)
    quad = cell_quads(frame, np.array([3]), np.array([1]))[0]
    corners = shapely.get_coordinates(quad)[:-1]
    np.testing.assert_allclose(corners, [(25, 15), (25, 5), (35, 5), (35, 15)], atol=SETTLED_M)


def test_frame_passes_exactly_through_terminals_off_the_middle():
    inp = corridor(strip(1000.0, 300.0), start=(0.0, 100.0), end=(990.0, -120.0))
    frame = build_frame(inp, cell_m=10.0)
    np.testing.assert_allclose(frame.node_xy_m[frame.start], (0.0, 100.0), atol=1e-9)
    np.testing.assert_allclose(frame.node_xy_m[frame.end], (990.0, -120.0), atol=1e-9)


def test_given_axis_is_followed_and_stays_the_reference():
    axis = shapely.LineString([(-50.0, 20.0), (1050.0, 20.0)])
    inp = corridor(strip(1000.0, 300.0), axis=axis, start=(0.0, 20.0), end=(1000.0, 20.0))
    frame = build_frame(inp, cell_m=10.0)
    np.testing.assert_allclose(frame.station_xy_m[:, 1], 20.0, atol=1e-9)
    assert reference_axis(inp, frame) is axis


def test_reference_axis_is_the_frame_axis_without_a_given_one():
    inp = corridor(strip())
    assert reference_axis(inp, build_frame(inp, cell_m=10.0)).length == pytest.approx(200.0)


def test_axis_ends_become_terminals():
    axis = shapely.LineString([(1000.0, 0.0), (0.0, 0.0)])
    frame = build_frame(corridor(strip(1000.0, 300.0), axis=axis), cell_m=10.0)
    np.testing.assert_allclose(frame.station_xy_m[0], (1000.0, 0.0), atol=1e-5)
    np.testing.assert_allclose(frame.tangent[0], (-1.0, 0.0), atol=1e-9)


def test_middle_line_of_a_winding_corridor_is_found():
    middle = sine_line()
    frame = build_frame(corridor(middle.buffer(150.0, cap_style="flat")), cell_m=10.0)
    away = shapely.distance(middle, shapely.points(frame.station_xy_m))
    assert away.max() < 5.0  # 1.7 % of the width
    assert frame.length_m == pytest.approx(middle.length, rel=0.005)


def test_radius_exceeds_the_half_width_so_that_no_cell_folds():
    frame = build_frame(corridor(sine_line().buffer(150.0, cap_style="flat")), cell_m=10.0)
    column, row = np.nonzero(frame.is_valid)
    assert shapely.is_valid(cell_quads(frame, column, row)).all()


def test_sharp_corner_is_too_bent():
    folded = shapely.LineString([(0, 0), (1500, 0), (100, 300)]).buffer(100.0, cap_style="flat")
    with pytest.raises(InputError, match=r"too bent .* at chainage \d+ m: radius \d+ m, half-width \d+ m"):
        build_frame(corridor(folded), cell_m=10.0)


def test_terminals_outside_are_both_named():
    with pytest.raises(InputError) as caught:
        build_frame(corridor(strip(1000.0, 300.0), start=(-5.0, 0.0), end=(500.0, 180.0)), cell_m=10.0)
    assert [problem.problem for problem in caught.value.problems] == [
        "The start terminal lies 5.00 m outside the corridor.",
        "The end terminal lies 30.00 m outside the corridor.",
    ]


def test_terminals_that_coincide_are_an_error():
    with pytest.raises(InputError, match="coincide"):
        build_frame(corridor(strip(1000.0, 300.0), start=(5.0, 0.0), end=(5.0, 0.0)), cell_m=10.0)


def test_square_has_no_two_ends():
    with pytest.raises(InputError, match="two ends can't be told"):
        build_frame(corridor(shapely.box(0, 0, 300, 300)), cell_m=10.0)


def test_end_middles_of_an_oblong_the_western_first():
    start, end = end_middles(shapely.box(0, 0, 40, 500))
    assert {tuple(start), tuple(end)} == {(20.0, 0.0), (20.0, 500.0)}
    assert tuple(start) == (20.0, 0.0)


@pytest.mark.parametrize(
    ("cell_m", "text"),
    [
        pytest.param(0.0, "too small", id="zero"),
        pytest.param(0.001, "too small", id="one-millimetre"),
        pytest.param(-10.0, "too small", id="negative"),
        pytest.param(float("nan"), "too small", id="nan"),
        pytest.param(5000.0, "only 1000.00 m long", id="larger-than-the-corridor"),
    ],
)
def test_cell_size_that_does_not_fit_is_one_clear_error(cell_m, text):
    with pytest.raises(InputError, match=text):
        build_frame(corridor(strip(1000.0, 300.0)), cell_m=cell_m)


def test_too_many_nodes_are_refused_before_they_are_made():
    with pytest.raises(InputError, match="nodes, more than"):
        build_frame(corridor(strip(700_000.0, 5_000.0)), cell_m=1.0)


def test_neither_outline_nor_line_is_an_error():
    with pytest.raises(InputError, match="neither an outline nor a fixed line"):
        build_frame(corridor(), cell_m=10.0)


def test_fixed_line_is_one_row_on_the_line():
    line = shapely.LineString([(0, 0), (300, 0), (500, 200)])
    frame = build_frame(corridor(fixed_line=line), cell_m=10.0)
    assert frame.shape == (1 + round(line.length / 10.0), 1)
    assert shapely.distance(line, shapely.points(frame.node_xy_m[:, 0])).max() < 1e-9
    np.testing.assert_allclose(frame.station_xy_m[[0, -1]], [(0, 0), (500, 200)], atol=1e-9)
    assert frame.is_valid.all()


def test_fixed_line_is_cut_to_its_terminals():
    line = shapely.LineString([(0, 0), (300, 0)])
    frame = build_frame(corridor(fixed_line=line, start=(250, 1), end=(50, -2)), cell_m=10.0)
    np.testing.assert_allclose(frame.station_xy_m[[0, -1]], [(250, 0), (50, 0)], atol=1e-9)


def test_terminal_off_the_fixed_line_is_an_error():
    with pytest.raises(InputError, match="off the fixed alignment"):
        build_frame(corridor(fixed_line=shapely.LineString([(0, 0), (300, 0)]), start=(0, 80)), cell_m=10.0)


def test_fixed_line_that_doubles_back_is_an_error():
    line = shapely.LineString([(0, 0), (300, 0), (100, 0.0)])
    with pytest.raises(InputError, match="doubles back"):
        build_frame(corridor(fixed_line=line), cell_m=10.0)


def test_hole_in_the_corridor_has_no_nodes():
    outline = strip(400.0, 200.0).difference(shapely.box(150, -30, 250, 30))
    frame = build_frame(corridor(outline), cell_m=10.0)
    inside = shapely.intersects_xy(outline.buffer(1e-3), frame.node_xy_m[..., 0], frame.node_xy_m[..., 1])
    np.testing.assert_array_equal(frame.is_valid, inside)
    assert not frame.is_valid[20, 10]


def test_mirrored_corridor_gives_the_mirrored_frame():
    outline = sine_line().buffer(150.0, cap_style="flat")
    ends = {"start": (0.0, 0.0), "end": sine_line().coords[-1]}
    frame = build_frame(corridor(outline, **ends), cell_m=10.0)
    flipped = shapely.transform(outline, lambda xy: xy * [1.0, -1.0])
    mirrored = build_frame(
        corridor(flipped, start=(0.0, 0.0), end=(ends["end"][0], -ends["end"][1])), cell_m=10.0
    )
    assert mirrored.shape == frame.shape
    np.testing.assert_allclose(mirrored.node_xy_m[:, ::-1] * [1.0, -1.0], frame.node_xy_m, atol=0.01)


def test_reversed_corridor_gives_the_reversed_frame():
    outline = sine_line().buffer(150.0, cap_style="flat")
    first, last = (0.0, 0.0), sine_line().coords[-1]
    frame = build_frame(corridor(outline, start=first, end=last), cell_m=10.0)
    back = build_frame(corridor(outline, start=last, end=first), cell_m=10.0)
    assert back.shape == frame.shape
    np.testing.assert_allclose(back.node_xy_m[::-1, ::-1], frame.node_xy_m, atol=0.5)


BENT = build_frame(corridor(sine_line().buffer(150.0, cap_style="flat")), cell_m=10.0)


@settings(max_examples=100, deadline=None)
@given(st.floats(-4.9, BENT.length_m + 4.9), st.floats(-145.0, 145.0))
def test_there_and_back_is_exact(chainage_m, offset_m):
    xy = to_xy(BENT, np.array([chainage_m]), np.array([offset_m]))
    s, t = to_chainage_offset(BENT, xy)
    assert s[0] == pytest.approx(chainage_m, abs=1e-6)
    assert t[0] == pytest.approx(offset_m, abs=1e-6)


def test_nodes_have_their_own_chainage_and_offset():
    column, row = np.nonzero(BENT.is_valid)
    s, t = to_chainage_offset(BENT, BENT.node_xy_m[column, row])
    np.testing.assert_allclose(s, column * BENT.column_spacing_m, atol=1e-6)
    np.testing.assert_allclose(t, BENT.offset_m[row], atol=1e-6)


def test_location_on_an_axis_right_positive():
    axis = shapely.LineString([(0, 0), (100, 0)])
    s, t = locate_on_axis(axis, np.array([(30.0, -4.0), (60.0, 7.0), (0.0, 0.0)]))
    np.testing.assert_allclose(s, [30.0, 60.0, 0.0])
    np.testing.assert_allclose(t, [4.0, -7.0, 0.0])


def test_smoothing_keeps_a_straight_line_and_the_ends():
    line = np.column_stack([np.linspace(0, 100, 11), np.linspace(5, 25, 11)])
    np.testing.assert_allclose(smooth(line, 40.0, 10.0), line, atol=1e-9)
    bent = line + np.sin(np.arange(11))[:, None]
    np.testing.assert_array_equal(smooth(bent, 40.0, 10.0)[[0, -1]], bent[[0, -1]])


@pytest.mark.parametrize("n", [3, 4, 5, 6, 9])
def test_smoothing_is_the_least_squares_solution(n):
    points = np.random.default_rng(n).normal(size=(n, 2))
    weight = 3.0**4
    second = np.diff(np.eye(n), 2, axis=0)
    matrix = np.eye(n) + weight * second.T @ second
    matrix[0], matrix[-1] = np.eye(n)[0], np.eye(n)[-1]
    np.testing.assert_allclose(smooth(points, 30.0, 10.0), np.linalg.solve(matrix, points), atol=1e-9)


def test_restation_keeps_ends_and_spaces_evenly():
    moved = restation(np.array([(0.0, 0.0), (3.0, 0.0), (10.0, 0.0)]), 2.0)
    np.testing.assert_allclose(moved, [(2.0 * k, 0.0) for k in range(6)])


def test_mean_width_of_a_long_strip_tends_to_its_width():
    assert corridor_width_m(strip(100_000.0, 100.0)) == pytest.approx(100.0, rel=0.002)


def test_axis_runs_straight_on_beyond_its_ends():
    axis = frame_axis(corridor(strip(100.0, 50.0)), cell_m=10.0)
    xy, _ = axis.at(np.array([-5.0, axis.length_m + 5.0]))
    np.testing.assert_allclose(xy, [(-5.0, 0.0), (105.0, 0.0)], atol=SETTLED_M)


def test_a_wide_place_does_not_reach_into_another_arm():
    """Three arms of an S: the first is wide to its right, so rows of the second reach the third."""
    first, second = np.linspace(-np.pi / 2, np.pi / 2, 40), np.linspace(-np.pi / 2, -3 * np.pi / 2, 40)
    middle = shapely.LineString(
        [
            (0, 0),
            *np.column_stack([1500 + 250 * np.cos(first), 250 + 250 * np.sin(first)]),
            *np.column_stack([250 * np.cos(second), 750 + 250 * np.sin(second)]),
            (1500, 1000),
        ]
    )
    outline = middle.buffer(100.0, cap_style="flat").union(shapely.box(300, -450, 1200, 0))
    inp = corridor(outline, axis=middle, start=(0, 0), end=(1500, 1000))
    frame = build_frame(inp, cell_m=20.0)
    assert frame.offset_m[-1] >= 440.0
    column, row = np.nonzero(frame.is_valid)
    quads = cell_quads(frame, column, row)
    assert shapely.area(quads).sum() == pytest.approx(shapely.union_all(quads).area, rel=0.002)
    # nodes on the edge of the 200 m wide arms stand for half a cell beyond it: a tenth more at most
    assert outline.area <= shapely.union_all(quads).area <= 1.1 * outline.area
