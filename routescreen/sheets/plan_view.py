"""The plan of a sheet: what lies there, the works on it, names, grid and match lines.

Room: ``sheets``. Pure layout in millimetres.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from routescreen.sheets import looks
from routescreen.sheets.furniture import nice_step, north_arrow, scale_bar
from routescreen.sheets.lettering import corners_mm, fitted
from routescreen.sheets.looks import look_of
from routescreen.sheets.marks import Align, Area, Box, Ink, Mark, Stroke, Text, frame, line
from routescreen.sheets.places import Places

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from routescreen.sheets.scene import Scene
    from routescreen.sheets.windows import Window
    from routescreen.sheets.works import DriveWork, ShaftWork

    Array = NDArray[np.float64]

FINE_MM = 0.06  # curves are thinned by no more than this
LEAST_TRUE_MM = 1.6  # works smaller than this on the paper are drawn as a sign
LEAST_SEEN_MM = 3.0  # of edge or line: less of a feature is not explained in the legend
NAME_MM = 46.0  # most room for a name
AROUND = ((1, 1), (-1, 1), (1, -1), (-1, -1), (1, 0), (-1, 0), (0, 1), (0, -1))
DISTANCES_MM = (2.4, 5.0, 8.5, 13.0, 18.0, 25.0)


@dataclass(frozen=True, slots=True)
class Neighbours:
    """Numbers of the sheets before and behind, None at an end of the link or where there is none."""

    before: int | None = None
    behind: int | None = None
    is_matched: bool = True


@dataclass(slots=True)
class Plan:
    """A plan as it grows: marks from the lowest on, room for names, and the kinds that it shows."""

    scene: Scene
    window: Window
    box: Box
    middle_mm: tuple[float, float]
    marks: list[Mark] = field(default_factory=list)
    kinds: list[str] = field(default_factory=list)
    shown: set[str] = field(default_factory=set)
    names: list[Mark] = field(default_factory=list)

    def on_paper(self, xy_m: Array) -> Array:
        """Return points on the paper [mm]."""
        return self.window.on_paper(xy_m, self.middle_mm)

    def ground(self) -> shapely.Polygon:
        """Return the ground that the plan shows."""
        return shapely.Polygon(self.window.on_ground(self.box.corners(), self.middle_mm))

    def cut(self, shape: shapely.Geometry) -> shapely.Geometry:
        """Return a shape on the paper, cut to the plan and thinned."""
        near = shapely.clip_by_rect(shapely.force_2d(shape), *shapely.bounds(self.ground()))
        moved = shapely.transform(near, self.on_paper)
        return shapely.simplify(shapely.clip_by_rect(moved, *self.box), FINE_MM)

    def draw(self, shape: shapely.Geometry, fill: str | None, inks: Sequence[Ink]) -> bool:
        """Add a shape: areas with fill and first ink, lines with each ink.

        Return whether a reader would see it: a tip of it in a corner wants no line in the legend.
        """
        rings: list[Array] = []
        chains: list[Array] = []
        seen_mm = 0.0
        for part in shapely.get_parts(self.cut(shape)):
            seen_mm += math.inf if isinstance(part, shapely.Point) else part.length
            if isinstance(part, shapely.Polygon) and not part.is_empty:
                rings += [np.asarray(ring.coords) for ring in (part.exterior, *part.interiors)]
            elif isinstance(part, shapely.LineString) and not part.is_empty:
                chains.append(np.asarray(part.coords))
            elif isinstance(part, shapely.Point) and not part.is_empty:
                rings.append(_disc(part.x, part.y, 0.9))
        if rings:
            self.marks.append(Area(tuple(rings), fill, inks[0] if inks else None))
        if chains:
            self.marks += [Stroke(tuple(chains), ink) for ink in inks]
        return seen_mm >= LEAST_SEEN_MM


def plan_view(
    scene: Scene,
    window: Window,
    box: Box,
    middle_mm: tuple[float, float],
    neighbours: Neighbours,
    drives: Sequence[DriveWork],
    shafts: Sequence[ShaftWork],
) -> Plan:
    """Lay out the plan of one sheet.

    Parameters
    ----------
    scene : Scene
    window : Window
    box : Box
        The plan's frame on the paper.
    middle_mm : tuple of float
        Where the window's centre stands.
    neighbours : Neighbours
    drives, shafts : sequence of DriveWork, of ShaftWork
        Of the whole corridor.

    Returns
    -------
    Plan
        `marks` are complete; `kinds` and `shown` tell the legend what is there.
    """
    plan = Plan(scene, window, box, middle_mm)
    places = Places(box.inset(0.6))
    _features(plan)
    ground = shapely.bounds(plan.ground())
    grid = _grid(plan, ground)
    _sites(plan, ground)
    _alignment(plan, places)
    own_shafts = [s for s in shafts if window.shown_from_m - 1e-6 <= s.chainage_m <= window.shown_to_m + 1e-6]
    _shafts(plan, places, own_shafts)
    _furniture(plan, places)
    _matches(plan, places, neighbours)
    _name_shafts(plan, places, own_shafts)
    _bays(plan, places)
    _crossings(plan, places)
    _name_drives(plan, places, drives)
    _chainages(plan, places)
    plan.names += [put for chain, text in grid if (put := places.put(_grid_labels(chain, text)))]
    plan.marks += [*plan.names, frame(box, looks.BORDER)]
    return plan


def _features(plan: Plan) -> None:
    """Draw what lies there, lower kinds first; of double lines all casings before all cores."""
    cores: list[Mark] = []
    seen: dict[str, None] = {}
    for kind, shape in plan.scene.features.within(plan.ground()):
        look = look_of(kind)
        is_area = shapely.get_dimensions(shape) != 1
        n_before = len(plan.marks)
        if plan.draw(shape, look.fill, [look.edge] if is_area and look.edge else look.strokes):
            seen[kind] = None
        added = plan.marks[n_before:]
        if not is_area and len(added) > 1:
            plan.marks[n_before + 1 :] = []
            cores += added[1:]
    plan.marks += cores
    plan.kinds += list(seen)
    outline = plan.scene.features.outline
    if outline is not None and plan.draw(shapely.boundary(outline), None, [looks.CORRIDOR_EDGE]):
        plan.shown.add("corridor")


def _sites(plan: Plan, ground: Array) -> None:
    styles = (
        ("layout_strips", "layout", looks.STRIP_FILL, looks.STRIP_EDGE),
        ("compounds", "compound", looks.SHAFT_FILL, looks.COMPOUND_EDGE),
    )
    where = shapely.box(*ground)
    for table, shown, fill, ink in styles:
        for shape in plan.scene.shapes(table):
            if shapely.intersects(shape, where) and plan.draw(shape, fill, [ink]):
                plan.shown.add(shown)


def _alignment(plan: Plan, places: Places) -> None:
    """Draw the sections and the bores; names keep off them."""
    window, way = plan.window, plan.scene.way
    for row in plan.scene.rows("sections"):
        a = max(float(row["from_chainage_m"]), window.shown_from_m)
        b = min(float(row["to_chainage_m"]), window.shown_to_m)
        if b - a < 1e-6:
            continue
        is_drive = row["construction"] == "drive"
        part = shapely.LineString(way.part(a, b))
        plan.draw(part, None, [looks.CASING, looks.SECTION_DRIVE if is_drive else looks.SECTION_CUT])
        plan.shown.add("drive" if is_drive else "open_cut")
    ground = plan.ground()
    for shape in plan.scene.shapes("bores"):
        if shapely.intersects(shape, ground) and plan.draw(shape, None, [looks.BORE_LINE]):
            plan.shown.add("bore")
    on_paper = plan.on_paper(way.part(window.shown_from_m, window.shown_to_m))
    for a, b in itertools.pairwise(on_paper):
        if (slab := _slab(a, b, 0.9)) is not None:
            places.take(slab)


def _slab(a: Array, b: Array, half_mm: float) -> Array | None:
    step = b - a
    length = float(np.hypot(*step))
    if length < 1e-6:
        return None
    aside = np.array([-step[1], step[0]]) / length * half_mm
    return np.stack([a - aside, b - aside, b + aside, a + aside])


def _shafts(plan: Plan, places: Places, shafts: Sequence[ShaftWork]) -> None:
    for shaft in shafts:
        true = plan.on_paper(shaft.corners_m())
        size = shaft.length_m * plan.window.mm_per_m
        at = plan.on_paper(shaft.xy_m[None])[0]
        ring = true if size >= LEAST_TRUE_MM else _box_at(at, LEAST_TRUE_MM / 2.0)
        plan.marks.append(Area((ring,), looks.SHAFT if shaft.is_launch else looks.WHITE, looks.SHAFT_EDGE))
        plan.shown.add("launch" if shaft.is_launch else "reception")
        places.take(ring[:4] if size >= LEAST_TRUE_MM else _box_at(at, LEAST_TRUE_MM / 2.0)[:4])


def _furniture(plan: Plan, places: Places) -> None:
    """Put scale bar and north arrow into corners that the alignment leaves free."""
    box, words = plan.box, plan.scene.words
    bar, bar_box = scale_bar(0.0, 0.0, plan.window.denominator, words)
    left, right = box.left + 4.0 - bar_box.left, box.right - 3.0 - bar_box.right
    spots = [(x, y) for y in (box.bottom + 3.0, box.top - 8.0) for x in (left, right)]
    x, y = next((at for at in spots if places.is_free(_moved(bar_box, *at).corners()[:4])), spots[0])
    bar, bar_box = scale_bar(x, y, plan.window.denominator, words)
    places.take(bar_box.corners()[:4])
    far = 12.5
    spots = [(x, y) for y in (box.top - far, box.bottom + far) for x in (box.right - far, box.left + far)]
    heading = plan.window.heading_rad
    x, y = next(
        (at for at in spots if places.is_free(north_arrow(*at, heading, words)[1].corners()[:4])), spots[0]
    )
    arrow, arrow_box = north_arrow(x, y, heading, words)
    places.take(arrow_box.corners()[:4])
    plan.names += [*bar, *arrow]


def _moved(box: Box, x: float, y: float) -> Box:
    return Box(box.left + x, box.bottom + y, box.right + x, box.top + y)


def _matches(plan: Plan, places: Places, neighbours: Neighbours) -> None:
    """Draw the lines at which the neighbouring sheets take over, square to the alignment."""
    window, way, words = plan.window, plan.scene.way, plan.scene.words
    ends = ((window.from_m, neighbours.before, "start"), (window.to_m, neighbours.behind, "end"))
    for at_m, sheet, name in ends:
        if sheet is None:
            if not (neighbours.is_matched or at_m in (0.0, way.length_m)):
                continue
            text = words(name, at=words.chainage(at_m))
            spot = plan.on_paper(way.at(at_m)[None])[0]
            plan.marks.append(Area((_disc(spot[0], spot[1], 1.1),), looks.WHITE, looks.THIN))
            _name(plan, places, (spot[0], spot[1]), text, "#000000", is_bold=True)
            continue
        square = way.heading_rad(at_m) + math.pi / 2.0
        reach = 2.0 * max(plan.box.width, plan.box.height) / window.mm_per_m
        step = np.array([math.cos(square), math.sin(square)]) * reach
        cut = shapely.clip_by_rect(
            shapely.LineString(plan.on_paper(np.stack([way.at(at_m) - step, way.at(at_m) + step]))), *plan.box
        )
        chain = shapely.get_coordinates(cut)
        if len(chain) < 2:
            continue
        plan.marks.append(Stroke((chain,), looks.MATCH))
        plan.shown.add("match")
        text = words("match", at=words.chainage(at_m), n=str(sheet))
        if (slab := _slab(chain[0], chain[-1], 0.3)) is not None:
            _along_line(plan, places, chain, (text, words("match_short", n=str(sheet))))
            places.take(slab)


def _along_line(plan: Plan, places: Places, chain: Array, texts: Sequence[str]) -> None:
    """Write a text along a line, beside it, where there is room; the first that finds it."""
    low, high = (chain[0], chain[-1]) if chain[0][1] <= chain[-1][1] else (chain[-1], chain[0])
    turn = math.degrees(math.atan2(high[1] - low[1], high[0] - low[0]))
    aside = np.array([-(high - low)[1], (high - low)[0]]) / max(float(np.hypot(*(high - low))), 1e-9)
    candidates = (
        Text(text, float(x), float(y), 1.8, "middle", turn, is_bold=True, is_patched=True)
        for text in texts
        for share in (0.78, 0.22, 0.72, 0.28, 0.66, 0.34, 0.84, 0.16)
        for side in (1.0, -1.0)
        for x, y in [low + share * (high - low) + side * 2.0 * aside]
    )
    if put := places.put(candidates):
        plan.names.append(put)


def _name_shafts(plan: Plan, places: Places, shafts: Sequence[ShaftWork]) -> None:
    words = plan.scene.words
    for shaft in shafts:
        at = plan.on_paper(shaft.xy_m[None])[0]
        deep = words("deep", m=words.number(shaft.depth_m))
        text = f"{plan.scene.short(shaft.row['shaft_id'])}, {deep}"
        _name(
            plan,
            places,
            (at[0], at[1]),
            text,
            looks.SHAFT,
            is_bold=True,
            reach_mm=_half_mm(plan, shaft),
            side=shaft.outward,
        )


def _half_mm(plan: Plan, shaft: ShaftWork) -> float:
    return max(shaft.length_m, shaft.width_m) * plan.window.mm_per_m / 2.0


def _bays(plan: Plan, places: Places) -> None:
    window = plan.window
    for row, point in plan.scene.between("joint_bays", window.shown_from_m, window.shown_to_m):
        x, y = plan.on_paper(np.array([[point.x, point.y]]))[0]
        is_in_trench = row["kind"] == "in_trench"
        ring = np.array([[x - 1.5, y], [x, y + 1.5], [x + 1.5, y], [x, y - 1.5], [x - 1.5, y]])
        plan.marks.append(Area((ring,), looks.STRIP if is_in_trench else looks.WHITE, Ink(looks.STRIP, 0.3)))
        plan.shown.add("bay")
        _name(plan, places, (x, y), plan.scene.short(row["bay_id"]), looks.STRIP)


def crossing_name(scene: Scene, row: dict[str, Any]) -> str:
    """Return a crossing's number with its name, or its kind where it has none."""
    name = row["name"] if isinstance(row["name"], str) and row["name"].strip() else None
    return f"{scene.short(row['crossing_id'])} {name or scene.words.kind(str(row['kind']))}"


