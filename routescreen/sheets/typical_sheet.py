"""Typical sections: trench, working strip, bores and shafts, true to scale with their dimensions.

Room: ``sheets``. Pure layout in millimetres; sizes from the result tables, and from the assumptions where no
table has them.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, Any

import numpy as np

from routescreen.sheets import looks
from routescreen.sheets.crossing_sheet import numbers_table
from routescreen.sheets.dimensions import across, upright
from routescreen.sheets.furniture import PICTURE, Head, column
from routescreen.sheets.marks import Area, Box, Ink, Mark, Sheet, Text, filled, frame, line

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from routescreen.sheets.scene import Scene
    from routescreen.sheets.strip_sheet import Works
    from routescreen.sheets.works import DriveWork, ShaftWork

    Array = NDArray[np.float64]
    Panel = Callable[[Box], list[Mark]]

N_ACROSS, N_DOWN = 2, 3
DENOMINATORS = (10, 20, 25, 50, 100, 200, 250, 500, 1000, 2000, 5000)
HEAD_MM = 11.0
SOIL, BEDDING, PIPE = "#f4f1ea", "#e3d7bf", "#ffffff"
FACE = Ink("#3c3f44", 0.35)
STEEL = Ink(looks.DRIVE, 0.35)


class Cut:
    """A section being drawn: metres across and up from a middle, true to one scale in both."""

    def __init__(
        self, box: Box, wide_m: float, high_m: float, beside_mm: float = 24.0, over_mm: float = 15.0
    ):
        room_x, room_y = box.width - 2.0 * beside_mm, box.height - HEAD_MM - 2.0 * over_mm
        needed = max(wide_m / room_x, high_m / room_y) * 1000.0
        self.denominator = next((d for d in DENOMINATORS if d >= needed), math.ceil(needed))
        self._per_m = 1000.0 / self.denominator
        self._x0 = (box.left + box.right) / 2.0
        middle = box.bottom + over_mm + room_y / 2.0
        self._y0 = middle + high_m * self._per_m / 2.0
        self.box = box

    def x(self, across_m: float) -> float:
        """Return where a distance from the middle stands [mm]."""
        return self._x0 + across_m * self._per_m

    def y(self, depth_m: float) -> float:
        """Return where a depth below ground stands [mm]."""
        return self._y0 - depth_m * self._per_m

    def at(self, *points_m: tuple[float, float]) -> Array:
        """Return points, across and depth, on the paper."""
        return np.array([[self.x(a), self.y(d)] for a, d in points_m])

    def ring(self, across_m: float, depth_m: float, diameter_m: float) -> Array:
        """Return a circle."""
        angle = np.linspace(0.0, 2.0 * math.pi, 41)
        half = diameter_m / 2.0 * self._per_m
        return np.stack([self.x(across_m) + half * np.cos(angle), self.y(depth_m) + half * np.sin(angle)], 1)

    def ground(self, scene: Scene) -> list[Mark]:
        """Return the line of the ground, from side to side, with its name."""
        left, right, y = self.box.left + 4.0, self.box.right - 4.0, self.y(0.0)
        hatch = [
            line(looks.HAIR, (at + 1.5, y), (at, y - 1.5))
            for at in np.arange(left, left + 12.0, 2.0).tolist()
        ]
        return [
            line(looks.GROUND, (left, y), (right, y)),
            *hatch,
            Text(scene.words("t_ground"), left, y + 2.0),
        ]


def n_typical_sheets(scene: Scene, works: Works) -> int:
    """Return how many sheets the typical sections need."""
    return max(math.ceil(len(_panels(scene, works)) / (N_ACROSS * N_DOWN)), 1)


def typical_sheet(scene: Scene, works: Works, page: int, *, number: int, n_sheets: int) -> Sheet:
    """Lay out one sheet of typical sections, `page` counted from 0."""
    words = scene.words
    each = N_ACROSS * N_DOWN
    panels = _panels(scene, works)[page * each : (page + 1) * each]
    title = words("typical_title")
    head = Head(scene.corridor_id, title, words("t_scale"), number, n_sheets, (words("sections_note"),))
    furniture, room = column(scene.issue, head)
    told, _ = numbers_table(_assumed(scene), room, words("assumed"))
    wide, high = PICTURE.width / N_ACROSS, PICTURE.height / N_DOWN
    marks: list[Mark] = []
    for at, panel in enumerate(panels):
        left, top = PICTURE.left + (at % N_ACROSS) * wide, PICTURE.top - (at // N_ACROSS) * high
        box = Box(left, top - high, left + wide, top)
        marks += [*panel(box), frame(box, looks.THIN)]
    return Sheet(title, (*marks, *furniture, *told))


def _assumed(scene: Scene) -> list[tuple[str, str]]:
    """Return sizes that hold for the whole link: what it is, and the number with its unit."""
    a, words = scene.assumptions, scene.words

    def metres(value: float) -> str:
        return f"{words.number(value)} m"

    return [
        (words("a_systems"), f"{a.link.n_systems} × {a.n_pipes_per_trench}"),
        (words("a_current"), f"{words.number(a.link.current_A, 0)} A"),
        (words("a_cable"), f"{words.number(a.cable.outer_diameter_mm, 0)} mm"),
        (words("a_pipe"), metres(a.pipe.trench_outer_diameter_m)),
        (words("a_cover"), metres(a.trench.cover_to_pipe_m)),
        (words("a_below"), metres(a.trench.bedding_below_m)),
        (words("a_above"), metres(a.trench.bedding_above_m)),
        (words("a_axes"), metres(a.link.trench_spacing_m)),
        (words("a_sump"), metres(a.shaft.sump_m)),
        (words("a_step"), metres(a.shaft.depth_step_m)),
    ]


def _panels(scene: Scene, works: Works) -> list[Panel]:
    trenches = [row for row in scene.rows("earthworks") if row["works"] == "open_cut"]
    panels: list[Panel] = []
    if trenches:
        widths = [float(row["bottom_width_m"]) for row in trenches]
        usual = max(widths, key=widths.count)
        longest = max(
            (row for row in trenches if float(row["bottom_width_m"]) == usual),
            key=lambda row: float(row["length_m"]),
        )
        panels += [lambda box: _trench(scene, longest, box), lambda box: _strip(scene, longest, box)]
    seen: dict[str, DriveWork] = {}
    for drive in works.drives:
        seen.setdefault(str(drive.row["method"]), drive)
    by_id = {shaft.row["shaft_id"]: shaft for shaft in works.shafts}
    for drive in seen.values():
        panels.append(_bound(_bores, scene, drive, None))
        shaft = by_id.get(drive.row["launch_shaft_id"])
        if shaft is not None:
            panels.append(_bound(_shaft, scene, drive, shaft))
    return panels


def _bound(draw: Callable[..., list[Mark]], scene: Scene, drive: DriveWork, shaft: ShaftWork | None) -> Panel:
    return lambda box: draw(scene, drive, shaft, box)


def _titled(box: Box, title: str, of: str, denominator: int) -> list[Mark]:
    return [
        Text(title, box.left + 3.0, box.top - 4.2, 2.3, is_bold=True),
        Text(f"{of}; 1 : {denominator}", box.left + 3.0, box.top - 8.4, 1.8, colour=looks.SLATE),
    ]


def _m(scene: Scene, value: float) -> str:
    return scene.words.number(value)


def _pipe_spacing_m(scene: Scene, row: dict[str, Any]) -> float:
    """Return the largest spacing of the cables along a section of open cut, as the table has it [m]."""
    curve = scene.tables["cable_curve"]
    own = curve[(curve["section_id"] == row["section_id"]) & (curve["construction"] == "open_cut")]
    known = own["spacing_m"].dropna()
    return float(known.max()) if len(known) else scene.assumptions.trench.pipe_spacing_m


def _trench(scene: Scene, row: dict[str, Any], box: Box) -> list[Mark]:
    a, words = scene.assumptions, scene.words
    trench, depth, pipe = a.trench, a.trench_depth_m, a.pipe.trench_outer_diameter_m
    bottom, top = float(row["bottom_width_m"]), float(row["top_width_m"])
    cut = Cut(box, top, depth, over_mm=17.0)
    zone = min(trench.bedding_below_m + pipe + trench.bedding_above_m, depth)
    wide = bottom + (top - bottom) * zone / depth
    of = words("t_of", id=scene.short(row["section_id"]))
    marks = _titled(box, words("t_trench"), of, cut.denominator)
    outline = cut.at((-top / 2, 0), (-bottom / 2, depth), (bottom / 2, depth), (top / 2, 0))
    high = depth - zone
    foot = ((-wide / 2, high), (-bottom / 2, depth), (bottom / 2, depth), (wide / 2, high))
    marks += [
        Area((np.vstack([outline, outline[:1]]),), SOIL),
        Area((cut.at(*foot, foot[0]),), BEDDING),
        *cut.ground(scene),
        line(FACE, *[(float(x), float(y)) for x, y in outline]),
        Text(words("t_backfill"), cut.x(0.0), cut.y(high * 0.45), align="middle"),
    ]
    axis, spacing, n = trench.cover_to_pipe_m + pipe / 2.0, _pipe_spacing_m(scene, row), a.n_pipes_per_trench
    places = [(k - (n - 1) / 2.0) * spacing for k in range(n)]
    marks += [Area((cut.ring(at, axis, pipe),), PIPE, STEEL) for at in places]
    marks += [
        Area((cut.ring(at, axis, a.cable.outer_diameter_mm / 1000.0),), "#b9c6d2", Ink(looks.DRIVE, 0.2))
        for at in places
    ]
    low, left, right = cut.y(depth), cut.x(-top / 2) - 6.0, cut.x(top / 2) + 6.0
    marks += across(
        (cut.x(-bottom / 2), cut.x(bottom / 2)), low - 9.0, words("t_bottom", m=_m(scene, bottom)), low
    )
    marks += across(
        (cut.x(-top / 2), cut.x(top / 2)), cut.y(0.0) + 6.5, words("t_top", m=_m(scene, top)), cut.y(0.0)
    )
    marks += upright(left, (cut.y(0.0), low), words("t_depth", m=_m(scene, depth)), cut.x(-bottom / 2))
    covered = f"{words('t_cover')} {_m(scene, trench.cover_to_pipe_m)}"
    crown = cut.y(trench.cover_to_pipe_m)
    marks += upright(right, (cut.y(0.0), crown), covered, cut.x(places[-1]))
    if n > 1:
        marks += across(
            (cut.x(places[0]), cut.x(places[1])),
            low - 4.2,
            words("t_spacing", m=_m(scene, spacing)),
            cut.y(axis),
        )
    told = f"{words('t_pipe', m=_m(scene, pipe))}, {words('t_bedding')} {_m(scene, zone)}"
    marks.append(Text(told, cut.x(0.0), low - 14.0, align="middle"))
    return marks


def _strip(scene: Scene, row: dict[str, Any], box: Box) -> list[Mark]:
    a, words = scene.assumptions, scene.words
    n, pitch, depth = a.link.n_trenches, a.link.trench_spacing_m, a.trench_depth_m
    working = a.working_strip_m
    permanent = a.trench.protective_strip_by_n_systems_m[a.link.n_systems - 1]
    bottom, top = float(row["bottom_width_m"]), float(row["top_width_m"])
    cut = Cut(box, max(working, permanent), depth, beside_mm=8.0, over_mm=16.0)
    of = words("t_of", id=scene.short(row["section_id"]))
    marks = _titled(box, words("t_system", n=str(n)), of, cut.denominator)
    marks += cut.ground(scene)
    middles = [(k - (n - 1) / 2.0) * pitch for k in range(n)]
    for at in middles:
        ring = cut.at(
            (at - top / 2, 0), (at - bottom / 2, depth), (at + bottom / 2, depth), (at + top / 2, 0)
        )
        marks.append(Area((np.vstack([ring, ring[:1]]),), SOIL, FACE))
    low, ground = cut.y(depth), cut.y(0.0)
    if n > 1:
        marks += across((cut.x(middles[0]), cut.x(middles[1])), low - 5.0, _m(scene, pitch), low)
    marks += across(
        (cut.x(-working / 2), cut.x(working / 2)),
        ground + 8.0,
        words("t_strip", m=_m(scene, working)),
        ground,
    )
    marks += across(
        (cut.x(-permanent / 2), cut.x(permanent / 2)),
        low - 12.0,
        words("t_permanent", m=_m(scene, permanent)),
        ground,
    )
    return marks


def _known(value: object, other: float) -> float:
    return float(value) if isinstance(value, int | float) and math.isfinite(value) else other


def _bores(scene: Scene, drive: DriveWork, _shaft_of: ShaftWork | None, box: Box) -> list[Mark]:
    words, row, geometry = scene.words, drive.row, drive.geometry
    n, bore = int(row["bores"]), float(row["bore_diameter_m"])
    spacing = _known(row["bore_spacing_m"], 0.0)
    cover = max(_known(row["cover_min_m"], geometry.cover_m), 0.0)
    cut = Cut(box, (n - 1) * spacing + bore, cover + bore, beside_mm=30.0)
    method = words.method(str(row["method"]))
    of = words("t_of_drive", id=f"{scene.short(row['section_id'])}, {scene.short(row['drive_id'])}")
    marks = _titled(box, words("t_bores", method=method), of, cut.denominator)
    marks += cut.ground(scene)
    axis = cover + bore / 2.0
    places = [(k - (n - 1) / 2.0) * spacing for k in range(n)]
    for at in places:
        marks.append(Area((cut.ring(at, axis, bore),), looks.BORE_FILL, STEEL))
        if geometry.n_bores > 1:
            marks.append(Area((cut.ring(at, axis, geometry.pipe_diameter_m),), PIPE, Ink(looks.DRIVE, 0.2)))
    low = cut.y(cover + bore)
    for a, b in itertools.pairwise(places):
        marks += across((cut.x(a), cut.x(b)), low - 5.5, _m(scene, spacing), cut.y(axis))
    covered = words("t_least_cover", m=_m(scene, cover))
    marks += upright(cut.x(places[-1]) + 10.0, (cut.y(0.0), cut.y(cover)), covered, cut.x(places[-1]))
    told = words("t_bore", m=_m(scene, bore), p=_m(scene, geometry.pipe_diameter_m))
    marks.append(Text(f"{n} × {told}", (box.left + box.right) / 2.0, low - 11.0, align="middle"))
    return marks


def _shaft(scene: Scene, drive: DriveWork, shaft: ShaftWork, box: Box) -> list[Mark]:
    words, row = scene.words, drive.row
    role = words("role_launch")
    length, depth, bore = drive.geometry.launch_plan_m[0], shaft.depth_m, float(row["bore_diameter_m"])
    wide = drive.geometry.launch_plan_m[1]
    middle = (drive.from_m + drive.to_m) / 2.0
    under = [r for r in scene.runs if r.is_drive and r.chainage_m[0] < middle < r.chainage_m[-1]]
    run = under[0] if under else None
    invert = math.nan if run is None else shaft.ground_m - run.at("invert_m", shaft.chainage_m)
    cut = Cut(box, length * 1.7, depth, beside_mm=20.0)
    title = words("t_shaft", role=role, method=words.method(str(row["method"])))
    of = words("t_of_shaft", id=scene.short(shaft.row["shaft_id"]))
    marks = _titled(box, title, of, cut.denominator)
    hole = cut.at((-length / 2, 0), (-length / 2, depth), (length / 2, depth), (length / 2, 0))
    marks += [*cut.ground(scene), Area((np.vstack([hole, hole[:1]]),), looks.WHITE)]
    if math.isfinite(invert):
        far = length / 2 + 0.35 * length
        pipe = Box(cut.x(length / 2), cut.y(invert), cut.x(far), cut.y(invert - bore))
        marks.append(filled(pipe, looks.BORE_FILL, STEEL))
        marks += upright(
            cut.x(far) + 5.0, (cut.y(0.0), cut.y(invert)), words("t_invert", m=_m(scene, invert)), cut.x(far)
        )
    marks.append(line(Ink(looks.SHAFT, 0.7), *[(float(x), float(y)) for x, y in hole]))
    low = cut.y(depth)
    marks += across(
        (cut.x(-length / 2), cut.x(length / 2)), low - 6.0, words("t_length", m=_m(scene, length)), low
    )
    marks += upright(
        cut.x(-length / 2) - 7.0, (cut.y(0.0), low), words("t_depth", m=_m(scene, depth)), cut.x(-length / 2)
    )
    if math.isfinite(invert) and depth - invert > 0.0:
        marks += upright(
            cut.x(-length / 8),
            (cut.y(invert), low),
            words("t_sump", m=_m(scene, depth - invert)),
            cut.x(length / 2),
        )
    marks.append(Text(words("t_width", m=_m(scene, wide)), cut.x(0.0), low - 11.0, align="middle"))
    return marks
