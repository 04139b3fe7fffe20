"""The long section of a sheet: ground, groundwater, trench and bores, shafts, crossings, covers.

Room: ``sheets``. Pure layout in millimetres; the data band below it stands in ``band``.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.sheets import looks
from routescreen.sheets.furniture import nice_step
from routescreen.sheets.lettering import fitted, width_mm
from routescreen.sheets.marks import Align, Area, Box, Ink, Mark, Stroke, Text, filled, frame, line
from routescreen.sheets.places import Places, spread
from routescreen.sheets.plan_view import Neighbours, crossing_name

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from routescreen.sheets.scene import Run, Scene
    from routescreen.sheets.windows import Window
    from routescreen.sheets.works import DriveWork, ShaftWork

    Array = NDArray[np.float64]

STRIP_MM = 40.0  # on top of the section, for the names of crossings
KINK_MM = 5.0
NAME_PITCH_MM = 3.0
BESIDE: tuple[tuple[float, Align], ...] = ((0.9, "left"), (-0.9, "right"))
EDGE_MM = 3.0  # free above the highest and below the lowest level


@dataclass(slots=True)
class Profile:
    """A long section as it grows.

    Attributes
    ----------
    scene : Scene
    window : Window
    box : Box
        Its frame, names of crossings included.
    x0_mm : float
        Where the first match line stands.
    datum_m, top_m : float
        Levels at the lower and upper edge of what is drawn [m].
    times : float
        How much heights are exaggerated.
    foot_mm : float
        Kept free at the foot.
    """

    scene: Scene
    window: Window
    box: Box
    x0_mm: float
    datum_m: float
    top_m: float
    times: float
    foot_mm: float = 0.0
    marks: list[Mark] = field(default_factory=list)
    names: list[Mark] = field(default_factory=list)
    shown: set[str] = field(default_factory=set)

    @property
    def chart(self) -> Box:
        """Where levels are drawn."""
        return Box(self.box.left, self.box.bottom, self.box.right, self.box.top - STRIP_MM)

    def x(self, chainage_m: Array | float) -> Array:
        """Return where chainages stand [mm]."""
        return np.asarray(self.x0_mm + (np.asarray(chainage_m) - self.window.from_m) * self.window.mm_per_m)

    def y(self, level_m: Array | float) -> Array:
        """Return where levels stand [mm]."""
        per_m = self.window.mm_per_m * self.times
        return np.asarray(
            self.chart.bottom + self.foot_mm + EDGE_MM + (np.asarray(level_m) - self.datum_m) * per_m
        )


def level_span(scene: Scene, shafts: Sequence[ShaftWork], from_m: float, to_m: float) -> tuple[float, float]:
    """Return the lowest and the highest level of the works and the ground between two chainages [m]."""
    parts = [part for run in scene.runs if (part := run.part(from_m, to_m))]
    levels = [values for part in parts for values in (part.ground_m, part.invert_m)]
    levels += [np.array([s.ground_m - s.depth_m]) for s in shafts if from_m <= s.chainage_m <= to_m]
    known = np.concatenate(levels)[~np.isnan(np.concatenate(levels))] if levels else np.zeros(1)
    return (float(known.min()), float(known.max())) if len(known) else (0.0, 0.0)


def chart_mm(box: Box, foot_mm: float = 0.0) -> float:
    """Return the height that levels have in a long section's frame, a foot kept free [mm]."""
    return box.height - STRIP_MM - 2.0 * EDGE_MM - foot_mm


def profile_view(
    scene: Scene,
    window: Window,
    box: Box,
    x0_mm: float,
    times: float,
    neighbours: Neighbours,
    drives: Sequence[DriveWork],
    shafts: Sequence[ShaftWork],
    foot_mm: float = 0.0,
) -> Profile:
    """Lay out the long section of one sheet.

    Parameters
    ----------
    scene : Scene
    window : Window
    box : Box
    x0_mm : float
        Where its first chainage stands.
    times : float
        Exaggeration of heights.
    neighbours : Neighbours
    drives, shafts : sequence of DriveWork, of ShaftWork
        Of the whole corridor.
    foot_mm : float
        Kept free at the foot, for dimensions.

    Returns
    -------
    Profile
    """
    low, high = level_span(scene, shafts, window.shown_from_m, window.shown_to_m)
    profile = Profile(scene, window, box, x0_mm, low, high, times, foot_mm)
    # what is left of the height goes below, where there is room for groundwater
    slack_m = max(chart_mm(box, foot_mm) / (window.mm_per_m * times) - (high - low), 0.0)
    profile.datum_m = low - 0.65 * slack_m
    _levels(profile)
    places = Places(profile.chart.inset(0.6)._replace(bottom=profile.chart.bottom + 0.6 + foot_mm))
    own_shafts = [s for s in shafts if window.shown_from_m - 1e-6 <= s.chainage_m <= window.shown_to_m + 1e-6]
    _shafts(profile, places, own_shafts)
    parts = [part for run in scene.runs if (part := run.part(window.shown_from_m, window.shown_to_m))]
    for part in parts:
        _run(profile, part)
        _keep_off(profile, places, part)
    _crossings(profile, places, parts)
    _matches(profile, neighbours)
    _name_shafts(profile, places, own_shafts)
    _name_drives(profile, places, drives)
    profile.marks += [
        *profile.names,
        frame(box, looks.BORDER),
        line(looks.HAIR, (box.left, profile.chart.top), (box.right, profile.chart.top)),
    ]
    return profile


