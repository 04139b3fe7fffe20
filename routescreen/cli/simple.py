"""Commands that read, think for a moment and print: one answer or all problems, never a traceback.

Room: ``cli``.
"""

from __future__ import annotations

import json
import sys
import tempfile
import traceback
from typing import TYPE_CHECKING, Any, TypeVar

import click

from routescreen.cli.interrupt import Interrupt, run_in_thread
from routescreen.errors import Problem, RoutescreenError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

__all__ = ["answered", "clean_up", "json_option"]

_Command = TypeVar("_Command", bound="Callable[..., Any]")


def json_option(command: _Command) -> _Command:
    """Give a command the flag ``--json``."""
    return click.option("--json", "is_json", is_flag=True, help="Print one JSON object on stdout.")(command)


def clean_up(ctx: click.Context, output: Path | None = None) -> None:
    """Have an interrupt remove temporary copies, and what is half written in a folder.

    Call it before anything is read; it loads what it will need, since an interrupt can't.
    """
    from routescreen.inputs.texts import remove_scratch_folders
    from routescreen.results import remove_unwritten
    from routescreen.unfinished import stop_file_work

    had_folder = output is not None and output.exists()

    def remove() -> None:
        stop_file_work()
        remove_scratch_folders()
        if output is not None:
            remove_unwritten(output, had_folder=had_folder)

    (ctx.obj or Interrupt()).clean_up_with(remove)


def answered(work: Callable[[], tuple[str, dict[str, object]]], *, is_json: bool) -> int:
    """Do the work in a thread of its own, print what it answers, and return the exit code.

    Parameters
    ----------
    work : callable
        Returns the answer as text for people and as an object for programs.
    is_json : bool
        Print the object.

    Returns
    -------
    int
        0, or the code of the error, whose problems are all printed.
    """
    try:
        text, answer = run_in_thread(work)
    except RoutescreenError as error:
        problems = getattr(error, "problems", ()) or (Problem(str(error), "See docs/errors.md."),)
        return _failed(problems, error.exit_code, is_json=is_json)
    except Exception as error:  # noqa: BLE001 - no traceback may reach the user
        return _failed((_internal_fault(error),), RoutescreenError.exit_code, is_json=is_json)
    answer = {"status": "done", "exit_code": 0, **answer}
    click.echo(_text(answer) if is_json else text, nl=False)
    sys.stdout.flush()
    return 0


def _internal_fault(error: Exception) -> Problem:
    """Put the details of a fault of ours into a file, and say where."""
    with tempfile.NamedTemporaryFile(
        "w", prefix="routescreen-fault-", suffix=".log", delete=False, encoding="utf-8"
    ) as file:
        file.write("".join(traceback.format_exception(error)))
    what = " ".join(f"{type(error).__name__}: {error}".split())
    remedy = f"Please report it with the details in {file.name}."
    return Problem(f"Internal fault ({what}).", remedy, file=file.name)


def _failed(problems: tuple[Problem, ...], exit_code: int, *, is_json: bool) -> int:
    for problem in problems:
        click.echo(f"Error: {problem}", err=True)
    if is_json:
        told = [problem.as_dict() for problem in problems]
        click.echo(_text({"status": "failed", "exit_code": exit_code, "problems": told}), nl=False)
    return exit_code


def _text(answer: dict[str, object]) -> str:
    return json.dumps(answer, ensure_ascii=False, indent=2, allow_nan=False) + "\n"
