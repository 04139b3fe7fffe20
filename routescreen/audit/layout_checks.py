"""Checks on the layout of each drive's pipe strings: room, pieces, direction, bends, land.

Room: ``audit``. Uses the audit's own modules and what a method asks for. The land is measured on the true
features and rasters, and on the whole band that the strings take up side by side.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.ground import boxes_of_classes
from routescreen.audit.report import Ledger, Limit, Place
from routescreen.audit.scene import Scene, words
from routescreen.drives.layout import MethodLayout, method_layout

if TYPE_CHECKING:
    from numpy.typing import NDArray

SOURCE = "assumptions, [methods], [pipe]"
LAND = "assumptions, [treatments], [cover]"
TOUCH_M2 = 0.1  # land that a strip only grazes, by the rounding of outlines
MOST_TURN_DEG = 90.0  # of a strip with a bend
MOST_KINK_DEG = 15.0  # of its legs; the pipe lies in the arc along them
ANGLE_TOLERANCE_DEG = 0.01


@dataclass(frozen=True, slots=True)
class _Strip:
    """The strips of one drive: what is asked, their middle as drawn, where the drive arrives."""

    rule: MethodLayout
    xy_m: NDArray[np.float64]
    reception_xy_m: NDArray[np.float64]
    direction: NDArray[np.float64]


def check_layouts(scene: Scene, ledger: Ledger) -> None:
    """Check the layout of the strings of every drive whose method needs one."""
    for index, drive in enumerate(scene.plan.drives):
        rule = method_layout(scene.assumptions, drive.method)
        if rule is None:
            continue
        line = scene.lines[index]
        is_up = drive.is_launched_at_lower
        at_m = line.start_chainage_m + (line.plan_length_m if is_up else 0.0)
        end = line.upper_xy_m if is_up else line.lower_xy_m
        place = Place(at_m, drive=index, xy_m=(float(end[0]), float(end[1])))
        xy_m = np.array(drive.layout_xy_m, dtype=np.float64).reshape(-1, 2)
        strip = _Strip(rule, xy_m, end, line.direction if is_up else -line.direction)
        _check_pieces(scene, ledger, index, strip, place)
        if len(xy_m) < 2:
            continue
        _check_start(scene, ledger, index, strip, place)
        _check_bends(scene, ledger, index, strip, place)
        _check_land(scene, ledger, index, strip, place)


def _check_pieces(scene: Scene, ledger: Ledger, index: int, strip: _Strip, place: Place) -> None:
    """Check that the strips hold their pieces, and that there are not too many of these."""
    n, line = scene.plan.drives[index].n_layout_pieces, scene.lines[index]
    element = scene.drive_id(index)
    most = Limit("layout_pieces", "-", SOURCE, tolerance=0.0)
    reason = f"the strings lie in {n} piece{'s' if n > 1 else ''}"
    ledger.at_most(element, most, float(n), float(strip.rule.most_pieces), place, reason)
    need_m = line.true_length_m / max(n, 1) + strip.rule.working_m
    have_m = float(np.hypot(*np.diff(strip.xy_m, axis=0).T).sum()) if len(strip.xy_m) > 1 else 0.0
    reason = f"{reason}, each with {strip.rule.working_m:g} m to work, on strips of {have_m:.1f} m"
    ledger.at_least(element, Limit("layout_length", "m", SOURCE), need_m, have_m, place, reason)


def _check_start(scene: Scene, ledger: Ledger, index: int, strip: _Strip, place: Place) -> None:
    """Check that the strips begin at the end of the reception shaft, in line with the drive."""
    begin = strip.reception_xy_m + strip.rule.start_m * strip.direction
    off_m = float(np.hypot(*(strip.xy_m[0] - begin)))
    reason = f"the strips begin {off_m:.3f} m from the middle of the shaft's far side"
    ledger.at_most(scene.drive_id(index), Limit("layout_start", "m", SOURCE), off_m, 0.0, place, reason)
    leg = strip.xy_m[1] - strip.xy_m[0]
    off_deg = math.degrees(_turn_rad(strip.direction, leg))
    limit = Limit("layout_in_line", "deg", SOURCE, tolerance=ANGLE_TOLERANCE_DEG)
    reason = f"the strips leave the shaft {off_deg:.2f} degrees beside the line of the drive"
    ledger.at_most(scene.drive_id(index), limit, off_deg, 0.0, place, reason)
    straight_m = float(np.hypot(*leg))
    limit = Limit("layout_lead", "m", SOURCE)
    reason = f"the strips lie straight for {straight_m:.1f} m before a bend"
    least_m = strip.rule.working_m
    ledger.at_least(scene.drive_id(index), limit, least_m, straight_m, place, reason)


def _check_bends(scene: Scene, ledger: Ledger, index: int, strip: _Strip, place: Place) -> None:
    """Check each kink of bent strips and the radius of the arc that touches the legs between kinks."""
    legs = np.diff(strip.xy_m, axis=0)
    if len(legs) < 2:
        return
    element = scene.drive_id(index)
    turns_rad = [_turn_rad(one, other) for one, other in itertools.pairwise(legs)]
    kink_deg, total_deg = math.degrees(max(turns_rad)), math.degrees(sum(turns_rad))
    limit = Limit("layout_kink", "deg", SOURCE, tolerance=ANGLE_TOLERANCE_DEG)
    reason = f"the legs of the bend turn by {kink_deg:.1f} degrees at most"
    ledger.at_most(element, limit, kink_deg, MOST_KINK_DEG, place, reason)
    limit = Limit("layout_turn", "deg", SOURCE, tolerance=ANGLE_TOLERANCE_DEG)
    reason = f"the strips turn by {total_deg:.1f} degrees in all"
    ledger.at_most(element, limit, total_deg, MOST_TURN_DEG, place, reason)
    for leg, turn_rad in zip(legs[1:-1], turns_rad[:-1], strict=True):
        radius_m = float(np.hypot(*leg)) / (2.0 * math.tan(turn_rad / 2.0))
        reason = f"the middle of the strips bends with a radius of {radius_m:.1f} m"
        limit = Limit("layout_radius", "m", SOURCE)
        ledger.at_least(element, limit, strip.rule.radius_m, radius_m, place, reason)


def _turn_rad(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    """Return the angle between two directions."""
    cross = one[0] * other[1] - one[1] * other[0]
    return abs(math.atan2(float(cross), float(one @ other)))


def _check_land(scene: Scene, ledger: Ledger, index: int, strip: _Strip, place: Place) -> None:
    """Measure how much of the strips' land bears none: features, ground cover, what nothing is known of."""
    rule = strip.rule
    half_m = 0.5 * ((rule.n_strings - 1) * rule.pitch_m + rule.strip_width_m)
    band = shapely.LineString(strip.xy_m).buffer(half_m, cap_style="flat", join_style="mitre")
    limit = Limit("layout_land", "m2", LAND, "record", tolerance=TOUCH_M2)
    element = scene.drive_id(index)
    found = {**_on_features(scene, band), **_on_cover(scene, band), **_beyond(scene, band)}
    for name, area_m2 in found.items():
        reason = f"{area_m2:.0f} m2 of the strips lie on land that bears none: {name}"
        ledger.at_most(element, limit, area_m2, 0.0, place, reason)
    if not found:
        reason = f"all {band.area:.0f} m2 that the strips take up lie on land that bears them"
        ledger.at_most(element, limit, 0.0, 0.0, place, reason)


