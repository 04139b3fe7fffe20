"""The whole job of the command: read, screen each corridor, write.

Room: above all computing rooms and below ``cli``. Holds the order of things and nothing else: inputs are
read by ``inputs``, the plan is found by ``screen``, files are written by ``results``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Protocol

import numpy as np

from routescreen.assumptions import load_assumptions
from routescreen.errors import AuditError, InputError, NoPlanError, Problem
from routescreen.inputs import read_inputs
from routescreen.inputs.texts import read_utf8, remove_scratch_folders
from routescreen.results import check_writable, remove_unwritten, write_results
from routescreen.runlog import Pieces, no_job_progress
from routescreen.screen import STAGE_SHARES, reckon_effort, screen_corridor
from routescreen.unfinished import stop_file_work

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    import pandas as pd

    from routescreen.assumptions import Assumptions
    from routescreen.inputs import Sources
    from routescreen.project import CorridorInput
    from routescreen.runlog import JobProgress, RunLog, Stage
    from routescreen.screened import ScreenedCorridor

__all__ = [
    "CorridorSummary",
    "JobRequest",
    "JobSummary",
    "failed_summary",
    "read_job",
    "remove_unfinished",
    "run_job",
]


@dataclass(frozen=True, slots=True)
class JobRequest:
    """What is to be done.

    Attributes
    ----------
    sources : Sources
        Where the input is.
    output_dir : Path
        Results folder; made where it is missing.
    assumptions_file : Path or None
        TOML with what differs from the defaults.
    language : str or None
        One of ``languages.languages``; wins over the assumptions' own.
    """

    sources: Sources
    output_dir: Path
    assumptions_file: Path | None = None
    language: str | None = None


@dataclass(frozen=True, slots=True)
class CorridorSummary:
    """One corridor in a few figures; None where there is no plan.

    Lengths in metres along the alignment, money in euros; `frame_error_percent` is the difference between
    the bill on the frame and that of the exact geometry before smoothing. `total_low_eur` and
    `total_high_eur` move every rate together and no quantity; `provisional_eur` and `allowances_eur` are in
    `total_eur`, what ends in `_apart_eur` is not.
    """

    corridor_id: str
    length_m: float | None = None
    open_cut_m: float | None = None
    drive_m: float | None = None
    drives: int | None = None
    shafts: int | None = None
    crossings: int | None = None
    total_eur: float | None = None
    total_low_eur: float | None = None
    total_high_eur: float | None = None
    provisional_eur: float | None = None
    allowances_eur: float | None = None
    overheads_apart_eur: float | None = None
    owners_apart_eur: float | None = None
    objective_eur: float | None = None
    frame_error_percent: float | None = None
    audit_breaches: int | None = None


@dataclass(frozen=True, slots=True)
class JobSummary:
    """What came of it.

    Attributes
    ----------
    exit_code : int
        The worst of the corridors' codes.
    corridors : tuple of CorridorSummary
    seconds : float
        Time from the start of the job [s].
    peak_memory_mb : float or None
        Most memory held [MB].
    files : tuple of str
        What was written.
    warnings : tuple of str
    problems : tuple of Problem
        Why the exit code is not 0.
    stages : tuple of Stage
        What took how long, with how much memory, in order.
    language : str
        In which people are told; English before the assumptions are read.
    """

    exit_code: int
    corridors: tuple[CorridorSummary, ...]
    seconds: float
    peak_memory_mb: float | None
    files: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    stages: tuple[Stage, ...] = ()
    language: str = "en"


class Screening(Protocol):
    """What `screen_corridor` hands back, as far as the job needs it."""

    @property
    def corridor(self) -> ScreenedCorridor:
        """The corridor, ready to be written."""

    @property
    def frame_error_percent(self) -> float:
        """Bill of the exact geometry against the bill on the frame [%]."""

    @property
    def breaches(self) -> tuple[Problem, ...]:
        """What the audit found and the search could not mend."""

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the user should know, beside the warnings of the input."""


@dataclass(slots=True)
class _Outcome:
    """What has come of the corridors so far."""

    sound: list[ScreenedCorridor] = field(default_factory=list)
    breached: list[ScreenedCorridor] = field(default_factory=list)
    summaries: list[CorridorSummary] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    exit_code: int = 0


