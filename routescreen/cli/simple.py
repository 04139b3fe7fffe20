"""Commands that read, think for a moment and print: one answer or all problems, never a traceback.

Room: ``cli``.
"""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING, Any, TypeVar

import click

from routescreen.errors import Problem, RoutescreenError

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["answered", "json_option"]

_Command = TypeVar("_Command", bound="Callable[..., Any]")


def json_option(command: _Command) -> _Command:
    """Give a command the flag ``--json``."""
    return click.option("--json", "is_json", is_flag=True, help="Print one JSON object on stdout.")(command)


def answered(work: Callable[[], tuple[str, dict[str, object]]], *, is_json: bool) -> int:
    """Do the work, print what it answers, and return the exit code.

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
        text, answer = work()
    except RoutescreenError as error:
        problems = getattr(error, "problems", ()) or (Problem(str(error), "See docs/errors.md."),)
        return _failed(problems, error.exit_code, is_json=is_json)
    except Exception as error:  # noqa: BLE001 - no traceback may reach the user
        what = " ".join(f"{type(error).__name__}: {error}".split())
        problem = Problem(f"Internal fault ({what}).", "Please report it with the command and its input.")
        return _failed((problem,), RoutescreenError.exit_code, is_json=is_json)
    answer = {"status": "done", "exit_code": 0, **answer}
    click.echo(_text(answer) if is_json else text, nl=False)
    sys.stdout.flush()
    return 0


def _failed(problems: tuple[Problem, ...], exit_code: int, *, is_json: bool) -> int:
    for problem in problems:
        click.echo(f"Error: {problem}", err=True)
    if is_json:
        told = [problem.as_dict() for problem in problems]
        click.echo(_text({"status": "failed", "exit_code": exit_code, "problems": told}), nl=False)
    return exit_code


def _text(answer: dict[str, object]) -> str:
    return json.dumps(answer, ensure_ascii=False, indent=2, allow_nan=False) + "\n"
