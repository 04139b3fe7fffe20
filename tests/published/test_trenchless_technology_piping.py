"""Trenchless Technology Piping: Installation and Inspection (a handbook): pull and collapse of HDPE pipe.

[seen]: read in an excerpt of the page named; [memory]: recalled. Feet, inches, pounds; the tolerance of
each figure is half a unit of its last printed digit, unless said otherwise.
"""

import pytest

from routescreen.assumptions import load_assumptions
from routescreen.engineering.collapse import collapse_pressure_kPa
from routescreen.engineering.directional_pull import (
    KN_PER_LB,
    M_PER_FT,
    M_PER_IN,
    collapsed_bore_pull_kN,
    guide_pull_kN,
    small_bore_pull_kN,
)

MPA_PER_PSI = 6.894757293168e-3
PSI_PER_FT_OF_WATER = 0.433
RATIOS = (7.3, 9.0, 11.0, 13.5, 15.5, 17.0, 21.0)


def test_pull_in_a_small_bore():
    # p. 262: 600 ft, 7.8 lb/ft, n = 2.2, of which one right angle of bends: 4387 lb [seen]
    pull = small_bore_pull_kN(600.0 * M_PER_FT, 7.8 * KN_PER_LB / M_PER_FT, 90.0) / KN_PER_LB
    assert pull == pytest.approx(4387.0, abs=0.5)
    # against 7524 lb "allows a safety factor of 1.72" [seen]; 1.715
    assert 7524.0 / pull == pytest.approx(1.72, abs=0.0051)


def test_pull_in_a_collapsed_bore():
    # pp. 306 and 308: 100 lb/ft3, 5 ft, 4.5 in, 100 ft, 0.3: "in excess of 17,500 lb" [seen]
    pull = collapsed_bore_pull_kN(
        100.0 * KN_PER_LB / M_PER_FT**3, 5.0 * M_PER_FT, 4.5 * M_PER_IN, 100.0 * M_PER_FT, 0.3
    )
    assert 17_500.0 < pull / KN_PER_LB < 17_750.0


@pytest.mark.parametrize(
    ("depth_in", "outer_in", "length_ft", "pull_lb"),
    [
        (30.0, 4.0, 100.0, 2000.0),  # p. 308: 5 ft deep, half of which bears [seen]
        (60.0, 12.0, 250.0, 30_000.0),  # p. 308: 10 ft of cover, half of which bears [seen]
    ],
)
def test_guide_to_the_pull(depth_in, outer_in, length_ft, pull_lb):
    pull = guide_pull_kN(depth_in * M_PER_IN, outer_in * M_PER_IN, length_ft * M_PER_FT)
    assert pull / KN_PER_LB == pytest.approx(pull_lb)


# Table 5.1, p. 259: ideal critical pressure of unconstrained HDPE pipe at 73 degF as a head of water [ft],
# all [seen]. The moduli [thousand psi] are those of a PE3xxx material in a plastic pipe institute's handbook,
# and Poisson's ratio 0.45 [memory].
HEADS_FT = {
    "short term": (125.0, (2896, 1414, 724, 371, 238, 177, 91)),
    "1 hour": (74.0, (1714, 837, 429, 219, 141, 105, 54)),
    "10 hours": (62.0, (1436, 702, 359, 184, 118, 88, 45)),
    "100 hours": (52.0, (1205, 588, 301, 154, 99, 74, 38)),
    "1000 hours": (44.0, (1019, 498, 255, 131, 84, 62, 32)),
    "1 year": (38.0, (880, 430, 220, 113, 72, 54, 28)),
    "50 years": (28.0, (649, 317, 162, 83, 53, 40, 20)),
}


def head_ft(e_ksi, ratio):
    pressure = collapse_pressure_kPa(e_ksi * 1000.0 * MPA_PER_PSI, ratio, poisson=0.45)
    return pressure / 1000.0 / MPA_PER_PSI / PSI_PER_FT_OF_WATER


@pytest.mark.parametrize("duration", HEADS_FT)
def test_collapse_pressures(duration):
    e_ksi, printed = HEADS_FT[duration]
    for ratio, expected_ft in zip(RATIOS, printed, strict=True):
        # half a foot, and 0.03 % for the third digit of the conversion
        assert head_ft(e_ksi, ratio) == pytest.approx(expected_ft, abs=0.5 + 3e-4 * expected_ft), ratio


def test_safe_depth():
    # p. 262: 255 ft (1000 hours, DR 11) over 6 is 42.5 ft [seen]
    assert head_ft(44.0, 11.0) / 6.0 == pytest.approx(42.5, abs=0.05)


def test_friction_after_a_stop():
    # p. 371: a stop of over 8 h adds 20 to 50 % [seen]; the default takes no less than the most
    assert load_assumptions().checks.thrust.restart_friction_factor == pytest.approx(1.5)
