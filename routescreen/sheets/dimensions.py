"""Dimension lines: two strokes, a line between them, and the length it stands for.

Room: ``sheets``. Pure layout in millimetres.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.sheets import looks
from routescreen.sheets.lettering import width_mm
from routescreen.sheets.marks import Mark, Text, line

if TYPE_CHECKING:
    from collections.abc import Sequence

TICK_MM = 0.8


def across(x: tuple[float, float], y: float, text: str, from_y: float | None = None) -> list[Mark]:
    """Return a dimension between two x at a height, its number above, beside it where it is too short.

    With `from_y` thin lines lead from what is measured to the dimension.
    """
    a, b = x
    marks: list[Mark] = [line(looks.HAIR, (a, y), (b, y))]
    for at in x:
        marks.append(line(looks.THIN, (at - TICK_MM, y - TICK_MM), (at + TICK_MM, y + TICK_MM)))
        if from_y is not None:
            marks.append(line(looks.HAIR, (at, from_y), (at, y - 1.2 if from_y > y else y + 1.2)))
    if width_mm(text) <= b - a - 1.0:
        marks.append(Text(text, (a + b) / 2.0, y + 1.9, align="middle"))
    else:
        marks.append(Text(text, b + 1.5, y, is_patched=True))
    return marks


def upright(x: float, y: tuple[float, float], text: str, from_x: float | None = None) -> list[Mark]:
    """Return a dimension between two heights, its number upright to its left, beside it where too short."""
    low, high = min(y), max(y)
    marks: list[Mark] = [line(looks.HAIR, (x, low), (x, high))]
    for at in (low, high):
        marks.append(line(looks.THIN, (x - TICK_MM, at - TICK_MM), (x + TICK_MM, at + TICK_MM)))
        if from_x is not None:
            marks.append(line(looks.HAIR, (from_x, at), (x + 1.2 if x > from_x else x - 1.2, at)))
    if width_mm(text) <= high - low - 0.6:
        marks.append(Text(text, x - 1.9, (low + high) / 2.0, 1.8, "middle", 90.0))
    else:
        marks.append(Text(text, x + 1.4, (low + high) / 2.0, is_patched=True))
    return marks


def chain(xs: Sequence[float], y: float, texts: Sequence[str]) -> list[Mark]:
    """Return dimensions one behind the other; a number that finds no room stands a line lower."""
    marks: list[Mark] = []
    for a, b, text in zip(xs[:-1], xs[1:], texts, strict=True):
        if b - a < 0.2:
            continue
        marks.append(line(looks.THIN, (a, y), (b, y)))
        fits = width_mm(text) <= b - a - 0.8
        marks.append(Text(text, (a + b) / 2.0, y + (1.9 if fits else -2.0), align="middle", is_patched=True))
    return marks + [line(looks.THIN, (x - TICK_MM, y - TICK_MM), (x + TICK_MM, y + TICK_MM)) for x in xs]