def _crossings(plan: Plan, places: Places) -> None:
    """Mark and name the crossings, those that are driven first."""
    window = plan.window
    found = plan.scene.between("crossing_schedule", window.shown_from_m, window.shown_to_m)
    for row, point in sorted(found, key=lambda pair: pair[0]["treatment"] != "trenchless"):
        x, y = plan.on_paper(np.array([[point.x, point.y]]))[0]
        if not (plan.box.left < x < plan.box.right and plan.box.bottom < y < plan.box.top):
            continue
        is_driven = row["treatment"] == "trenchless"
        plan.shown.add("crossed_drive" if is_driven else "crossed_cut")
        plan.marks.append(crossing_sign(x, y, is_driven=is_driven))
        colour = looks.DRIVE if is_driven else "#7c4a12"
        if not _name(plan, places, (x, y), crossing_name(plan.scene, row), colour):
            _name(plan, places, (x, y), plan.scene.short(row["crossing_id"]), colour)


def crossing_sign(x: float, y: float, *, is_driven: bool) -> Mark:
    """Return the sign of a crossing: a triangle under it, or a cross through it."""
    if is_driven:
        ring = np.array([[x - 1.3, y - 0.9], [x + 1.3, y - 0.9], [x, y + 1.4], [x - 1.3, y - 0.9]])
        return Area((ring,), looks.DRIVE, Ink(looks.WHITE, 0.2))
    a, b = (
        np.array([[x - 1.0, y - 1.0], [x + 1.0, y + 1.0]]),
        np.array([[x - 1.0, y + 1.0], [x + 1.0, y - 1.0]]),
    )
    return Stroke((a, b), Ink(looks.OPEN_CUT, 0.5))


