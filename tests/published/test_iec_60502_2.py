"""IEC 60502-2:2014, annex B: ratings of single-core copper XLPE cables in the ground.

The annex was seen in an excerpt; amperes and factors are recalled, hence [memory]. The annex's cables carry
alternating current, and it prints no dimensions: with these assumed ones a DC model comes within 0.5 % for
cables laid flat and 0.7 % in trefoil. Factors are printed to two digits: 0.006.
"""

import math

import numpy as np
import pytest

from routescreen.engineering.heat import conductor_ohm_per_m, layer_K_m_per_W
from routescreen.engineering.rating import HeatPath, dc_rating_A, group_rating

RHO_XLPE, RHO_PVC, RHO_GROUND = 3.5, 5.0, 1.5
DEPTH_M, CONDUCTOR_DEGC, GROUND_DEGC = 0.8, 90.0, 20.0


def cable(ohm_per_km, conductor_mm):
    """Assumed dimensions: insulation + 9.2 mm, screen + 2.4 mm, sheath the larger of 1.8 and 0.035 Ds + 1."""
    insulated_mm = conductor_mm + 9.2
    screened_mm = insulated_mm + 2.4
    outer_mm = screened_mm + 2.0 * max(1.8, 0.035 * screened_mm + 1.0)
    ohm = float(conductor_ohm_per_m(ohm_per_km / 1000.0, 0.00393, CONDUCTOR_DEGC))
    insulation = float(layer_K_m_per_W(conductor_mm, insulated_mm, RHO_XLPE))
    jacket = float(layer_K_m_per_W(screened_mm, outer_mm, RHO_PVC))
    return ohm, insulation, jacket, outer_mm / 1000.0


@pytest.mark.parametrize(
    ("ohm_per_km", "conductor_mm", "flat_A", "trefoil_A"),
    [
        pytest.param(1.15, 4.7, 113.0, 109.0, id="16 mm2"),  # [memory]
        pytest.param(0.727, 5.9, 144.0, 140.0, id="25 mm2"),  # [memory]
        pytest.param(0.524, 7.0, 172.0, 166.0, id="35 mm2"),  # [memory]
        pytest.param(0.387, 8.2, 203.0, 196.0, id="50 mm2"),  # [memory]
    ],
)
def test_three_cables(ohm_per_km, conductor_mm, flat_A, trefoil_A):
    ohm, insulation, jacket, outer_m = cable(ohm_per_km, conductor_mm)
    path = HeatPath(ohm, insulation + jacket, outer_m, CONDUCTOR_DEGC, GROUND_DEGC, RHO_GROUND)
    flat = group_rating(np.full(3, DEPTH_M), np.array([-2.0, 0.0, 2.0]) * outer_m, path)
    assert flat.rating_A == pytest.approx(flat_A, rel=0.005)
    assert flat.hottest == 1
    # Touching trefoil of screened cables: 1.5 rho / pi (ln 2u - 0.630), jacket x 1.6 (IEC 60287-2-1).
    twice_u = 4.0 * DEPTH_M / outer_m
    ground = 1.5 * RHO_GROUND / math.pi * (math.log(twice_u) - 0.630)
    rated = dc_rating_A(CONDUCTOR_DEGC - GROUND_DEGC, ohm, insulation + 1.6 * jacket + ground)
    assert rated == pytest.approx(trefoil_A, rel=0.007)


@pytest.mark.parametrize(
    ("ground_degC", "factor"),
    [  # [memory]
        (10.0, 1.07),
        (15.0, 1.04),
        (25.0, 0.96),
        (30.0, 0.93),
        (35.0, 0.89),
        (40.0, 0.85),
        (45.0, 0.80),
        (50.0, 0.76),
    ],
)
def test_ground_temperature_factor(ground_degC, factor):
    ohm, insulation, jacket, outer_m = cable(0.387, 8.2)
    rated = [
        group_rating(
            [DEPTH_M], [0.0], HeatPath(ohm, insulation + jacket, outer_m, CONDUCTOR_DEGC, degC, RHO_GROUND)
        ).rating_A
        for degC in (ground_degC, GROUND_DEGC)
    ]
    assert rated[0] / rated[1] == pytest.approx(factor, abs=0.006)


def test_depth_factors_as_a_trend():
    """Ratings fall with depth as the factors do, to 0.04; the factors are an average over sections."""
    ohm, insulation, jacket, outer_m = cable(0.387, 8.2)
    path = HeatPath(ohm, insulation + jacket, outer_m, CONDUCTOR_DEGC, GROUND_DEGC, RHO_GROUND)
    depth_m = np.array([0.5, 1.0, 1.5, 2.0, 3.0])
    factors = np.array([1.06, 0.97, 0.93, 0.90, 0.86])  # [memory]
    places = np.array([-2.0, 0.0, 2.0]) * outer_m
    rated = group_rating(np.repeat(depth_m[:, None], 3, axis=1), places, path).rating_A
    base = group_rating(np.full(3, DEPTH_M), places, path).rating_A
    assert rated / base == pytest.approx(factors, abs=0.04)
