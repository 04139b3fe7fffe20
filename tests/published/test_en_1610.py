"""EN 1610:2015, Construction and testing of drains and sewers, tables 1 and 2: least trench widths.

[seen]: read in excerpts, not in the whole standard; a licensed copy rules. Exact values, no tolerance.
"""

import pytest

from routescreen.engineering.trench import drain_width_m


@pytest.mark.parametrize(
    ("depth_m", "expected_m"),
    [
        pytest.param(0.99, 0.50, id="shallow: only the diameter counts, 0.10 + 0.40"),  # [seen]
        pytest.param(1.00, 0.80, id="from 1.00 m"),  # [seen]
        pytest.param(1.75, 0.80, id="to 1.75 m"),  # [seen]
        pytest.param(1.76, 0.90, id="beyond 1.75 m"),  # [seen]
        pytest.param(4.00, 0.90, id="to 4.00 m"),  # [seen]
        pytest.param(4.01, 1.00, id="deeper"),  # [seen]
    ],
)
def test_width_by_depth(depth_m, expected_m):
    assert drain_width_m(0.10, depth_m, slope_deg=90.0) == pytest.approx(expected_m)


@pytest.mark.parametrize(
    ("outer_m", "braced_m", "sloped_m"),
    [
        pytest.param(0.200, 0.600, 0.600, id="to DN 225: OD + 0.40"),  # [seen]
        pytest.param(0.225, 0.625, 0.625, id="DN 225 itself"),  # [seen]
        pytest.param(0.280, 0.780, 0.680, id="to DN 350: + 0.50, sloped + 0.40"),  # [seen]
        pytest.param(0.500, 1.200, 0.900, id="to DN 700: + 0.70, sloped + 0.40"),  # [seen]
        pytest.param(1.000, 1.850, 1.400, id="to DN 1200: + 0.85, sloped + 0.40"),  # [seen]
    ],
)
def test_width_by_diameter(outer_m, braced_m, sloped_m):
    # a shallow trench, so that the depth asks for nothing
    assert drain_width_m(outer_m, 0.9, slope_deg=90.0) == pytest.approx(braced_m)
    assert drain_width_m(outer_m, 0.9, slope_deg=61.0) == pytest.approx(braced_m)
    assert drain_width_m(outer_m, 0.9, slope_deg=60.0) == pytest.approx(sloped_m)