def _name(
    plan: Plan,
    places: Places,
    at: tuple[float, float],
    text: str,
    colour: str,
    *,
    is_bold: bool = False,
    reach_mm: float = 0.0,
    side: int = 0,
) -> bool:
    """Write a name near a point, with a leader where it stands off; return whether it found room."""
    cut = fitted(text, NAME_MM, is_bold=is_bold)
    put = places.put(_around(at, cut, colour, is_bold=is_bold, reach_mm=reach_mm, side=side))
    if put is None:
        return False
    corners = corners_mm(put)
    nearest = np.clip(np.array(at), corners.min(axis=0), corners.max(axis=0))
    if float(np.hypot(*(nearest - np.array(at)))) > reach_mm + 2.6:
        plan.names.append(line(looks.LEADER, at, (float(nearest[0]), float(nearest[1]))))
    plan.names.append(put)
    return True


def _around(
    at: tuple[float, float], text: str, colour: str, *, is_bold: bool, reach_mm: float, side: int = 0
) -> Iterator[Text]:
    around = sorted(AROUND, key=lambda way: -way[0] * side)  # stable: without a side as they stand
    for distance in DISTANCES_MM:
        for dx, dy in around:
            away = distance + reach_mm
            align: Align = "left" if dx > 0 else "right" if dx < 0 else "middle"
            x, y = at[0] + dx * away * (0.75 if dy else 1.0), at[1] + dy * away
            yield Text(text, x, y, 1.8, align, 0.0, colour, is_bold, is_patched=True)


