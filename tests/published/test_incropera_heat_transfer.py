"""Incropera et al., Fundamentals of Heat and Mass Transfer, chapter 4: pipelines in soil.

Data [seen] (a course's midterm of October 1991 repeats them; 7th edition, problem 4.14), results [memory]
as printed in the solutions: 84 W/m and 110 W/m.
"""

import math

import pytest

from routescreen.engineering.heat import image_log, layer_K_m_per_W, own_ground_log


def test_insulated_oil_pipeline():
    """0.5 m pipe, 100 mm of cellular glass (0.069), axis at 1.5 m in soil of 0.52 W/m K, 120 degC over 0."""
    insulation = layer_K_m_per_W(0.5, 0.7, 1.0 / 0.069)
    soil = own_ground_log(1.5, 0.7) / (2.0 * math.pi * 0.52)
    assert 120.0 / (insulation + soil) == pytest.approx(84.0, abs=0.5)  # [memory]


def test_hot_and_cold_pipeline():
    """100 and 75 mm, 0.5 m apart in soil of 0.5 W/m K, 175 and 5 degC, so deep that the surface is far."""
    deep_m = 1000.0
    mutual = image_log(deep_m, 0.0, deep_m, 0.5)
    apart = own_ground_log(deep_m, 0.100) + own_ground_log(deep_m, 0.075) - 2.0 * mutual
    assert 170.0 * 2.0 * math.pi * 0.5 / apart == pytest.approx(110.0, abs=1.0)  # [memory]
