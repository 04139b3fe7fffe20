"""A finished plan taken up again on finer frames, window by window; never dearer, never in breach.

Room: ``refine``. Pure computation; above ``search`` and ``takeoff``. Who calls says how a plan is audited.

Two passes. Where the frame's prices lie too far from the exact ones, the window is planned again in the
corridor's full width at ``frame.fine_cell_m``. Then shafts and bends round every chain of drives are moved on
a frame of ``refine.cell_m`` along the plan. A window's new plan stands in the whole only if its bill on the
exact geometry is less, and only while the audit of the whole finds no breach.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from routescreen.forked import processor_s
from routescreen.refine.frame_error import drive_errors_percent, error_percent
from routescreen.refine.passes import Judge, Manner, Standing, run_pass
from routescreen.refine.windows import Reach
from routescreen.search.stretches import measure_stretches
from routescreen.takeoff import Scope, TakeOff, take_off

if TYPE_CHECKING:
    from routescreen.plan import Plan
    from routescreen.runlog import Progress
    from routescreen.search.problem import FrameProblem

HALVED = 1.5  # a cell this much larger than another is cut in two to come near it
NARROW_CELLS = 1.5  # how far small steps lead, in cells of the step before
AGAIN_TRENCH_M = 200.0  # open cut on both sides of drives whose price was too far off


@dataclass(frozen=True, slots=True)
class Gains:
    """What came of taking the plan up again.

    Attributes
    ----------
    n_windows, n_accepted : int
        Windows round drives, and those whose new plan stands.
    n_solved_again, n_accepted_again : int
        Windows planned again because the frame's prices were too far off, and those that stand.
    n_refused, n_too_large : int
        New plans that the audit objected to, and windows left alone for their number of nodes.
    before_eur, after_eur : float
        Bill of what the search carries, on the exact geometry [EUR].
    processor_s : float
        Time of the processor [s].
    """

    n_windows: int = 0
    n_accepted: int = 0
    n_solved_again: int = 0
    n_accepted_again: int = 0
    n_refused: int = 0
    n_too_large: int = 0
    before_eur: float = 0.0
    after_eur: float = 0.0
    processor_s: float = 0.0

    @property
    def gain_eur(self) -> float:
        """By how much the bill on the exact geometry has fallen [EUR]."""
        return self.before_eur - self.after_eur


def refine_plan(base: Standing, judge: Judge, progress: Progress) -> tuple[Standing, Gains]:
    """Take a finished plan up again on finer frames.

    Parameters
    ----------
    base : Standing
        The whole plan on the corridor's frame, one stretch. A plan in breach is left as it is.
    judge : Judge
        Audits as the given plan was audited.
    progress : callable

    Returns
    -------
    Standing
        Without breach where `base` is; its bill on the exact geometry is not above that of `base`.
    Gains
    """
    began = processor_s()
    problem = base.stretches[0].problem
    a = problem.assumptions
    if base.audit.breaches or not base.plan.drives or a.refine.n_most_nodes == 0:
        return base, Gains()
    before = _exact(problem, base.plan)
    middle, first = run_pass(
        base,
        (Manner(a.frame.fine_cell_m, Reach(None, AGAIN_TRENCH_M)),),
        judge,
        partial(progress, "solve again"),
        drives=_badly_priced(base, before),
    )
    after, second = run_pass(middle, _manners(problem), judge, partial(progress, "refine"))
    before_eur = before.total_eur(a)
    after_eur = before_eur if after is base else _exact(problem, after.plan).total_eur(a)
    if after_eur > before_eur:  # a piece parted at a seam may be measured a few euros dearer
        after, after_eur = base, before_eur
    return after, Gains(
        n_windows=second.n_windows,
        n_accepted=second.n_accepted,
        n_solved_again=first.n_windows,
        n_accepted_again=first.n_accepted,
        n_refused=first.n_refused + second.n_refused,
        n_too_large=first.n_too_large + second.n_too_large,
        before_eur=before_eur,
        after_eur=after_eur,
        processor_s=processor_s() - began,
    )


def _manners(problem: FrameProblem) -> tuple[Manner, ...]:
    """Return how shafts are moved: on half the frame's cell, then in small steps round that."""
    how, cell_m = problem.assumptions.refine, problem.frame.cell_m / 2.0
    wide = Manner(max(cell_m, how.cell_m), Reach(how.aside_m, how.trench_m))
    if how.cell_m > cell_m / HALVED:
        return (wide,)
    return wide, Manner(how.cell_m, Reach(min(how.aside_m, NARROW_CELLS * cell_m), how.trench_m))


def _exact(problem: FrameProblem, plan: Plan) -> TakeOff:
    """Measure a plan's bill on its exact geometry."""
    return take_off(Scope(plan, problem.sampler, problem.crossings, problem.assumptions))


def _badly_priced(base: Standing, exact: TakeOff) -> frozenset[int]:
    """Return the drives whose price on the frame lies too far from the exact one.

    Where the whole is further off than its limit, the limit of the whole holds for each drive.
    """
    a = base.stretches[0].problem.assumptions
    on_frame = measure_stretches(base.stretches)
    whole = error_percent(exact.total_eur(a), on_frame.total_eur)
    limit = a.audit.drive_frame_error_percent
    if abs(whole) > a.audit.frame_error_percent:
        limit = min(limit, a.audit.frame_error_percent)
    errors = drive_errors_percent(base.stretches, base.plan, exact, on_frame, a)
    return frozenset(number for number, value in enumerate(errors) if abs(value) > limit)
