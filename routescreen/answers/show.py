"""Explanations, comparisons and findings as text for people and as objects for programs.

Room: ``answers``. Pure.
"""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import TYPE_CHECKING

import numpy as np

from routescreen.answers.words import wrapped
from routescreen.schema import CAUTION

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.answers.told import Explanation
    from routescreen.answers.told_parts import Part

__all__ = ["explanation_json", "explanation_text", "parts_text", "plain_json"]

IN_BREACH = "This plan is in breach: the audit found faults that could not be mended."


def explanation_text(told: Explanation, *, is_in_breach: bool = False) -> str:
    """Return an explanation as lines for people, with a line end."""
    head = [IN_BREACH] if is_in_breach else []
    return "\n".join([*head, *wrapped(told.title), parts_text(told.parts), *wrapped(CAUTION)]) + "\n"


def explanation_json(told: Explanation, corridor_id: str, *, is_in_breach: bool = False) -> dict[str, object]:
    """Return an explanation as an object for programs."""
    return {
        "corridor_id": corridor_id,
        "kind": told.place.kind,
        "element_id": told.place.element_id,
        "chainage_m": told.place.at_m,
        "is_in_breach": is_in_breach,
        "title": told.title,
        "parts": [asdict(part) for part in told.parts],
        "rows": plain_json(told.rows),
        "caution": CAUTION,
    }


def parts_text(parts: Sequence[Part]) -> str:
    """Return headings with their sentences, wrapped, each sentence with a dash."""
    lines: list[str] = []
    for part in parts:
        lines += ["", part.heading]
        for line in part.lines:
            lines += wrapped(line, "  - ")
    return "\n".join([*lines, ""])


def plain_json(value: object) -> object:
    """Return a value as JSON knows it: what is not a finite number becomes null."""
    if isinstance(value, dict):
        return {str(key): plain_json(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [plain_json(entry) for entry in value]
    if isinstance(value, bool | np.bool_):
        return bool(value)
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return float(value) if math.isfinite(value) else None
    return value if isinstance(value, str) or value is None else str(value)