def _levels(profile: Profile) -> None:
    """Draw level lines with their levels on the left."""
    chart, words = profile.chart, profile.scene.words
    per_m = profile.window.mm_per_m * profile.times
    bottom_m = profile.datum_m - (EDGE_MM + profile.foot_mm) / per_m
    top_m = bottom_m + chart.height / per_m
    step = nice_step(8.0 / per_m, 1.0)
    digits = max(0, -math.floor(math.log10(step) + 1e-9))
    chains = []
    for number in range(math.ceil(bottom_m / step), math.floor(top_m / step) + 1):
        y = float(profile.y(number * step))
        if not chart.bottom + 1.2 < y < chart.top - 1.2:
            continue
        chains.append(np.array([[chart.left, y], [chart.right, y]]))
        profile.marks.append(Text(words.number(number * step, digits), chart.left - 1.2, y, align="right"))
    profile.marks.append(Stroke(tuple(chains), looks.GRID))
    profile.marks.append(
        Text(words("level"), chart.left - 17.0, (chart.bottom + chart.top) / 2.0, 2.0, "middle", 90.0)
    )


def _shafts(profile: Profile, places: Places, shafts: Sequence[ShaftWork]) -> None:
    for shaft in shafts:
        half_m = max(shaft.length_m / 2.0, 0.6 / profile.window.mm_per_m)
        left, right = (float(profile.x(shaft.chainage_m + side * half_m)) for side in (-1.0, 1.0))
        bottom, top = (float(profile.y(shaft.ground_m - depth)) for depth in (shaft.depth_m, 0.0))
        box = Box(left, bottom, right, top)
        profile.marks.append(filled(box, looks.SHAFT_FILL, looks.SHAFT_EDGE))
        profile.shown.add("shaft")
        if right - left > 0 and top - bottom > 0:
            places.take(box.corners()[:4])


def _run(profile: Profile, part: Run) -> None:
    """Draw ground, groundwater and the works of one section."""
    x = profile.x(part.chainage_m)
    ground, invert, crown = (profile.y(values) for values in (part.ground_m, part.invert_m, part.crown_m))
    if part.is_drive:
        known = ~(np.isnan(invert) | np.isnan(crown))
        if known.sum() > 1:
            ring = np.concatenate([np.stack([x, crown], 1)[known], np.stack([x, invert], 1)[known][::-1]])
            profile.marks.append(Area((np.vstack([ring, ring[:1]]),), looks.BORE_FILL, looks.BORE_EDGE))
            profile.shown.add("bore_profile")
        if _curve(profile, x, profile.y(part.ground_m - part.required_m), looks.REQUIRED):
            profile.shown.add("required")
    else:
        _curve(profile, x, crown, Ink(looks.OPEN_CUT, 0.15))
        if _curve(profile, x, invert, looks.TRENCH_BOTTOM):
            profile.shown.add("trench_bottom")
    if _curve(profile, x, profile.y(part.groundwater_m), looks.GROUNDWATER):
        profile.shown.add("water")
    if _curve(profile, x, ground, looks.GROUND):
        profile.shown.add("ground")


def _curve(profile: Profile, x: Array, y: Array, ink: Ink) -> bool:
    """Add a curve, broken where it isn't known and cut to the chart; return whether any is seen."""
    pieces = [piece for piece in np.split(np.arange(len(x)), np.flatnonzero(np.isnan(y))) if len(piece)]
    chains: list[Array] = []
    for piece in pieces:
        kept = piece[~np.isnan(y[piece])]
        if len(kept) < 2:
            continue
        cut = shapely.clip_by_rect(shapely.LineString(np.stack([x[kept], y[kept]], 1)), *profile.chart)
        chains += [shapely.get_coordinates(one) for one in shapely.get_parts(shapely.simplify(cut, 0.02))]
    chains = [chain for chain in chains if len(chain) > 1]
    if chains:
        profile.marks.append(Stroke(tuple(chains), ink))
    return bool(chains)


