"""What each pin and each limit of the project costs: the optimum with it lifted, found anew.

Room: ``search``. Runs the whole search once for each; exact, and as slow as that.

Lifting opens plans that no pass of the problem has kept, before it as behind it, so nothing of the passes
can be used again: with the values of either pass that a limit on the cost has thinned out a saving would only
be a least one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.counted import grouped
from routescreen.search.forces import with_any_grout, without_limits
from routescreen.search.halves import find_plan
from routescreen.search.layout import any_land
from routescreen.search.relaxations import place_text

if TYPE_CHECKING:
    from collections.abc import Callable

    from routescreen.search.arrays import SearchArrays
    from routescreen.search.problem import FrameProblem

LEAST_EUR = 0.01  # below, it is the optimum in another order of sums


@dataclass(frozen=True, slots=True)
class Lifted:
    """One pin or limit and the search's arrays without it."""

    limit: str
    title: str
    arrays: SearchArrays


@dataclass(frozen=True, slots=True)
class LimitPrice:
    """What one pin or limit costs.

    Attributes
    ----------
    limit : str
        Kind of limit.
    title : str
        Which it is, as the subject of a sentence.
    saving_eur : float or None
        What the optimum on the frame would cost less without it, 0 where it does not bind, None where that
        was not looked for [EUR].
    """

    limit: str
    title: str
    saving_eur: float | None

    @property
    def binds(self) -> str:
        """Whether the plan would be another without it: ``yes``, ``no``, or ``unknown``."""
        if self.saving_eur is None:
            return "unknown"
        return "yes" if self.saving_eur >= LEAST_EUR else "no"

    @property
    def rank_eur(self) -> float:
        """Return by what prices are put in order, the unknown ones last [EUR]."""
        return -1.0 if self.saving_eur is None else self.saving_eur


def limit_prices(
    problem: FrameProblem, optimum_eur: float, *, progress: Callable[[float], None] | None = None
) -> tuple[LimitPrice, ...]:
    """Return what each pin and each limit costs, the dearest first.

    Parameters
    ----------
    problem : FrameProblem
    optimum_eur : float
        Of the search with all of them [EUR].
    progress : callable or None
        Called with the share of the work done [-].

    Returns
    -------
    tuple of LimitPrice
        What the corridor hasn't or the project doesn't limit is left out.
    """
    found, lifted = [], lifted_limits(problem)
    for number, one in enumerate(lifted):
        saving_eur = saving_without_eur(one.arrays, optimum_eur)
        found.append(LimitPrice(one.limit, one.title, saving_eur))
        if progress is not None:
            progress((number + 1) / len(lifted))
    return tuple(sorted(found, key=lambda price: -price.rank_eur))


def saving_without_eur(lifted: SearchArrays, optimum_eur: float) -> float:
    """Return how much less the optimum costs on arrays with something lifted, 0 below a cent [EUR]."""
    plan = find_plan(lifted)
    saving_eur = 0.0 if plan is None else optimum_eur - plan.objective_eur
    return saving_eur if saving_eur >= LEAST_EUR else 0.0


def lifted_limits(problem: FrameProblem) -> list[Lifted]:
    """Return the arrays without each pin and each limit that there is."""
    arrays = problem.arrays
    found = [
        Lifted(
            f"pin_{role}", f"The pinned {what} at {place_text(problem, node)}", without_pin(arrays, node[0])
        )
        for role, what, node in pins_of(arrays)
    ]
    if arrays.trench.fresh_columns > 1:
        least_m = problem.assumptions.trench.min_trench_m
        title = f"The least run of trench between two shafts, {least_m:.0f} m,"
        trench = arrays.trench._replace(fresh_columns=1)
        found.append(Lifted("least_trench", title, arrays._replace(trench=trench)))
    if (arrays.layout.most_pieces > 0).any():
        title = "The want of land for pipe strings in one piece"
        found.append(Lifted("string_land", title, arrays._replace(layout=any_land(arrays.layout))))
    if np.isfinite(arrays.force.capacity_kN).any() or np.isfinite(arrays.force.safe_pull_kN).any():
        title = "What frames, strings and pipes bear"
        found.append(Lifted("forces", title, arrays._replace(force=without_limits(arrays.force))))
    if arrays.force.grout.is_limited.any():
        title = "That the grout of a drive stays within what the ground bears"
        found.append(Lifted("grout", title, arrays._replace(force=with_any_grout(arrays.force))))
    return [*found, *_angles(arrays), *_compounds(problem)]


def _angles(arrays: SearchArrays) -> list[Lifted]:
    """Return the arrays without least angles of drives to what they cross; the corridor's edge stays."""
    sine = arrays.drive.segment_sin_min_angle
    if not ((sine > 0.0) & (sine <= 1.0)).any():
        return []
    free = arrays.drive._replace(segment_sin_min_angle=np.where(sine > 1.0, sine, 0.0))
    return [
        Lifted("crossing_angle", "The least angle of drives to what they cross", arrays._replace(drive=free))
    ]


def _compounds(problem: FrameProblem) -> list[Lifted]:
    """Return the arrays with shafts wherever they have room themselves, land for compounds or not."""
    allowed = problem.arrays.shaft.is_allowed
    room = np.ascontiguousarray(np.moveaxis(problem.burnt.shaft_room, (0, 1, 2), (2, 3, 4))) | allowed
    if np.array_equal(room, allowed):
        return []
    shaft = problem.arrays.shaft._replace(is_allowed=room)
    title = "The want of land for shafts' compounds"
    return [Lifted("compound_land", title, problem.arrays._replace(shaft=shaft))]


def pins_of(arrays: SearchArrays) -> list[tuple[str, str, tuple[int, int]]]:
    """Return role, words and node of each pin that the line must pass, in order."""
    pins = [("shaft", "shaft", arrays.pin_shaft), ("via", "place", arrays.pin_via)]
    found = [
        (role, what, (int(column), int(rows[column])))
        for role, what, rows in pins
        for column in np.flatnonzero(rows >= 0)
    ]
    return sorted(found, key=lambda pin: pin[2])


def without_pin(arrays: SearchArrays, column: int) -> SearchArrays:
    """Return the arrays without the pins of a column."""
    shaft, via = arrays.pin_shaft.copy(), arrays.pin_via.copy()
    shaft[column] = via[column] = -1
    return arrays._replace(pin_shaft=shaft, pin_via=via)


def price_words(price: LimitPrice, optimum_eur: float) -> str:
    """Say in one sentence what a pin or a limit costs."""
    if price.saving_eur is None:
        return f"{price.title} is not priced: a run of its own tells, compared with this one."
    if price.binds == "no" or not math.isfinite(optimum_eur):
        return f"{price.title} does not bind: without it the plan on the frame is as dear."
    share = 100.0 * price.saving_eur / optimum_eur
    return f"{price.title} costs {grouped(price.saving_eur)} EUR, {share:.2f} % of the plan on the frame."
