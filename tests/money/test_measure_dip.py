"""What a dip costs more: the deeper trench by hand, ramps by another way of adding up."""

from __future__ import annotations

import math

import numpy as np
import pytest

from routescreen.drives.dip import CrossingDip, Dip
from routescreen.money.measure import crossing_trench, crossing_trench_per_m
from routescreen.money.measure_dip import dip_per_m, dip_run
from tests.money.places import by_code, place, soil_index
from tests.narrow import load_narrow as load_assumptions

# Pipes 0.5 m apart whatever heat asks for; faces at 45 degrees in dense sand, bottoms 1.18 m wide.
CLOSE = load_assumptions("[search]\nrating_steers = false\n")
WIDE = np.array([False])
LOWER = Dip(2.40, 2.40, is_wet=False)  # tops 1.00 m lower: bottom 2.88 instead of 1.88 m deep
GROUND = ((soil_index("sand_dense"), 10.0, math.inf, soil_index("rock_weak")),)


def dug_m3_per_m(bottom_m: float) -> float:
    """Of both trenches below 0.3 m of topsoil: 1.2 times what lies below 1.75 m."""

    def up_to(height_m: float) -> float:
        return 1.18 * height_m + height_m**2

    return 2.0 * (up_to(bottom_m - 0.3) + 0.2 * up_to(bottom_m - 1.75))


def test_a_metre_at_full_depth_by_hand() -> None:
    """Up to 2.58 and 1.13 m: 9.701 + 0.2 x 2.610; as beside 4.361 + 0.2 x 0.170: 5.828 m3 more a trench."""
    more = by_code(dip_per_m(LOWER, place(CLOSE), WIDE, CLOSE)[0], CLOSE)
    assert more["TR20"] == pytest.approx(11.656, abs=0.001)
    assert more["TR20"] == pytest.approx(dug_m3_per_m(2.88) - dug_m3_per_m(1.88))
    # bedding, pipes, cables, strip and land are as beside it
    assert {code for code, value in more.items() if abs(value) > 1e-9} == {"TR20", "TR52"}


def test_ramps_and_stretch_by_hand() -> None:
    """Two arcs of 25 m to either side, 1.00 m up: cos t = 0.98, run 50 sin t, length 50 t; 3 m deep."""
    t = math.acos(0.98)
    run_m, length_m = 50.0 * math.sin(t), 50.0 * t
    along = (np.arange(4000) + 0.5) / 4000 * run_m
    sagged = np.where(
        along < run_m / 2.0,
        25.0 - np.sqrt(625.0 - along**2),
        1.0 - 25.0 + np.sqrt(625.0 - (run_m - along) ** 2),
    )
    ramp = float(np.mean([dug_m3_per_m(1.88 + sag) for sag in sagged])) - dug_m3_per_m(1.88)
    found = by_code(dip_run(CLOSE, CrossingDip(LOWER, 3.0, GROUND)), CLOSE)
    assert found["TR20"] == pytest.approx(3.0 * 11.656 + 2.0 * run_m * ramp, rel=2e-3)  # in eight parts
    assert found["TR90"] == pytest.approx(4.0 * 2.0 * (length_m - run_m))
    assert found["CA11"] == pytest.approx(4.0 * 2.0 * (length_m - run_m))


def test_the_dearest_ground_along_it_counts() -> None:
    rock = ((soil_index("rock_hard"), 10.0, 0.0, soil_index("rock_hard")),)
    both = CrossingDip(LOWER, 3.0, GROUND + rock)
    assert dip_run(CLOSE, both) == pytest.approx(dip_run(CLOSE, CrossingDip(LOWER, 3.0, rock)))


def test_a_crossing_has_its_dip_besides_its_own_items() -> None:
    dip = CrossingDip(LOWER, 3.0, GROUND)
    plain, dipped = (crossing_trench("water_main", CLOSE, each) for each in (None, dip))
    assert dipped - plain == pytest.approx(dip_run(CLOSE, dip))
    plain, dipped = (
        crossing_trench_per_m("ditch", place(CLOSE), WIDE, CLOSE, each) for each in (None, LOWER)
    )
    assert dipped - plain == pytest.approx(dip_per_m(LOWER, place(CLOSE), WIDE, CLOSE))


def test_a_bed_that_is_wet_all_the_year_is_kept_dry_by_well_points() -> None:
    """Water up to the bed, 2.88 m over the bottom, in sand: both trenches, where beside it there is none."""
    wet = Dip(2.80, 2.40, is_wet=True)
    assert by_code(dip_per_m(wet, place(CLOSE), WIDE, CLOSE)[0], CLOSE)["TR41"] == pytest.approx(2.0)
