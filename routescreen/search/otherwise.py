"""What the cheapest plan costs that passes one crossing in one way only: exact, by solving again near it.

Room: ``search``. Runs the compiled legs; knows nothing of files.

Open cut through the crossing, or drives of a method under it, are closed, and the optimum is looked for
again. Nothing changes for plans up to the first column from which the crossing can be met, nor behind the
last: there the values of both passes still hold. So the forward pass goes on from the one into the columns
behind the other, over as many as the longest step of a plan, and meets the backward pass in them; there only
what comes from columns before them is looked for. The values of the backward pass in between are those of the
freer problem: they bound the rest from below, and drop what no plan within the limit has. They also say how
far drives span there in any plan within the limit; see ``reach``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.search.join_kernel import best_join
from routescreen.search.label_kernel import new_scratch
from routescreen.search.leg_kernel import Walk, run_leg
from routescreen.search.parted import columns_of, passed_fees_eur
from routescreen.search.reach import Reach
from routescreen.search.solve import DriveStep
from routescreen.search.through import ALL_RULES, cleared, with_room
from routescreen.search.trace import trace_join

if TYPE_CHECKING:
    from routescreen.search.arrays import Floats, Integers, SearchArrays
    from routescreen.search.label_kernel import PassResult, Scratch
    from routescreen.search.parted import Columns
    from routescreen.search.problem import FrameProblem
    from routescreen.search.solve import FramePlan
    from routescreen.search.through import Passages

CLOSED_EUR = 1e10  # more than a plan costs; the sums' last digits stay well below the bounds' slack
OPEN_CUT = -1  # stands beside the indices of the methods


@dataclass(frozen=True, slots=True)
class Otherwise:
    """The cheapest plan that passes a crossing in one way only, or doesn't meet it.

    Attributes
    ----------
    extra_eur : float
        Over the optimum; inf where there is none within the limit [EUR].
    plan : FramePlan or None
        None where there is none.
    """

    extra_eur: float
    plan: FramePlan | None


def columns_of_crossing(problem: FrameProblem, crossing: int) -> tuple[int, int] | None:
    """Return the first and the last column from whose nodes or cells a crossing is met; None: from none."""
    arrays, burnt = problem.arrays, problem.burnt
    nx, ny = arrays.ground.ground_m.shape
    n_moves = len(arrays.trench.moves)
    moves = burnt.pair_move[burnt.pair_crossing == crossing]
    starts = moves // n_moves // ny
    ends = starts + arrays.trench.moves[moves % n_moves, 0]
    inside = burnt.inside_node[burnt.inside_crossing == crossing] // ny
    # a move meets the crossing between its ends, a drive in the cells that hold its segments
    columns = np.concatenate([starts + 1, ends - 1, inside, cells_of_crossing(problem, crossing) // ny])
    if len(columns) == 0:
        return None
    return int(max(columns.min(), 0)), int(min(columns.max(), nx - 1))


def cells_of_crossing(problem: FrameProblem, crossing: int) -> Integers:
    """Return the flat indices of the cells in which a drive may meet a crossing's outline."""
    burnt = problem.burnt
    # the corridor's edge stands among the segments, as no crossing's own
    is_own = (burnt.segment_crossing == crossing) & (burnt.segment_sin_min_angle <= 1.0)
    at = np.flatnonzero(is_own[burnt.cell_segment])
    return np.unique(np.searchsorted(burnt.cell_segment_start, at, side="right") - 1)


def only_by(problem: FrameProblem, crossing: int, way: int, parted: Floats | None = None) -> SearchArrays:
    """Return the search's arrays with a crossing closed to all but one way.

    Parameters
    ----------
    problem : FrameProblem
    crossing : int
    way : int
        Index of a method, or `OPEN_CUT`.
    parted : ndarray of shape (nx, ny), optional
        ``parted_eur`` of the crossing, where it is known [EUR].
    """
    arrays, burnt = problem.arrays, problem.burnt
    is_closed = arrays.drive.is_closed.copy()
    others = np.arange(len(is_closed)) != way
    is_closed[others, crossing] = True
    passed_eur = arrays.drive.passed_eur.copy()
    passed_eur[others] += parted_eur(problem, crossing) if parted is None else parted
    trench = arrays.trench
    if way != OPEN_CUT:
        move_eur = trench.move_eur.copy()
        move_eur.reshape(-1)[burnt.pair_move[burnt.pair_crossing == crossing]] = math.inf
        trench = trench._replace(move_eur=move_eur)
    return arrays._replace(
        trench=trench, drive=arrays.drive._replace(is_closed=is_closed, passed_eur=passed_eur)
    )


def parted_eur(problem: FrameProblem, crossing: int, columns: Columns | None = None) -> Floats:
    """Return what to add to ``passed_eur`` where a crossing is closed, (nx, ny) [EUR].

    A drive from one side to the other can't be built; told as a fee that no plan can pay it is left out
    before its line is looked at.
    """
    fee_eur = np.zeros(len(problem.crossings.outline))
    fee_eur[crossing] = CLOSED_EUR
    return passed_fees_eur(
        problem.arrays.frame, problem.frame.start[1], problem.crossings.outline, fee_eur, columns
    )