def _name_drives(plan: Plan, places: Places, drives: Sequence[DriveWork]) -> None:
    window, words, way = plan.window, plan.scene.words, plan.scene.way
    for drive in drives:
        a, b = max(drive.from_m, window.shown_from_m), min(drive.to_m, window.shown_to_m)
        if b - a < 1e-6:
            continue
        length = words.number(float(drive.row["length_m"]))
        text = words("drive_label", id=plan.scene.short(drive.row["drive_id"]), m=length)
        _write_along(
            plan, places, [(a + share * (b - a), way) for share in (0.5, 0.35, 0.65, 0.2, 0.8)], text
        )


def _write_along(plan: Plan, places: Places, spots: Sequence[tuple[float, Any]], text: str) -> None:
    def candidates() -> Iterator[Text]:
        for side in (3.2, -3.2, 5.5, -5.5):
            for at_m, way in spots:
                turn = way.heading_rad(at_m) - plan.window.heading_rad
                turn = (turn + math.pi / 2.0) % math.pi - math.pi / 2.0
                x, y = plan.on_paper(way.at(at_m)[None])[0]
                x, y = x - side * math.sin(turn), y + side * math.cos(turn)
                yield Text(
                    text, x, y, 2.0, "middle", math.degrees(turn), looks.DRIVE, is_bold=True, is_patched=True
                )

    if put := places.put(candidates()):
        plan.names.append(put)


