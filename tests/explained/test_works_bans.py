"""What bans on shafts and drives cost: against the corridor prepared without the ban."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, box

from routescreen.explained.limits import limits_table
from routescreen.explained.works_bans import (
    DRIVE,
    LAND,
    METHOD,
    PIN,
    SHAFT,
    lifted,
    n_works_bans,
    opened_by,
    works_ban_prices,
)
from routescreen.search.halves import find_plan
from tests.audit.place import across, crossing, layer, with_cover, with_pin
from tests.search.test_otherwise import corridor, problem_of

EXACT_EUR = 0.005
RIVER = crossing("river", across(600.0), name="Alder")
MEADOW = box(630.0, -300.0, 720.0, 300.0)  # beside the river, so that shafts stand further off
GRASSLAND = 1


def optimum_of(problem) -> float:
    plan = find_plan(problem.arrays)
    assert plan is not None
    return plan.objective_eur


def meadow(word: str):
    """Return the river and a protected area beside it that bears shafts or does not."""
    return corridor(RIVER, crossing("track", MEADOW, name="Lea", shaft_allowed=word))


def patch(treatment: str):
    """Return the river, most of which a building covers that may be passed under or not."""
    return corridor(RIVER, crossing("building", box(570.0, -60.0, 630.0, 0.0), treatment=treatment))


def price_of(problem, inp, limit: str, words: str = ""):
    prices = works_ban_prices(problem, inp, optimum_of(problem))
    (found,) = [price for price in prices if price.limit == limit and words in price.title]
    return found


@pytest.mark.parametrize(
    ("banned", "free", "limit", "words"),
    [
        pytest.param(meadow("no"), meadow("yes"), SHAFT, "Lea", id="shafts in a feature"),
        pytest.param(meadow("consent"), meadow("yes"), SHAFT, "Lea", id="consent counts as no"),
        pytest.param(patch("avoid"), patch("trenchless"), DRIVE, "building", id="drives under a feature"),
        pytest.param(
            with_pin(corridor(RIVER), "no_shaft", 660.0, 0.0, 65.0), corridor(RIVER), PIN, "x 660", id="a pin"
        ),
    ],
)
def test_the_price_of_a_ban_is_the_difference_to_the_corridor_without_it(banned, free, limit, words):
    problem = problem_of(banned)
    expected = optimum_of(problem) - optimum_of(problem_of(free))
    assert expected > 500.0
    price = price_of(problem, banned, limit, words)
    assert price.saving_eur == pytest.approx(expected, abs=EXACT_EUR)
    assert price.binds == "yes"


def test_ground_cover_without_shafts_is_priced_as_the_class_with_them():
    inp = with_cover(corridor(RIVER), MEADOW, GRASSLAND)
    text = '[cover.grassland]\nshaft_allowed = "{}"\n'
    problem, free = problem_of(inp, text.format("no")), problem_of(inp, text.format("yes"))
    expected = optimum_of(problem) - optimum_of(free)
    assert expected > 500.0
    price = price_of(problem, inp, LAND, "grassland")
    assert price.saving_eur == pytest.approx(expected, abs=EXACT_EUR)
    assert not [ban for ban in opened_by(free, inp) if ban.limit == LAND]


def test_what_opens_is_what_the_ban_alone_closes():
    """The lifted places are those of the corridor prepared without the ban; two pins close each other's."""
    inp = meadow("no")
    problem, free = problem_of(inp), problem_of(meadow("yes"))
    (ban,) = [ban for ban in opened_by(problem, inp) if "Lea" in ban.title]
    np.testing.assert_array_equal(lifted(problem, [ban]).shaft.is_allowed, free.arrays.shaft.is_allowed)
    pins = layer("pins", [{"role": "no_shaft", "radius_m": 80.0}] * 2, [Point(1100.0, 0.0)] * 2)
    twice = replace(corridor(RIVER), pins=pins)
    closed = [ban for ban in opened_by(problem_of(twice), twice) if ban.limit == PIN]
    assert len(closed) == 2
    assert all(ban.is_empty for ban in closed)


def test_ceilings_without_a_ban_are_those_of_the_corridor_prepared_without():
    inp = patch("avoid")
    problem, free = problem_of(inp), problem_of(patch("trenchless"))
    (ban,) = [ban for ban in opened_by(problem, inp) if ban.limit == DRIVE]
    assert len(ban.cell)
    np.testing.assert_allclose(
        lifted(problem, [ban]).drive.ceiling_m, free.arrays.drive.ceiling_m, rtol=0.0, atol=1e-9
    )


def test_bans_looked_at_in_groups_cost_what_each_costs_alone():
    inp = with_pin(meadow("no"), "no_shaft", 1200.0, 0.0, 40.0)
    problem = problem_of(inp)
    optimum_eur = optimum_of(problem)
    prices = {price.title: price for price in works_ban_prices(problem, inp, optimum_eur)}
    binds = set()
    for ban in opened_by(problem, inp):
        alone_eur = optimum_eur - optimum_of(replace(problem, arrays=lifted(problem, [ban])))
        assert prices[ban.title].saving_eur == pytest.approx(alone_eur, abs=0.01)
        binds.add(prices[ban.title].binds)
    assert binds == {"yes", "no"}


def test_a_method_that_is_not_enabled_has_no_price_and_says_so():
    inp = corridor(RIVER)
    problem = problem_of(inp, "[methods.guided_thrust]\nis_enabled = false\n")
    table = limits_table(problem, optimum_of(problem), corridor=inp)
    rows = table[table["limit"] == METHOD].set_index("reason")
    named = [reason for reason in rows.index if "methods.guided_thrust.is_enabled" in reason]
    assert len(named) == 1
    assert rows.loc[named[0], "binds"] == "unknown"
    assert np.isnan(rows.loc[named[0], "saving_eur"])
    assert "is not priced" in named[0]
    assert list(table["limit"])[-len(rows) :] == [METHOD] * len(rows)  # behind all that has a price


def test_bans_are_counted_at_crossings():
    inp = meadow("no")
    assert n_works_bans(problem_of(inp)) == n_works_bans(problem_of(meadow("yes"))) + 1
    table = limits_table(problem_of(inp), 1e6, corridor=inp, has_open_cut_bans=False, has_works_bans=False)
    assert not {SHAFT, DRIVE, METHOD} & set(table["limit"])
