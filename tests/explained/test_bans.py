"""What bans on open cut cost: against the corridor prepared without the ban."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from routescreen.explained.bans import CROSSING, LAND, ban_prices, bans_of, lifted_arrays
from routescreen.explained.limits import limits_table
from routescreen.search.halves import find_plan
from tests.audit.place import crossing
from tests.search.test_otherwise import corridor, problem_of

EXACT_EUR = 0.005


def track(treatment: str):
    """Return a corridor across which, side to side, a track lies that may be cut open or not."""
    return corridor(crossing("track", box(600.0, -300.0, 606.0, 300.0), treatment=treatment))


def optimum_of(problem) -> float:
    plan = find_plan(problem.arrays)
    assert plan is not None
    return plan.objective_eur


def test_the_price_of_a_ban_is_the_difference_to_the_corridor_without_it():
    inp = track("trenchless")
    banned, free = problem_of(inp), problem_of(track("open_cut"))
    (ban,) = bans_of(banned, inp)
    assert ban.limit == CROSSING
    assert ban.title.startswith("The ban on open cut at track")
    expected = optimum_of(banned) - optimum_of(free)
    assert expected > 100_000.0  # a drive with two shafts against a few metres of trench
    (price,) = ban_prices(banned, inp, optimum_of(banned))
    assert price.saving_eur == pytest.approx(expected, abs=EXACT_EUR)
    assert price.binds == "yes"


def test_what_the_ban_closed_opens_and_nothing_else_changes():
    inp = track("trenchless")
    banned, free = problem_of(inp), problem_of(track("open_cut"))
    (ban,) = bans_of(banned, inp)
    lifted = lifted_arrays(banned, inp, ban)
    np.testing.assert_allclose(lifted.trench.move_eur, free.arrays.trench.move_eur, rtol=1e-12)
    assert np.isfinite(lifted.trench.move_eur).sum() > np.isfinite(banned.arrays.trench.move_eur).sum()


def test_what_was_closed_for_another_reason_stays_closed():
    inp = track("trenchless")
    problem = problem_of(inp)
    move_eur = problem.arrays.trench.move_eur.copy()
    move_eur[5, :, :] = np.inf
    arrays = problem.arrays._replace(trench=problem.arrays.trench._replace(move_eur=move_eur))
    (ban,) = bans_of(problem, inp)
    lifted = lifted_arrays(replace(problem, arrays=arrays), inp, ban)
    assert not np.isfinite(lifted.trench.move_eur[5]).any()


def test_a_ban_that_nothing_pays_for_costs_nothing():
    """A stub of a track at the edge, round which the trench goes straight on."""
    inp = corridor(crossing("track", box(600.0, 55.0, 620.0, 60.0), treatment="trenchless"))
    problem = problem_of(inp)
    table = limits_table(problem, optimum_of(problem), corridor=inp)
    row = table[table["limit"] == CROSSING].iloc[0]
    assert (row["binds"], row["saving_eur"]) == ("no", 0.0)
    assert "does not bind" in row["reason"]
    assert CROSSING not in set(limits_table(problem, optimum_of(problem))["limit"])


def test_a_ground_cover_without_trench_is_a_ban_of_its_own():
    """A class of the corridor that allows no trench; where all allow one there is no such ban."""
    inp = corridor()
    text = "[cover.cropland]\ntrench_allowed = false\n"
    names = {ban.limit for ban in bans_of(problem_of(inp, text), inp)}
    assert LAND in names
    assert LAND not in {ban.limit for ban in bans_of(problem_of(inp), inp)}