def _keep_off(profile: Profile, places: Places, part: Run) -> None:
    """Keep names off ground and bores."""
    x = profile.x(part.chainage_m)
    pitch = max(len(x) // 40, 1)
    at = np.unique(np.append(np.arange(0, len(x), pitch), len(x) - 1))
    curves = [profile.y(part.ground_m)]
    if part.is_drive:
        curves += [profile.y(part.invert_m), profile.y(part.crown_m)]
    for y in curves:
        for a, b in itertools.pairwise(at):
            ends = np.array([[x[a], y[a]], [x[b], y[b]]])
            if np.isnan(ends).any() or np.hypot(*(ends[1] - ends[0])) < 1e-6:
                continue
            aside = np.array([0.0, 0.5])
            places.take(np.stack([ends[0] - aside, ends[1] - aside, ends[1] + aside, ends[0] + aside]))


def _at(parts: Sequence[Run], column: str, chainage_m: float, *, in_drive: bool) -> float:
    """Return a column's value at a chainage within sections of one construction, NaN where there is none."""
    for part in parts:
        if (
            part.is_drive == in_drive
            and part.chainage_m[0] - 1e-6 <= chainage_m <= part.chainage_m[-1] + 1e-6
        ):
            return part.at(column, chainage_m)
    return math.nan


def _crossings(profile: Profile, places: Places, parts: Sequence[Run]) -> None:
    """Mark each crossing on the ground, dimension the cover under it, and name it on top."""
    window, words = profile.window, profile.scene.words
    rows = [
        row for row, _ in profile.scene.between("crossing_schedule", window.shown_from_m, window.shown_to_m)
    ]
    for row in rows:
        is_driven = row["treatment"] == "trenchless"
        at_m = float(row["chainage_m"])
        half_m = float(row["width_m"]) / 2.0
        a, b = max(at_m - half_m, window.shown_from_m), min(at_m + half_m, window.shown_to_m)
        # along the ground, so that a dyke's mark doesn't lie inside the dyke
        along = np.linspace(a, b, max(int((b - a) * window.mm_per_m), 1) + 1)
        ends = [(at, _at(parts, "ground_m", at, in_drive=is_driven)) for at in along.tolist()]
        chain = np.array([[float(profile.x(at)), float(profile.y(level)) + 0.7] for at, level in ends])
        ink = Ink(looks.DRIVE if is_driven else looks.OPEN_CUT, 0.8)
        if not np.isnan(chain).any():
            profile.marks.append(Stroke((chain,), ink))
        if is_driven:
            _dimension(profile, places, parts, at_m)
    _names_on_top(profile, rows, parts, words("more_crossings", n="{n}"))


def _dimension(profile: Profile, places: Places, parts: Sequence[Run], at_m: float) -> None:
    """Dimension the cover at a chainage: from the ground to the crown, as drawn."""
    ground, crown, cover = (_at(parts, c, at_m, in_drive=True) for c in ("ground_m", "crown_m", "cover_m"))
    if math.isnan(ground) or math.isnan(crown):
        return
    x, low, high = float(profile.x(at_m)), float(profile.y(crown)), float(profile.y(ground))
    marks: list[Mark] = [line(looks.THIN, (x, low), (x, high))]
    marks += [line(looks.THIN, (x - 0.7, y - 0.7), (x + 0.7, y + 0.7)) for y in (low, high)]
    put = places.put(
        Text(
            profile.scene.words.number(cover),
            x + side,
            low + share * (high - low),
            1.8,
            align,
            is_patched=True,
        )
        for share in (0.5, 0.35, 0.65)
        for side, align in BESIDE
    )
    if put is None:
        return
    profile.marks += marks
    profile.names.append(put)
    profile.shown.add("cover")


def _names_on_top(
    profile: Profile, rows: Sequence[dict[str, object]], parts: Sequence[Run], more: str
) -> None:
    box, chart, scene = profile.box, profile.chart, profile.scene
    # what lies in the overlap is named within the match lines, beyond which the other sheet is named
    low, high = (
        float(profile.x(at)) + by for at, by in ((profile.window.from_m, 2.0), (profile.window.to_m, -2.0))
    )
    n_most = int((high - low) / NAME_PITCH_MM) + 1
    kept = list(rows)
    if len(kept) > n_most:
        driven_first = sorted(range(len(rows)), key=lambda k: (rows[k]["treatment"] != "trenchless", k))
        kept = [rows[k] for k in sorted(driven_first[: n_most - 3])]
        note = more.replace("{n}", str(len(rows) - len(kept)))
        profile.names.append(Text(note, box.right - 1.2, chart.top + 2.0, 1.8, "right", is_bold=True))
    spots = spread([float(profile.x(float(str(r["chainage_m"])))) for r in kept], low, high, NAME_PITCH_MM)
    for row, x in zip(kept, spots or [], strict=True):
        is_driven = row["treatment"] == "trenchless"
        at_m = float(str(row["chainage_m"]))
        ground = _at(parts, "ground_m", at_m, in_drive=is_driven)
        from_y = chart.bottom if math.isnan(ground) else float(profile.y(ground)) + 0.7
        own_x = float(profile.x(at_m))
        profile.marks.append(
            line(looks.LEADER, (own_x, from_y), (own_x, chart.top), (x, chart.top + KINK_MM - 1.0))
        )
        colour = looks.DRIVE if is_driven else "#7c4a12"
        passage = row.get("passage")
        way = f", {scene.words(f'passage_{passage}')}" if isinstance(passage, str) else ""
        name = fitted(crossing_name(scene, row), STRIP_MM - KINK_MM - 1.0 - width_mm(way)) + way
        profile.names.append(Text(name, x, chart.top + KINK_MM, 1.8, "left", 90.0, colour))


def _matches(profile: Profile, neighbours: Neighbours) -> None:
    box, window, words = profile.box, profile.window, profile.scene.words
    for at_m, sheet, side in (
        (window.from_m, neighbours.before, -1.0),
        (window.to_m, neighbours.behind, 1.0),
    ):
        if sheet is None:
            continue
        x = float(profile.x(at_m))
        profile.marks.append(line(looks.MATCH, (x, box.bottom), (x, box.top)))
        text = words("match_short", n=str(sheet))
        profile.names.append(
            Text(text, x + side * 3.0, profile.chart.top + KINK_MM, 1.8, "left", 90.0, is_bold=True)
        )


def _name_shafts(profile: Profile, places: Places, shafts: Sequence[ShaftWork]) -> None:
    words, scene = profile.scene.words, profile.scene
    for shaft in shafts:
        x = float(profile.x(shaft.chainage_m))
        bottom, top = (float(profile.y(shaft.ground_m - depth)) for depth in (shaft.depth_m, 0.0))
        text = f"{scene.short(shaft.row['shaft_id'])}, {words.number(shaft.depth_m)} m"
        half = shaft.length_m / 2.0 * profile.window.mm_per_m + 1.0
        spots: list[tuple[float, float, Align]] = [(0.0, bottom - away, "middle") for away in (2.4, 5.0, 8.0)]
        sides: tuple[tuple[float, Align], ...] = ((half, "left"), (-half, "right"))
        sides = sides[::-1] if shaft.outward < 0 else sides
        spots += [
            (dx, y, align) for y in (bottom + 1.5, top + 3.0, (bottom + top) / 2.0) for dx, align in sides
        ]
        put = places.put(
            Text(text, x + dx, y, 1.8, align, 0.0, looks.SHAFT, True, True) for dx, y, align in spots
        )
        if put:
            profile.names.append(put)


def _name_drives(profile: Profile, places: Places, drives: Sequence[DriveWork]) -> None:
    window, words, scene = profile.window, profile.scene.words, profile.scene
    for drive in drives:
        a, b = max(drive.from_m, window.shown_from_m), min(drive.to_m, window.shown_to_m)
        if b - a < 1e-6:
            continue
        row = drive.row
        told = (
            (
                f"{scene.short(row['drive_id'])}, {words.method(str(row['method']))}, "
                f"{words.number(float(row['length_m']))} m, {words.number(float(row['grade_percent']))} %"
            ),
            f"{row['bores']} × {words.number(float(row['bore_diameter_m']))} m, "
            + words("t_least_cover", m=f"{words.number(_float(row['cover_min_m']))} m"),
        )
        levels = [lvl for run in scene.runs if run.is_drive and (p := run.part(a, b)) for lvl in p.invert_m]
        low = float(np.nanmin(profile.y(np.array(levels)))) if levels else profile.chart.bottom + 10.0
        for text in told:  # the second says nothing without the first
            put = places.put(_below(float(profile.x((a + b) / 2.0)), low, text))
            if put is None:
                break
            profile.names.append(put)


def _below(x: float, y: float, text: str) -> Iterator[Text]:
    for away in (3.0, 6.2, 9.4, 12.6, 15.8, 19.0):
        for dx in (0.0, 12.0, -12.0, 25.0, -25.0):
            yield Text(text, x + dx, y - away, 1.8, "middle", 0.0, looks.DRIVE, is_patched=True)


def _float(value: object) -> float:
    return float(value) if isinstance(value, int | float) else math.nan
