"""What is the same on every sheet: border, title block, revisions, notes, legend, scale bar, north arrow.

Room: ``sheets``. Pure layout in millimetres.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from routescreen.sheets.lettering import fitted, wrapped
from routescreen.sheets.looks import BLACK, BORDER, HAIR, SLATE, THIN, WHITE
from routescreen.sheets.marks import LEAST_CAP_MM, Area, Box, Mark, Text, filled, frame, line

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.sheets.scene import Issue
    from routescreen.sheets.words import Words

PAPER = Box(0.0, 0.0, 420.0, 297.0)  # A3, ISO 216
EDGE = Box(20.0, 10.0, 410.0, 287.0)  # room to bind on the left, ISO 5457
COLUMN_MM = 74.0
COLUMN = Box(EDGE.right - COLUMN_MM, EDGE.bottom, EDGE.right, EDGE.top)
PICTURE = Box(EDGE.left, EDGE.bottom, COLUMN.left, EDGE.top)
PAD_MM = 1.5
LINE_MM = 3.0  # between lines of the smallest text
ROW_MM = 4.4
LEGEND_ROW_MM = 4.0
N_REVISIONS = 3
NICE = (1.0, 2.0, 5.0, 10.0)


@dataclass(frozen=True, slots=True)
class Head:
    """What the title block of one sheet says beside what all of them say.

    Attributes
    ----------
    corridor_id, title, scale : str
    number, n_sheets : int
    notes : tuple of str
        Above the title block.
    """

    corridor_id: str
    title: str
    scale: str
    number: int
    n_sheets: int
    notes: tuple[str, ...] = ()


class Item(NamedTuple):
    """One line of the legend: what it means, and a mark for each part, drawn in a box of 9 by 3 mm."""

    meaning: str
    marks: tuple[Mark, ...]


def nice_step(span: float, n_wanted: float) -> float:
    """Return a step of 1, 2 or 5 times a power of ten that cuts a span into about so many parts.

    Examples
    --------
    >>> nice_step(550.0, 5), nice_step(33.0, 5)
    (100.0, 5.0)
    """
    rough = max(span, 1e-9) / n_wanted
    power = 10.0 ** math.floor(math.log10(rough))
    return power * min(NICE, key=lambda nice: abs(math.log(nice * power / rough)))


def column(issue: Issue, head: Head) -> tuple[list[Mark], Box]:
    """Return border, title block, revisions and notes of a sheet, and the room left above them."""
    block, top = _title_block(issue, head)
    revisions, top = _revisions(issue, top)
    notes, top = _notes(issue, head.notes, top)
    marks = [frame(EDGE, BORDER), line(BORDER, (COLUMN.left, EDGE.bottom), (COLUMN.left, EDGE.top))]
    return [*marks, *block, *revisions, *notes], Box(COLUMN.left, top, COLUMN.right, COLUMN.top)


def _title_block(issue: Issue, head: Head) -> tuple[list[Mark], float]:
    words = issue.words
    left, right, y = COLUMN.left, COLUMN.right, COLUMN.bottom
    caution = wrapped(issue.caution, COLUMN.width - 2 * PAD_MM, 14)
    marks: list[Mark] = []
    height = len(caution) * LINE_MM + 7.5
    marks += [
        Text(text, left + PAD_MM, y + 2.0 + (len(caution) - 1 - number) * LINE_MM)
        for number, text in enumerate(caution)
    ]
    marks.append(Text(words("status"), left + PAD_MM, y + height - 3.6, 2.7, is_bold=True))
    y += height
    third = COLUMN.width / 3.0
    rows = (
        (9.0, ((words("date"), words.date(issue.stamp_utc), third, 2.2),
               (words("version"), issue.version, third, 1.8),
               (words("sheet"), words("of", n=str(head.number), all=str(head.n_sheets)), third, 2.7))),
        (9.0 if "\n" not in head.scale else 12.0, ((words("scale"), head.scale, COLUMN.width, 1.9),)),
        (12.5, ((words("drawing"), head.title, COLUMN.width, 2.3),)),
        (9.0, ((words("corridor"), head.corridor_id, COLUMN.width, 2.5),)),
        (12.5, ((words("project"), issue.project, COLUMN.width, 2.5),)),
    )  # fmt: skip
    for height, cells in rows:
        marks.append(line(THIN, (left, y), (right, y)))
        x = left
        for number, (caption, value, wide, cap) in enumerate(cells):
            if number:
                marks.append(line(THIN, (x, y), (x, y + height)))
            marks += _cell(Box(x, y, x + wide, y + height), caption, value, cap)
            x += wide
        y += height
    marks.append(line(BORDER, (left, y), (right, y)))
    return marks, y


def _cell(box: Box, caption: str, value: str, cap_mm: float) -> list[Mark]:
    """Return a field with its caption; the value on as many lines as there is room for."""
    room = box.width - 2 * PAD_MM
    n_lines = max(int((box.height - 3.6) / (cap_mm * 1.75)), 1)
    is_bold = cap_mm > 2.2
    n_each = max(n_lines - value.count("\n"), 1)
    parts = value.split("\n")
    lines = [cut for part in parts for cut in wrapped(part, room, n_each, cap_mm, is_bold=is_bold)]
    pitch = cap_mm * 1.75
    top = box.bottom + (box.height - 3.6) / 2.0 + (len(lines) - 1) * pitch / 2.0 + 0.4
    marks: list[Mark] = [Text(caption, box.left + PAD_MM, box.top - 2.1, LEAST_CAP_MM, colour=SLATE)]
    marks += [
        Text(text, box.left + PAD_MM, top - number * pitch, cap_mm, is_bold=is_bold)
        for number, text in enumerate(lines)
    ]
    return marks


def _revisions(issue: Issue, y: float) -> tuple[list[Mark], float]:
    """Return the table of revisions: the run's own row, then empty ones to be filled by hand."""
    words = issue.words
    widths = (8.0, 33.0, 17.0, 16.0)
    first = ("0", words("first_issue"), words.date(issue.stamp_utc), "")
    heads = tuple(words(key) for key in ("rev", "rev_what", "rev_date", "rev_by"))
    rows = [heads, first, *[("", "", "", "")] * (N_REVISIONS - 1)]
    marks = table(COLUMN.left, y + len(rows) * ROW_MM, widths, rows)
    y += len(rows) * ROW_MM
    marks.append(line(BORDER, (COLUMN.left, y), (COLUMN.right, y)))
    return marks, y


