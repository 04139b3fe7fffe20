"""The ways of the cables through drives, ramps and shafts in segments, each cable's own.

Room: ``audit``. The ramps are those of ``drives``, as in the bill. Each cable moves aside by its own measure
on the ramps, so that their ways differ.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_places import ramps_of_drive
from routescreen.drives.course import end_slopes_frac, halves_of
from routescreen.drives.ramp import laid_run_m, ramp_radius_m, shaft_offsets_m
from routescreen.engineering.ramp import swing_angle_deg, swing_length_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.bores import DriveLine
    from routescreen.audit.cable_places import Ramp
    from routescreen.audit.scene import Scene
    from routescreen.drives.drilled import Half
    from routescreen.drives.ramp import RampLeg

    Array = NDArray[np.float64]
    # length, slope, angle of bend, radius: each the same for all cables or one value a cable
    Row = tuple[Array | float, Array | float, Array | float, float]

_STRAIGHT_DEG = 1e-4
_LEVEL_M = 1e-6


@dataclass(frozen=True, slots=True)
class PullWay:
    """The way of a cable through drives that follow one another from shaft to shaft, in segments.

    Each array has shape (n,): a straight has length and slope, a bend has an angle.
    """

    length_m: Array
    slope_deg: Array
    bend_deg: Array
    radius_m: Array


def ways_of(rows: list[Row], n_cables: int) -> list[PullWay]:
    """Return the ways of the cables, those that are alike once.

    Parameters
    ----------
    rows : list of Row
        Segments in order.
    n_cables : int

    Returns
    -------
    list of PullWay
        In the order of the cables, from left to right.
    """
    columns = [np.array([np.broadcast_to(row[at], n_cables) for row in rows]) for at in range(4)]
    table = np.stack(columns).reshape(4, len(rows), n_cables)
    rounded = np.nan_to_num(np.round(table, 9), nan=-1.0, posinf=-2.0).reshape(-1, n_cables)
    first = np.sort(np.unique(rounded, axis=1, return_index=True)[1])
    return [PullWay(*table[:, :, cable]) for cable in first]


def pull_ways(scene: Scene, chain: list[int]) -> list[PullWay]:
    """Lay out the ways of the cables through a chain of drives, ramps included, up-chainage.

    The ways begin or end, with a joint, in a shaft behind which a drive lies that isn't of the chain.
    Where the alignment bends at a shaft, and where two drives meet in one at different levels or with bores
    differently far apart, the cables bend with the radius of the ramps.

    Parameters
    ----------
    scene : Scene
    chain : list of int

    Returns
    -------
    list of PullWay
        See `ways_of`.
    """
    rows: list[Row] = []
    radius_m = ramp_radius_m(scene.assumptions)
    for index in chain:
        drive = scene.plan.drives[index]
        ramps = {ramp.is_upper: ramp for ramp in ramps_of_drive(scene, index)}
        if False in ramps or index != chain[0]:
            rows += bend_rows(turn_deg(scene, drive.from_vertex), radius_m)
        if False in ramps:
            rows += ramp_rows(ramps[False], is_up=False)
        elif index != chain[0]:
            rows += step_rows(scene, index - 1, index)
        rows += bore_rows(scene.lines[index])
        if True in ramps:
            rows += ramp_rows(ramps[True], is_up=True)
            rows += bend_rows(turn_deg(scene, drive.to_vertex), radius_m)
    return ways_of(rows, scene.assumptions.link.n_cables)


def bore_rows(line: DriveLine) -> list[Row]:
    """Return the way of the cable through one bore, from its lower end on.

    Straight, or down from a pit, round, level, round and up to the other pit; an arc has its mean slope, its
    bend stands before it. A drive on one arc is drawn as its two halves with the whole bend between them.
    """
    curve, arc_m = line.drive.curve, line.drive.arc_radius_m
    if arc_m is not None:
        return _arc_rows(line, arc_m)
    if curve is None:
        rise_m = line.upper_crown_m - line.lower_crown_m
        slope_deg = math.degrees(math.atan2(rise_m, line.plan_length_m))
        return [(line.true_length_m, slope_deg, 0.0, math.inf)]
    bottom_m = curve.bottom_crown_m
    lower, upper = (_half_rows(half, bottom_m) for half in halves_of(line.drive))
    level_m = line.true_length_m - sum(float(row[0]) for row in (*lower, *upper))
    rising: list[Row] = [(length, -slope, bend, radius) for length, slope, bend, radius in reversed(upper)]
    return [*lower, (max(level_m, 0.0), 0.0, 0.0, math.inf), *rising]


def _arc_rows(line: DriveLine, radius_m: float) -> list[Row]:
    """Return the two halves of an arc, each at its mean slope, and the bend between them."""
    places_m = np.linspace(0.0, line.plan_length_m, 3)
    run_m, rise_m = np.diff(places_m), np.diff(line.crown_m(places_m))
    down_deg, up_deg = np.degrees(np.arctan2(rise_m, run_m))
    turned = np.diff(np.degrees(np.arctan(end_slopes_frac(line.drive, line.plan_length_m))))
    half_m = line.true_length_m * np.hypot(run_m, rise_m) / np.hypot(run_m, rise_m).sum()
    return [
        (float(half_m[0]), float(down_deg), 0.0, math.inf),
        *bend_rows(float(turned[0]), radius_m),
        (float(half_m[1]), float(up_deg), 0.0, math.inf),
    ]


def _half_rows(half: Half, bottom_m: float) -> list[Row]:
    """Return the straight, the bend and the arc of a half, as it goes down."""
    angle_rad = math.atan2(half.sin, half.cos)
    arc_m, fall_m = half.radius_m * angle_rad, half.radius_m * (1.0 - half.cos)
    straight_m = (half.start_m - bottom_m - fall_m) / half.sin
    return [
        (straight_m, -math.degrees(angle_rad), 0.0, math.inf),
        *bend_rows(math.degrees(angle_rad), half.radius_m),
        (arc_m, -math.degrees(math.asin(fall_m / arc_m)), 0.0, math.inf),
    ]


def turn_deg(scene: Scene, vertex: int) -> float:
    """Return the change of direction of the alignment at a vertex [deg]."""
    if not 0 < vertex < scene.route.n_pieces:
        return 0.0
    before, after = scene.route.direction[vertex - 1], scene.route.direction[vertex]
    return math.degrees(math.acos(min(max(float(before @ after), -1.0), 1.0)))


def bend_rows(angle_deg: float, radius_m: float) -> list[Row]:
    """Return a bend that is the same for all cables, none where it is too small to count."""
    return [(0.0, 0.0, angle_deg, radius_m)] if angle_deg > _STRAIGHT_DEG else []


def ramp_rows(ramp: Ramp, *, is_up: bool) -> list[Row]:
    """Return the ramps of all cables, up from the shaft or down to it.

    Of each S-bend a bend, the whole length at its mean slope, and a bend: rising and moving aside are one
    bend each, in the plane of both.
    """
    legs = ramp.line.legs if is_up else ramp.line.legs[::-1]
    return [row for leg in legs for row in _leg_rows(leg, is_up=is_up)]


def _leg_rows(leg: RampLeg, *, is_up: bool) -> list[Row]:
    """Return one S-bend of all cables."""
    if leg.run_m <= 0.0:
        return []
    length_m = leg.length_m
    rise_m = leg.rise_m if is_up else -leg.rise_m
    bend: Row = (0.0, 0.0, leg.bend_deg, leg.radius_m)
    return [bend, (length_m, np.degrees(np.arcsin(rise_m / length_m)), 0.0, math.inf), bend]


def step_rows(scene: Scene, before: int, index: int) -> list[Row]:
    """Return the ways of the cables in the shaft where two drives meet, from one's bores to the other's."""
    a = scene.assumptions
    low_m, high_m = (
        axis_level_m(scene, drive, is_upper=is_upper) for drive, is_upper in ((before, True), (index, False))
    )
    rise_m = high_m - low_m
    methods = [scene.plan.drives[drive].method for drive in (before, index)]
    first_m, last_m = (shaft_offsets_m(a, method) for method in methods)
    across_m, radius_m = np.hypot(rise_m, last_m - first_m), ramp_radius_m(a)
    if not np.any(across_m > _LEVEL_M):
        return []
    run_m = laid_run_m(abs(rise_m), last_m - first_m, a)
    length_m = swing_length_m(across_m, run_m, radius_m)
    angle_deg = swing_angle_deg(across_m, run_m, radius_m)
    sine = np.divide(rise_m, length_m, out=np.zeros(len(length_m)), where=length_m > 0.0)
    slope_deg = np.degrees(np.arcsin(sine))
    bend: Row = (0.0, 0.0, angle_deg, radius_m)
    return [bend, (length_m, slope_deg, 0.0, math.inf), bend]


def axis_level_m(scene: Scene, drive: int, *, is_upper: bool) -> float:
    """Return the level of the axes of a drive's bores at one of its ends [m]."""
    line = scene.lines[drive]
    return (line.upper_crown_m if is_upper else line.lower_crown_m) - line.radius_m
