"""What pins and limits cost: against the whole corridor without them."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from benchmarks.explained_again import solved_again_eur
from benchmarks.proof import run
from benchmarks.proof_instances import Size, proof_arrays
from routescreen.schema import RESULT_LAYERS
from routescreen.search import limit_prices as limits
from routescreen.search.limit_prices import (
    LimitPrice,
    lifted_limits,
    limit_prices,
    pins_of,
    price_words,
    saving_without_eur,
    without_pin,
)
from routescreen.search.solve import optimum_eur
from tests.audit.place import with_pin
from tests.search.test_otherwise import corridor, problem_of

if TYPE_CHECKING:
    from routescreen.search.problem import FrameProblem

EXACT_EUR = 0.005
LEAST_TRENCH = "[trench]\nmin_trench_m = {:.1f}\n"


@pytest.fixture(scope="module")
def free() -> FrameProblem:
    """Return the small place with runs of trench of one column at least."""
    return problem_of(corridor(), LEAST_TRENCH.format(20.0))


def whole_pass_eur(problem: FrameProblem) -> float:
    return optimum_eur(problem.arrays, run(problem.arrays))


def test_lifting_a_pin_or_the_least_run_is_solving_the_corridor_prepared_without(free: FrameProblem) -> None:
    """A place to pass far aside, then runs of 200 m: each alone, against the corridor that has neither."""
    pinned = problem_of(with_pin(corridor(), "via", 400.0, 50.0, 15.0), LEAST_TRENCH.format(20.0))
    with_run = problem_of(corridor(), LEAST_TRENCH.format(200.0))
    assert with_run.arrays.trench.fresh_columns == 10
    free_eur = whole_pass_eur(free)
    for problem, limit in ((pinned, "pin_via"), (with_run, "least_trench")):
        one = next(one for one in lifted_limits(problem) if one.limit == limit)
        optimum = whole_pass_eur(problem)
        saving = saving_without_eur(one.arrays, optimum)
        assert saving == pytest.approx(optimum - free_eur, abs=EXACT_EUR)
        assert limit != "pin_via" or saving > 1000.0  # 50 m aside and back
    assert not {"pin_via", "least_trench"} & {one.limit for one in lifted_limits(free)}
    title = next(one.title for one in lifted_limits(pinned) if one.limit == "pin_via")
    assert title.startswith("The pinned place at axis chainage 400 m")


def test_the_schema_knows_every_limit_that_is_lifted() -> None:
    """By the sources, since no single corridor has all of them; and on one whose grout is limited."""
    (layer,) = (layer for layer in RESULT_LAYERS if layer.name == "binding_limits")
    (column,) = (column for column in layer.columns if column.name == "limit")
    named = set(re.findall(r'Lifted\(\s*"(\w+)"', Path(limits.__file__).read_text("utf-8")))
    assert {"least_trench", "grout", "compound_land"} <= named
    assert named <= set(column.allowed)
    problem = problem_of(corridor(), "")
    assert problem.arrays.force.grout.is_limited.any()
    assert {one.limit for one in lifted_limits(problem)} <= set(column.allowed)


def test_all_prices_are_told_the_dearest_first(free: FrameProblem) -> None:
    """Nothing that is lifted makes a plan dearer."""
    prices = limit_prices(free, whole_pass_eur(free))
    assert {"forces", "string_land"} <= {price.limit for price in prices}
    savings = [price.saving_eur for price in prices]
    assert savings == sorted(savings, reverse=True)
    assert min(savings) >= 0.0


def test_lifted_pins_of_random_corridors_against_every_pair() -> None:
    n_pins, n_binding = 0, 0
    for seed in range(30):
        arrays = proof_arrays(seed, Size(24, 4, 4))
        pins = pins_of(arrays)
        optimum = solved_again_eur(arrays) if pins else math.inf
        if not math.isfinite(optimum):
            continue
        for _, _, node in pins:
            lifted = without_pin(arrays, node[0])
            again = optimum - solved_again_eur(lifted)
            saving = saving_without_eur(lifted, optimum)
            # less than a cent is told as none
            assert saving == pytest.approx(again if again >= 0.01 else 0.0, abs=EXACT_EUR)
            n_pins, n_binding = n_pins + 1, n_binding + (saving > 0.0)
    assert n_pins >= 8
    assert n_binding >= 3


def test_words_say_the_price_or_that_there_is_none() -> None:
    assert price_words(LimitPrice("forces", "What pipes bear", 0.0), 1e6).startswith(
        "What pipes bear does not bind"
    )
    words = price_words(LimitPrice("pin_via", "The pinned place", 12_345.4), 1e6)
    assert words.startswith("The pinned place costs 12 345 EUR, 1.23 % of the plan on the frame")
