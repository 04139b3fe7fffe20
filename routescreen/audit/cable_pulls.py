"""Pulling the cables through the drives: pull at the eye, side wall in the bends, length on the drum.

Room: ``audit``. The formulae are those of ``engineering``; the ramp's radius is that of the bill.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_places import ramps_of_drive
from routescreen.audit.report import Limit, Place
from routescreen.drives.course import end_slopes_frac, halves_of
from routescreen.engineering.cable_pull import pull_both_ways_kN, side_wall_kN_per_m
from routescreen.engineering.ramp import ramp_length_m
from routescreen.money.measure_shaft import DRUM_BRAKE_KN, GRAVITY_M_PER_S2, ramp_radius_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions.works import CableType
    from routescreen.audit.bores import DriveLine
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene
    from routescreen.drives.drilled import Half

    Array = NDArray[np.float64]

SOURCE = "assumptions, [cable]"
UP, DOWN = 0, 1  # drum at the lower, at the higher chainage
EXPECTED, HIGH = 0, 1
_STRAIGHT_DEG = 1e-4


@dataclass(frozen=True, slots=True)
class PullWay:
    """The way of a cable through drives that follow one another from shaft to shaft, in segments.

    Each array has shape (n,): a straight has length and slope, a bend has an angle.
    """

    length_m: Array
    slope_deg: Array
    bend_deg: Array
    radius_m: Array


def prove_pulls(scene: Scene, ledger: Ledger) -> None:
    """Enter pull, side wall and drum of every drive, and the pull through drives that share shafts.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    """
    cable = scene.assumptions.cable
    kinds: list[tuple[CableType, str]] = [(cable, "")]
    if scene.assumptions.link.returns_per_system:
        kinds.append((cable.metallic_return, "_return"))
    for kind, suffix in kinds:
        for index in range(len(scene.plan.drives)):
            _prove_drive(scene, ledger, index, kind, suffix)
        for chain in chains(scene):
            if len(chain) > 1:
                _prove_through(scene, ledger, chain, kind, suffix)


def chains(scene: Scene) -> list[list[int]]:
    """Return the drives that follow one another without open cut between them, as lists in order."""
    found: list[list[int]] = []
    for index, drive in enumerate(scene.plan.drives):
        if found and scene.plan.drives[found[-1][-1]].to_vertex == drive.from_vertex:
            found[-1].append(index)
        else:
            found.append([index])
    return found


def pull_way(scene: Scene, chain: list[int]) -> PullWay:
    """Lay out the way of the cable through a chain of drives, ramps included, up-chainage.

    The way begins or ends, with a joint, in a shaft behind which a drive lies that isn't of the chain.
    Where the alignment bends at a shaft, and where two drives meet in one at different levels, the cable
    bends with the radius of the method's ramps.

    Parameters
    ----------
    scene : Scene
    chain : list of int

    Returns
    -------
    PullWay
    """
    rows: list[tuple[float, float, float, float]] = []
    level_m = math.nan
    for index in chain:
        line, drive = scene.lines[index], scene.plan.drives[index]
        radius_m = ramp_radius_m(drive.method, scene.assumptions)
        ramps = {ramp.is_upper: ramp for ramp in ramps_of_drive(scene, index)}
        if False in ramps or index != chain[0]:
            rows += _bend(turn_deg(scene, drive.from_vertex), radius_m)
        if False in ramps:
            rows += climb(scene, -ramps[False].rise_m, radius_m)
        elif not math.isnan(level_m):
            rows += climb(scene, line.lower_crown_m - line.radius_m - level_m, radius_m)
        rows += bore_rows(line)
        level_m = line.upper_crown_m - line.radius_m
        if True in ramps:
            rows += climb(scene, ramps[True].rise_m, radius_m)
            rows += _bend(turn_deg(scene, drive.to_vertex), radius_m)
    length, slope, bend, radius = (np.array([row[at] for row in rows]) for at in range(4))
    return PullWay(length, slope, bend, radius)


def bore_rows(line: DriveLine) -> list[tuple[float, float, float, float]]:
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
    level_m = line.true_length_m - sum(row[0] for row in (*lower, *upper))
    rising = [(length, -slope, bend, radius) for length, slope, bend, radius in reversed(upper)]
    return [*lower, (max(level_m, 0.0), 0.0, 0.0, math.inf), *rising]


def _arc_rows(line: DriveLine, radius_m: float) -> list[tuple[float, float, float, float]]:
    """Return the two halves of an arc, each at its mean slope, and the bend between them."""
    places_m = np.linspace(0.0, line.plan_length_m, 3)
    run_m, rise_m = np.diff(places_m), np.diff(line.crown_m(places_m))
    down_deg, up_deg = np.degrees(np.arctan2(rise_m, run_m))
    turned = np.diff(np.degrees(np.arctan(end_slopes_frac(line.drive, line.plan_length_m))))
    half_m = line.true_length_m * np.hypot(run_m, rise_m) / np.hypot(run_m, rise_m).sum()
    return [
        (float(half_m[0]), float(down_deg), 0.0, math.inf),
        *_bend(float(turned[0]), radius_m),
        (float(half_m[1]), float(up_deg), 0.0, math.inf),
    ]


def _half_rows(half: Half, bottom_m: float) -> list[tuple[float, float, float, float]]:
    """Return the straight, the bend and the arc of a half, as it goes down."""
    angle_rad = math.atan2(half.sin, half.cos)
    arc_m, fall_m = half.radius_m * angle_rad, half.radius_m * (1.0 - half.cos)
    straight_m = (half.start_m - bottom_m - fall_m) / half.sin
    return [
        (straight_m, -math.degrees(angle_rad), 0.0, math.inf),
        *_bend(math.degrees(angle_rad), half.radius_m),
        (arc_m, -math.degrees(math.asin(fall_m / arc_m)), 0.0, math.inf),
    ]


def turn_deg(scene: Scene, vertex: int) -> float:
    """Return the change of direction of the alignment at a vertex [deg]."""
    if not 0 < vertex < scene.route.n_pieces:
        return 0.0
    before, after = scene.route.direction[vertex - 1], scene.route.direction[vertex]
    return math.degrees(math.acos(min(max(float(before @ after), -1.0), 1.0)))


def _bend(angle_deg: float, radius_m: float) -> list[tuple[float, float, float, float]]:
    return [(0.0, 0.0, angle_deg, radius_m)] if angle_deg > _STRAIGHT_DEG else []


def climb(scene: Scene, rise_m: float, radius_m: float) -> list[tuple[float, float, float, float]]:
    """Return a ramp up or down: its whole length at its mean slope between its two bends."""
    height_m, steepest = abs(rise_m), scene.assumptions.cable.ramp_angle_deg
    by_arcs_m = 2.0 * radius_m * (1.0 - math.cos(math.radians(steepest)))
    angle_deg = math.degrees(math.acos(1.0 - min(height_m, by_arcs_m) / (2.0 * radius_m)))
    if angle_deg <= _STRAIGHT_DEG:
        return []
    length_m = float(ramp_length_m(height_m, radius_m, steepest))
    slope_deg = math.degrees(math.asin(rise_m / length_m))
    bend = _bend(angle_deg, radius_m)
    return [*bend, (length_m, slope_deg, 0.0, math.inf), *bend]


@dataclass(frozen=True, slots=True)
class Pulls:
    """Largest pull [kN] and side wall [kN/m] on a way, shape (2, 2): from which end, at which friction.

    `side` is the end from which less of the limits is used at expected friction.
    """

    pull: Array
    wall: Array
    side: int


def pulls_along(way: PullWay, cable: CableType) -> tuple[Array, Array]:
    """Work out pull and side wall where the cable leaves each segment of a way.

    Parameters
    ----------
    way : PullWay
    cable : CableType

    Returns
    -------
    pull_kN, wall_kN_per_m : ndarray of shape (2, 2, n)
        From which end, at which friction; the side wall is 0 on straights [kN], [kN/m].
    """
    ways = pull_both_ways_kN(
        way.length_m,
        way.slope_deg,
        way.bend_deg,
        weight_kN_per_m=cable.mass_kg_per_m.expected * GRAVITY_M_PER_S2 / 1000.0,
        friction=[cable.pipe_friction.expected, cable.pipe_friction.high],
        back_tension_kN=DRUM_BRAKE_KN,
    )
    leaving = np.stack([ways[0][:, 1:], ways[1][:, :-1]])  # where the cable leaves each segment
    walls = np.where(way.bend_deg > 0.0, side_wall_kN_per_m(leaving, way.radius_m), 0.0)
    return leaving, np.asarray(walls)


def largest_pulls(way: PullWay, cable: CableType) -> Pulls:
    """Return what a cable bears that is pulled through a way.

    Parameters
    ----------
    way : PullWay
    cable : CableType

    Returns
    -------
    Pulls
    """
    leaving, walls = pulls_along(way, cable)
    pull, wall = leaving.max(axis=-1), walls.max(axis=-1)
    used = np.maximum(pull / cable.eye_limit_kN, wall / cable.side_wall_kN_per_m)[:, EXPECTED]
    return Pulls(pull, wall, UP if used[UP] <= used[DOWN] else DOWN)


def _prove_drive(scene: Scene, ledger: Ledger, index: int, cable: CableType, suffix: str) -> None:
    way = pull_way(scene, [index])
    found = largest_pulls(way, cable)
    _prove_pull(scene, ledger, index, way, found, cable, suffix)
    _prove_wall(scene, ledger, index, way, found, cable, suffix)
    _prove_drum(scene, ledger, index, way, cable, suffix)


def _prove_through(scene: Scene, ledger: Ledger, chain: list[int], cable: CableType, suffix: str) -> None:
    """Tell whether drives that share shafts can be pulled as one: amber where a shaft needs a joint."""
    way = pull_way(scene, chain)
    found = largest_pulls(way, cable)
    limit = Limit(f"cable_pull_through{suffix}", "kN", f"{SOURCE}; capstan law, sliding friction")
    pull, wall = (float(part[found.side, EXPECTED]) for part in (found.pull, found.wall))
    length_m = float(way.length_m.sum())
    is_one = (
        pull <= cable.eye_limit_kN and wall <= cable.side_wall_kN_per_m and length_m <= cable.section_length_m
    )
    reason = (
        f"pulled through {len(chain)} drives as one, {_words(found.side)}: {pull:.1f} kN, side wall "
        f"{wall:.2f} kN/m (limit {cable.side_wall_kN_per_m:g}), {length_m:.0f} m of cable (a drum carries "
        f"{cable.section_length_m:.0f}); {'no joint is needed' if is_one else 'a joint is needed'} in a shaft"
    )
    place = _end(scene, chain[-1] if found.side == UP else chain[0], found.side)
    enter = ledger.finding if is_one else ledger.amber
    enter(scene.drive_id(chain[0]), limit, pull, cable.eye_limit_kN, place, reason)


def _end(scene: Scene, index: int, side: int) -> Place:
    """Return the place where the cable leaves a drive."""
    line = scene.lines[index]
    at_m = line.start_chainage_m + (line.plan_length_m if side == UP else 0.0)
    return Place(at_m, drive=index, xy_m=scene.route.point_at(at_m))


def _words(side: int) -> str:
    return f"drum at the {'lower' if side == UP else 'higher'} chainage"


def _prove_pull(
    scene: Scene,
    ledger: Ledger,
    index: int,
    way: PullWay,
    found: Pulls,
    cable: CableType,
    suffix: str,
) -> None:
    side, pull = found.side, found.pull
    element, place = scene.drive_id(index), _end(scene, index, side)
    limit = Limit(f"cable_pull{suffix}", "kN", f"{SOURCE}; capstan law, sliding friction")
    reason = (
        f"{_words(side)}: {pull[side, EXPECTED]:.1f} kN at expected friction, "
        f"{pull[side, HIGH]:.1f} at high; "
        f"{_words(1 - side)}: {pull[1 - side, EXPECTED]:.1f} and {pull[1 - side, HIGH]:.1f}; "
        f"{way.length_m.sum():.0f} m of cable and {way.bend_deg.sum():.0f} deg of bends"
    )
    status = ledger.finding(element, limit, float(pull[side, EXPECTED]), cable.eye_limit_kN, place, reason)
    if status == "pass" and pull[side, HIGH] > cable.eye_limit_kN:
        limit = Limit(f"cable_pull_high_friction{suffix}", "kN", limit.source)
        ledger.amber(element, limit, float(pull[side, HIGH]), cable.eye_limit_kN, place, reason)


def _prove_wall(
    scene: Scene,
    ledger: Ledger,
    index: int,
    way: PullWay,
    found: Pulls,
    cable: CableType,
    suffix: str,
) -> None:
    side, wall = found.side, found.wall
    element, place = scene.drive_id(index), _end(scene, index, side)
    limit = Limit(f"side_wall{suffix}", "kN/m", f"{SOURCE}; pull by radius")
    radii_m = way.radius_m[way.bend_deg > 0.0]
    if len(radii_m) == 0:
        ledger.finding(element, limit, 0.0, cable.side_wall_kN_per_m, place, "the cable lies straight")
        return
    reason = (
        f"bends of {radii_m.min():.1f} m radius, {_words(side)}: {wall[side, EXPECTED]:.2f} kN/m at expected "
        f"friction, {wall[side, HIGH]:.2f} at high; the maker may allow {cable.side_wall_upper_kN_per_m:g}"
    )
    most = cable.side_wall_kN_per_m
    status = ledger.finding(element, limit, float(wall[side, EXPECTED]), most, place, reason)
    if status == "pass" and wall[side, HIGH] > most:
        limit = Limit(f"side_wall_high_friction{suffix}", "kN/m", limit.source)
        ledger.amber(element, limit, float(wall[side, HIGH]), most, place, reason)


def _prove_drum(
    scene: Scene, ledger: Ledger, index: int, way: PullWay, cable: CableType, suffix: str
) -> None:
    """Compare the cable between the ends of a drive, which bears no joint, with what a drum carries."""
    line = scene.lines[index]
    length_m = float(way.length_m.sum())
    middle_m = line.start_chainage_m + line.plan_length_m / 2.0
    limit = Limit(f"drum_section{suffix}", "m", SOURCE)
    gross_t = cable.drum_gross_t
    reason = (
        f"{length_m:.0f} m of cable with its ramps bear no joint; a drum of {gross_t.expected:g} t carries "
        f"{cable.section_length_m:.0f} m ({gross_t.low:g} to {gross_t.high:g} t by what road and rail bear)"
    )
    place = Place(middle_m, drive=index, xy_m=scene.route.point_at(middle_m))
    ledger.finding(scene.drive_id(index), limit, length_m, cable.section_length_m, place, reason)
