"""A training course on conduction (math.drel.us, Conduction and thermal resistance, part 3).

[seen]: a steel pipe of 5 / 6 cm radius (50 W/m K), 10 m: 172.3 kW at 10 K, 5.8e-5 K/W; 4 cm of fibre glass
(0.04): 0.2033 K/W.
"""

import pytest

from routescreen.engineering.heat import layer_K_m_per_W

LENGTH_M = 10.0


@pytest.mark.parametrize(
    ("inner_m", "outer_m", "conductivity", "expected_K_per_W", "tolerance"),
    [
        pytest.param(0.10, 0.12, 50.0, 5.8e-5, 5e-7, id="steel"),  # [seen]
        pytest.param(0.12, 0.20, 0.04, 0.2033, 1e-4, id="fibre glass"),  # [seen]
    ],
)
def test_layers(inner_m, outer_m, conductivity, expected_K_per_W, tolerance):
    layer = layer_K_m_per_W(inner_m, outer_m, 1.0 / conductivity) / LENGTH_M
    assert layer == pytest.approx(expected_K_per_W, abs=tolerance)


def test_heat_through_steel():
    layer = layer_K_m_per_W(0.10, 0.12, 1.0 / 50.0) / LENGTH_M
    assert 10.0 / layer == pytest.approx(172_300.0, rel=5e-4)  # [seen]
