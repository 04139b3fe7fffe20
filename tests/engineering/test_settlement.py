"""Settlement above bores: by hand, limits, laws."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.settlement import (
    bores_settlement_mm,
    clay_trough_width_m,
    lost_area_m2,
    sand_trough_width_m,
    settlement_mm,
    trough_width_m,
)

positives = st.floats(0.1, 10.0)


def test_area_lost_by_hand():
    # pi/4 (0.36 - 0.25) = 0.086394
    assert lost_area_m2(0.6, 0.5, [0.0, 0.9, 1.0]) == pytest.approx([0.086394, 0.0086394, 0.0], abs=1e-6)


def test_trough_widths_by_hand_and_where_they_end():
    assert trough_width_m([10.0, 0.0, -1.0], 0.3).tolist()[0] == pytest.approx(3.0)
    assert np.isnan(trough_width_m([0.0, -1.0], 0.3)).all()
    # 0.43 x 10 + 1.1; 0.28 x 10 - 0.12
    assert clay_trough_width_m([2.9, 10.0, 34.1])[1] == pytest.approx(5.4)
    assert np.isnan(clay_trough_width_m([2.9, 3.0, 34.0, 34.1])).tolist() == [True, False, False, True]
    assert sand_trough_width_m(10.0) == pytest.approx(2.68)
    assert np.isnan(sand_trough_width_m([2.0, 2.01])).tolist() == [True, False]


def test_lines_are_straight_and_so_scale_but_for_their_ends():
    for width, end in ((clay_trough_width_m, 1.1), (sand_trough_width_m, -0.12)):
        assert width(20.0) - end == pytest.approx(2.0 * (width(10.0) - end))


def test_settlement_by_hand():
    # 0.05/(2.5066 x 3) = 6.649 mm; at i it is e^-1/2 of that
    assert settlement_mm(0.0, 0.05, 3.0) == pytest.approx(6.649, abs=1e-3)
    assert settlement_mm([3.0, -3.0], 0.05, 3.0) == pytest.approx(2 * [6.649 * math.exp(-0.5)], abs=1e-3)


@given(width=st.floats(0.5, 5.0), area=st.floats(0.01, 1.0))
def test_trough_holds_what_was_lost(width, area):
    across = np.linspace(-10.0 * width, 10.0 * width, 2001)
    assert np.trapezoid(settlement_mm(across, area, width), across) == pytest.approx(1000.0 * area)


@given(
    offset=st.floats(-20.0, 20.0), k=positives, bores=st.lists(st.floats(-10.0, 10.0), min_size=1, max_size=5)
)
def test_troughs_add_up_mirror_and_scale(offset, k, bores):
    at = np.array(bores)
    total = bores_settlement_mm(offset, at, 0.05, 3.0)
    assert total == pytest.approx(sum(float(settlement_mm(offset - b, 0.05, 3.0)) for b in bores))
    assert bores_settlement_mm(-offset, -at, 0.05, 3.0) == pytest.approx(total)
    assert bores_settlement_mm(k * offset, k * at, k * k * 0.05, k * 3.0) == pytest.approx(k * total)
    assert settlement_mm(k * offset, k * k * 0.05, k * 3.0) == pytest.approx(
        k * settlement_mm(offset, 0.05, 3.0)
    )
    assert trough_width_m(k * 5.0, 0.3) == pytest.approx(k * 1.5)
    assert lost_area_m2(0.6 * k, 0.5 * k, 0.0) == pytest.approx(k * k * lost_area_m2(0.6, 0.5, 0.0))


def test_impossible_values_are_refused():
    with pytest.raises(ValueError, match="annulus"):
        lost_area_m2(0.5, 0.6, 0.0)
    with pytest.raises(ValueError, match="width"):
        settlement_mm(0.0, 0.05, 0.0)
