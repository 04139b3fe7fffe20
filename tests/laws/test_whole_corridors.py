"""Laws of the whole job on invented corridors: what must not matter does not, what costs never pays."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from benchmarks.corridors import NO_WAY_KINDS, as_layer, random_corridor
from routescreen.assumptions import load_assumptions
from routescreen.money.measure import bill_items, rates_eur
from routescreen.screen import prepare
from routescreen.search.frame_bill import measure_on_frame
from routescreen.search.solve import optimum_eur, run_with_progress
from routescreen.search.trace import trace_plan
from tests.laws.turned import from_the_other_end, shifted, turned_left

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions, Range
    from routescreen.project import CorridorInput

DEFAULTS = load_assumptions()
# short corridors, so that all is quick; 1 is a fixed alignment, 2, 23 and 28 come with an axis
SEEDS = (1, 2, 14, 23, 28, 30)
SAME_FRAC = 1e-9  # coordinates of millions of metres leave some 1e-10 of a price
MORE = 1.3
LAND_PRICES = ("temporary_land_eur_per_m2", "permanent_land_eur_per_m2", "reinstate_eur_per_m2")


def optimum(corridor: CorridorInput, assumptions: Assumptions = DEFAULTS) -> float:
    """Return the least cost of a plan before any audit, inf where there is none [EUR]."""
    problem, _ = prepare(corridor, assumptions)
    return optimum_eur(problem.arrays, run_with_progress(problem.arrays))


@cache
def base_eur(seed: int) -> float:
    """Return the optimum of a seed's corridor [EUR]."""
    found = optimum(random_corridor(seed))
    assert math.isfinite(found)
    return found


@cache
def item_eur(seed: int) -> NDArray[np.float64]:
    """Return the optimal plan's bill on the frame by item [EUR]."""
    problem, _ = prepare(random_corridor(seed), DEFAULTS)
    plan = trace_plan(problem.arrays, run_with_progress(problem.arrays))
    bill = measure_on_frame(problem, plan)
    return np.asarray((bill.steps.sum(axis=0) + bill.shafts.sum(axis=0)) * rates_eur(DEFAULTS))


# 22 opens a trench through contaminated ground, where the metres inside the crossing cost more
@pytest.mark.parametrize("seed", [*SEEDS, 22])
def test_direction_of_the_chainage_does_not_matter(seed: int) -> None:
    turned = optimum(from_the_other_end(random_corridor(seed)))
    assert turned == pytest.approx(base_eur(seed), rel=SAME_FRAC)


@pytest.mark.parametrize("seed", SEEDS)
def test_place_in_the_grid_does_not_matter(seed: int) -> None:
    moved = optimum(shifted(random_corridor(seed), 12_345.0, -6_789.0))
    assert moved == pytest.approx(base_eur(seed), rel=SAME_FRAC)


@pytest.mark.parametrize("seed", SEEDS)
def test_bearing_does_not_matter(seed: int) -> None:
    assert optimum(turned_left(random_corridor(seed))) == pytest.approx(base_eur(seed), rel=SAME_FRAC)


def times(price: Range, factor: float) -> Range:
    """Return a price multiplied, its low and high as well."""
    return price.model_copy(
        update={name: factor * getattr(price, name) for name in ("low", "expected", "high")}
    )


def with_rates(assumptions: Assumptions, prefix: str, factor: float) -> Assumptions:
    """Return the assumptions with the rates of all items whose code begins so multiplied."""
    rates = {code: times(rate, factor) for code, rate in assumptions.rates.items() if code.startswith(prefix)}
    return assumptions.model_copy(update={"rates": {**assumptions.rates, **rates}})


@cache  # what follows from the assumptions alone is then worked out once for all seeds
def dearer_items(group: str) -> Assumptions:
    """Return the defaults with a group of items dearer."""
    return with_rates(DEFAULTS, group, MORE)


@cache
def in_another_currency(factor: float) -> Assumptions:
    """Return the defaults with all rates and all prices of land and ground multiplied."""
    cover = {
        name: entry.model_copy(update={key: times(getattr(entry, key), factor) for key in LAND_PRICES})
        for name, entry in DEFAULTS.cover.items()
    }
    return with_rates(DEFAULTS, "", factor).model_copy(update={"cover": cover})


@pytest.mark.parametrize("seed", [1, 14, 30])
@pytest.mark.parametrize("group", ["TR2", "DR", "SH", "MO", "CO", "CR", "AG", "CA", "PI"])
def test_dearer_items_cost_more_but_no_more_than_the_old_plan_does(seed: int, group: str) -> None:
    """The new optimum lies between the old one and the old plan at the new rates."""
    is_raised = np.array([item.rate_code.startswith(group) for item in bill_items(DEFAULTS).items])
    rise_eur = (MORE - 1.0) * float(item_eur(seed)[is_raised].sum())
    found = optimum(random_corridor(seed), dearer_items(group))
    assert base_eur(seed) - 0.005 <= found <= base_eur(seed) + rise_eur + 0.005


@pytest.mark.parametrize("seed", [2, 14, 30])
def test_another_currency_scales_every_price(seed: int) -> None:
    """The same plan, its price multiplied."""
    dearer = in_another_currency(7.5)
    assert optimum(random_corridor(seed), dearer) == pytest.approx(7.5 * base_eur(seed), rel=SAME_FRAC)


@pytest.mark.parametrize("seed", [14, 23, 30])
def test_a_ban_on_trench_and_shaft_never_pays(seed: int) -> None:
    """Each feature in turn may no longer be cut, nor hold a shaft; some bans bite, none helps."""
    corridor, extra_eur = random_corridor(seed), []
    for number, kind in enumerate(corridor.crossings["kind"]):
        table = corridor.crossings.copy()
        row = table.index[number]
        table.loc[row, "treatment"] = "avoid" if kind in NO_WAY_KINDS else "trenchless"
        table.loc[row, "shaft_allowed"] = "no"
        extra_eur.append(optimum(replace(corridor, crossings=table)) - base_eur(seed))
    assert min(extra_eur) >= -0.005
    assert max(extra_eur) > 1_000.0


@pytest.mark.parametrize("seed", [1, 14, 23])
def test_ground_kept_free_of_shafts_never_pays(seed: int) -> None:
    corridor, extra_eur = random_corridor(seed), []
    line = corridor.axis or corridor.fixed_line or shapely.LineString([corridor.start, corridor.end])
    for share in (0.25, 0.4, 0.5, 0.6, 0.75):
        pin = {"role": "no_shaft", "radius_m": 45.0}, line.interpolate(share, normalized=True)
        assert len(corridor.pins) == 0
        extra_eur.append(optimum(replace(corridor, pins=as_layer("pins", [pin]))) - base_eur(seed))
    assert min(extra_eur) >= -0.005
    assert max(extra_eur) > 1_000.0


@pytest.mark.parametrize("seed", SEEDS[:4])
def test_passing_over_pairs_changes_nothing(seed: int) -> None:
    problem, _ = prepare(random_corridor(seed), DEFAULTS)
    results = [run_with_progress(problem.arrays, is_pruned=is_pruned) for is_pruned in (True, False)]
    # to the float: the same drives priced by the same code
    assert optimum_eur(problem.arrays, results[0]) == optimum_eur(problem.arrays, results[1])
    assert results[0].n_scans < results[1].n_scans
