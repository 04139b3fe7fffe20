"""Shafts whose lower part stands in rock."""

from __future__ import annotations

import numpy as np
import pytest

from routescreen.assumptions import load_assumptions
from routescreen.money.measure import (
    ShaftGround,
    ramp_works_of,
    rates_eur,
    rock_head_level,
    shaft,
    shaft_in_ground,
)

A = load_assumptions()
LAUNCH, RECEPTION = 1, 2
SAND, ROCK = A.soil_names.index("sand_dense"), A.soil_names.index("rock_hard")


def eur(depth_m: float, rock_depth_m: float, *, soil: int = SAND) -> float:
    """Return the price of a dry launch shaft without its ramps."""
    ground = ShaftGround(np.array([soil]), np.array([ROCK]), np.array([rock_depth_m]), np.array([0.0]))
    quantities = shaft_in_ground([0], [LAUNCH], ground, [False], [depth_m], A)
    ramps_eur = ramp_works_of([0], [LAUNCH], ground, [depth_m], A)[0].eur
    return float((quantities @ rates_eur(A))[0]) - ramps_eur


def plain_eur(depth_m: float, soil: int) -> float:
    """Return the price of a dry launch shaft in one soil."""
    return float((shaft([0], [LAUNCH], [soil], [False], [depth_m], A) @ rates_eur(A))[0])


@pytest.mark.parametrize(
    "rock_depth_m", [np.inf, 8.0, 20.0], ids=["no rock", "rock at the bottom", "rock below"]
)
def test_rock_that_the_shaft_does_not_reach_changes_nothing(rock_depth_m: float) -> None:
    assert eur(8.0, rock_depth_m) == pytest.approx(plain_eur(8.0, SAND), abs=1e-6)


def test_each_metre_below_the_rock_head_costs_what_it_adds_in_rock() -> None:
    in_rock = plain_eur(8.0, ROCK) - plain_eur(5.0, ROCK)
    assert eur(8.0, 5.0) == pytest.approx(plain_eur(5.0, SAND) + in_rock, abs=1e-6)


def test_volume_below_the_rock_head_takes_the_factor_of_the_rock() -> None:
    # launch 8 m x (3 x 6 m + 3 m) = 168 m2; 1 m more in the band 4 to 8 m at 230 EUR/m3 and factor 1.6
    # in rock_hard against 1.0 in dense sand (rates and factors of the defaults)
    extra_rock = eur(6.0, 5.0) - eur(5.0, 5.0)
    extra_sand = eur(6.0, np.inf) - eur(5.0, np.inf)
    assert extra_rock - extra_sand == pytest.approx(168.0 * 230.0 * 0.6, abs=0.01)


@pytest.mark.parametrize(
    ("rock_depth_m", "level"), [(1.0, 4.0), (1.24, 4.0), (1.25, 5.0), (np.inf, np.inf)], ids=str
)
def test_rock_head_counts_from_the_whole_step_above(rock_depth_m: float, level: float) -> None:
    assert float(rock_head_level(rock_depth_m, A)) == level


def test_deeper_is_never_cheaper_whatever_the_rock() -> None:
    depths = np.arange(2.5, 16.01, 0.25)
    for rock_depth_m in (0.5, 3.0, 7.3):
        prices = [eur(float(d), rock_depth_m) for d in depths]
        assert np.all(np.diff(prices) >= -1e-6)
