"""Laws of the land for compounds on whole corridors: what the search lets through finds a place."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from shapely import box

from benchmarks.corridors import random_corridor
from routescreen.assumptions import load_assumptions
from routescreen.corridor.ground import GroundSampler
from routescreen.corridor.treatment import resolve_crossings
from routescreen.errors import NoPlanError
from routescreen.screen import Screening, prepare, screen_corridor, solve_and_audit
from tests.audit.place import place, with_cover, with_ground

if TYPE_CHECKING:
    from routescreen.project import CorridorInput

DEFAULTS = load_assumptions()
UNASKED = load_assumptions("[search]\ncompounds_need_land = false\n")
TOUCH_M2 = 0.5  # on each piece of land
# Shafts that serve two drives: 4, 11. Where compounds steer: 5, 30.
SEEDS = (4, 5, 11, 30)


@cache
def screened(seed: int) -> Screening:
    return screen_corridor(random_corridor(seed), DEFAULTS)


def barred(corridor: CorridorInput) -> list[shapely.Geometry]:
    """Return the land that bears no compound, a crossing or a class of cover each."""
    crossings, sampler = resolve_crossings(corridor.crossings, DEFAULTS), GroundSampler(corridor, DEFAULTS)
    table = zip(crossings.outline, crossings.shaft_allowed, strict=True)
    land = [outline for outline, allowed in table if allowed != "yes"]
    for number, cover in enumerate(DEFAULTS.cover.values()):
        if cover.compound_allowed == "no":
            land.append(shapely.union_all(sampler.cover_boxes(np.arange(len(DEFAULTS.cover)) == number)))
    pins = corridor.pins[corridor.pins["role"] == "no_shaft"]
    return [*land, *(p.buffer(r) for p, r in zip(pins.geometry, pins["radius_m"], strict=True) if r > 0.0)]


@pytest.mark.parametrize("seed", SEEDS)
def test_every_compound_of_a_plan_stands_clear_of_land_that_bears_none(seed: int) -> None:
    land = barred(random_corridor(seed))
    compounds = screened(seed).corridor.compounds
    assert len(compounds) == len(screened(seed).corridor.plan.shafts) > 0
    for compound in compounds:
        assert max(compound.outline.intersection(piece).area for piece in land) <= TOUCH_M2


@pytest.mark.parametrize("seed", SEEDS)
def test_asking_for_land_never_makes_a_plan_cheaper(seed: int) -> None:
    corridor = random_corridor(seed)
    asked, unasked = (
        solve_and_audit(prepare(corridor, a)[0], corridor).frame_plan.objective_eur
        for a in (DEFAULTS, UNASKED)
    )
    assert asked >= unasked * (1.0 - 1e-9)


def test_a_shaft_moves_to_where_its_compound_has_land() -> None:
    """Meadows that bear a shaft but, by an owner's word, no compound lie 150 m wide before a river.

    Unasked, the shaft stands more than 50 m inside, and its compound has no land. Asked, it stands where its
    plan still touches the free land at x = 430, half of its diagonal inside at most; that is dearer.
    """
    corridor = replace(place(), outline=box(0.0, -40.0, 1500.0, 40.0))
    meadows = box(430.0, -300.0, 590.0, 300.0)
    corridor = with_cover(corridor, meadows, DEFAULTS.cover_names.index("grassland"))
    found = {}
    for is_asked in ("true", "false"):
        text = f'[cover.grassland]\ncompound_allowed = "no"\n[search]\ncompounds_need_land = {is_asked}\n'
        screening = screen_corridor(corridor, load_assumptions(text))
        assert screening.breaches == ()
        plan, compounds = screening.corridor.plan, screening.corridor.compounds
        lies_m2 = [compound.outline.intersection(meadows).area for compound in compounds]
        found[is_asked] = plan.shafts[0].xy_m[0], lies_m2[0], plan.objective_eur
    assert found["false"][0] > 480.0
    assert found["false"][1] > 100.0
    assert found["true"][0] < 430.0 + 0.5 * np.hypot(8.0, 21.0)
    assert found["true"][1] <= TOUCH_M2
    assert found["true"][2] > found["false"][2]


def test_without_land_for_a_compound_there_is_no_plan_and_the_cause_is_told() -> None:
    """The same meadows 600 m wide on both banks: in till no drive reaches over 300 m."""
    corridor = replace(place(), outline=box(0.0, -80.0, 1500.0, 80.0))
    corridor = with_cover(corridor, box(0.0, -300.0, 1200.0, 300.0), DEFAULTS.cover_names.index("grassland"))
    corridor = with_ground(corridor, box(-100.0, -300.0, 1600.0, 300.0), soil="till_boulders")
    text = '[frame]\ncell_m = 20.0\n[cover.grassland]\ncompound_allowed = "no"\n'
    with pytest.raises(NoPlanError) as caught:
        screen_corridor(corridor, load_assumptions(text))
    assert "There is no land for the compounds of most shafts there." in str(caught.value)
    assert "land for the compound of a shaft at axis chainage" in str(caught.value)
    freed = load_assumptions(text + "[search]\ncompounds_need_land = false\n")
    assert screen_corridor(corridor, freed).breaches == ()
