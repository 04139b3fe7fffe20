"""The sheet of one crossing: plan and long section at a larger scale, and the numbers for its permit.

Room: ``sheets``. Pure layout in millimetres; every number is that of the result tables, or a difference of
two.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from routescreen.sheets import looks
from routescreen.sheets.dimensions import chain
from routescreen.sheets.furniture import COLUMN, LINE_MM, PAD_MM, Head, column, legend
from routescreen.sheets.legend_items import legend_items
from routescreen.sheets.lettering import wrapped
from routescreen.sheets.marks import Box, Mark, Sheet, Text, line
from routescreen.sheets.plan_view import Neighbours, crossing_name
from routescreen.sheets.strip_sheet import (
    PAPER_OF_PLAN,
    PROFILE,
    first_x_mm,
    own_exaggeration,
    picture,
    scale_text,
)
from routescreen.sheets.windows import Paper, Window, window

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.sheets.scene import Run, Scene
    from routescreen.sheets.strip_sheet import Works
    from routescreen.sheets.works import DriveWork, ShaftWork

    Row = dict[str, Any]

DENOMINATORS = (200, 250, 500, 1000, 2000, 2500, 5000, 10_000)
SHAFTS_UP_TO = 1000  # shafts are shown where this scale holds them
BESIDE_M = 10.0  # of what is shown beyond the shafts
TIMES = 5.0
FOOT_MM = 8.0  # at the foot of the long section, for the lengths between shafts and edges
LABEL_MM = 39.0
NO_OVERLAP = Paper(PAPER_OF_PLAN.along_mm, PAPER_OF_PLAN.across_mm, 0.0)


@dataclass(frozen=True, slots=True)
class Crossing:
    """A line of the crossing schedule with the drive under it."""

    row: Row
    drive: DriveWork

    @property
    def edges_m(self) -> tuple[float, float]:
        """Chainages at which the alignment enters and leaves it [m]."""
        middle, half = float(self.row["chainage_m"]), float(self.row["width_m"]) / 2.0
        return max(middle - half, self.drive.from_m), min(middle + half, self.drive.to_m)


def major_crossings(scene: Scene, works: Works) -> list[Crossing]:
    """Return the crossings that get a sheet: of the kinds asked for, and driven under; in order."""
    kinds = set(scene.assumptions.sheets.crossing_kinds)
    by_section = {drive.row["section_id"]: drive for drive in works.drives}
    rows = [row for row in scene.rows("crossing_schedule") if row["kind"] in kinds]
    found = [
        Crossing(row, by_section[row["section_id"]])
        for row in rows
        if row["treatment"] == "trenchless" and row["section_id"] in by_section
    ]
    return sorted(found, key=lambda crossing: float(crossing.row["chainage_m"]))


def crossing_window(scene: Scene, crossing: Crossing) -> Window:
    """Return what a crossing's sheet shows, as large as its paper holds it.

    The drive with both shafts; where that is too long the crossing with the nearer shaft; else it alone.
    """
    drive, (a, b) = crossing.drive, crossing.edges_m
    room = {step: PAPER_OF_PLAN.along_mm * step / 1000.0 for step in DENOMINATORS}
    nearer = (drive.from_m, b) if a - drive.from_m < drive.to_m - b else (a, drive.to_m)
    spans = [(from_m - BESIDE_M, to_m + BESIDE_M) for from_m, to_m in ((drive.from_m, drive.to_m), nearer)]
    spans.append((a - 0.05 * (b - a) - 2 * BESIDE_M, b + 0.05 * (b - a) + 2 * BESIDE_M))
    scales = [
        next((step for step in DENOMINATORS if q - p <= room[step]), DENOMINATORS[-1]) for p, q in spans
    ]
    kept = next((k for k in (0, 1) if scales[k] <= SHAFTS_UP_TO), 2)
    denominator, middle = scales[kept], sum(spans[kept]) / 2.0
    half, length = room[denominator] / 2.0, scene.way.length_m
    start = min(max(middle - half, 0.0), max(length - 2.0 * half, 0.0))
    return window(scene.way, start, min(start + 2.0 * half, length), NO_OVERLAP, denominator)


def crossing_title(scene: Scene, crossing: Crossing) -> str:
    """Return what a crossing's sheet is called."""
    name, _, rest = crossing_name(scene, crossing.row).partition(" ")
    return scene.words("crossing_title", id=name, name=rest)


