"""Friction and thrust in publications on pipe jacking.

- *Adv. Civ. Eng.* 2020, 6594306, tables 1 and 3: force per metre and outer diameter of slurry drives, with
  the friction per area that follows. [seen]; both printed to two decimals, which is the tolerance.
- A public design sheet of 2018: Ps = (gamma Z tan psi + C) lambda_c pi D ts and Pp = pi Dp L f2 (Pv + Ph)/2.
  [seen]; arithmetic only, Pv and Ph taken as given: printed to 0.01 kPa, so that Pp is good to 1.7 kN.
"""

import math

import pytest

from routescreen.engineering.friction import (
    BANDS,
    edge_resistance_kN,
    friction_of_force_kPa,
    friction_of_stress_kPa,
    is_in_band,
)
from routescreen.engineering.thrust import friction_kN_per_m, thrust_kN


@pytest.mark.parametrize(
    ("force_kN_per_m", "outer_m", "friction_kPa"),
    [
        (6.79, 1.08, 2.00),  # [seen]
        (5.13, 0.96, 1.70),  # [seen]
        (6.69, 0.76, 2.80),  # [seen]
        (9.55, 0.64, 4.75),  # [seen]
        (10.37, 0.66, 5.00),  # [seen]
        (0.79, 0.65, 0.39),  # [seen]
        (3.93, 0.65, 1.92),  # [seen]
    ],
)
def test_friction_per_metre_of_slurry_drives(force_kN_per_m, outer_m, friction_kPa):
    rounding_kN_per_m = 0.005 * math.pi * outer_m + 0.005
    force = friction_kN_per_m(friction_kPa, outer_m)
    assert force == pytest.approx(force_kN_per_m, abs=rounding_kN_per_m)
    measured = friction_of_force_kPa(force_kN_per_m, outer_m)
    assert measured == pytest.approx(friction_kPa, abs=rounding_kN_per_m / (math.pi * outer_m))
    assert is_in_band(friction_kPa, BANDS["measured on slurry drives"])


def test_design_sheet():
    friction_kPa = float(friction_of_stress_kPa(0.65, 16.15, 7.44))
    pipe_kN = friction_kN_per_m(friction_kPa, 0.96) * 169.0
    cutting_kN = float(edge_resistance_kN(18.0 * 4.0, 20.0, 5.0, 15.0, 0.8, 0.1))
    assert cutting_kN == pytest.approx(117.6, abs=0.1)  # [seen]
    assert pipe_kN == pytest.approx(3906.7, abs=1.7)  # [seen]
    assert thrust_kN(0.0, 0.96, pipe_kN + cutting_kN, 0.0) == pytest.approx(4024.3, abs=1.8)  # [seen]