def table(left: float, top: float, widths: Sequence[float], rows: Sequence[Sequence[str]]) -> list[Mark]:
    """Return a ruled table, its first row the headings."""
    marks: list[Mark] = []
    right, bottom = left + sum(widths), top - len(rows) * ROW_MM
    for number, row in enumerate(rows):
        y = top - (number + 0.5) * ROW_MM
        x = left
        for text, wide in zip(row, widths, strict=True):
            cut = fitted(text, wide - 2.0, is_bold=not number)
            if cut:
                marks.append(Text(cut, x + 1.0, y, is_bold=not number))
            x += wide
        marks.append(line(HAIR, (left, y - ROW_MM / 2), (right, y - ROW_MM / 2)))
    x = left
    for wide in widths[:-1]:
        x += wide
        marks.append(line(HAIR, (x, top), (x, bottom)))
    return marks


def _notes(issue: Issue, notes: Sequence[str], y: float) -> tuple[list[Mark], float]:
    told = [*notes, issue.words("levels_note"), issue.words("crs_note", crs=issue.crs_name)]
    lines = [cut for note in told for cut in wrapped(note, COLUMN.width - 2 * PAD_MM, 5)]
    height = len(lines) * LINE_MM + 1.5
    marks: list[Mark] = [
        Text(text, COLUMN.left + PAD_MM, y + height - 2.2 - number * LINE_MM)
        for number, text in enumerate(lines)
    ]
    y += height
    marks.append(line(BORDER, (COLUMN.left, y), (COLUMN.right, y)))
    return marks, y