def crossing_sheet(scene: Scene, works: Works, crossing: Crossing, *, number: int, n_sheets: int) -> Sheet:
    """Lay out the sheet of one crossing.

    Parameters
    ----------
    scene : Scene
    works : Works
    crossing : Crossing
    number, n_sheets : int

    Returns
    -------
    Sheet
    """
    words = scene.words
    shown = crossing_window(scene, crossing)
    times = own_exaggeration(scene, works, shown, TIMES, FOOT_MM)
    title = crossing_title(scene, crossing)
    head = Head(
        scene.corridor_id, title, scale_text(scene, shown, times), number, n_sheets, (words("cover_note"),)
    )
    furniture, room = column(scene.issue, head)
    neighbours = Neighbours(is_matched=False)
    marks, seen, kinds = picture(scene, works, shown, times, neighbours, FOOT_MM)
    marks += _lengths(scene, works, crossing, shown)
    numbers, bottom = numbers_table(numbers_of(scene, works, crossing), room, words("numbers"))
    rest = Box(room.left, room.bottom, room.right, bottom)
    items = legend_items(seen, kinds, words)
    return Sheet(title, (*marks, *furniture, *numbers, *legend(items, rest, words)))


def _lengths(scene: Scene, works: Works, crossing: Crossing, shown: Window) -> list[Mark]:
    """Dimension shaft to edge, edge to edge, edge to shaft at the foot of the long section."""
    own = _shafts(works, crossing)
    wanted = sorted([shaft.chainage_m for shaft in own] + list(crossing.edges_m))
    at = [m for m in wanted if shown.from_m <= m <= shown.to_m]
    xs = [first_x_mm(shown) + (m - shown.from_m) * shown.mm_per_m for m in at]
    told = [scene.words.number(b - a) for a, b in itertools.pairwise(at)]
    return chain(xs, PROFILE.bottom + 4.2, told)


def _shafts(works: Works, crossing: Crossing) -> list[ShaftWork]:
    """Return the shafts of the crossing's drive, launch first."""
    row = crossing.drive.row
    by_id = {shaft.row["shaft_id"]: shaft for shaft in works.shafts}
    return [by_id[row[key]] for key in ("launch_shaft_id", "reception_shaft_id") if row[key] in by_id]


def numbers_of(scene: Scene, works: Works, crossing: Crossing) -> list[tuple[str, str]]:
    """Return what a permit application asks for: what it is called, and the number with its unit.

    Parameters
    ----------
    scene : Scene
    works : Works
    crossing : Crossing

    Returns
    -------
    list of tuple of str
    """
    words, row = scene.words, crossing.row
    agreed = next((r for r in scene.rows("agreements") if r["crossing_id"] == row["crossing_id"]), {})
    owner = _text(agreed.get("owner"))
    lead = [_float(agreed.get(f"lead_{which}_months")) for which in ("low", "expected", "high")]
    told = [
        ("n_kind", words.kind(str(row["kind"]))),
        ("n_name", _text(row["name"]) or words("none")),
        ("n_owner", owner if owner and owner != "not known" else words("not_known")),
        ("n_lead", " / ".join(words.number(value, 0) for value in lead)),
        ("n_chainage", words.chainage(float(row["chainage_m"]))),
        ("n_width", _metres(scene, row["width_m"])),
        ("n_angle", f"{words.number(_float(row['angle_deg']), 1)}°"),
        *_of_drive(scene, crossing),
        *_of_cover(scene, crossing),
    ]
    counts = scene.tables["checks"]
    own = counts.loc[counts["element_id"] == row["crossing_id"], "status"].value_counts()
    status = {"pass": "pass", "amber": "amber", "fail": "fail", "open": "not_evaluated"}
    told.append(("n_checks", words("checks_told", **{k: str(int(own.get(v, 0))) for k, v in status.items()})))
    monitoring, remark = _text(agreed.get("monitoring")), _text(row.get("remark"))
    told += [(key, text) for key, text in (("n_monitoring", monitoring), ("n_remark", remark)) if text]
    told.append(("n_confidence", words.confidence(_text(row["confidence"]) or words("none"))))
    named = [(words(key), value) for key, value in told]
    return [*named, *_of_shafts(scene, works, crossing)]


