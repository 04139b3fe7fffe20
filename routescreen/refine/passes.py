"""One pass over the windows of a plan: each planned again, priced exactly, kept while the audit agrees.

Room: ``refine``. May import ``search`` and ``takeoff``; the audit is handed in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import shapely

from routescreen.corridor.finer import finer_frame
from routescreen.errors import InputError
from routescreen.forked import run_forked
from routescreen.refine.local import cut_of, n_nodes_about, plan_again
from routescreen.refine.windows import Reach, find_windows, parted
from routescreen.search.geometry import plan_geometry
from routescreen.search.stretches import Stretch, measure_stretches, stretches_geometry
from routescreen.takeoff import Scope, take_off

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from routescreen.audit import AuditReport, Breach
    from routescreen.corridor.frame import Frame
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput

LEAST_GAIN_EUR = 0.005  # what is no cent less is no gain
LEAST_CELL_M = 0.5
BREACH_NEAR_M = 1.0  # a breach belongs to the part whose line comes so near its place


@dataclass(frozen=True, slots=True)
class Standing:
    """The plan as it stands: by stretches on their frames, as geometry, and audited."""

    stretches: tuple[Stretch, ...]
    plan: Plan
    audit: AuditReport


@dataclass(frozen=True, slots=True)
class Judge:
    """What new plans are judged by: the corridor as read, and the audit of a whole plan."""

    corridor: CorridorInput
    audit_of: Callable[[Plan], AuditReport]


@dataclass(frozen=True, slots=True)
class Manner:
    """How windows are planned again: the largest cell of their frames [m], and how far round the drives."""

    cell_m: float
    reach: Reach


@dataclass(slots=True)
class Tally:
    """Counts of one pass: windows in all, left alone for their size, refused by the audit, and standing."""

    n_windows: int = 0
    n_too_large: int = 0
    n_refused: int = 0
    n_accepted: int = 0


@dataclass(slots=True)
class _Choice:
    """A part of the plan as it is and, where that costs less, planned again in one stretch or more."""

    old: Stretch
    new: tuple[Stretch, ...] = ()

    @property
    def taken(self) -> tuple[Stretch, ...]:
        """The stretches that count at the moment."""
        return self.new or (self.old,)


def run_pass(
    standing: Standing,
    manners: Sequence[Manner],
    judge: Judge,
    progress: Callable[[float], None],
    *,
    drives: frozenset[int] | None = None,
) -> tuple[Standing, Tally]:
    """Plan every window again and return the plan with those that cost less and break no rule.

    Parameters
    ----------
    standing : Standing
        Without breach.
    manners : sequence of Manner
        Taken up one after the other, each on what the one before has left; windows are those of the first.
    judge : Judge
    progress : callable
        Told the share of the windows that is done [-].
    drives : frozenset of int, optional
        Only windows with one of these drives; all by default.

    Returns
    -------
    Standing
        Without breach; the sum of its parts' exact bills is not above that of the plan given.
    Tally
    """
    tally = Tally()
    choices = list(_choices(standing, manners[0].reach, drives))
    windows = [choice for choice, is_window in choices if is_window]
    tally.n_windows = len(windows)
    found = run_forked(
        [partial(_planned_again, choice.old, manners, judge) for choice in windows],
        [_n_nodes(choice.old, manners) for choice in windows],
        shared=_shared(standing, judge),
        progress=progress,
    )
    for choice, (new, n_too_large) in zip(windows, found, strict=True):
        choice.new = new
        tally.n_too_large += n_too_large
    return _agreed(standing, [choice for choice, _ in choices], judge, tally), tally


def _choices(
    standing: Standing, reach: Reach, drives: frozenset[int] | None
) -> Iterator[tuple[_Choice, bool]]:
    """Part a plan; yield each part and whether it is a window with one of the drives."""
    n_drives = 0
    for stretch in standing.stretches:
        for part in parted(stretch, find_windows(stretch, reach)):
            numbers = range(n_drives, n_drives + part.n_drives)
            n_drives = numbers.stop
            is_asked = drives is None or not drives.isdisjoint(numbers)
            yield _Choice(part), bool(numbers) and is_asked


def _n_nodes(part: Stretch, manners: Sequence[Manner]) -> int:
    """Return about how many nodes the frames have on which a part is planned again."""
    frame = part.problem.frame
    cuts = [cut_of(part, _n_parts(frame, manner), manner.reach.aside_m) for manner in manners]
    return sum(n_nodes_about(frame, cut) for cut in cuts)


def _shared(standing: Standing, judge: Judge) -> list[object]:
    """Return what new plans refer to and was there before them."""
    found: list[object] = [judge.corridor]
    for problem in {id(stretch.problem): stretch.problem for stretch in standing.stretches}.values():
        shaft = problem.arrays.shaft
        found += [problem, problem.assumptions, problem.crossings, problem.sampler, problem.land]
        found += [problem.land.tree, shaft.table_eur, shaft.ramp_eur, shaft.fill_eur]
    return found


def _planned_again(part: Stretch, manners: Sequence[Manner], judge: Judge) -> tuple[tuple[Stretch, ...], int]:
    """Plan a part again in one manner after the other; empty where nothing cheaper is found.

    Also returns how many windows were left alone for their size.
    """
    stretches: tuple[Stretch, ...] = (part,)
    is_cheaper, tally = False, Tally()
    for manner in manners:
        after: list[Stretch] = []
        for stretch in stretches:
            for piece in parted(stretch, find_windows(stretch, manner.reach)):
                found = _cheaper(piece, manner, judge, tally) if piece.n_drives else None
                is_cheaper |= found is not None
                after.append(found or piece)
        stretches = tuple(after)
    return stretches if is_cheaper else (), tally.n_too_large


def _n_parts(frame: Frame, manner: Manner) -> int:
    """Return into how many parts a manner cuts each cell of a frame."""
    return max(1, math.ceil(frame.cell_m / manner.cell_m - 1e-9))


def _cheaper(part: Stretch, manner: Manner, judge: Judge, tally: Tally) -> Stretch | None:
    """Plan a part again on a finer frame; None where nothing cheaper by the exact bill is found."""
    frame = part.problem.frame
    n_parts = _n_parts(frame, manner)
    if n_parts == 1 or frame.cell_m / n_parts < LEAST_CELL_M:
        return None
    cut = cut_of(part, n_parts, manner.reach.aside_m)
    if n_nodes_about(frame, cut) > part.problem.assumptions.refine.n_most_nodes:
        tally.n_too_large += 1
        return None
    try:
        found = plan_again(part, finer_frame(frame, judge.corridor, cut), cut, judge.corridor)
    except InputError:  # a gap in the terrain between the nodes of the frame
        return None
    if found is None or _exact_eur(found, found) > _exact_eur(part, found) - LEAST_GAIN_EUR:
        return None
    return found


def _exact_eur(part: Stretch, near: Stretch) -> float:
    """Return the exact bill of a part of a plan by what lies near it [EUR]."""
    problem = near.problem
    plan = plan_geometry(part.problem, part.plan)
    scope = Scope(plan, problem.sampler, problem.crossings, problem.assumptions)
    return take_off(scope).total_eur(problem.assumptions)


def _agreed(standing: Standing, choices: list[_Choice], judge: Judge, tally: Tally) -> Standing:
    """Put the new parts into the plan; those that the audit finds in breach are taken back."""
    while new := [choice for choice in choices if choice.new]:
        stretches = tuple(stretch for choice in choices for stretch in choice.taken)
        objective_eur = standing.plan.objective_eur - sum(_saved_on_frames_eur(choice) for choice in new)
        plan = replace(stretches_geometry(stretches), objective_eur=objective_eur)
        audit = judge.audit_of(plan)
        if not audit.breaches:
            tally.n_accepted = len(new)
            return Standing(stretches, plan, audit)
        for choice in _blamed(choices, audit.breaches):
            choice.new = ()
            tally.n_refused += 1
    return standing


def _saved_on_frames_eur(choice: _Choice) -> float:
    """Return by how much a part costs less than before, each priced on its own frames [EUR]."""
    return measure_stretches((choice.old,)).total_eur - measure_stretches(choice.new).total_eur


def _blamed(choices: list[_Choice], breaches: Sequence[Breach]) -> list[_Choice]:
    """Return the new parts that breaches lie in; all new ones where a breach lies in none."""
    new = [choice for choice in choices if choice.new]
    blamed: list[_Choice] = []
    for breach in breaches:
        guilty = [choice for choice, is_in in zip(choices, _holds(choices, breach), strict=True) if is_in]
        blamed += [choice for choice in (guilty or new) if choice not in blamed]
    return blamed


def _holds(choices: list[_Choice], breach: Breach) -> Iterator[bool]:
    """Yield for each part whether it was planned again and a breach lies in it."""
    drive = shaft = 0
    for choice in choices:
        drives = range(drive, drive + sum(stretch.n_drives for stretch in choice.taken))
        shafts = range(shaft, shaft + sum(len(stretch.plan.shafts) for stretch in choice.taken))
        drive, shaft = drives.stop, shafts.stop
        yield bool(choice.new) and (
            breach.drive in drives or breach.shaft in shafts or _lies_on(choice.new, breach)
        )


def _lies_on(stretches: tuple[Stretch, ...], breach: Breach) -> bool:
    """Return whether a breach of open cut has its place on the line of some stretches."""
    if breach.drive >= 0 or breach.shaft >= 0 or breach.xy_m is None:
        return False
    line = shapely.LineString(stretches_geometry(stretches).alignment_xy_m)
    return bool(line.distance(shapely.Point(breach.xy_m)) <= BREACH_NEAR_M)
