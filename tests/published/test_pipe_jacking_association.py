"""Pipe Jacking Association, Introduction to pipe jacking: the bands of friction. [seen]"""

import pytest

from routescreen.engineering.friction import BANDS, is_in_band


def test_bands_of_friction():
    # 0.5 to 2.5 t/m2; down to 0.1 t/m2 with sophisticated lubrication [seen]
    usual, lubricated = BANDS["usual"], BANDS["lubricated"]
    assert (usual.low_kPa / 9.81, usual.high_kPa / 9.81) == pytest.approx((0.5, 2.5))
    assert (lubricated.low_kPa / 9.81, lubricated.high_kPa / 9.81) == pytest.approx((0.1, 0.5))
    assert is_in_band([0.9, 1.0, 5.0, 24.6], lubricated).tolist() == [False, True, False, False]
    assert is_in_band([1.0, 5.0, 24.6], usual).tolist() == [False, True, False]