def _of_drive(scene: Scene, crossing: Crossing) -> list[tuple[str, str]]:
    words, row, geometry = scene.words, crossing.drive.row, crossing.drive.geometry
    spacing = _float(row["bore_spacing_m"])
    told = [
        ("n_method", words.method(str(row["method"]))),
        ("n_drive", f"{scene.short(row['drive_id'])}, {_metres(scene, row['length_m'])}"),
        ("n_bores", f"{row['bores']} × {_metres(scene, row['bore_diameter_m'])}"),
        ("n_pipe", _metres(scene, geometry.pipe_diameter_m)),
        ("n_grade", f"{words.number(_float(row['grade_percent']))} %"),
    ]
    return told if math.isnan(spacing) else [*told, ("n_spacing", _metres(scene, spacing))]


def _of_cover(scene: Scene, crossing: Crossing) -> list[tuple[str, str]]:
    words, row = scene.words, crossing.row
    told = [
        ("n_cover", _metres(scene, row["cover_m"])),
        ("n_required", _metres(scene, row["required_cover_m"])),
    ]
    if not math.isnan(_float(row["clearance_m"])):
        told.append(("n_clearance", _metres(scene, row["clearance_m"])))
    run = _run(scene, crossing)
    a, b = crossing.edges_m
    for key, column_name in (("n_ground", "ground_m"), ("n_crown", "crown_m"), ("n_invert", "invert_m")):
        levels = [math.nan if run is None else run.at(column_name, at) for at in (a, (a + b) / 2.0, b)]
        told.append((key, "; ".join(words.number(level) for level in levels)))
    return told


def _run(scene: Scene, crossing: Crossing) -> Run | None:
    at = (crossing.drive.from_m + crossing.drive.to_m) / 2.0
    return next((r for r in scene.runs if r.is_drive and r.chainage_m[0] <= at <= r.chainage_m[-1]), None)


def _of_shafts(scene: Scene, works: Works, crossing: Crossing) -> list[tuple[str, str]]:
    words = scene.words
    told: list[tuple[str, str]] = []
    for shaft, role in zip(_shafts(works, crossing), ("role_launch", "role_reception"), strict=False):
        heading = words("n_shaft", role=words(role), id=scene.short(shaft.row["shaft_id"]))
        a, b = crossing.edges_m
        middle = max(a - shaft.chainage_m, shaft.chainage_m - b, 0.0)
        wall = max(middle - shaft.length_m / 2.0, 0.0)
        east, north = (words.number(float(value), 1) for value in shaft.xy_m)
        told += [
            (heading, words.chainage(shaft.chainage_m)),
            (words("n_position"), f"{east}; {north}"),
            (words("n_depth"), f"{_metres(scene, shaft.depth_m)}; {words.number(shaft.ground_m)} m"),
            (words("n_edge"), f"{_metres(scene, middle)}; {_metres(scene, wall)}"),
        ]
    return told


def _metres(scene: Scene, value: object) -> str:
    return f"{scene.words.number(_float(value))} m"


def _float(value: object) -> float:
    return float(value) if isinstance(value, int | float | np.floating | np.integer) else math.nan


def _text(value: object) -> str:
    return value.strip() if isinstance(value, str) else ""


def numbers_table(rows: Sequence[tuple[str, str]], room: Box, title: str) -> tuple[list[Mark], float]:
    """Return the table of numbers from the top of a room down, and where it ends."""
    marks: list[Mark] = [Text(title, room.left + PAD_MM, room.top - 3.2, 2.2, is_bold=True)]
    y = room.top - 6.4
    value_mm = COLUMN.width - LABEL_MM - 2.0 * PAD_MM
    for label, value in rows:
        told = wrapped(value, value_mm, 2)
        named = wrapped(label, LABEL_MM - 1.5 - (2.0 if label.startswith(" ") else 0.0), 2)
        height = max(len(told), len(named)) * LINE_MM + 0.7
        if y - height < room.bottom + 1.0:
            break
        x = room.left + PAD_MM + (2.0 if label.startswith(" ") else 0.0)
        marks += [Text(text, x, y - 2.0 - k * LINE_MM, colour=looks.SLATE) for k, text in enumerate(named)]
        marks += [
            Text(text, room.left + PAD_MM + LABEL_MM, y - 2.0 - k * LINE_MM) for k, text in enumerate(told)
        ]
        y -= height
        marks.append(line(looks.HAIR, (room.left, y), (room.right, y)))
    marks.append(line(looks.BORDER, (room.left, y), (room.right, y)))
    return marks, y
