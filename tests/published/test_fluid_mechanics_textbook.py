"""A textbook of fluid mechanics, example 8-3: water in a pipe of 2 in. (Cengel and Cimbala).

Inputs [seen] in a public write-up (FOSSEE, Scilab textbook companions, 3720, Ex8_3): 62.36 lbm/ft3,
7.536e-4 lbm/(ft s), 0.2 ft3/s, 200 ft, roughness 0.000007 ft, Re 126 400. The answer, f 0.0174 by
Colebrook and a head of 27.3 ft, is [memory]. Ours is an explicit form, within 1 % of it here.
"""

import math

import pytest

from routescreen.engineering.slurry import friction_factor, head_loss_m, line_velocity_m_per_s

M_PER_FT = 0.3048


def test_head_loss_of_water():
    diameter = 2.0 / 12.0 * M_PER_FT
    velocity = float(line_velocity_m_per_s(0.2 * M_PER_FT**3, diameter))
    viscosity = 7.536e-4 / 62.36 * M_PER_FT**2
    assert velocity * diameter / viscosity == pytest.approx(126_400.0, rel=5e-4)  # [seen]
    factor = friction_factor(
        velocity, diameter, roughness_m=0.000007 * M_PER_FT, viscosity_m2_per_s=viscosity
    )
    assert math.isclose(float(factor), 0.0174, rel_tol=0.01)  # [memory]
    head = head_loss_m(200.0 * M_PER_FT, diameter, velocity, factor)
    assert head / M_PER_FT == pytest.approx(27.3, rel=0.01)  # [memory]
