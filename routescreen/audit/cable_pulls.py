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
from routescreen.engineering.cable_pull import pull_both_ways_kN, side_wall_kN_per_m
from routescreen.engineering.ramp import ramp_length_m
from routescreen.money.measure_shaft import DRUM_BRAKE_KN, GRAVITY_M_PER_S2, ramp_radius_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions.works import CableType
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

SOURCE = "assumptions, [cable]"
UP, DOWN = 0, 1  # drum at the lower, at the higher chainage
EXPECTED, HIGH = 0, 1
_STRAIGHT_DEG = 1e-6


@dataclass(frozen=True, slots=True)
class PullWay:
    """The way of a cable through drives that follow one another from shaft to shaft, in segments.

    Each array has shape (n,): a straight has length and slope, a bend has an angle. `drive` says whose the
    segment is.
    """

    length_m: Array
    slope_deg: Array
    bend_deg: Array
    radius_m: Array
    drive: NDArray[np.int64]


def prove_pulls(scene: Scene, ledger: Ledger) -> None:
    """Enter pull, side wall and drum of every drive.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    """
    cable = scene.assumptions.cable
    for chain in chains(scene):
        way = pull_way(scene, chain)
        _prove_chain(scene, ledger, way, chain, cable, "")
        if scene.assumptions.link.returns_per_system:
            _prove_chain(scene, ledger, way, chain, cable.metallic_return, "_return")


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
    rows: list[tuple[float, float, float, float, int]] = []
    level_m = math.nan
    for index in chain:
        line, drive = scene.lines[index], scene.plan.drives[index]
        radius_m = ramp_radius_m(drive.method, scene.assumptions)
        ramps = {ramp.is_upper: ramp for ramp in ramps_of_drive(scene, index)}
        rows += _bend(_turn_deg(scene, drive.from_vertex), radius_m, index)
        if False in ramps:
            rows += _climb(scene, -ramps[False].rise_m, radius_m, index)
        elif not math.isnan(level_m):
            rows += _climb(scene, line.lower_crown_m - line.radius_m - level_m, radius_m, index)
        rise_m = line.upper_crown_m - line.lower_crown_m
        slope_deg = math.degrees(math.atan2(rise_m, line.plan_length_m))
        rows.append((line.true_length_m, slope_deg, 0.0, math.inf, index))
        level_m = line.upper_crown_m - line.radius_m
        if True in ramps:
            rows += _climb(scene, ramps[True].rise_m, radius_m, index)
            rows += _bend(_turn_deg(scene, drive.to_vertex), radius_m, index)
    length, slope, bend, radius = (np.array([row[at] for row in rows]) for at in range(4))
    return PullWay(length, slope, bend, radius, np.array([row[4] for row in rows], dtype=np.int64))


def _turn_deg(scene: Scene, vertex: int) -> float:
    """Return the change of direction of the alignment at a vertex [deg]."""
    if not 0 < vertex < scene.route.n_pieces:
        return 0.0
    before, after = scene.route.direction[vertex - 1], scene.route.direction[vertex]
    return math.degrees(math.acos(min(max(float(before @ after), -1.0), 1.0)))


def _bend(angle_deg: float, radius_m: float, index: int) -> list[tuple[float, float, float, float, int]]:
    return [(0.0, 0.0, angle_deg, radius_m, index)] if angle_deg > _STRAIGHT_DEG else []


def _climb(
    scene: Scene, rise_m: float, radius_m: float, index: int
) -> list[tuple[float, float, float, float, int]]:
    """Return a ramp up or down: its whole length at its mean slope between its two bends."""
    height_m, steepest = abs(rise_m), scene.assumptions.cable.ramp_angle_deg
    by_arcs_m = 2.0 * radius_m * (1.0 - math.cos(math.radians(steepest)))
    angle_deg = math.degrees(math.acos(1.0 - min(height_m, by_arcs_m) / (2.0 * radius_m)))
    if angle_deg <= _STRAIGHT_DEG:
        return []
    length_m = float(ramp_length_m(height_m, radius_m, steepest))
    slope_deg = math.degrees(math.asin(rise_m / length_m))
    bend = _bend(angle_deg, radius_m, index)
    return [*bend, (length_m, slope_deg, 0.0, math.inf, index), *bend]


