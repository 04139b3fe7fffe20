"""The data band below a long section: numbers at stations, sections with their methods.

Room: ``sheets``. Pure layout in millimetres. Every number is that of the result tables.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from routescreen.sheets import looks
from routescreen.sheets.furniture import nice_step
from routescreen.sheets.lettering import fitted, wrapped
from routescreen.sheets.marks import Box, Mark, Stroke, Text, filled, frame, line

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.sheets.profile_view import Profile
    from routescreen.sheets.scene import Run

ROWS = (
    ("band_chainage", 17.0, ""),
    ("band_ground", 10.0, "ground_m"),
    ("band_invert", 10.0, "invert_m"),
    ("band_cover", 9.5, "cover_m"),
    ("band_required", 9.5, "required_m"),
    ("band_method", 6.5, ""),
)
BAND_MM = sum(height for _, height, _ in ROWS)
APART_MM = 3.0  # between the numbers of neighbouring stations
BESIDE_MM = 1.6  # of the two numbers at the seam of two sections, to each side
METHOD_FILL = {True: "#dfe8ef", False: "#f3e8da"}


class Station(NamedTuple):
    """A place whose numbers stand in the band; at a seam of two sections with those of both."""

    chainage_m: float
    is_seam: bool


def stations(window: tuple[float, float], seams_m: Sequence[float], mm_per_m: float) -> list[Station]:
    """Return the stations of a sheet: its ends, the seams of sections, and round chainages between.

    Seams go before round chainages; what would stand too near is left out.

    Parameters
    ----------
    window : tuple of float
        Chainages of the match lines [m].
    seams_m : sequence of float
        Chainages at which a section ends and the next begins, rising [m].
    mm_per_m : float

    Returns
    -------
    list of Station
        In order.
    """
    from_m, to_m = window
    step = nice_step(10.0 / mm_per_m, 1.0)
    rounds = [k * step for k in range(math.ceil(from_m / step), math.floor(to_m / step) + 1)]
    wanted = [Station(at, True) for at in seams_m if from_m <= at <= to_m]
    wanted += [Station(at, False) for at in (from_m, to_m, *rounds)]
    kept: list[Station] = []
    for station in wanted:
        room = [APART_MM + BESIDE_MM * (station.is_seam + other.is_seam) for other in kept]
        gaps = [abs(station.chainage_m - other.chainage_m) * mm_per_m for other in kept]
        if all(gap >= needed for gap, needed in zip(gaps, room, strict=True)):
            kept.append(station)
    return sorted(kept)


def band_view(profile: Profile, box: Box) -> list[Mark]:
    """Lay out the band of one sheet below its long section.

    Parameters
    ----------
    profile : Profile
    box : Box
        Titles of the rows included, which stand to the left of the long section.

    Returns
    -------
    list of Mark
    """
    window, words = profile.window, profile.scene.words
    marks: list[Mark] = []
    seams = [float(run.chainage_m[0]) for run in profile.scene.runs[1:]]
    shown = stations((window.from_m, window.to_m), seams, window.mm_per_m)
    top = box.top
    edges = []
    for title, height, column in ROWS:
        row = Box(profile.box.left, top - height, box.right, top)
        lines = wrapped(words(title), profile.box.left - box.left - 2.0, max(int(height / 2.9), 1))
        middle = (row.bottom + row.top) / 2.0 + (len(lines) - 1) * 1.45
        marks += [Text(text, box.left + 1.2, middle - k * 2.9) for k, text in enumerate(lines)]
        if title == "band_method":
            marks += _methods(profile, row)
        else:
            marks += _numbers(profile, row, column, shown)
        top -= height
        edges.append(np.array([[box.left, top], [box.right, top]]))
    ticks = [
        np.array([[x, box.top], [x, box.top - 1.2]]) for x in (float(profile.x(s.chainage_m)) for s in shown)
    ]
    marks.append(Stroke(tuple(ticks), looks.THIN))
    marks.append(Stroke(tuple(edges[:-1]), looks.HAIR))
    marks.append(line(looks.THIN, (profile.box.left, box.bottom), (profile.box.left, box.top)))
    return [*marks, frame(box, looks.BORDER)]


def _numbers(profile: Profile, row: Box, column: str, shown: Sequence[Station]) -> list[Mark]:
    words = profile.scene.words
    marks: list[Mark] = []
    for station in shown:
        at = station.chainage_m
        x, y = float(profile.x(at)), row.bottom + 1.0
        if not column:
            is_round = abs(at - round(at)) < 1e-6 and not station.is_seam
            text = words.chainage(at, 0 if is_round else 2)
            marks.append(Text(text, x, y, 1.8, "left", 90.0, is_bold=station.is_seam))
            continue
        before, behind = _beside(profile.scene.runs, at)
        values = [(0.0, behind if behind else before)]
        if station.is_seam and column != "ground_m" and before and behind:
            values = [(-BESIDE_MM, before), (BESIDE_MM, behind)]
        marks += [
            Text(words.number(run.at(column, at)), x + dx, y, 1.8, "left", 90.0) for dx, run in values if run
        ]
    return marks


def _beside(runs: Sequence[Run], chainage_m: float) -> tuple[Run | None, Run | None]:
    """Return the sections that hold what lies just before and just behind a chainage."""
    before = next((run for run in runs if run.chainage_m[0] < chainage_m <= run.chainage_m[-1]), None)
    behind = next((run for run in runs if run.chainage_m[0] <= chainage_m < run.chainage_m[-1]), None)
    return before, behind


def _methods(profile: Profile, row: Box) -> list[Mark]:
    """Return a bar for each section with its name and method."""
    window, scene, words = profile.window, profile.scene, profile.scene.words
    drive_of = {r["section_id"]: scene.short(r["drive_id"]) for r in scene.rows("drives")}
    marks: list[Mark] = []
    for section in scene.rows("sections"):
        a = max(float(section["from_chainage_m"]), window.shown_from_m)
        b = min(float(section["to_chainage_m"]), window.shown_to_m)
        if b - a < 1e-6:
            continue
        is_drive = section["construction"] == "drive"
        own = Box(float(profile.x(a)), row.bottom, float(profile.x(b)), row.top)
        marks.append(filled(own, METHOD_FILL[is_drive], looks.HAIR))
        name = scene.short(section["section_id"])
        if is_drive:
            name = f"{name} {drive_of.get(section['section_id'], '')} {words.method(str(section['method']))}"
        else:
            name = f"{name} {words('open_cut')}"
        if text := fitted(name, own.width - 1.2):
            marks.append(
                Text(text, (own.left + own.right) / 2.0, (row.bottom + row.top) / 2.0, 1.8, "middle")
            )
    return marks