class Bench:
    """What solving again near one crossing after the other needs, made once; for one thread.

    The forward pass's values are copied once: each solving again writes on the few columns near its crossing,
    and these are mended afterwards. `before` is that copy, `kept` the same with room for labels; `reach` may
    be shared by several.
    """

    def __init__(self, problem: FrameProblem, passages: Passages, reach: Reach | None = None) -> None:
        self.problem, self.passages = problem, passages
        self.reach = reach or Reach(problem.arrays, passages)
        self.before = _copied(passages.forward)
        self.kept = with_room(problem.arrays, self.before)
        self._columns: Columns = columns_of(problem.arrays.frame)
        self.scratch: Scratch = new_scratch(problem.arrays)
        self._parted: tuple[int, Floats] | None = None

    def parted_eur(self, crossing: int) -> Floats:
        """Return ``parted_eur`` of a crossing, that of the last one asked for kept [EUR]."""
        if self._parted is None or self._parted[0] != crossing:
            self._parted = (crossing, parted_eur(self.problem, crossing, self._columns))
        return self._parted[1]

    def mend(self, first: int, last: int) -> None:
        """Bring back the forward pass's values in some columns, both included."""
        forward, ny = self.passages.forward, self.problem.frame.shape[1]
        for own, other in (
            (self.before.trench_eur, forward.trench_eur),
            (self.before.trench_move, forward.trench_move),
            (self.before.trench_from, forward.trench_from),
        ):
            own[:, first : last + 1] = other[:, first : last + 1]
        nodes = slice(first * ny, (last + 1) * ny)
        self.before.label_start[nodes] = forward.label_start[nodes]
        self.before.label_count[nodes] = forward.label_count[nodes]


def otherwise(
    problem: FrameProblem, passages: Passages, crossing: int, way: int, bench: Bench | None = None
) -> Otherwise:
    """Find the cheapest plan that passes a crossing in one way only.

    Parameters
    ----------
    problem : FrameProblem
    passages : Passages
        Of the problem's own arrays; their limit bounds what is told.
    crossing : int
    way : int
        See ``only_by``.
    bench : Bench, optional
        Of the problem and the passages, where several crossings are asked for.

    Returns
    -------
    Otherwise
        Its plan may go round the crossing where that is cheaper still.
    """
    span = columns_of_crossing(problem, crossing)
    if span is None:
        return Otherwise(0.0, None)
    at = bench or Bench(problem, passages)
    parted = at.parted_eur(crossing)
    arrays = only_by(problem, crossing, way, parted)
    last = arrays.ground.ground_m.shape[0] - 1
    first = max(span[0], 1)
    begin = min(span[1] + 1, last)
    drives = at.reach.about(
        first, begin, passages.limit_eur, is_beyond=parted >= CLOSED_EUR / 2.0, open_method=way
    )
    arrays = arrays._replace(longest_columns=drives.n_columns)
    end = min(max(begin + int(arrays.trench.moves[:, 0].max()), drives.last_column), last)
    walk = Walk(first, end - first + 1, True, False, begin)
    found = run_leg(
        arrays,
        cleared(at.scratch),
        at.before,
        at.kept,
        passages.backward,
        walk,
        ALL_RULES,
        passages.limit_eur,
        np.zeros(1, np.int64),
    )
    join = best_join(arrays, found, passages.backward, begin, end)
    plan = None
    if math.isfinite(join.eur) and join.eur <= passages.limit_eur:
        plan = trace_join(arrays, found, passages.backward, join)
    at.mend(first, end)
    return Otherwise(math.inf if plan is None else float(join.eur) - passages.optimum_eur, plan)


def passes_by(problem: FrameProblem, plan: FramePlan, crossing: int) -> set[int]:
    """Return the ways in which a plan passes a crossing: methods, `OPEN_CUT`; empty where it goes round."""
    ways = {step.method for step in plan.steps if isinstance(step, DriveStep) and crossing in step.crossings}
    own = problem.burnt.pair_move[problem.burnt.pair_crossing == crossing]
    moves = _flat_moves(problem, plan)
    return ways | ({OPEN_CUT} if np.isin(moves, own).any() else set())


def passes_all(problem: FrameProblem, plan: FramePlan) -> dict[int, frozenset[int]]:
    """Return the ways in which a plan passes each crossing that it meets; see ``passes_by``."""
    ways: dict[int, set[int]] = {}
    for step in plan.steps:
        if isinstance(step, DriveStep):
            for crossing in step.crossings:
                ways.setdefault(int(crossing), set()).add(step.method)
    is_met = np.isin(problem.burnt.pair_move, _flat_moves(problem, plan))
    for crossing in np.unique(problem.burnt.pair_crossing[is_met]):
        ways.setdefault(int(crossing), set()).add(OPEN_CUT)
    return {crossing: frozenset(found) for crossing, found in ways.items()}


def _flat_moves(problem: FrameProblem, plan: FramePlan) -> Integers:
    """Return the flat indices of the open-cut moves of a plan."""
    ny, n_moves = problem.frame.shape[1], len(problem.arrays.trench.moves)
    steps = [step for step in plan.steps if not isinstance(step, DriveStep)]
    return np.array([(s.start[0] * ny + s.start[1]) * n_moves + s.move for s in steps], np.int64)


def _copied(result: PassResult) -> PassResult:
    """Return a result whose open cut, and whose list of labels, may be written on."""
    return result._replace(
        trench_eur=result.trench_eur.copy(),
        trench_move=result.trench_move.copy(),
        trench_from=result.trench_from.copy(),
        label_start=result.label_start.copy(),
        label_count=result.label_count.copy(),
    )
