"""Distance between bores: each need in turn."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routescreen.engineering.spacing import (
    bore_spacing_m,
    deviation_m,
    deviation_spacing_m,
    spacing_utilisation,
)


@pytest.mark.parametrize(
    ("changed", "expected_m"),
    [
        # the worked crossing: 0.50 + 0.56 + 2 x 0.62 = 2.30 by deviation; 3 x 0.56 = 1.68
        pytest.param({}, 2.30, id="deviation governs"),
        pytest.param({"thermal_m": 6.0}, 6.0, id="heat governs"),
        pytest.param({"least_m": 5.0}, 5.0, id="the method's least governs"),
        pytest.param({"length_m": 40.0}, 1.68, id="three bores on a short drive"),
    ],
)
def test_largest_need_governs(changed, expected_m):
    needs = {
        "thermal_m": 0.0,
        "least_m": 0.0,
        "pipe_diameter_m": 0.50,
        "bore_diameter_m": 0.56,
        "deviation_frac": 0.001,
        "length_m": 620.0,
        "diameters": 3.0,
    }
    assert bore_spacing_m(**{**needs, **changed}) == pytest.approx(expected_m)


def test_deviation_of_a_point_is_pipe_beside_bore():
    assert deviation_spacing_m(
        pipe_diameter_m=0.5, bore_diameter_m=0.56, deviation_frac=0.001, length_m=0.0
    ) == pytest.approx(1.06)


NEEDS = {
    "thermal_m": 5.4,
    "least_m": 1.0,
    "pipe_diameter_m": 0.5,
    "bore_diameter_m": 0.56,
    "deviation_frac": 0.001,
    "length_m": 620.0,
    "diameters": 3.0,
}


def test_many_drives_at_once():
    found = bore_spacing_m(**{**NEEDS, "length_m": np.array([620.0, 5000.0])})
    assert found == pytest.approx([5.4, 11.06])


def test_thermal_need_that_is_not_known_leaves_the_spacing_unknown():
    assert np.isnan(bore_spacing_m(**{**NEEDS, "thermal_m": np.nan}))


def test_deviation_has_a_least():
    # 0.03 % of 100 m is 0.03, of 1000 m 0.30
    assert deviation_m([100.0, 1000.0], 0.0003, 0.05) == pytest.approx([0.05, 0.30])
    assert deviation_spacing_m(
        pipe_diameter_m=2.0,
        bore_diameter_m=2.06,
        deviation_frac=0.0003,
        length_m=100.0,
        least_deviation_m=0.05,
    ) == pytest.approx(4.16)


@given(k=st.floats(0.1, 10.0))
def test_spacing_grows_with_lengths(k):
    lengths = ("thermal_m", "least_m", "pipe_diameter_m", "bore_diameter_m", "length_m")
    larger = {name: value * k if name in lengths else value for name, value in NEEDS.items()}
    assert bore_spacing_m(**larger) == pytest.approx(k * bore_spacing_m(**NEEDS))
    assert spacing_utilisation(5.4 * k, 6.0 * k) == pytest.approx(0.9)
    by_deviation = {name: larger[name] for name in ("pipe_diameter_m", "bore_diameter_m", "length_m")}
    assert deviation_spacing_m(**by_deviation, deviation_frac=0.001) == pytest.approx(2.30 * k)
    assert deviation_m(620.0 * k, 0.001) == pytest.approx(0.62 * k)


def test_impossible_spacing_is_refused():
    with pytest.raises(ValueError, match="distance chosen"):
        spacing_utilisation(1.0, 0.0)
    with pytest.raises(ValueError, match="length"):
        deviation_m(-1.0, 0.001)
