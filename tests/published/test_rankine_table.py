"""Rankine's coefficients for level ground, a public table of hydraulic engineering.

kennisbank-waterbouw.nl, B24, after J. E. Bowles, Foundation Analysis and Design, 5th edition, and
A. Verruijt, Grondmechanica, 1990. [seen]: active, four digits. The passive one is its inverse.
"""

import pytest

from routescreen.engineering.ground_stress import active_coefficient
from routescreen.engineering.thrust_wall import passive_coefficient

TABLE = [
    (26.0, 0.3905),  # [seen]
    (28.0, 0.3610),  # [seen]
    (30.0, 0.3333),  # [seen]
    (32.0, 0.3073),  # [seen]
    (34.0, 0.2827),  # [seen]
    (36.0, 0.2596),  # [seen]
    (38.0, 0.2379),  # [seen]
    (40.0, 0.2174),  # [seen]
    (42.0, 0.1982),  # [seen]
]


@pytest.mark.parametrize(("phi_deg", "active"), TABLE)
def test_active_and_its_inverse(phi_deg, active):
    assert active_coefficient(phi_deg) == pytest.approx(active, abs=5e-5)
    assert 1.0 / passive_coefficient(phi_deg) == pytest.approx(active, abs=5e-5)
