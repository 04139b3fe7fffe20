"""Pulling the cables through the drives: pull at the eye, side wall in the bends, length on the drum.

Room: ``audit``. The formulae are those of ``engineering``. Which cable lies where isn't set, so every kind
must stand every way.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_places import ramps_of_drive
from routescreen.audit.cable_way import between_ramps_m, ramps_by_section
from routescreen.audit.pull_ways import pull_ways
from routescreen.audit.report import Limit, Place
from routescreen.audit.trench_dips import section_dips
from routescreen.drives.ramp import pipe_bend_m
from routescreen.engineering.cable_pull import (
    DRUM_BRAKE_KN,
    GRAVITY_M_PER_S2,
    pull_both_ways_kN,
    side_wall_kN_per_m,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions.works import CableType
    from routescreen.audit.pull_ways import PullWay
    from routescreen.audit.report import Ledger, Status
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

SOURCE = "assumptions, [cable]"
UP, DOWN = 0, 1  # drum at the lower, at the higher chainage
EXPECTED, HIGH = 0, 1
HOLDS = ("pass", "amber")


def prove_pulls(scene: Scene, ledger: Ledger) -> None:
    """Enter pull, side wall, bend and drum of every drive, and the pull through drives that share shafts.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
    """
    cable = scene.assumptions.cable
    kinds: list[tuple[CableType, str]] = [(cable, "")]
    if scene.assumptions.link.returns_per_system:
        kinds.append((cable.metallic_return, "_return"))
    for index in range(len(scene.plan.drives)):
        _prove_bend(scene, ledger, index)
    _prove_room(scene, ledger)
    _prove_dip_room(scene, ledger)
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


def largest_pulls(ways: list[PullWay], cable: CableType) -> Pulls:
    """Return the most that a cable bears that is pulled through any of some ways.

    Parameters
    ----------
    ways : list of PullWay
    cable : CableType

    Returns
    -------
    Pulls
    """
    both = [pulls_along(way, cable) for way in ways]
    pull = np.max([leaving.max(axis=-1) for leaving, _ in both], axis=0)
    wall = np.max([walls.max(axis=-1) for _, walls in both], axis=0)
    used = np.maximum(pull / cable.eye_limit_kN, wall / cable.side_wall_kN_per_m)[:, EXPECTED]
    return Pulls(pull, wall, UP if used[UP] <= used[DOWN] else DOWN)


def longest_m(ways: list[PullWay]) -> float:
    """Return the length of the longest of some ways [m]."""
    return max(float(way.length_m.sum()) for way in ways)


def enter_pull(
    ledger: Ledger,
    element: str,
    limit: Limit,
    values: tuple[float, float],
    reserve_frac: float,
    place: Place,
    reason: str,
) -> Status:
    """Enter a pull or side wall: amber where it leaves less than the reserve.

    Parameters
    ----------
    ledger : Ledger
    element : str
    limit : Limit
    values : tuple of float
        What is borne, and the limit.
    reserve_frac : float
        Share by which what is borne may grow before it meets the limit [-].
    place : Place
    reason : str

    Returns
    -------
    str
        Status of the row.
    """
    value, most = values
    if value <= most + limit.tolerance and value * (1.0 + reserve_frac) > most + limit.tolerance:
        left = f"{reason}; less than the reserve of {100.0 * reserve_frac:g} % is left"
        ledger.amber(element, limit, value, most, place, left)
        return "amber"
    return ledger.finding(element, limit, value, most, place, reason)


def _prove_drive(scene: Scene, ledger: Ledger, index: int, cable: CableType, suffix: str) -> None:
    ways = pull_ways(scene, [index])
    found = largest_pulls(ways, cable)
    _prove_pull(scene, ledger, index, ways, found, cable, suffix)
    _prove_wall(scene, ledger, index, ways, found, cable, suffix)
    _prove_drum(scene, ledger, index, ways, cable, suffix)


def _prove_bend(scene: Scene, ledger: Ledger, index: int) -> None:
    """Compare the radius of the ramps with the bend of the pipes that lie in them."""
    ramps = ramps_of_drive(scene, index)
    if not ramps:
        return
    a, radius_m = scene.assumptions, ramps[0].line.radius_m
    limit = Limit("ramp_bend", "m", "assumptions, [pipe], [cable]")
    reason = (
        f"pipes of {1000.0 * a.pipe.trench_outer_diameter_m:g} mm are laid cold in ramps of {radius_m:.1f} m "
        f"radius, at least {a.pipe.cold_bend_diameters:g} diameters"
    )
    place = _end(scene, index, UP if ramps[0].is_upper else DOWN)
    ledger.finding(scene.drive_id(index), limit, pipe_bend_m(a), radius_m, place, reason)


def _prove_room(scene: Scene, ledger: Ledger) -> None:
    """Warn where the ramps of an open cut don't fit into it: the cables then don't come up between."""
    limit = Limit("ramp_room", "m", "assumptions, [cable]; own geometry")
    ramps = [ramp for index in range(len(scene.plan.drives)) for ramp in ramps_of_drive(scene, index)]
    for section in sorted({ramp.section for ramp in ramps}):
        from_m, to_m = scene.route.bounds_of_section(section)
        runs_m = [ramp.line.run_m for ramp in ramps if ramp.section == section]
        middle_m = (from_m + to_m) / 2.0
        place = Place(middle_m, section=section, xy_m=scene.route.point_at(middle_m))
        words = " and ".join(f"{run_m:.1f} m" for run_m in runs_m)
        reason = f"ramps of {words} in an open cut of {to_m - from_m:.1f} m"
        if sum(runs_m) > to_m - from_m:
            reason += ": between its shafts it must be dug deeper than the trench that is measured"
            ledger.amber(scene.section_id(section), limit, sum(runs_m), to_m - from_m, place, reason)
        else:
            ledger.finding(scene.section_id(section), limit, sum(runs_m), to_m - from_m, place, reason)


def _prove_dip_room(scene: Scene, ledger: Ledger) -> None:
    """Warn where the ramps of a dip have no room before those of a shaft or the end."""
    limit, ramps = Limit("dip_room", "m", "assumptions, [cable]; own geometry"), ramps_by_section(scene)
    for section in range(scene.route.n_sections):
        is_driven = scene.route.is_drive[scene.route.pieces_of_section(section)[0]]
        dips = [] if is_driven else section_dips(scene, section)
        if not dips:
            continue
        bounds_m = between_ramps_m(scene, section, ramps.get((section, True)), ramps.get((section, False)))
        dip = max(dips, key=lambda each: each.run_m - each.room_m(*bounds_m))
        middle_m = (dip.from_m + dip.to_m) / 2.0
        place = Place(middle_m, section=section, xy_m=scene.route.point_at(middle_m))
        names = ", ".join(scene.crossing_id(index) for index in dip.crossings)
        reason = (
            f"of {len(dips)} dips the one with least room: below {names} the pipes lie {dip.below_m:.2f} m "
            f"lower from chainage {dip.from_m:.0f} to {dip.to_m:.0f} m, with ramps of {dip.run_m:.1f} m and "
            f"two bends of {dip.bend_deg:.1f} degrees and {dip.radius_m:.1f} m radius at either end"
        )
        element, room_m = scene.section_id(section), max(dip.room_m(*bounds_m), 0.0)
        if dip.fits(*bounds_m):
            ledger.finding(element, limit, dip.run_m, room_m, place, reason)
            continue
        reason += "; they don't fit, and its bends aren't in the pull"
        ledger.amber(element, limit, dip.run_m, room_m, place, reason)


def _prove_through(scene: Scene, ledger: Ledger, chain: list[int], cable: CableType, suffix: str) -> None:
    """Tell whether drives that share shafts can be pulled as one: amber where a shaft needs a joint."""
    ways = pull_ways(scene, chain)
    found = largest_pulls(ways, cable)
    limit = Limit(f"cable_pull_through{suffix}", "kN", f"{SOURCE}; capstan law, sliding friction")
    pull, wall = (float(part[found.side, EXPECTED]) for part in (found.pull, found.wall))
    length_m = longest_m(ways)
    is_one = (
        pull <= cable.eye_limit_kN and wall <= cable.side_wall_kN_per_m and length_m <= cable.section_length_m
    )
    reason = (
        f"pulled through {len(chain)} drives as one, {_words(found.side)}: {pull:.1f} kN, side wall "
        f"{wall:.2f} kN/m (limit {cable.side_wall_kN_per_m:g}), {length_m:.0f} m of cable (a drum carries "
        f"{cable.section_length_m:.0f}); {'no joint is needed' if is_one else 'a joint is needed'} in a shaft"
    )
    place = _end(scene, chain[-1] if found.side == UP else chain[0], found.side)
    element, values = scene.drive_id(chain[0]), (pull, cable.eye_limit_kN)
    if is_one:
        enter_pull(ledger, element, limit, values, scene.assumptions.cable.pull_reserve_frac, place, reason)
    else:
        ledger.amber(element, limit, *values, place, reason)


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
    ways: list[PullWay],
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
        f"{longest_m(ways):.0f} m of cable and {max(way.bend_deg.sum() for way in ways):.0f} deg of bends"
    )
    reserve, values = (
        scene.assumptions.cable.pull_reserve_frac,
        (float(pull[side, EXPECTED]), cable.eye_limit_kN),
    )
    status = enter_pull(ledger, element, limit, values, reserve, place, reason)
    if status in HOLDS and pull[side, HIGH] > cable.eye_limit_kN:
        limit = Limit(f"cable_pull_high_friction{suffix}", "kN", limit.source)
        ledger.amber(element, limit, float(pull[side, HIGH]), cable.eye_limit_kN, place, reason)


def _prove_wall(
    scene: Scene,
    ledger: Ledger,
    index: int,
    ways: list[PullWay],
    found: Pulls,
    cable: CableType,
    suffix: str,
) -> None:
    side, wall = found.side, found.wall
    element, place = scene.drive_id(index), _end(scene, index, side)
    limit = Limit(f"side_wall{suffix}", "kN/m", f"{SOURCE}; pull by radius")
    radii_m = np.concatenate([way.radius_m[way.bend_deg > 0.0] for way in ways])
    if len(radii_m) == 0:
        ledger.finding(element, limit, 0.0, cable.side_wall_kN_per_m, place, "the cable lies straight")
        return
    reason = (
        f"bends of {radii_m.min():.1f} m radius, {_words(side)}: {wall[side, EXPECTED]:.2f} kN/m at expected "
        f"friction, {wall[side, HIGH]:.2f} at high; the maker may allow {cable.side_wall_upper_kN_per_m:g}"
    )
    most = cable.side_wall_kN_per_m
    reserve, values = scene.assumptions.cable.pull_reserve_frac, (float(wall[side, EXPECTED]), most)
    status = enter_pull(ledger, element, limit, values, reserve, place, reason)
    if status in HOLDS and wall[side, HIGH] > most:
        limit = Limit(f"side_wall_high_friction{suffix}", "kN/m", limit.source)
        ledger.amber(element, limit, float(wall[side, HIGH]), most, place, reason)


def _prove_drum(
    scene: Scene, ledger: Ledger, index: int, ways: list[PullWay], cable: CableType, suffix: str
) -> None:
    """Compare the cable between the ends of a drive, which bears no joint, with what a drum carries."""
    line = scene.lines[index]
    length_m = longest_m(ways)
    middle_m = line.start_chainage_m + line.plan_length_m / 2.0
    limit = Limit(f"drum_section{suffix}", "m", SOURCE)
    gross_t = cable.drum_gross_t
    reason = (
        f"{length_m:.0f} m of cable with its ramps bear no joint; a drum of {gross_t.expected:g} t carries "
        f"{cable.section_length_m:.0f} m ({gross_t.low:g} to {gross_t.high:g} t by what road and rail bear)"
    )
    place = Place(middle_m, drive=index, xy_m=scene.route.point_at(middle_m))
    ledger.finding(scene.drive_id(index), limit, length_m, cable.section_length_m, place, reason)
