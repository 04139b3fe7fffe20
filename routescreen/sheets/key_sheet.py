"""The key sheet: the whole corridor with the outlines of its sheets, and the list of all sheets.

Room: ``sheets``. Pure layout in millimetres.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.counted import grouped
from routescreen.sheets import looks
from routescreen.sheets.furniture import (
    PICTURE,
    ROW_MM,
    Head,
    column,
    legend,
    nice_step,
    north_arrow,
    scale_bar,
    table,
)
from routescreen.sheets.legend_items import legend_items
from routescreen.sheets.looks import look_of
from routescreen.sheets.marks import Area, Box, Ink, Mark, Sheet, Stroke, Text, frame, line
from routescreen.sheets.places import Places
from routescreen.sheets.plan_view import Plan
from routescreen.sheets.strip_sheet import MIDDLE, PLAN
from routescreen.sheets.windows import Window

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from routescreen.sheets.scene import Scene
    from routescreen.sheets.strip_sheet import Works

    Array = NDArray[np.float64]

MAP = Box(PICTURE.left, PICTURE.bottom + 118.0, PICTURE.right, PICTURE.top)
LIST = Box(PICTURE.left, PICTURE.bottom, PICTURE.right, MAP.bottom)
# Finer steps than a plan's: between 1 : 25 000 and 1 : 50 000 the map would else be half as large as it may.
KEY_DENOMINATORS = tuple(
    round(part * power)
    for power in (100, 1000, 10_000, 100_000, 1_000_000)
    for part in (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.5)
)
N_COLUMNS = 3
HEAD_MM = 8.0
# At the map's scale the rest would be a blot.
SEEN_FROM_AFAR = {
    "motorway", "main_road", "railway", "river", "canal", "lake", "sea_dyke", "protected_area", "forest",
    "wetland", "water_protection_area",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Listed:
    """A sheet in the list: number, what it shows, scale of its plan; without a number what has no sheet."""

    number: int | None
    title: str
    scale: str


def rows_in(box: Box) -> int:
    """Return how many sheets one page of the list has room for."""
    return N_COLUMNS * (int((box.height - HEAD_MM - 2.0) / ROW_MM) - 1)


def n_list_sheets(n_sheets: int) -> int:
    """Return how many sheets the list goes on over after the key sheet.

    Examples
    --------
    >>> n_list_sheets(10), n_list_sheets(1000) > 1
    (0, True)
    """
    return max(math.ceil((n_sheets - rows_in(LIST)) / rows_in(PICTURE)), 0)


def key_sheet(
    scene: Scene,
    works: Works,
    windows: Sequence[Window],
    listed: Sequence[Listed],
    *,
    first_sheet: int,
    number: int,
    n_sheets: int,
) -> Sheet:
    """Lay out the key sheet of one corridor.

    Parameters
    ----------
    scene : Scene
    works : Works
    windows : sequence of Window
    listed : sequence of Listed
        All sheets of the corridor.
    first_sheet, number, n_sheets : int
        Number of the first window's sheet, of this sheet, and of all.

    Returns
    -------
    Sheet
    """
    words = scene.words
    window, is_true = map_window(scene)
    plan = _map(scene, works, window, windows, first_sheet)
    scale = f"1 : {grouped(window.denominator)}" if is_true else words("none")
    title = words("key_title")
    furniture, room = column(scene.issue, Head(scene.corridor_id, title, scale, number, n_sheets))
    marks = [*plan.marks, *_list(listed[: rows_in(LIST)], LIST, scene)]
    items = legend_items(plan.shown, plan.kinds, words)
    return Sheet(f"{scene.corridor_id}: {title}", (*marks, *furniture, *legend(items, room, words)))


def list_sheet(scene: Scene, listed: Sequence[Listed], page: int, *, number: int, n_sheets: int) -> Sheet:
    """Lay out a page on which the list of sheets goes on, `page` counted from 0."""
    a = rows_in(LIST) + page * rows_in(PICTURE)
    title = scene.words("list_title")
    furniture, _ = column(scene.issue, Head(scene.corridor_id, title, scene.words("none"), number, n_sheets))
    return Sheet(title, (*_list(listed[a : a + rows_in(PICTURE)], PICTURE, scene), *furniture))


def map_window(scene: Scene) -> tuple[Window, bool]:
    """Return the window of the whole corridor, north up, and whether its scale is a round one."""
    outline = scene.features.outline
    line_of = shapely.LineString(scene.way.xy_m)
    shape = line_of if outline is None else shapely.union(line_of, outline)
    west, south, east, north = shapely.bounds(shape)
    room = MAP.inset(9.0)
    needed = max((east - west) / room.width, (north - south) / room.height) * 1000.0
    wanted = [step for step in KEY_DENOMINATORS if step >= needed]
    denominator = wanted[0] if wanted else math.ceil(needed)
    centre = np.array([(west + east) / 2.0, (south + north) / 2.0])
    length = scene.way.length_m
    return Window(0.0, length, 0.0, length, centre, 0.0, denominator), bool(wanted)


def _map(scene: Scene, works: Works, window: Window, windows: Sequence[Window], first_sheet: int) -> Plan:
    plan = Plan(scene, window, MAP, MAP.middle)
    places = Places(MAP.inset(0.6))
    _far(plan)
    _grid_edges(plan)
    outline = scene.features.outline
    if outline is not None and plan.draw(shapely.boundary(outline), None, [looks.CORRIDOR_EDGE]):
        plan.shown.add("corridor")
    for run in scene.runs:
        part = shapely.LineString(scene.way.part(float(run.chainage_m[0]), float(run.chainage_m[-1])))
        plan.draw(part, None, [Ink(looks.DRIVE, 0.9) if run.is_drive else Ink(looks.OPEN_CUT, 0.5)])
        plan.shown.add("drive" if run.is_drive else "open_cut")
    _outlines(plan, places, windows, first_sheet)
    _corner_furniture(plan, places)
    _shaft_names(plan, places, works)
    plan.marks += [*plan.names, frame(MAP, looks.BORDER)]
    return plan


def _far(plan: Plan) -> None:
    for kind, shape in plan.scene.features.within(plan.ground()):
        look = look_of(kind)
        if kind not in SEEN_FROM_AFAR:
            continue
        is_area = shapely.get_dimensions(shape) != 1
        inks = [look.edge] if is_area and look.edge else [Ink(look.strokes[0].colour, 0.4)]
        if plan.draw(shape, look.fill, inks) and kind not in plan.kinds:
            plan.kinds.append(kind)


def _grid_edges(plan: Plan) -> None:
    """Draw the grid, labelled on the left and the lower edge."""
    west, south, east, north = shapely.bounds(plan.ground())
    step = nice_step(45.0 / plan.window.mm_per_m, 1.0)
    chains = []
    for number in range(math.ceil(west / step), math.floor(east / step) + 1):
        x = float(plan.on_paper(np.array([[number * step, south]]))[0, 0])
        chains.append(np.array([[x, MAP.bottom], [x, MAP.top]]))
        if MAP.left + 12.0 < x < MAP.right - 12.0:
            plan.names.append(Text(f"E {number * step:.0f}", x + 1.0, MAP.top - 2.2, colour="#7b8188"))
    for number in range(math.ceil(south / step), math.floor(north / step) + 1):
        y = float(plan.on_paper(np.array([[west, number * step]]))[0, 1])
        chains.append(np.array([[MAP.left, y], [MAP.right, y]]))
        if MAP.bottom + 12.0 < y < MAP.top - 8.0:
            plan.names.append(Text(f"N {number * step:.0f}", MAP.left + 1.0, y + 1.7, colour="#7b8188"))
    plan.marks.append(Stroke(tuple(chains), looks.GRID))


def _outlines(plan: Plan, places: Places, windows: Sequence[Window], first_sheet: int) -> None:
    """Draw what each sheet shows, with its number where there is room."""
    way = plan.scene.way
    rings = []
    for window in windows:
        own = Box(*PLAN)
        left, right = (
            MIDDLE[0] + side * (window.to_m - window.from_m) * window.mm_per_m / 2.0 for side in (-1, 1)
        )
        own = Box(left, PLAN.bottom, right, PLAN.top)
        rings.append(plan.on_paper(window.on_ground(own.corners(), MIDDLE)))
    plan.marks.append(Stroke(tuple(rings), Ink("#000000", 0.18)))
    xy = plan.on_paper(way.at(np.linspace(0.0, way.length_m, 200)))
    for a, b in itertools.pairwise(xy):
        if np.hypot(*(b - a)) > 1e-6:
            aside = np.array([-(b - a)[1], (b - a)[0]]) / float(np.hypot(*(b - a))) * 0.5
            places.take(np.stack([a - aside, b - aside, b + aside, a + aside]))
    for number, window in enumerate(windows):
        size = PLAN.height / window.mm_per_m * plan.window.mm_per_m
        if put := places.put(_numbers(plan, window, size, str(first_sheet + number))):
            plan.names.append(put)


def _numbers(plan: Plan, window: Window, size_mm: float, text: str) -> Iterator[Text]:
    middle = plan.on_paper(plan.scene.way.at((window.from_m + window.to_m) / 2.0)[None])[0]
    up = np.array([-math.sin(window.heading_rad), math.cos(window.heading_rad)])
    for away in (size_mm / 2.0 + 2.2, -size_mm / 2.0 - 2.2, size_mm / 2.0 + 6.0, -size_mm / 2.0 - 6.0):
        at = middle + up * away
        yield Text(text, float(at[0]), float(at[1]), 2.2, "middle", is_bold=True)


def _corner_furniture(plan: Plan, places: Places) -> None:
    words, denominator = plan.scene.words, plan.window.denominator
    _, box = scale_bar(0.0, 0.0, denominator, words)
    spots = ((MAP.left + 4.0, MAP.bottom + 3.0), (MAP.right - 3.0 - box.right, MAP.bottom + 3.0),
             (MAP.left + 4.0, MAP.top - 11.0), (MAP.right - 3.0 - box.right, MAP.top - 11.0))  # fmt: skip
    fits = [at for at in spots if places.is_free(scale_bar(*at, denominator, words)[1].corners()[:4])]
    bar, box = scale_bar(*(fits or spots)[0], denominator, words)
    places.take(box.corners()[:4])
    spots = ((MAP.right - 12.0, MAP.top - 15.0), (MAP.left + 12.0, MAP.top - 15.0),
             (MAP.right - 12.0, MAP.bottom + 12.0), (MAP.left + 12.0, MAP.bottom + 12.0))  # fmt: skip
    fits = [at for at in spots if places.is_free(north_arrow(*at, 0.0, words)[1].corners()[:4])]
    arrow, box = north_arrow(*(fits or spots)[0], 0.0, words)
    places.take(box.corners()[:4])
    plan.names += [*bar, *arrow]


def _shaft_names(plan: Plan, places: Places, works: Works) -> None:
    """Name the drives where there is room."""
    way = plan.scene.way
    for drive in works.drives:
        x, y = plan.on_paper(way.at((drive.from_m + drive.to_m) / 2.0)[None])[0]
        text = plan.scene.short(drive.row["drive_id"])
        put = places.put(
            Text(text, x + dx, y + dy, 1.8, "middle", 0.0, looks.DRIVE, True, True)
            for dy in (3.0, -3.0, 6.0, -6.0, 9.0, -9.0)
            for dx in (0.0, 4.0, -4.0)
        )
        if put:
            plan.names.append(put)
            plan.names.append(_pin(x, y))
            if abs(put.y_mm - y) > 4.0:
                plan.names.append(
                    line(looks.LEADER, (x, y), (put.x_mm, put.y_mm - math.copysign(1.4, put.y_mm - y)))
                )


def _pin(x: float, y: float) -> Mark:
    return Area((Box(x - 0.5, y - 0.5, x + 0.5, y + 0.5).corners(),), looks.DRIVE)


def _number(one: Listed) -> str:
    return "" if one.number is None else str(one.number)


def _list(listed: Sequence[Listed], box: Box, scene: Scene) -> list[Mark]:
    """Return a part of the list of sheets in columns."""
    words = scene.words
    marks: list[Mark] = [Text(words("sheet_list"), box.left + 2.0, box.top - 4.2, 2.5, is_bold=True)]
    n_rows = rows_in(box) // N_COLUMNS
    wide = (box.width - 4.0) / N_COLUMNS
    heads = (words("list_sheet"), words("list_what"), words("list_scale"))
    for at in range(0, len(listed), n_rows):
        rows = [heads, *((_number(one), one.title, one.scale) for one in listed[at : at + n_rows])]
        left = box.left + 2.0 + (at // n_rows) * wide
        marks += table(left, box.top - HEAD_MM, (9.0, wide - 9.0 - 19.0 - 2.0, 19.0), rows)
    return marks
