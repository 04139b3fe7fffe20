"""A cable maker's page on pulling heads (Nexans Belgium, cable pulling), after VDE: force on the conductors.

[seen]: copper S x 50 N/mm2, aluminium S x 30 N/mm2. Exact.
"""

import pytest

from routescreen.engineering.cable_pull import eye_limit_kN


@pytest.mark.parametrize(
    ("stress_N_per_mm2", "limit_kN"),
    [
        pytest.param(50.0, 125.0, id="copper"),  # [seen] 50 x 2 500 N
        pytest.param(30.0, 75.0, id="aluminium"),  # [seen] 30 x 2 500 N
    ],
)
def test_eye(stress_N_per_mm2, limit_kN):
    assert eye_limit_kN(2500.0, stress_N_per_mm2) == pytest.approx(limit_kN)
