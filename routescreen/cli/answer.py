"""What the command prints: a few lines for people, or one JSON object for programs.

Room: ``cli``.
"""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import asdict
from pathlib import PurePath
from typing import TYPE_CHECKING

from routescreen.counted import counted, grouped
from routescreen.languages import speech_of
from routescreen.schema import CAUTION, NEVER_PRICED, NOT_IN_BILL

if TYPE_CHECKING:
    from collections.abc import Callable

    from routescreen.errors import Problem
    from routescreen.job import CorridorSummary, JobSummary
    from routescreen.runlog import Stage

__all__ = ["json_answer", "problem_text", "said", "text_answer"]

MOST_UNKNOWN = 0.5  # share of a text's letters: above, half of it would be said and half not


def json_answer(summary: JobSummary) -> str:
    """Return the object of ``--json`` as text, with a line end; see docs/outputs.md for its schema."""
    answer: dict[str, object] = {
        "status": "done" if summary.exit_code == 0 else "failed",
        "exit_code": summary.exit_code,
        "corridors": [asdict(corridor) for corridor in summary.corridors],
        "seconds": round(summary.seconds, 3),
        "peak_memory_mb": None if summary.peak_memory_mb is None else round(summary.peak_memory_mb, 1),
        "stages": [_stage(stage) for stage in summary.stages],
        "files": list(summary.files),
        "warnings": list(summary.warnings),
        "caution": CAUTION,
    }
    if summary.exit_code != 0:
        answer["problems"] = [problem.as_dict() for problem in summary.problems]
    return json.dumps(answer, ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def _stage(stage: Stage) -> dict[str, object]:
    memory = stage.peak_memory_mb
    return {
        "corridor_id": stage.corridor_id,
        "stage": stage.name,
        "seconds": round(stage.seconds, 3),
        "peak_memory_mb": None if memory is None else round(memory, 1),
    }


def said(text: str, language: str) -> str:
    """Return a sentence in a language, or as it is where the language hardly knows it."""
    speech = speech_of(language)
    letters = sum(sign.isalpha() for sign in text)
    return text if speech.unknown(text) > MOST_UNKNOWN * letters else speech(text)


def problem_text(problem: Problem, language: str) -> str:
    """Return a problem with its place and its remedy as a line in a language; names stay as they are."""
    word = speech_of(language).word
    place = ", ".join(f"{word(name)} {text}" for name, text in problem.location().items())
    told = f"{said(problem.problem, language)} {word('Remedy')}: {said(problem.remedy, language)}"
    return f"{word('Error')}: {place}: {told}" if place else f"{word('Error')}: {told}"


def text_answer(summary: JobSummary) -> str:
    """Return the lines for people in the report's language, with a line end."""

    def say(line: str) -> str:
        text = line.lstrip()
        return line[: len(line) - len(text)] + said(text, summary.language)

    lines = [say(line) for corridor in summary.corridors for line in _corridor_lines(corridor)]
    if summary.files:
        lines += [say("Written:"), *_file_lines(summary.files, say)]
    memory = "" if summary.peak_memory_mb is None else f", peak memory {summary.peak_memory_mb:.0f} MB"
    lines.append(say(f"Took {summary.seconds:.1f} s{memory}."))
    return "\n".join(lines) + "\n"


def _corridor_lines(corridor: CorridorSummary) -> list[str]:
    head = f"Corridor {corridor.corridor_id}: "
    if corridor.length_m is None:
        return [head + "no plan."]
    split = f"{_metres(corridor.open_cut_m)} in open cut, {_metres(corridor.drive_m)} in drives"
    apart = f"{_euros(corridor.owners_apart_eur)} and {_euros(corridor.overheads_apart_eur)}"
    low_high = f"{_euros(corridor.total_low_eur)} to {_euros(corridor.total_high_eur)}"
    parts = (
        f"provisional sums {_euros(corridor.provisional_eur)}, allowances {_euros(corridor.allowances_eur)}"
    )
    objective, error = _euros(corridor.objective_eur), _percent(corridor.frame_error_percent)
    audited = f"{_count(corridor.crossings, 'crossing')}, {_count(corridor.drives, 'drive')}"
    return [
        f"{head}{grouped(corridor.length_m)} m, {split}, {_count(corridor.shafts, 'shaft')}.",
        f"  Bill {_euros(corridor.total_eur)}; objective of the search {objective}, frame error {error}.",
        f"  Not in the bill: {NOT_IN_BILL}: {apart}.",
        f"  Never priced: {NEVER_PRICED}.",
        f"  With every rate low or high {low_high}; in it {parts}.",
        f"  Audit: {audited}, {_count(corridor.audit_breaches, 'breach', 'breaches')}.",
    ]


def _file_lines(files: tuple[str, ...], say: Callable[[str], str]) -> list[str]:
    """Name the files in the results folder, and of each folder in it how many it got."""
    paths = [PurePath(name) for name in files]
    root = paths[0].parent
    inner = Counter(path.parent for path in paths if path.parent != root)
    plain = [f"  {path}" for path in paths if path.parent == root]
    return [*plain, *(f"  {folder} ({say(counted(count, 'file'))})" for folder, count in inner.items())]


def _metres(value: float | None) -> str:
    return "?" if value is None else f"{grouped(value)} m"


def _euros(value: float | None) -> str:
    return "?" if value is None else f"{grouped(value, 2)} EUR"


def _percent(value: float | None) -> str:
    # The sum turns a rounded -0.00 into 0.00.
    return "not measured" if value is None else f"{round(value, 2) + 0.0:.2f} %"


def _count(value: int | None, one: str, several: str = "") -> str:
    return f"{'?' if value is None else value} {one if value == 1 else several or one + 's'}"
