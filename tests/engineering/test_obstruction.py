"""Obstructions in front of a bore: each case by hand."""

import math

import numpy as np
import pytest

from routescreen.engineering.obstruction import is_enterable, obstruction_utilisation

LIMITS = {"grain_share": 1.0 / 3.0, "enterable_m": 1.2}


@pytest.mark.parametrize(
    ("grain_m", "has_obstacles", "bore_m", "expected"),
    [
        pytest.param(0.10, False, 0.6, 0.5, id="half of what passes"),
        pytest.param(0.30, False, 0.6, 1.5, id="a boulder over D/3"),
        pytest.param(0.0, True, 0.6, math.inf, id="timber"),
        pytest.param(np.nan, True, 0.6, math.inf, id="timber, grain not known"),
        pytest.param(0.60, True, 1.2, 0.0, id="cleared from inside"),
        pytest.param(np.nan, False, 1.2, 0.0, id="enterable, whatever comes"),
    ],
)
def test_obstruction(grain_m, has_obstacles, bore_m, expected):
    found = obstruction_utilisation(grain_m, has_obstacles, bore_m, **LIMITS)
    assert found == pytest.approx(expected)


def test_grain_that_is_not_known_is_not_evaluated():
    assert np.isnan(obstruction_utilisation([np.nan], [False], 0.6, **LIMITS)).all()


@pytest.mark.parametrize("k", [0.5, 1.0, 1.9])
def test_grain_and_bore_scale_together(k):
    assert is_enterable(1.3 * k, 1.2 * k)
    assert obstruction_utilisation(0.1 * k, False, 0.6 * k, **LIMITS) == pytest.approx(0.5)


def test_enterable_by_hand():
    assert is_enterable([1.199, 1.2, 2.0], 1.2).tolist() == [False, True, True]
    with pytest.raises(ValueError, match="diameter"):
        is_enterable(0.0, 1.2)
