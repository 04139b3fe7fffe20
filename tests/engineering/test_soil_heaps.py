"""Heaps of soil and the working strip: by hand, limits, laws."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.soil_heaps import StripSoil, cone_m3, heap_cone_m, soil_heap, working_strip

SIDES = {"topsoil_height_m": 2.0, "subsoil_height_m": 3.0, "slope_deg": 45.0}
positives = st.floats(0.1, 10.0)


def strip(share=0.0, *, top=3.0, subsoil=0.0, parent=0.0, k=1.0, thick=0.5):
    soil = StripSoil(thick * k, share, subsoil * k * k, parent * k * k, 1.25)
    return working_strip(
        soil,
        trench_top_m=top * k,
        edge_strip_m=0.6 * k,
        road_m=7.0 * k,
        gap_m=0.5 * k,
        topsoil_height_m=2.0 * k,
        subsoil_height_m=3.0 * k,
        slope_deg=45.0,
    )


@pytest.mark.parametrize(
    ("loose_m2", "height_m", "width_m"),
    [
        pytest.param(0.0, 0.0, 0.0, id="nothing"),
        pytest.param(1.0, 1.0, 2.0, id="a triangle at 45 degrees: h = sqrt(A)"),
        pytest.param(4.0, 2.0, 4.0, id="the highest triangle"),
        pytest.param(6.0, 2.0, 5.0, id="a trapezoid: 6/2 + 2"),
    ],
)
def test_heap_at_45_degrees(loose_m2, height_m, width_m):
    heap = soil_heap(loose_m2, most_height_m=2.0, slope_deg=45.0)
    assert heap.height_m == pytest.approx(height_m)
    assert heap.width_m == pytest.approx(width_m)


@given(area=st.floats(0.01, 50.0), most=st.floats(0.5, 4.0), slope=st.floats(20.0, 70.0))
def test_heap_holds_its_soil(area, most, slope):
    heap = soil_heap(area, most_height_m=most, slope_deg=slope)
    top = heap.width_m - 2.0 * heap.height_m / math.tan(math.radians(slope))
    assert top >= -1e-6
    assert (heap.width_m + top) / 2.0 * heap.height_m == pytest.approx(area)
    assert heap.height_m <= most


def test_cone_by_hand_and_back():
    # 45 degrees, r = h = 3: pi/3 27
    assert cone_m3(3.0, 6.0) == pytest.approx(9.0 * math.pi)
    height, diameter = heap_cone_m(9.0 * math.pi, 45.0)
    assert (height, diameter) == (pytest.approx(3.0), pytest.approx(6.0))
    # sides of 1 in 2, h = 3, r = 6: pi/3 36 x 3
    height, diameter = heap_cone_m(36.0 * math.pi, math.degrees(math.atan(0.5)))
    assert (height, diameter) == (pytest.approx(3.0), pytest.approx(12.0))
    assert heap_cone_m(0.0, 45.0) == (0.0, 0.0)


def test_faces_that_stand_upright_are_no_heap():
    with pytest.raises(ValueError, match="run of the sides"):
        soil_heap(1.0, most_height_m=2.0, slope_deg=90.0)


def test_strip_without_topsoil_by_hand():
    # 3 + 2 x 0.6 + 7 + 6 x 0.5 = 14.2; subsoil 1.25 x 3.2 = 4 m2: a triangle 2 m high, 4 m wide;
    # parent material 1.25 x 9.6 = 12 m2: a trapezoid 3 m high, 12/3 + 3 = 7 m wide
    found = strip(subsoil=3.2, parent=9.6)
    assert found.subsoil.height_m == pytest.approx(2.0)
    assert found.parent.width_m == pytest.approx(7.0)
    assert found.topsoil.width_m == 0.0
    assert found.width_m == pytest.approx(25.2)


@pytest.mark.parametrize(
    ("share", "top_m"),
    [
        pytest.param(0.05, 3.0, id="little topsoil: a triangle"),
        pytest.param(0.7, 3.0, id="usual"),
        pytest.param(1.0, 30.0, id="a wide band"),
    ],
)
def test_topsoil_lies_on_the_strip_it_was_stripped_from(share, top_m):
    found = strip(share, top=top_m, subsoil=3.2, parent=9.6)
    others = top_m + 11.2 + found.subsoil.width_m + found.parent.width_m
    assert found.width_m == pytest.approx(others + found.topsoil.width_m)
    height, width = found.topsoil.height_m, found.topsoil.width_m
    assert (width - height) * height == pytest.approx(0.5 * share * 1.25 * found.width_m)


def test_two_bands_at_once():
    widths = strip(0.7, top=np.array([3.0, 13.0]), subsoil=3.2, parent=9.6).width_m
    assert widths.shape == (2,)
    assert widths[1] > widths[0] + 10.0


def test_more_topsoil_than_its_heap_can_hold_is_refused():
    with pytest.raises(ValueError, match="below its heap's height"):
        strip(1.0, thick=1.6)


@given(k=positives)
def test_lengths_scale(k):
    wide, base = strip(0.7, subsoil=3.2, parent=9.6, k=k), strip(0.7, subsoil=3.2, parent=9.6)
    assert wide.width_m == pytest.approx(k * base.width_m)
    assert wide.topsoil.height_m == pytest.approx(k * base.topsoil.height_m)
    assert cone_m3(3.0 * k, 6.0 * k) == pytest.approx(k**3 * cone_m3(3.0, 6.0))
    assert heap_cone_m(28.0 * k**3, 35.0)[0] == pytest.approx(k * heap_cone_m(28.0, 35.0)[0])
    heap = soil_heap(6.0 * k * k, most_height_m=2.0 * k, slope_deg=45.0)
    assert heap.width_m == pytest.approx(5.0 * k)
