"""A course problem on settlement above a tunnel, with its solution (askfilo.com, 3431303239343338).

[seen]: D 8 m at 30 m in soft silty clay, K 0.5, ground loss 0.4 %: largest settlement at the surface and
5 m below it, as S(x) = 5.35 exp(-x2/(2 15^2)) and 6.42 exp(-x2/(2 12.5^2)) in mm.
"""

import math

import pytest

from routescreen.engineering.settlement import settlement_mm, trough_width_m

AREA_M2 = 0.004 * math.pi / 4.0 * 8.0**2


@pytest.mark.parametrize(
    ("depth_m", "width_m", "most_mm"),
    [
        (30.0, 15.0, 5.35),  # [seen]
        (25.0, 12.5, 6.42),  # [seen]
    ],
)
def test_settlement_at_two_levels(depth_m, width_m, most_mm):
    width = trough_width_m(depth_m, 0.5)
    assert width == pytest.approx(width_m)
    for x_m in (0.0, 4.0, 12.0, 20.0, 30.0):
        printed = most_mm * math.exp(-(x_m**2) / (2.0 * width_m**2))
        assert settlement_mm(x_m, AREA_M2, width) == pytest.approx(printed, abs=0.005)