def legend(items: Sequence[Item], room: Box, words: Words) -> list[Mark]:
    """Return the legend, in two columns where one is too long; what finds no room is counted."""
    marks: list[Mark] = [Text(words("legend"), room.left + PAD_MM, room.top - 3.2, 2.2, is_bold=True)]
    n_rows = int((room.height - 7.0) / LEGEND_ROW_MM)
    n_columns = 1 if len(items) <= n_rows else 2
    wide = room.width / n_columns
    if len(items) > n_columns * n_rows:
        left = len(items) - (n_columns * n_rows - 1)
        items = [*items[: n_columns * n_rows - 1], Item(words("leg_more", n=str(left)), ())]
    n_first = n_rows if n_columns == 1 else -(-len(items) // 2)
    for number, item in enumerate(items):
        x = room.left + PAD_MM + (number // n_first) * wide
        y = room.top - 8.0 - (number % n_first) * LEGEND_ROW_MM
        marks += [moved(mark, x, y - 1.5) for mark in item.marks]
        marks.append(Text(fitted(item.meaning, wide - 13.5), x + 10.5, y))
    return marks


def moved(mark: Mark, x_mm: float, y_mm: float) -> Mark:
    """Return a mark set off by so much."""
    by = np.array([x_mm, y_mm])
    if isinstance(mark, Text):
        return Text(
            mark.text, mark.x_mm + x_mm, mark.y_mm + y_mm, mark.cap_mm, mark.align, mark.turn_deg,
            mark.colour, mark.is_bold, mark.is_patched,
        )  # fmt: skip
    if isinstance(mark, Area):
        return Area(tuple(ring + by for ring in mark.rings), mark.fill, mark.ink)
    return type(mark)(tuple(chain + by for chain in mark.chains), mark.ink)


def scale_bar(left: float, y: float, denominator: int, words: Words) -> tuple[list[Mark], Box]:
    """Return a bar of four parts, about 50 mm long and true to scale, and the box that it fills."""
    part_m = nice_step(50.0 * denominator / 1000.0, 4.0)
    part = part_m * 1000.0 / denominator
    unit, by = ("km", 1000.0) if 4 * part_m >= 5000.0 else ("m", 1.0)
    box = Box(left - 1.5, y - 1.0, left + 4 * part + 8.5, y + 5.2)
    marks: list[Mark] = [filled(box, WHITE)]
    for number in range(4):
        own = Box(left + number * part, y, left + (number + 1) * part, y + 1.4)
        marks.append(filled(own, BLACK if number % 2 == 0 else WHITE, THIN))
    for number in range(5):
        digits = 0 if part_m / by >= 1.0 or not number else 1
        marks.append(
            Text(words.number(number * part_m / by, digits), left + number * part, y + 3.2, align="middle")
        )
    marks.append(Text(unit, left + 4 * part + 4.8, y + 3.2))
    return marks, box


def north_arrow(x: float, y: float, heading_rad: float, words: Words) -> tuple[list[Mark], Box]:
    """Return an arrow to the north of a plan whose right is at a heading, and the box that it fills."""
    turn = -heading_rad
    axes = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    own = np.array([[0.0, 6.5], [-2.6, -5.0], [0.0, -3.0], [2.6, -5.0]])
    points = own @ axes + [x, y]
    tip = np.array([0.0, 9.0]) @ axes + [x, y]
    half = np.array([own[0], own[1], own[2], own[0]]) @ axes + [x, y]
    ring = np.vstack([points, points[:1]])
    box = Box(x - 10.5, y - 10.5, x + 10.5, y + 10.5)
    angle = np.linspace(0.0, 2.0 * math.pi, 49)
    disc = np.stack([x + 10.3 * np.cos(angle), y + 10.3 * np.sin(angle)], axis=1)
    return [
        Area((disc,), WHITE),
        Area((ring,), WHITE, THIN),
        Area((half,), BLACK, THIN),
        Text(words("north"), float(tip[0]), float(tip[1]), 2.5, "middle", is_bold=True),
    ], box
