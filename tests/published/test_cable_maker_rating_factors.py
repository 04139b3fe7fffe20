"""A cable maker's rating factors for cables in the ground: Gulf Cable, product tables on its web pages.

[seen]. Neither dimensions nor depth are printed, so these are trends: a single-core cable of common size
at 0.8 m comes within 0.025 of the factors for the soil's resistivity (reference 1.2 K m/W). For groups of
multicore cables every factor lies within 0.05.
"""

import numpy as np
import pytest

from routescreen.engineering.heat import layer_K_m_per_W
from routescreen.engineering.rating import HeatPath, group_rating

DEPTH_M, OUTER_M = 0.8, 0.036


def path_in(rho_K_m_per_W, outer_m=OUTER_M):
    inside = float(layer_K_m_per_W(0.020, 0.031, 3.5) + layer_K_m_per_W(0.032, OUTER_M, 5.0))
    return HeatPath(1e-4, inside, outer_m, 90.0, 25.0, rho_K_m_per_W)


@pytest.mark.parametrize(
    ("rho_K_m_per_W", "factor"),
    [  # [seen], single core of 300 mm2
        (0.8, 1.18),
        (0.9, 1.12),
        (1.0, 1.07),
        (1.5, 0.91),
        (2.0, 0.80),
        (2.5, 0.73),
        (3.0, 0.68),
    ],
)
def test_soil_resistivity(rho_K_m_per_W, factor):
    places = np.array([-1.0, 0.0, 1.0]) * OUTER_M
    rated, base = (
        group_rating(np.full(3, DEPTH_M), places, path_in(rho)).rating_A for rho in (rho_K_m_per_W, 1.2)
    )
    assert rated / base == pytest.approx(factor, abs=0.025)


@pytest.mark.parametrize(
    ("n_circuits", "factors"),
    [  # [seen] 1.9/3.3 to 19/33 kV, multicore cables 0.15 / 0.30 / 0.45 / 0.60 m apart
        (2, (0.85, 0.89, 0.90, 0.92)),
        (3, (0.75, 0.80, 0.84, 0.86)),
        (4, (0.70, 0.77, 0.80, 0.84)),
        (5, (0.66, 0.73, 0.78, 0.81)),
        (6, (0.63, 0.71, 0.76, 0.80)),
    ],
)
def test_groups(n_circuits, factors):
    # A three-core cable of 70 mm as one source of heat.
    path = path_in(1.2, outer_m=0.07)
    alone = group_rating([DEPTH_M], [0.0], path).rating_A
    for spacing_m, factor in zip((0.15, 0.30, 0.45, 0.60), factors, strict=True):
        together = group_rating(np.full(n_circuits, DEPTH_M), np.arange(n_circuits) * spacing_m, path)
        assert together.rating_A / alone == pytest.approx(factor, abs=0.05)
