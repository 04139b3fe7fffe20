"""The plan-and-profile sheet: plan above, long section and data band below, column on the right.

Room: ``sheets``. Pure layout in millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.counted import grouped
from routescreen.sheets import looks
from routescreen.sheets.band import BAND_MM, band_view
from routescreen.sheets.furniture import PAD_MM, PICTURE, Head, column, legend
from routescreen.sheets.legend_items import legend_items
from routescreen.sheets.marks import Area, Box, Ink, Mark, Sheet, Stroke, Text, line
from routescreen.sheets.plan_view import Neighbours, plan_view
from routescreen.sheets.profile_view import chart_mm, level_span, profile_view
from routescreen.sheets.windows import STEEPEST, Paper, Window

if TYPE_CHECKING:
    from routescreen.sheets.scene import Scene
    from routescreen.sheets.works import DriveWork, ShaftWork

TITLES_MM = 25.0  # left of the long section, for titles and levels
OVERLAP_MM = 9.0
PLAN_MM = 107.0
KEY_MM = 40.0
PROFILE = Box(PICTURE.left + TITLES_MM, PICTURE.bottom + BAND_MM, PICTURE.right, PICTURE.top - PLAN_MM)
BAND = Box(PICTURE.left, PICTURE.bottom, PICTURE.right, PICTURE.bottom + BAND_MM)
PLAN = Box(PICTURE.left, PICTURE.top - PLAN_MM, PICTURE.right, PICTURE.top)
MIDDLE = (PROFILE.middle[0], PLAN.middle[1])  # straight runs stand above their long section
PAPER_OF_PLAN = Paper(PROFILE.width - 2.0 * OVERLAP_MM - 2.0, PLAN_MM - 40.0, OVERLAP_MM)


@dataclass(frozen=True, slots=True)
class Works:
    """Drives and shafts of a corridor, made once."""

    drives: tuple[DriveWork, ...]
    shafts: tuple[ShaftWork, ...]


def own_exaggeration(
    scene: Scene, works: Works, window: Window, common: float, foot_mm: float = 0.0
) -> float:
    """Return the common exaggeration, or the next lower one with which a window's levels find room."""
    low, high = level_span(scene, works.shafts, window.shown_from_m, window.shown_to_m)
    room = chart_mm(PROFILE, foot_mm)
    fitting = [t for t in STEEPEST if t <= common and (high - low) * window.mm_per_m * t <= room]
    return fitting[0] if fitting else room / max((high - low) * window.mm_per_m, 1e-9)


def scale_text(scene: Scene, window: Window, times: float) -> str:
    """Return what a sheet says of its scales."""
    words = scene.words
    lengths = words("lengths", h=f"1 : {grouped(window.denominator)}")
    if times == 1.0:
        return f"{lengths}\n{words('same_heights')}"
    heights = words(
        "exaggeration",
        v=f"1 : {grouped(window.denominator / times)}",
        n=f"{times:g}".replace(".", words("decimal")),
    )
    return f"{lengths}\n{heights}"


def first_x_mm(window: Window) -> float:
    """Return where a window's first chainage stands, the window in the middle of its frame [mm]."""
    wide = (window.to_m - window.from_m) * window.mm_per_m
    return PROFILE.left + (PROFILE.width - wide) / 2.0


def picture(
    scene: Scene, works: Works, window: Window, times: float, neighbours: Neighbours, foot_mm: float = 0.0
) -> tuple[list[Mark], set[str], list[str]]:
    """Return plan, long section and band of a window, and what the legend must explain."""
    plan = plan_view(scene, window, PLAN, MIDDLE, neighbours, works.drives, works.shafts)
    profile = profile_view(
        scene, window, PROFILE, first_x_mm(window), times, neighbours, works.drives, works.shafts, foot_mm
    )
    marks = [*plan.marks, *profile.marks, *band_view(profile, BAND)]
    marks.append(line(looks.BORDER, (PICTURE.left, PROFILE.bottom), (PICTURE.left, PROFILE.top)))
    return marks, plan.shown | profile.shown, plan.kinds


def strip_sheet(
    scene: Scene,
    works: Works,
    windows: list[Window],
    number: int,
    common_times: float,
    first_sheet: int,
    n_sheets: int,
) -> Sheet:
    """Lay out one plan-and-profile sheet.

    Parameters
    ----------
    scene : Scene
    works : Works
    windows : list of Window
        All of the corridor.
    number : int
        Which of them.
    common_times : float
        Exaggeration that most sheets have.
    first_sheet, n_sheets : int
        Number of the first window's sheet, and of all sheets.

    Returns
    -------
    Sheet
    """
    window, words = windows[number], scene.words
    sheet = first_sheet + number
    neighbours = Neighbours(sheet - 1 if number else None, sheet + 1 if number + 1 < len(windows) else None)
    times = own_exaggeration(scene, works, window, common_times)
    title = words("pp_title", a=words.chainage(window.from_m), b=words.chainage(window.to_m))
    overlap_m = OVERLAP_MM / window.mm_per_m
    notes = (words("overlap_note", m=f"{overlap_m:g}"),) if len(windows) > 1 else ()
    head = Head(scene.corridor_id, title, scale_text(scene, window, times), sheet, n_sheets, notes)
    furniture, room = column(scene.issue, head)
    marks, shown, kinds = picture(scene, works, window, times, neighbours)
    key_box = Box(room.left, room.top - KEY_MM, room.right, room.top)
    rest = Box(room.left, room.bottom, room.right, room.top - KEY_MM)
    key = key_plan(scene, window, key_box)
    return Sheet(title, (*marks, *furniture, *key, *legend(legend_items(shown, kinds, words), rest, words)))


def key_plan(scene: Scene, window: Window, box: Box) -> list[Mark]:
    """Return a small map of the whole alignment, north up, with the part that a sheet shows."""
    room = Box(box.left + 4.0, box.bottom + 3.0, box.right - 4.0, box.top - 7.0)
    xy = scene.way.xy_m
    low, high = xy.min(axis=0), xy.max(axis=0)
    size = np.maximum(high - low, 1.0)
    per_m = min(room.width / size[0], room.height / size[1])
    middle = (low + high) / 2.0

    def placed(points: np.ndarray) -> np.ndarray:
        return np.asarray((points - middle) * per_m + np.array(room.middle))

    thin = np.linspace(0.0, scene.way.length_m, 300)
    part = scene.way.at(np.linspace(window.from_m, window.to_m, 30))
    return [
        Text(scene.words("key_plan"), box.left + PAD_MM, box.top - 3.2, 2.2, is_bold=True),
        Stroke((placed(scene.way.at(thin)),), Ink(looks.SLATE, 0.3)),
        Stroke((placed(part),), Ink(looks.WRONG, 1.2)),
        Area((_ring(placed(scene.way.at(np.array([0.0])))[0]),), looks.WHITE, looks.THIN),
        line(looks.BORDER, (box.left, box.bottom), (box.right, box.bottom)),
    ]


def _ring(at: np.ndarray) -> np.ndarray:
    angle = np.linspace(0.0, 2.0 * np.pi, 17)
    return np.stack([at[0] + 0.9 * np.cos(angle), at[1] + 0.9 * np.sin(angle)], axis=1)
