"""One pass over the windows of a plan: each planned again, priced exactly, kept while the audit agrees.

Room: ``refine``. May import ``search`` and ``takeoff``; the audit is handed in.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely

from routescreen.corridor.finer import finer_frame
from routescreen.errors import InputError
from routescreen.refine.local import cut_of, n_nodes_about, plan_again
from routescreen.refine.windows import Reach, find_windows
from routescreen.search.geometry import plan_geometry
from routescreen.search.solve import DriveStep
from routescreen.search.stretches import Stretch, part_of, stretches_geometry
from routescreen.takeoff import Scope, take_off

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from routescreen.audit import AuditReport, Breach
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
    """How windows are planned again.

    `cell_m` about the cell of their frames [m]; `drives` the drives whose windows are taken, None: all.
    """

    cell_m: float
    reach: Reach
    drives: frozenset[int] | None = None


@dataclass(slots=True)
class Tally:
    """Counts of one pass: windows in all, left alone for their size, refused by the audit, and standing."""

    n_windows: int = 0
    n_too_large: int = 0
    n_refused: int = 0
    n_accepted: int = 0


@dataclass(slots=True)
class _Choice:
    """A part of the plan as it is and, where that costs less, planned again."""

    old: Stretch
    new: Stretch | None = None


def run_pass(
    standing: Standing, manner: Manner, judge: Judge, progress: Callable[[float], None]
) -> tuple[Standing, Tally]:
    """Plan every window again and return the plan with those that cost less and break no rule.

    Parameters
    ----------
    standing : Standing
        Without breach.
    manner : Manner
    judge : Judge
    progress : callable
        Told the share of the windows that is done [-].

    Returns
    -------
    Standing
        Without breach; its exact bill is not above that of the one given.
    Tally
    """
    tally = Tally()
    choices = list(_choices(standing, manner))
    windows = [choice for choice, is_window in choices if is_window]
    tally.n_windows = len(windows)
    for number, choice in enumerate(windows):
        progress(number / len(windows))
        choice.new = _cheaper(choice.old, manner, judge, tally)
    return _agreed(standing, [choice for choice, _ in choices], judge, tally), tally


def _choices(standing: Standing, manner: Manner) -> Iterator[tuple[_Choice, bool]]:
    """Part a plan into windows and what lies between; yield each part and whether it is a window."""
    n_drives = 0
    for stretch in standing.stretches:
        done = 0
        for window in find_windows(stretch, manner.reach):
            part = part_of(stretch, window.first, window.last)
            numbers = range(n_drives, n_drives + _n_drives(part))
            n_drives = numbers.stop
            if manner.drives is not None and manner.drives.isdisjoint(numbers):
                continue
            if window.first > done:
                yield _Choice(part_of(stretch, done, window.first)), False
            yield _Choice(part), True
            done = window.last
        if done < len(stretch.plan.steps):
            yield _Choice(part_of(stretch, done, len(stretch.plan.steps))), False


def _n_drives(stretch: Stretch) -> int:
    return sum(isinstance(step, DriveStep) for step in stretch.plan.steps)


def _cheaper(part: Stretch, manner: Manner, judge: Judge, tally: Tally) -> Stretch | None:
    """Plan a part again; None where nothing cheaper by the exact bill is found."""
    frame = part.problem.frame
    n_parts = max(1, round(frame.cell_m / manner.cell_m))
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
    while any(choice.new is not None for choice in choices):
        stretches = tuple(choice.old if choice.new is None else choice.new for choice in choices)
        plan = stretches_geometry(stretches)
        audit = judge.audit_of(plan)
        if not audit.breaches:
            tally.n_accepted = sum(choice.new is not None for choice in choices)
            return Standing(stretches, plan, audit)
        for choice in _blamed(choices, audit.breaches):
            choice.new = None
            tally.n_refused += 1
    return standing


def _blamed(choices: list[_Choice], breaches: Sequence[Breach]) -> list[_Choice]:
    """Return the new parts that a breach lies in; all of them where one lies in none."""
    found: dict[int, _Choice] = {}
    for breach in breaches:
        guilty = [number for number, is_in in enumerate(_holds(choices, breach)) if is_in]
        new = guilty or range(len(choices))
        found |= {number: choices[number] for number in new if choices[number].new is not None}
    return list(found.values()) or [choice for choice in choices if choice.new is not None]


def _holds(choices: list[_Choice], breach: Breach) -> Iterator[bool]:
    """Yield for each part whether a breach lies in it and it was planned again."""
    drive = shaft = 0
    for choice in choices:
        taken = choice.old if choice.new is None else choice.new
        drives = range(drive, drive + _n_drives(taken))
        shafts = range(shaft, shaft + len(taken.plan.shafts))
        drive, shaft = drives.stop, shafts.stop
        is_in = breach.drive in drives or breach.shaft in shafts
        if not is_in and breach.drive < 0 and breach.shaft < 0 and breach.xy_m is not None:
            line = shapely.LineString(plan_geometry(taken.problem, taken.plan).alignment_xy_m)
            is_in = bool(line.distance(shapely.Point(breach.xy_m)) <= BREACH_NEAR_M)
        yield is_in and choice.new is not None