def _chainages(plan: Plan, places: Places) -> None:
    """Mark round chainages on the alignment."""
    window, way, words = plan.window, plan.scene.way, plan.scene.words
    step = nice_step(50.0 / window.mm_per_m, 1.0)
    first = math.ceil(window.from_m / step - 1e-9)
    ticks = []
    for number in range(first, math.floor(window.to_m / step + 1e-9) + 1):
        at_m = number * step
        turn = way.heading_rad(at_m) - window.heading_rad
        aside = np.array([-math.sin(turn), math.cos(turn)])
        spot = plan.on_paper(way.at(at_m)[None])[0]
        ticks.append(np.stack([spot - 1.4 * aside, spot + 1.4 * aside]))
        text = words.chainage(at_m, 0)
        tilt = math.degrees((turn + math.pi / 2.0) % math.pi - math.pi / 2.0)
        put = places.put(
            Text(text, float(x), float(y), 1.8, "middle", tilt, looks.SLATE, is_patched=True)
            for side in (-3.0, 3.0)
            for x, y in [spot + side * aside]
        )
        if put:
            plan.names.append(put)
    if ticks:
        plan.marks.append(Stroke(tuple(ticks), looks.THIN))


def _grid(plan: Plan, ground: Array) -> list[tuple[Array, str]]:
    """Draw the coordinate grid; return its lines with what they are labelled."""
    step = nice_step(60.0 / plan.window.mm_per_m, 1.0)
    west, south, east, north = ground
    found: list[tuple[Array, str]] = []
    for axis, low, high in ((0, west, east), (1, south, north)):
        for number in range(math.ceil(low / step), math.floor(high / step) + 1):
            at = number * step
            ends = [[at, south], [at, north]] if axis == 0 else [[west, at], [east, at]]
            cut = shapely.clip_by_rect(shapely.LineString(plan.on_paper(np.array(ends))), *plan.box)
            chain = shapely.get_coordinates(cut)
            if len(chain) == 2:
                found.append((chain, f"{'EN'[axis]} {at:.0f}"))
    if found:
        plan.marks.append(Stroke(tuple(chain for chain, _ in found), looks.GRID))
    return found


def _grid_labels(chain: Array, text: str) -> Iterator[Text]:
    for a, b in ((chain[0], chain[-1]), (chain[-1], chain[0])):
        step = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
        turn = math.degrees(math.atan2(step[1], step[0]))
        is_back = not -89.5 < turn <= 90.5  # upright lines are read from the right
        aside = np.array([-step[1], step[0]]) * 1.7
        for from_end in (1.6, 6.0, 12.0):
            at = a + step * from_end + (-aside if is_back else aside)
            yield Text(
                text, float(at[0]), float(at[1]), 1.8, "right" if is_back else "left",
                turn + 180.0 if is_back else turn, "#7b8188",
            )  # fmt: skip


def _disc(x: float, y: float, radius_mm: float) -> Array:
    angle = np.linspace(0.0, 2.0 * math.pi, 17)
    return np.stack([x + radius_mm * np.cos(angle), y + radius_mm * np.sin(angle)], axis=1)


def _box_at(at: Array, half_mm: float) -> Array:
    return Box(at[0] - half_mm, at[1] - half_mm, at[0] + half_mm, at[1] + half_mm).corners()
