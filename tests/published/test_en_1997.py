"""EN 1997, Eurocode 7: uplift of a base, distance and depth of boreholes.

[seen]: read in an excerpt; [memory]: recalled. National annexes rule.
"""

import pytest

from routescreen.assumptions import load_assumptions
from routescreen.engineering.investigation import drive_borehole_depth_m, shaft_borehole_depth_m

A = load_assumptions()


def test_factors_on_uplift():
    # EN 1997-1, 2.4.7.4
    assert A.shaft.uplift_weight_factor == 0.9  # [seen]
    assert A.checks.shaft.water_factor == 1.0  # [memory]


def test_boreholes_stand_20_to_200_m_apart():
    # EN 1997-2, annex B [seen]
    assert 20.0 <= A.shaft.borehole_critical_spacing_m <= A.shaft.borehole_spacing_m <= 200.0


@pytest.mark.parametrize(
    ("width_m", "below_m"),
    [
        pytest.param(0.56, 2.0, id="at least 2 m"),
        pytest.param(2.00, 3.0, id="and at least 1.5 times the width"),
    ],
)
def test_depth_below_trenches_and_pipelines(width_m, below_m):
    # EN 1997-2, annex B.3 [seen]
    depth = drive_borehole_depth_m(4.0, width_m, least_m=A.shaft.borehole_below_shaft_m, diameters=1.5)
    assert depth == pytest.approx(4.0 + below_m)


@pytest.mark.parametrize(
    ("wall_m", "head_m", "below_m"),
    [
        pytest.param(1.0, -1.0, 4.0, id="dry: 0.4 h"),
        pytest.param(3.0, -1.0, 5.0, id="dry: t + 2 m"),
        pytest.param(1.0, 8.0, 10.0, id="below groundwater: H + 2 m"),
        pytest.param(9.0, 8.0, 11.0, id="below groundwater: t + 2 m"),
    ],
)
def test_depth_below_excavations(wall_m, head_m, below_m):
    # EN 1997-2, annex B.3 [seen]; h 10 m deep, H water above the base, t wall below it
    depth = shaft_borehole_depth_m(10.0, wall_m, head_m, extra_m=2.0, share=0.4)
    assert depth == pytest.approx(10.0 + below_m)
