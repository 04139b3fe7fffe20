"""Distance between bores: each need in turn."""

import pytest

from routescreen.engineering.spacing import bore_spacing_m, deviation_spacing_m


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
