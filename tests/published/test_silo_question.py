"""A public question on Terzaghi's Theoretical Soil Mechanics, article 70 (eng-tips.com, thread 455155).

[seen]: sigma = gamma B1/(K tan phi) (1 - e^(-K tan phi D1/B1)) + gamma D2 e^(...), B1 half the silo's width;
125 lb/ft3, 30 degrees, a tunnel 20 ft square (B1 21.55 ft), D1 10 ft: the first term is 1096.56 lb/ft2. K is
not printed; 1 gives that figure. The printed second term, 3630.67, does not follow from the printed
formula (3824.9 does) and is left out.
"""

import pytest

from routescreen.engineering.ground_stress import silo_stress_kPa

KPA_PER_PSF = 0.04788025898
KN_PER_M3_PER_PCF = 0.1570874606
M_PER_FT = 0.3048


def test_arching_alone():
    stress = silo_stress_kPa(
        10.0 * M_PER_FT,
        2.0 * 21.55 * M_PER_FT,
        125.0 * KN_PER_M3_PER_PCF,
        lateral_ratio=1.0,
        wall_friction_deg=30.0,
    )
    # B1 is printed to a hundredth of a foot
    assert stress / KPA_PER_PSF == pytest.approx(1096.56, rel=5e-4)  # [seen]
