"""Ramps of dips: depths by hand, what their pipes lie in, and that each part bears the current."""

from __future__ import annotations

import math

import numpy as np
import pytest

from routescreen.drives.cable_make import asked_A
from routescreen.drives.dip import RUNGS, Dip, dip_way
from routescreen.drives.dip_ramp import RAMP_PIECES, dip_ramp, is_barred, ramp_tops_m
from tests.narrow import load_narrow as load_assumptions

A = load_assumptions()
ROCK = A.soil_names.index("rock_weak")


def ground(soil: str, water_m: float) -> tuple[int, float, float, int]:
    return (A.soil_names.index(soil), water_m, math.inf, ROCK)


def test_depths_by_hand() -> None:
    """1.00 m down on two arcs of 25 m: run 50 sin t with cos t = 0.98; symmetric about half of it."""
    tops_m = ramp_tops_m(Dip(2.40, 2.40, is_wet=False), A)
    run_m = 50.0 * math.sin(math.acos(0.98))
    at_m = run_m * (np.arange(RAMP_PIECES) + 0.5) / RAMP_PIECES
    sunk = [
        25.0 - math.sqrt(625.0 - x**2)
        if x < run_m / 2.0
        else 1.0 - 25.0 + math.sqrt(625.0 - (run_m - x) ** 2)
        for x in at_m
    ]
    assert tops_m == pytest.approx([1.40 + each for each in sunk])
    assert np.add(tops_m, tops_m[::-1]) == pytest.approx(np.full(RAMP_PIECES, 3.80))


@pytest.mark.parametrize("soil", ["sand_loose", "sand_dense", "silt", "clay_soft", "gravel"])
@pytest.mark.parametrize("water_m", [0.5, 1.5, 10.0])
@pytest.mark.parametrize("is_wet", [False, True])
def test_each_part_bears_the_current_or_it_is_warm(soil: str, water_m: float, *, is_wet: bool) -> None:
    """Rated anew as built: all at the widest spacing, so none is warmer than by itself."""
    dip = Dip(3.0, 2.3, is_wet)
    ramp = dip_ramp(A, dip, ground(soil, water_m))
    assert not ramp.is_warm
    assert ramp.spacing_m >= dip_way(A, dip, ground(soil, water_m), is_braced=False).spacing_m
    for part, way, there in zip(ramp.parts, ramp.ways, ramp.built(A), strict=True):
        assert way.rating_A >= asked_A(A)
        assert way.spacing_m <= ramp.spacing_m
        assert there.trench.cover_to_pipe_m == part.below_ground_m
        assert (there.trench.bedding_above_m > A.trench.bedding_above_m) == way.has_fill


def test_fill_in_the_bank_where_the_dip_itself_needs_none() -> None:
    """Silt that may dry out: below the bed it is saturated, in the bank 3 m deep it gets too warm."""
    dip, silt = Dip(3.0, 2.3, is_wet=True), ground("silt", 10.0)
    assert RUNGS[dip_way(A, dip, silt, is_braced=False).rung] == "under"
    ramp = dip_ramp(A, dip, silt)
    assert any(way.has_fill for way in ramp.ways) or ramp.spacing_m > A.trench.pipe_spacing_m
    assert not is_barred(dip, silt, A)


def test_a_bank_too_warm_in_any_way_bars_the_dip() -> None:
    """Made ground: 2 004 A below a wet bed, 1 826 A at most 2.8 m deep in a bank that may dry out."""
    dip, made = Dip(2.8, 2.3, is_wet=True), ground("made_ground", 10.0)
    assert RUNGS[dip_way(A, dip, made, is_braced=False).rung] != "none"
    assert dip_ramp(A, dip, made).is_warm
    assert is_barred(dip, made, A)
    free = load_assumptions("[search]\nrating_steers = false\n")
    assert not is_barred(dip, made, free)