def _on_features(scene: Scene, band: shapely.Polygon) -> dict[str, float]:
    """Return the area on each feature that bears no strip; one of an unknown kind bears none [m2]."""
    found = {}
    for feature in scene.near(band, 0.0):
        treatment = scene.assumptions.treatments.get(str(scene.features.kind[feature]))
        if treatment is not None and treatment.layout_allowed:
            continue
        area_m2 = float(shapely.intersection(band, scene.features.outline[feature]).area)
        if area_m2 > TOUCH_M2:
            found[scene.label(int(feature))] = area_m2
    return found


def _on_cover(scene: Scene, band: shapely.Polygon) -> dict[str, float]:
    """Return the area on each class of ground cover that bears no strip [m2]."""
    found = {}
    for number, (name, cover) in enumerate(scene.assumptions.cover.items()):
        if cover.layout_allowed != "no":
            continue
        boxes = boxes_of_classes(scene.ground, band, [number])
        area_m2 = float(shapely.area(shapely.intersection(boxes, band)).sum())
        if area_m2 > TOUCH_M2:
            found[f"ground cover {words(name)}"] = area_m2
    return found


def _beyond(scene: Scene, band: shapely.Polygon) -> dict[str, float]:
    """Return the area beyond the surroundings of the corridor that were read [m2]."""
    frame, outside_m2 = scene.assumptions.frame, scene.surroundings.outside_m2(band)
    if outside_m2 <= TOUCH_M2:
        return {}
    return {f"further than {frame.works_margin_m:g} m from the corridor, where nothing is known": outside_m2}
