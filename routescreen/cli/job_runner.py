"""Runs the job for the command: log, progress, interrupt, answer and exit code.

Room: ``cli``.
"""

from __future__ import annotations

import sys
import tempfile
import traceback
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

import click

from routescreen.cli.answer import json_answer, problem_text, said, text_answer
from routescreen.cli.interrupt import EXIT_INTERRUPTED, Interrupt, run_in_thread
from routescreen.cli.progress import BAR, shown_progress
from routescreen.errors import OutputError, Problem, RoutescreenError
from routescreen.job import JobRequest, JobSummary, failed_summary, remove_unfinished, run_job
from routescreen.runlog import RunLog
from routescreen.schema import CAUTION

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

__all__ = ["Shown", "run_and_answer"]


@dataclass(frozen=True, slots=True)
class Shown:
    """What the user wants to see.

    Attributes
    ----------
    is_quiet : bool
        No progress and no summary.
    is_json : bool
        One JSON object on stdout.
    log_file : Path or None
        Where stages, times and memory go.
    progress : str
        The form of the progress, `progress.BAR` or `progress.JSON`.
    """

    is_quiet: bool
    is_json: bool
    log_file: Path | None
    progress: str = BAR


def run_and_answer(request: JobRequest, shown: Shown, interrupt: Interrupt) -> int:
    """Run the job, print its answer, and return the exit code."""
    log = RunLog(tell=lambda text: None if shown.is_quiet else click.echo(text, err=True))
    had_folder = request.output_dir.exists()
    interrupt.clean_up_with(lambda: remove_unfinished(request.output_dir, had_folder=had_folder))
    if shown.is_json:
        interrupt.answer_with(lambda: json_answer(_interrupted(log)))
    try:
        with _log_lines(shown.log_file) as log.write:
            summary = _run(request, shown, interrupt, log)
    except OutputError as error:  # the log itself can't be written
        summary = _failed(error, log)
    interrupt.ignore()
    _print(summary, shown)
    return summary.exit_code


def _run(request: JobRequest, shown: Shown, interrupt: Interrupt, log: RunLog) -> JobSummary:
    try:
        with shown_progress(interrupt, is_quiet=shown.is_quiet, form=shown.progress) as progress:
            return run_in_thread(lambda: run_job(request, log=log, progress=progress))
    except RoutescreenError as error:
        log.say(f"failed: {error}")
        return _failed(error, log)
    except Exception as error:  # noqa: BLE001 - no traceback may reach the user
        return _internal_fault(error, log, shown.log_file)


@contextmanager
def _log_lines(path: Path | None) -> Iterator[Callable[[str], None]]:
    if path is None:
        yield lambda _: None
        return
    try:
        file = path.open("w", encoding="utf-8", buffering=1)
    except OSError as error:
        problem = Problem(
            f"The log can't be written ({error.strerror}).",
            "Name a file that can be written.",
            file=str(path),
        )
        raise OutputError(f"The log can't be written: {problem}", (problem,)) from error
    with file:
        yield lambda line: print(line, file=file)


def _failed(error: RoutescreenError, log: RunLog) -> JobSummary:
    problems: tuple[Problem, ...] = getattr(error, "problems", ())
    return failed_summary(error.exit_code, problems or (Problem(str(error), "See docs/errors.md."),), log)


def _interrupted(log: RunLog) -> JobSummary:
    problem = Problem("The run was interrupted.", "Run it again.")
    return failed_summary(EXIT_INTERRUPTED, (problem,), log)


def _internal_fault(error: Exception, log: RunLog, log_file: Path | None) -> JobSummary:
    text = "".join(traceback.format_exception(error))
    if log_file is None:
        with tempfile.NamedTemporaryFile(
            "w", prefix="routescreen-fault-", suffix=".log", delete=False, encoding="utf-8"
        ) as file:
            file.write(text)
            place = file.name
    else:
        log.write(text)
        place = str(log_file)
    what = " ".join(f"{type(error).__name__}: {error}".split())
    problem = Problem(
        f"Internal fault ({what}).", f"Please report it with the details in {place}.", file=place
    )
    return failed_summary(RoutescreenError.exit_code, (problem,), log)


def _print(summary: JobSummary, shown: Shown) -> None:
    language = summary.language
    for warning in summary.warnings:
        click.echo(f"{said('Warning', language)}: {said(warning, language)}", err=True)
    for problem in summary.problems:
        click.echo(problem_text(problem, language), err=True)
    if shown.is_json:
        click.echo(json_answer(summary), nl=False)
    elif not shown.is_quiet:
        click.echo(text_answer(summary), nl=False)
    if summary.files:
        click.echo(said(CAUTION, language), err=shown.is_json)
    sys.stdout.flush()
