"""Sections of the trench: areas by hand, limits, laws, groundwater."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.trench import (
    area_below_m2,
    band_width_m,
    bottom_width_m,
    cotangent,
    face_deg,
    is_kept_dry_by_sump,
    kept_free_m,
    narrow_width_m,
    pipe_room_m,
    pipe_width_m,
    stepped_width_m,
    top_width_m,
    well_point_rows,
)


def area(height_m, width_m, slope_deg, *, rock_m=0.0, rock_slope_deg=90.0):
    return area_below_m2(
        height_m,
        bottom_width_m=width_m,
        break_height_m=rock_m,
        lower_cotangent=cotangent(rock_slope_deg),
        upper_cotangent=cotangent(slope_deg),
    )


@pytest.mark.parametrize(
    ("slope_deg", "expected_m2"),
    [
        # 1.0 m wide, 2.5 m deep: 2.5 + 6.25 / tan(slope)
        pytest.param(45.0, 8.750, id="45 degrees"),
        pytest.param(60.0, 6.108, id="60 degrees"),
        pytest.param(80.0, 3.602, id="80 degrees"),
        pytest.param(90.0, 2.500, id="upright"),
    ],
)
def test_area_of_a_trapezoid(slope_deg, expected_m2):
    assert area(2.5, 1.0, slope_deg) == pytest.approx(expected_m2, abs=5e-4)


def test_area_with_steep_rock_below():
    # 1 m of upright rock 1 m wide, then 1 m of soil at 45 degrees from 1 m width: 1 + 1 + 1
    assert area([1.0, 2.0], 1.0, 45.0, rock_m=1.0) == pytest.approx([1.0, 3.0])


def test_rock_up_to_the_surface_is_all_rock():
    assert area(2.0, 1.0, 45.0, rock_m=2.0) == pytest.approx(2.0)


def test_top_width():
    kwargs = {"bottom_width_m": 1.0, "lower_cotangent": 0.0, "upper_cotangent": 1.0}
    assert top_width_m(2.0, break_height_m=0.0, **kwargs) == pytest.approx(5.0)
    assert top_width_m(2.0, break_height_m=1.5, **kwargs) == pytest.approx(2.0)
    # 1 + 2 x 0.5 x 0.5; 1 + 2 (1 x 0.5 + 2 x 2)
    kwargs = {"bottom_width_m": 1.0, "break_height_m": 1.0, "lower_cotangent": 0.5, "upper_cotangent": 2.0}
    assert top_width_m([0.5, 3.0], **kwargs) == pytest.approx([1.5, 10.0])


@given(
    st.floats(0.0, 5.0), st.floats(0.0, 5.0), st.floats(0.3, 3.0), st.floats(30.0, 90.0), st.floats(0.0, 5.0)
)
def test_area_grows_with_height_and_is_the_integral_of_the_width(low, high, width, slope, rock):
    low, high = sorted((low, high))
    below, above = area([low, high], width, slope, rock_m=rock, rock_slope_deg=80.0)
    assert above >= below
    heights = np.linspace(0.0, high, 2001)
    widths = (
        width
        + 2.0 * np.minimum(heights, rock) / math.tan(math.radians(80.0))
        + 2.0 * np.maximum(heights - rock, 0.0) * float(cotangent(slope))
    )
    assert above == pytest.approx(np.trapezoid(widths, heights), rel=1e-4, abs=1e-9)


@pytest.mark.parametrize(("slope_deg", "expected"), [(45.0, 1.0), (60.0, 0.57735), (90.0, 0.0)])
def test_cotangent(slope_deg, expected):
    assert cotangent(slope_deg) == pytest.approx(expected, abs=1e-5)


def test_room_of_two_pipes():
    # 0.50 + 0.28 + 0.40
    assert pipe_room_m(0.28, n_pipes=2, spacing_m=0.50, margin_m=0.40) == pytest.approx(1.18)


def test_steps_hold_down_to_their_depth():
    widths = stepped_width_m([1.0, 1.75, 1.76, 4.0, 4.1], [1.75, 4.0], [0.6, 0.8], 1.0)
    assert widths.tolist() == [0.6, 0.6, 0.8, 0.8, 1.0]


@pytest.mark.parametrize(
    ("head_m", "permeability", "has_sump", "rows"),
    [
        pytest.param(0.0, 1e-4, False, 0.0, id="water at the bottom"),
        pytest.param(-1.0, 1e-4, False, 0.0, id="water below it"),
        pytest.param(0.5, 1e-4, True, 0.0, id="a little water"),
        pytest.param(0.51, 1e-4, False, 1.0, id="more water"),
        pytest.param(2.0, 1e-6, False, 1.0, id="silt, just pervious enough"),
        pytest.param(2.0, 9e-7, True, 0.0, id="clay yields little"),
        pytest.param(2.0, 1e-3, False, 1.0, id="coarse sand, just fine enough"),
        pytest.param(2.0, 3e-3, False, 2.0, id="gravel needs two rows"),
    ],
)
def test_dewatering(head_m, permeability, has_sump, rows):
    limits = {"sump_head_m": 0.5, "least_m_per_s": 1e-6}
    assert is_kept_dry_by_sump(head_m, permeability, **limits) == has_sump
    assert well_point_rows(head_m, permeability, **limits, most_m_per_s=1e-3) == rows


def test_faces_upright_sloped_and_to_be_proven():
    faces = face_deg([1.25, 1.26, 5.0, 5.01], 45.0, vertical_limit_m=1.25, deepest_m=5.0)
    assert faces[:3].tolist() == [90.0, 45.0, 45.0]
    assert np.isnan(faces[3])


def test_what_no_row_covers_is_not_evaluated():
    assert np.isnan(narrow_width_m([1.26, np.nan])).all()
    assert np.isnan(pipe_width_m([0.41, 0.2], [1.0, np.nan], slope_deg=45.0)).all()


def test_strips_beside_the_trench_are_kept_free():
    assert kept_free_m([2.0, 4.6], 0.6) == pytest.approx([3.2, 5.8])


@given(st.floats(0.1, 10.0))
def test_the_strip_kept_free_scales(k):
    assert kept_free_m(2.0 * k, 0.6 * k) == pytest.approx(3.2 * k)


@given(st.floats(0.05, 0.40), st.floats(0.3, 8.0), st.floats(0.0, 2.0))
def test_deeper_or_thicker_never_needs_less_width(outer, depth, more):
    width = pipe_width_m(outer, depth, slope_deg=60.0)
    assert pipe_width_m(outer, depth + more, slope_deg=60.0) >= width
    assert pipe_width_m(0.40, depth, slope_deg=60.0) >= width
    assert pipe_width_m(outer, depth, slope_deg=90.0) >= width


def test_band_of_trenches():
    # three trenches 10 m apart, 1.2 m wide
    assert band_width_m(1.2, n_trenches=3, spacing_m=10.0) == pytest.approx(21.2)


@pytest.mark.parametrize(
    ("outer_m", "room_m", "sloped_m", "braced_m"),
    [
        pytest.param(0.20, 0.5, 0.90, 1.00, id="by depth"),
        pytest.param(0.50, 0.5, 0.90, 1.20, id="by EN 1610: sloped 0.50 + 0.40, braced 0.50 + 0.70"),
        pytest.param(0.20, 1.5, 1.50, 1.50, id="by the room of the pipes"),
    ],
)
def test_bottom_is_the_widest_need(outer_m, room_m, sloped_m, braced_m):
    widths = bottom_width_m(
        [45.0, 90.0],
        depth_m=1.5,
        outer_diameter_m=outer_m,
        sloped_width_m=0.9,
        braced_width_m=1.0,
        room_m=room_m,
    )
    assert widths == pytest.approx([sloped_m, braced_m])
