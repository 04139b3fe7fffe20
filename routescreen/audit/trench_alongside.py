"""What lies alongside open cut: the band of its trenches, and the working strip round it.

Room: ``audit``. Uses the audit's own modules and shapely.

All trenches of a straight piece lie in its band, a rectangle with square ends. What asks for a least
crossing angle must be crossed by the band at that angle or stay clear of it: at less, an outer trench
would run along inside it, or on top of a service. What the working strip reaches beyond the band is
listed, so that somebody protects it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.angles import CrossingLines, crossing_lines
from routescreen.audit.band import (
    Band,
    merged_length_m,
    place_on,
    shrunk,
)
from routescreen.audit.report import Ledger, Limit, Place

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.angles import Guide
    from routescreen.audit.scene import Scene

SOURCE = "assumptions, [treatments] and [link]"
ALONG_EDGE_M = 1.0
"""Edges are taken in pieces of at most this length, each beside one part of its line [m]."""


ANGLE_TOLERANCE_DEG = 0.01
"""Far above float noise, far below what a drawing tells of a direction [deg]."""


@dataclass(frozen=True, slots=True)
class Nearest:
    """The flattest angle between a band and a line that comes within the clearance of it."""

    angle_deg: float
    least_deg: float
    xy_m: tuple[float, float]
    band: Band

    @property
    def demand(self) -> float:
        """What is asked for as a share of what there is [-]."""
        return self.least_deg / self.angle_deg if self.angle_deg > 0.0 else math.inf


def check_alongside(scene: Scene, ledger: Ledger, section: int, bands: list[Band]) -> None:
    """Check and list what lies alongside a run of open cut, given with its bands.

    One row for each crossing within reach; one in all where there is nothing.
    """
    n_before = len(ledger.checks)
    for crossing, near in _within_reach(scene, bands):
        _check_crossing(scene, ledger, section, near, crossing)
    if len(ledger.checks) == n_before:
        from_m, to_m = scene.route.bounds_of_section(section)
        middle_m = (from_m + to_m) / 2.0
        place = Place(middle_m, section=section, xy_m=scene.route.point_at(middle_m))
        limit = Limit("trench_alongside", "m", SOURCE, "record")
        ledger.at_most(scene.section_id(section), limit, 0.0, 0.0, place, "nothing lies alongside")


def clearance_m(scene: Scene, crossing: int) -> float:
    """Return how near the band may come to a crossing: services have a clearance, others none [m]."""
    features = scene.features
    members = features.members(crossing)
    is_service = features.cover_reference[members] == "service"
    return float(features.clearance_m[members[is_service]].max(initial=0.0))


def _within_reach(scene: Scene, bands: list[Band]) -> list[tuple[int, list[Band]]]:
    """Return the crossings that the strip touches, or whose clearance reaches the band.

    Each with the bands that come near it and their neighbours, in order.
    """
    is_service = scene.features.cover_reference == "service"
    widest_m = float(scene.features.clearance_m[is_service].max(initial=0.0))
    near: dict[int, set[int]] = {}
    for index, band in enumerate(bands):
        found = set(scene.near(band.strip, 0.0).tolist()) | set(scene.near(band.area, widest_m).tolist())
        for feature in found:
            chosen = near.setdefault(int(scene.features.crossing[feature]), set())
            chosen |= {index - 1, index, index + 1}
    return [
        (crossing, [bands[i] for i in sorted(chosen) if 0 <= i < len(bands)])
        for crossing, chosen in sorted(near.items())
    ]


def _strips_with_bends(bands: list[Band]) -> shapely.Geometry:
    """Return the strips of bands, the wedge outside each bend filled: what passes there is one thing."""
    bends = [
        shapely.Point(before.line.coords[-1]).buffer(max(before.strip_width_m, after.strip_width_m) / 2.0)
        for before, after in pairwise(bands)
        if after.piece == before.piece + 1
    ]
    return shapely.union_all([*(band.strip for band in bands), *bends])


def _check_crossing(scene: Scene, ledger: Ledger, section: int, bands: list[Band], crossing: int) -> None:
    """Enter the row of one crossing: its angle where the band comes near, else how it lies alongside."""
    lines = crossing_lines(scene.features, crossing, window_m=scene.assumptions.frame.tangent_window_m)
    clear_m = clearance_m(scene, crossing)
    strict, whole = _flattest(bands, lines, clear_m)
    if strict is not None and _is_too_flat(strict):
        _enter_angle(scene, ledger, section, crossing, strict, is_exempt=False)
    elif whole is not None and _is_too_flat(whole):
        _enter_angle(scene, ledger, section, crossing, whole, is_exempt=True)
    elif not _list_alongside(scene, ledger, section, bands, crossing) and whole is not None:
        _enter_angle(scene, ledger, section, crossing, whole, is_exempt=False)


def _is_too_flat(nearest: Nearest) -> bool:
    return nearest.angle_deg < nearest.least_deg - ANGLE_TOLERANCE_DEG


def _enter_angle(
    scene: Scene, ledger: Ledger, section: int, crossing: int, nearest: Nearest, *, is_exempt: bool
) -> None:
    feature = _nearest_member(scene, crossing, shapely.Point(nearest.xy_m))
    place = scene.feature_place(feature, place_on(scene, nearest.band, nearest.xy_m))
    limit = Limit("trench_alongside", "deg", SOURCE, "record", tolerance=ANGLE_TOLERANCE_DEG)
    clear_m = clearance_m(scene, crossing)
    within = f"within {clear_m:g} m of the trenches" if clear_m > 0.0 else "within the trenches"
    reason = (
        f"{scene.label(feature)} comes {within}; crossed at {nearest.least_deg:g} deg or more, or kept off"
    )
    element = scene.section_id(section)
    if is_exempt:
        reason += "; beside a terminal, which stands where it stands: agree it with the owner"
        ledger.amber(element, limit, nearest.least_deg, nearest.angle_deg, place, reason)
    else:
        ledger.at_least(element, limit, nearest.least_deg, nearest.angle_deg, place, reason)


def _nearest_member(scene: Scene, crossing: int, shape: shapely.Geometry) -> int:
    members = scene.features.members(crossing)
    return int(members[int(np.argmin(shapely.distance(scene.features.outline[members], shape)))])


def _list_alongside(scene: Scene, ledger: Ledger, section: int, bands: list[Band], crossing: int) -> bool:
    """List a crossing that the working strip touches beside its line, and tell whether there is one.

    What must not be cut is left to the clearance of the strip.
    """
    members = scene.features.members(crossing)
    if not scene.features.trench_ok[members].all():
        return False
    pieces = np.array([band.line for band in bands], dtype=np.object_)
    strips = _strips_with_bends(bands)
    parts = shapely.get_parts(
        shapely.intersection(strips, shapely.union_all(scene.features.outline[members]))
    )
    is_met = shapely.intersects(parts[:, None], pieces[None, :]).any(axis=1)
    beside = parts[~is_met & ~shapely.is_empty(parts)]
    if len(beside) == 0:
        return False
    length_m = sum(merged_length_m(scene, band, beside) for band in bands)
    _enter_listed(scene, ledger, section, bands, crossing, (shapely.union_all(beside), length_m))
    return True


def _enter_listed(
    scene: Scene,
    ledger: Ledger,
    section: int,
    bands: list[Band],
    crossing: int,
    beside: tuple[shapely.Geometry, float],
) -> None:
    shape, length_m = beside
    away_m = shapely.distance([band.area for band in bands], shape)
    band = bands[int(np.argmin(away_m))]
    nearest = shapely.get_coordinates(shapely.shortest_line(shape, band.area))[0]
    feature = _nearest_member(scene, crossing, shapely.Point(nearest))
    place = place_on(scene, band, (float(nearest[0]), float(nearest[1])))
    limit = Limit("trench_alongside", "m", SOURCE, "record")
    least_m = float(np.min(away_m))
    where = f"{least_m:.1f} m from the outer trench" if least_m > 0.0 else "cut by an outer trench alone"
    reason = (
        f"{scene.label(feature)} lies {length_m:.1f} m alongside within the working strip, {where}: "
        "protect it and agree with its owner"
    )
    place = scene.feature_place(feature, place)
    element, required_m = scene.section_id(section), clearance_m(scene, crossing)
    ledger.amber(element, limit, required_m, least_m, place, reason)


def _flattest(
    bands: list[Band], lines: CrossingLines, clear_m: float
) -> tuple[Nearest | None, Nearest | None]:
    """Return the worst angle of any band away from the terminals, and of any whole band."""
    strict: list[Nearest] = []
    whole: list[Nearest] = []
    for band in bands:
        of_band = _angles(band, band.area, lines, clear_m)
        whole += of_band
        is_away = band.away_from_terminals is band.area
        strict += of_band if is_away else _angles(band, band.away_from_terminals, lines, clear_m)
    return _worst(strict), _worst(whole)


def _worst(found: list[Nearest]) -> Nearest | None:
    return max(found, key=lambda nearest: (nearest.demand, -nearest.angle_deg), default=None)


def _angles(band: Band, area: shapely.Geometry, lines: CrossingLines, clear_m: float) -> list[Nearest]:
    """Return the angles of a band to each line, bank or edge within the clearance of an area of it."""
    found: list[Nearest] = []
    reach = shrunk(area) if clear_m <= 0.0 else shapely.buffer(shrunk(area), clear_m, quad_segs=32)
    if shapely.is_empty(reach):
        return found
    for guide in lines.guides:
        if guide.least_deg > 0.0:
            found += _along_line(band, reach, guide)
    for edge in lines.edges:
        found += _along_edge(band, reach, edge, lines)
    return found


def _steps(
    reach: shapely.Geometry, line: shapely.Geometry, step_m: float | None = None
) -> NDArray[np.float64]:
    """Return the straight bits of a line inside an area, (n, 2, 2); a touch is a bit without length."""
    if not shapely.intersects(reach, line):
        return np.zeros((0, 2, 2))
    common = shapely.intersection(line, reach)
    if shapely.is_empty(common):
        common = shapely.shortest_line(line, reach)
    bits = []
    for part in shapely.get_parts(shapely.get_parts(common)):
        xy_m = shapely.get_coordinates(part if step_m is None else shapely.segmentize(part, step_m))
        ends = xy_m if len(xy_m) > 1 else np.repeat(xy_m, 2, axis=0)
        bits.append(np.stack([ends[:-1], ends[1:]], axis=1))
    return np.concatenate(bits)


def _along_line(band: Band, reach: shapely.Geometry, guide: Guide) -> list[Nearest]:
    """Return the least angle to each straight bit of a centre line or bank within reach."""
    return [_nearest(band, guide, guide.least_deg, _stretch(guide, bit)) for bit in _steps(reach, guide.line)]


def _stretch(guide: Guide, bit: NDArray[np.float64]) -> tuple[float, float]:
    """Return the chainages of a bit of a line; on a ring it may reach past its start."""
    middle_m = float(guide.chainage_m(bit.mean(axis=0)[None, :])[0])
    half_m = float(np.hypot(*(bit[1] - bit[0]))) / 2.0
    return middle_m - half_m, middle_m + half_m


def _nearest(band: Band, guide: Guide, least_deg: float, stretch_m: tuple[float, float]) -> Nearest:
    angle_deg, at_m = guide.least_angle(stretch_m[0], stretch_m[1], band.direction)
    x, y = guide.point_at(np.array([at_m]))[0]
    return Nearest(angle_deg, least_deg, (float(x), float(y)), band)


def _along_edge(band: Band, reach: shapely.Geometry, edge: Guide, lines: CrossingLines) -> list[Nearest]:
    """Return the least angle at each bit of an outline's edge within reach, by the line that it edges."""
    found = []
    for bit in _steps(reach, edge.line, ALONG_EDGE_M):
        middle = bit.mean(axis=0)
        owner = lines.owner_of_edge(middle)
        if owner is None:
            continue
        at_m = owner.chainage_m(np.array([bit[0], middle, bit[1]]))
        if owner.has_wide_end and owner.is_end(at_m[1:2])[0]:
            found.append(_nearest(band, edge, owner.least_deg, _stretch(edge, bit)))
            continue
        length_m = float(np.hypot(*(bit[1] - bit[0])))
        low_m, high_m = float(at_m.min()), float(at_m.max())
        is_one_stretch = high_m - low_m <= 2.0 * length_m
        stretches_m = [(low_m, high_m)] if is_one_stretch else [(at, at) for at in at_m.tolist()]
        for from_m, to_m in stretches_m:
            angle_deg, _ = owner.least_angle(from_m, to_m, band.direction)
            found.append(Nearest(angle_deg, owner.least_deg, (float(middle[0]), float(middle[1])), band))
    return found