@dataclass(frozen=True, slots=True)
class _Pulls:
    """Pull [kN] and side wall [kN/m] of one drive, shape (2, 2): direction, friction."""

    pull: Array
    wall: Array


def _pulls(way: PullWay, cable: CableType, drives: list[int]) -> list[_Pulls]:
    """Return the largest pull and side wall within each drive of a chain."""
    ways = pull_both_ways_kN(
        way.length_m,
        way.slope_deg,
        way.bend_deg,
        weight_kN_per_m=cable.mass_kg_per_m.expected * GRAVITY_M_PER_S2 / 1000.0,
        friction=[cable.pipe_friction.expected, cable.pipe_friction.high],
        back_tension_kN=DRUM_BRAKE_KN,
    )
    forward, backward = ways[0][:, 1:], ways[1][:, :-1]  # where the cable leaves each segment
    pulls = np.stack([forward, backward])
    walls = np.where(way.bend_deg > 0.0, side_wall_kN_per_m(pulls, way.radius_m), 0.0)
    return [
        _Pulls(*(np.max(part[..., way.drive == index], axis=-1) for part in (pulls, walls)))
        for index in drives
    ]


def _prove_chain(
    scene: Scene, ledger: Ledger, way: PullWay, chain: list[int], cable: CableType, suffix: str
) -> None:
    """Enter the drives of a chain, pulled from that end from which the pull uses less of its limits."""
    found = _pulls(way, cable, chain)
    used = [
        max(
            max(each.pull[side, EXPECTED] / cable.pull_limit_kN for each in found),
            max(each.wall[side, EXPECTED] / cable.side_wall_kN_per_m for each in found),
        )
        for side in (UP, DOWN)
    ]
    side = UP if used[UP] <= used[DOWN] else DOWN
    for index, each in zip(chain, found, strict=True):
        _prove_pull(scene, ledger, index, way, each, side, cable, suffix)
        _prove_wall(scene, ledger, index, way, each, side, cable, suffix)
        _prove_drum(scene, ledger, index, way, cable, suffix)


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
    found: _Pulls,
    side: int,
    cable: CableType,
    suffix: str,
) -> None:
    element, place, pull = scene.drive_id(index), _end(scene, index, side), found.pull
    limit = Limit(f"cable_pull{suffix}", "kN", f"{SOURCE}; capstan law, sliding friction")
    mine = way.drive == index
    reason = (
        f"{_words(side)}: {pull[side, EXPECTED]:.1f} kN at expected friction, "
        f"{pull[side, HIGH]:.1f} at high; "
        f"{_words(1 - side)}: {pull[1 - side, EXPECTED]:.1f} and {pull[1 - side, HIGH]:.1f}; "
        f"{way.length_m[mine].sum():.0f} m of cable and {way.bend_deg[mine].sum():.0f} deg of bends"
    )
    status = ledger.finding(element, limit, float(pull[side, EXPECTED]), cable.pull_limit_kN, place, reason)
    if status == "pass" and pull[side, HIGH] > cable.pull_limit_kN:
        limit = Limit(f"cable_pull_high_friction{suffix}", "kN", limit.source)
        ledger.amber(element, limit, float(pull[side, HIGH]), cable.pull_limit_kN, place, reason)


def _prove_wall(
    scene: Scene,
    ledger: Ledger,
    index: int,
    way: PullWay,
    found: _Pulls,
    side: int,
    cable: CableType,
    suffix: str,
) -> None:
    element, place, wall = scene.drive_id(index), _end(scene, index, side), found.wall
    limit = Limit(f"side_wall{suffix}", "kN/m", f"{SOURCE}; pull by radius")
    radii_m = way.radius_m[(way.drive == index) & (way.bend_deg > 0.0)]
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
    length_m = float(way.length_m[way.drive == index].sum())
    middle_m = line.start_chainage_m + line.plan_length_m / 2.0
    limit = Limit(f"drum_section{suffix}", "m", SOURCE)
    gross_t = cable.drum_gross_t
    reason = (
        f"{length_m:.0f} m of cable with its ramps bear no joint; a drum of {gross_t.expected:g} t carries "
        f"{cable.section_length_m:.0f} m ({gross_t.low:g} to {gross_t.high:g} t by what road and rail bear)"
    )
    place = Place(middle_m, drive=index, xy_m=scene.route.point_at(middle_m))
    ledger.finding(scene.drive_id(index), limit, length_m, cable.section_length_m, place, reason)