def run_job(
    request: JobRequest,
    *,
    log: RunLog,
    progress: JobProgress = no_job_progress,
    stamp_utc: datetime | None = None,
) -> JobSummary:
    """Read the input, screen every corridor, and write the results.

    A corridor without a plan, or with one that the audit found in breach, keeps no other from being
    written.

    Parameters
    ----------
    request : JobRequest
    log : RunLog
        Takes the stages and warnings.
    progress : callable
        Told what is being done, the share of that and the share of the whole job that is done.
    stamp_utc : datetime, optional
        Time of the run that the results carry; now, if not given.

    Returns
    -------
    JobSummary

    Raises
    ------
    OutputError
        If the results can't be written; found before the long work wherever it can be.
    InputError
        If the input or the assumptions can't be used; lists every problem, and nothing is written.
    """
    check_writable(request.output_dir)
    assumptions, corridors = read_job(
        request.sources, request.assumptions_file, log, language=request.language
    )
    outcome = _Outcome()
    for number, corridor in enumerate(corridors):
        with log.stage(f"screen {corridor.corridor_id}", is_kept=False):
            share = _Share(progress, corridor.corridor_id, number, len(corridors))
            _screen(corridor, assumptions, outcome, log, share)
    progress("write results", 0.0, 1.0)
    with log.stage("write results"):
        stamp = stamp_utc or datetime.now(UTC)
        files = write_results(
            outcome.sound,
            outcome.breached,
            corridors[0].crs,
            request.output_dir,
            stamp_utc=stamp,
            language=assumptions.report.language,
            assumptions=assumptions,
            progress=lambda what, done_frac: progress(what, done_frac, 1.0),
        )
    return JobSummary(
        outcome.exit_code,
        tuple(outcome.summaries),
        log.seconds(),
        log.memory(),
        tuple(map(str, files)),
        tuple(log.warnings),
        tuple(outcome.problems),
        tuple(log.stages),
        assumptions.report.language,
    )


def read_job(
    sources: Sources, assumptions_file: Path | None, log: RunLog, *, language: str | None = None
) -> tuple[Assumptions, tuple[CorridorInput, ...]]:
    """Read all that a run needs, and refuse what the machine can't hold.

    Parameters
    ----------
    sources : Sources
    assumptions_file : Path or None
    log : RunLog
        Takes stages, warnings and the language.
    language : str, optional
        One of ``languages.languages``; wins over the assumptions' own.

    Raises
    ------
    InputError
        Lists every problem.
    """
    if language is not None:
        log.language = language  # what is wrong with the assumptions is told in it already
    with log.stage("read assumptions"):
        assumptions = _speaking(_assumptions(assumptions_file), language)
    log.language = assumptions.report.language
    with log.stage("read input"):
        corridors = read_inputs(sources, assumptions)
    _reckon(corridors, assumptions, log)
    return assumptions, corridors


def failed_summary(exit_code: int, problems: tuple[Problem, ...], log: RunLog) -> JobSummary:
    """Return the summary of a job that came to no result."""
    return JobSummary(
        exit_code,
        (),
        log.seconds(),
        log.memory(),
        warnings=tuple(log.warnings),
        problems=problems,
        stages=tuple(log.stages),
        language=log.language,
    )


def remove_unfinished(folder: Path, *, had_folder: bool) -> None:
    """Remove what this process was writing when it was stopped: half results and temporary copies.

    Nothing can be begun any more afterwards, so that no other thread leaves something behind later.

    Parameters
    ----------
    folder : Path
        The results folder.
    had_folder : bool
        Whether it was there before; one that was not and is empty goes too.
    """
    stop_file_work()
    remove_scratch_folders()
    remove_unwritten(folder, had_folder=had_folder)


def _speaking(a: Assumptions, language: str | None) -> Assumptions:
    """Return the assumptions in another language; None leaves them their own."""
    if language is None:
        return a
    return a.model_copy(update={"report": a.report.model_copy(update={"language": language})})


def _assumptions(path: Path | None) -> Assumptions:
    if path is None:
        return load_assumptions()
    return load_assumptions(read_utf8(path), file=str(path))


