"""What bans on open cut cost: of each crossing that must not be cut open, of each ground without trench.

Room: beside ``screen``. The trench is judged and priced anew with one ban lifted, and all is searched again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.corridor.burn import BurnInput, trench_rules
from routescreen.corridor.burn_moves import judge_moves
from routescreen.corridor.burn_segments import crossing_segments
from routescreen.explained.works_bans import allowing
from routescreen.search.ground_lines import GroundLines
from routescreen.search.limit_prices import LimitPrice, saving_without_eur
from routescreen.search.reasons import cover_title, title
from routescreen.search.trench_prices import trench_arrays

if TYPE_CHECKING:
    from collections.abc import Callable

    from routescreen.corridor.burn_moves import Moves
    from routescreen.project import CorridorInput
    from routescreen.search.arrays import SearchArrays
    from routescreen.search.problem import FrameProblem

CROSSING, LAND = "crossing_ban", "land_ban"


@dataclass(frozen=True, slots=True)
class Ban:
    """One ban: its kind, what it is called, and what the trench is judged by without it."""

    limit: str
    title: str
    without: BurnInput


def n_bans(problem: FrameProblem) -> int:
    """Return how many crossings must not be cut open."""
    return problem.crossings.trench.count("no")


def bans_of(problem: FrameProblem, corridor: CorridorInput) -> list[Ban]:
    """Return the bans on open cut that the frame has, crossings first.

    Parameters
    ----------
    problem : FrameProblem
    corridor : CorridorInput
        The one that the frame was laid over.

    Returns
    -------
    list of Ban
    """
    what = _what(problem, corridor)
    found = [
        Ban(
            CROSSING,
            f"The ban on open cut at {title(problem, crossing)}",
            replace(what, crossings=allowing(problem.crossings, crossing, "trench")),
        )
        for crossing in range(len(problem.crossings))
        if problem.crossings.trench[crossing] == "no"
    ]
    met = np.unique(problem.ground.node.cover_class[problem.frame.is_valid])
    covers = problem.assumptions.cover
    for number, (name, cover) in enumerate(covers.items()):
        if number in met and not cover.trench_allowed:
            allowed = cover.model_copy(update={"trench_allowed": True})
            own = problem.assumptions.model_copy(update={"cover": {**covers, name: allowed}})
            title_ = f"The ban on trenches on {cover_title(problem, number)} ground"
            found.append(Ban(LAND, title_, replace(what, assumptions=own)))
    return found


def ban_prices(
    problem: FrameProblem,
    corridor: CorridorInput,
    optimum_eur: float,
    *,
    progress: Callable[[float], None] | None = None,
) -> list[LimitPrice]:
    """Return what each ban on open cut costs.

    Parameters
    ----------
    problem : FrameProblem
    corridor : CorridorInput
    optimum_eur : float
        Of the search with all of them [EUR].
    progress : callable or None
        Called with the share of the work done [-].

    Returns
    -------
    list of LimitPrice
        In the order of `bans_of`; 0 also where something else keeps every line closed.

    Notes
    -----
    Without a ban a trench costs there what it costs by the rates of the ground and of the crossing's kind; a
    kind that may never be cut open has no rate of its own for the cut.
    """
    bans = bans_of(problem, corridor)
    if not bans:
        return []
    before = _judged(_what(problem, corridor))
    found = []
    for number, ban in enumerate(bans, start=1):
        lifted = _lifted(problem, ban, before)
        saving_eur = 0.0 if lifted is None else saving_without_eur(lifted, optimum_eur)
        found.append(LimitPrice(ban.limit, ban.title, saving_eur))
        if progress is not None:
            progress(number / len(bans))
    return found


def lifted_arrays(problem: FrameProblem, corridor: CorridorInput, ban: Ban) -> SearchArrays:
    """Return the search's arrays without a ban."""
    lifted = _lifted(problem, ban, _judged(_what(problem, corridor)))
    return problem.arrays if lifted is None else lifted


def _what(problem: FrameProblem, corridor: CorridorInput) -> BurnInput:
    return BurnInput(
        problem.frame, corridor, problem.crossings, problem.sampler, problem.ground, problem.assumptions
    )


def _judged(what: BurnInput) -> Moves:
    segments = crossing_segments(what.crossings, window_m=what.assumptions.frame.tangent_window_m)
    return judge_moves(what.frame, trench_rules(what, segments))


def _lifted(problem: FrameProblem, ban: Ban, before: Moves) -> SearchArrays | None:
    """Return the arrays without a ban, None where that opens no move; what the audit closed stays closed."""
    moves = _judged(ban.without)
    is_opened = moves.move_ok & ~before.move_ok
    if not is_opened.any():
        return None
    burnt = replace(
        problem.burnt,
        move_ok=np.isfinite(problem.arrays.trench.move_eur) | is_opened,
        move_narrow=np.where(is_opened, moves.move_narrow, problem.burnt.move_narrow),
    )
    lines = GroundLines(problem.sampler, problem.assumptions)
    at_nodes = lines.at_nodes(problem.frame)
    trench = trench_arrays(problem.frame, burnt, problem.crossings, lines, at_nodes, problem.assumptions)
    return problem.arrays._replace(trench=trench)
