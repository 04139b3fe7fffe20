"""Other plans that really differ: each the cheapest that passes some crossing in another way.

Room: ``search``. Chooses among plans that ``otherwise`` has found; solves nothing again.

A plan whose crossings are not all passed as the optimum's are passes at least one of them otherwise. The
cheapest plan for each crossing and way is known exactly, so the cheapest of them all is the second best
plan by the treatment of crossings. Those behind it are each the cheapest for their crossing and way; plans
that pass two crossings otherwise at once are among them only where that is cheapest for one of the two.

Overlap of two plans: the length in plan of the moves and drives that both have, by the longer of their
lengths. On a long link that is near 1 for any two plans; so whether two alternatives differ is asked of
their departures, the pieces that the optimum hasn't.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.search.otherwise import passes_all
from routescreen.search.solve import DriveStep
from routescreen.search.stretches import nodes_along

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from routescreen.search.crossing_ways import CrossingWay
    from routescreen.search.problem import FrameProblem
    from routescreen.search.solve import FramePlan

Pieces = dict[tuple[object, ...], float]  # lengths in plan of moves and drives [m]
LEAST_EUR = 0.01  # below, it is the optimum itself in another order of sums


@dataclass(frozen=True, slots=True)
class Alternative:
    """One plan that differs from the optimum.

    Attributes
    ----------
    plan : FramePlan
        On the frame, as the search found it.
    extra_eur : float
        Over the optimum [EUR].
    treatments : mapping of int to frozenset of int
        Of each crossing that it passes otherwise than the optimum the ways: methods, `OPEN_CUT`; empty where
        it goes round.
    overlap_frac : float
        With the optimum [-].
    departure_overlap_frac : float
        The largest of its departure with that of a cheaper alternative [-]; 0 for the first.
    """

    plan: FramePlan
    extra_eur: float
    treatments: Mapping[int, frozenset[int]]
    overlap_frac: float
    departure_overlap_frac: float


def alternatives(
    problem: FrameProblem,
    plan: FramePlan,
    found: Sequence[CrossingWay],
    n_most: int,
    most_overlap_frac: float,
) -> tuple[Alternative, ...]:
    """Return the cheapest plans that pass some crossing otherwise and depart elsewhere or otherwise.

    Parameters
    ----------
    problem : FrameProblem
    plan : FramePlan
        The optimum.
    found : sequence of CrossingWay
        Every way to pass the crossings looked at, with their plans.
    n_most : int
    most_overlap_frac : float
        Of its departure with that of each cheaper alternative [-].

    Returns
    -------
    tuple of Alternative
        Cheapest first.
    """
    own, own_ways = pieces_of_plan(problem, plan), passes_all(problem, plan)
    candidates = [way for way in found if way.plan is not None and way.extra_eur >= LEAST_EUR]
    chosen: list[Alternative] = []
    departures: list[Pieces] = []
    for way in sorted(candidates, key=lambda way: way.extra_eur):
        if len(chosen) >= n_most or way.plan is None:
            break
        pieces = pieces_of_plan(problem, way.plan)
        departure = {key: length_m for key, length_m in pieces.items() if key not in own}
        nearest = max((overlap_frac(departure, other) for other in departures), default=0.0)
        if nearest > most_overlap_frac:
            continue
        ways = passes_all(problem, way.plan)
        none: frozenset[int] = frozenset()
        treatments = {
            crossing: ways.get(crossing, none)
            for crossing in sorted({*ways, *own_ways})
            if ways.get(crossing, none) != own_ways.get(crossing, none)
        }
        chosen.append(Alternative(way.plan, way.extra_eur, treatments, overlap_frac(pieces, own), nearest))
        departures.append(departure)
    return tuple(chosen)


def pieces_of_plan(problem: FrameProblem, plan: FramePlan) -> Pieces:
    """Return the moves and drives of a plan with their lengths in plan [m]."""
    column, row = np.array(nodes_along(plan.steps), np.int64).T
    xy_m = problem.frame.node_xy_m[column, row]
    lengths_m = np.hypot(*np.diff(xy_m, axis=0).T)
    return {
        (step.lower, step.upper, step.method, step.is_launched_at_lower)
        if isinstance(step, DriveStep)
        else (step.start, step.move): float(length_m)
        for step, length_m in zip(plan.steps, lengths_m, strict=True)
    }


def overlap_frac(one: Pieces, other: Pieces) -> float:
    """Return the length of the pieces in both by the longer of the two [-].

    Examples
    --------
    >>> overlap_frac({("a",): 30.0, ("b",): 10.0}, {("a",): 30.0, ("c",): 90.0})
    0.25
    """
    longer_m = max(sum(one.values()), sum(other.values()))
    if longer_m <= 0.0:
        return 1.0
    return sum(length_m for key, length_m in one.items() if key in other) / longer_m