def _reckon(corridors: Sequence[CorridorInput], assumptions: Assumptions, log: RunLog) -> None:
    """Say what each corridor will take, before any is begun; refuse those that can't be held, all at once."""
    problems: list[Problem] = []
    for corridor in corridors:
        try:
            effort = reckon_effort(corridor, assumptions)
        except InputError as error:
            problems.extend(error.problems)
            continue
        text = f"Corridor {corridor.corridor_id}: {effort.text()}."
        (log.announce if effort.is_long else log.say)(text)
    if problems:
        raise InputError(problems)


def _screen(
    corridor: CorridorInput, assumptions: Assumptions, outcome: _Outcome, log: RunLog, share: _Share
) -> None:
    """Screen one corridor and add what comes of it."""
    for warning in corridor.warnings:
        log.warn(warning)
    pieces = Pieces(log, corridor.corridor_id)

    def progress(what: str, done_frac: float) -> None:
        pieces.begin(what)
        share.show(what, done_frac)

    try:
        screening: Screening = screen_corridor(corridor, assumptions, progress)
    except (NoPlanError, AuditError) as error:
        outcome.exit_code = max(outcome.exit_code, error.exit_code)
        outcome.summaries.append(CorridorSummary(corridor.corridor_id))
        outcome.problems.extend(error.problems or (_as_problem(corridor.corridor_id, error),))
        return
    finally:
        pieces.close()
    for warning in screening.warnings:
        log.warn(warning)
    outcome.summaries.append(_figures(screening))
    if screening.breaches:
        outcome.exit_code = max(outcome.exit_code, AuditError.exit_code)
        outcome.problems.extend(screening.breaches)
        outcome.breached.append(screening.corridor)
    else:
        outcome.sound.append(screening.corridor)


@dataclass(slots=True)
class _Share:
    """Turns the progress of one of `n_corridors` corridors into that of the whole job."""

    progress: JobProgress
    corridor_id: str
    number: int
    n_corridors: int
    _reached: float = 0.0

    def show(self, what: str, done_frac: float) -> None:
        """Pass on how far the job is; work taken up again never moves it back."""
        before = 0.0
        for name, share in STAGE_SHARES.items():
            if name == what:
                self._reached = max(self._reached, before + share * done_frac)
                break
            before += share
        title = what if self.n_corridors == 1 else f"{self.corridor_id}: {what}"
        self.progress(title, done_frac, (self.number + self._reached) / self.n_corridors)


def _as_problem(corridor_id: str, error: Exception) -> Problem:
    return Problem(str(error), "See docs/errors.md.", layer="corridor", feature=corridor_id)


def _figures(screening: Screening) -> CorridorSummary:
    corridor = screening.corridor
    plan = corridor.plan
    step_m = np.hypot(*np.diff(plan.alignment_xy_m, axis=0).T)
    return CorridorSummary(
        plan.corridor_id,
        length_m=float(step_m.sum()),
        open_cut_m=float(step_m[~plan.is_drive].sum()),
        drive_m=float(step_m[plan.is_drive].sum()),
        drives=len(plan.drives),
        shafts=len(plan.shafts),
        crossings=len(corridor.crossings),
        total_eur=_sum_eur(corridor.bill),
        total_low_eur=_sum_eur(corridor.bill, "amount_low_eur"),
        total_high_eur=_sum_eur(corridor.bill, "amount_high_eur"),
        provisional_eur=_sum_eur(corridor.bill[corridor.bill["part"] == "provisional"]),
        allowances_eur=_sum_eur(corridor.bill[corridor.bill["part"] == "allowance"]),
        overheads_apart_eur=_apart_eur(corridor, "GE02"),
        owners_apart_eur=_apart_eur(corridor, "GE03"),
        objective_eur=float(plan.objective_eur),
        frame_error_percent=screening.frame_error_percent,
        audit_breaches=len(screening.breaches),
    )


def _sum_eur(bill: pd.DataFrame, column: str = "amount_eur") -> float:
    """Add rounded amounts in whole cents, as the bill does it."""
    return int((100 * bill[column]).round().sum()) / 100


def _apart_eur(corridor: ScreenedCorridor, item: str) -> float | None:
    """Return an amount that is shown beside the bill, None where there is none."""
    apart = corridor.curves.get("costs_apart")
    return None if apart is None else _sum_eur(apart[apart["item"] == item])
