"""The ways of the cables along the whole route: trench, ramps and bores as segments, with places for joints.

Room: ``audit``. May use ``assumptions``, ``engineering``, ``drives`` (the ramps), numpy and the audit's own
modules.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_places import Ramp, ramps_of_drive
from routescreen.audit.pull_ways import (
    PullWay,
    axis_level_m,
    bend_rows,
    bore_rows,
    ramp_rows,
    step_rows,
    turn_deg,
    ways_of,
)
from routescreen.audit.trench_dips import section_dips
from routescreen.drives.ramp import pipe_bend_m, ramp_radius_m, trench_axis_m
from routescreen.engineering.cable_pull import cut_corner_radius_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.pull_ways import Row
    from routescreen.audit.scene import Scene
    from routescreen.audit.trench_dips import Dip

    Array = NDArray[np.float64]

NODE_STEP_M = 5.0  # places for joints are looked at so often
LEVEL_STEP_M = 25.0  # the trench's bottom is straight over about so much: graded, not laid on each clod
IN_TRENCH, IN_SHAFT, TERMINAL = "in_trench", "in_shaft", "terminal"
_STRAIGHT_DEG = 1e-4


@dataclass(frozen=True, slots=True)
class JointNodes:
    """Places along the cable at which a section may end, if the land allows; every array has shape (n,).

    Attributes
    ----------
    segment : ndarray of int64
        Segments of the way before it.
    cable_m, chainage_m, level_m : ndarray
        Length of cable from the start, of each segment that of the longest cable; chainage; level of the
        cables' axes [m].
    kind : ndarray of object
        ``terminal``, ``in_trench`` or ``in_shaft``.
    section, shaft : ndarray of int64
        Section of the route; shaft, -1 where there is none.
    """

    segment: NDArray[np.int64]
    cable_m: Array
    chainage_m: Array
    level_m: Array
    kind: NDArray[np.object_]
    section: NDArray[np.int64]
    shaft: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class CableWay:
    """The whole ways of the cables in segments, up-chainage, and the places for joints that they share.

    `ways` are those that differ, all of n segments; `chainage_m` has shape (n + 1,): where each segment
    begins, and the end of the last.
    """

    ways: list[PullWay]
    chainage_m: Array
    nodes: JointNodes

    def between(self, first: int, last: int) -> list[PullWay]:
        """Return the segments between two nodes, of each way."""
        part = slice(int(self.nodes.segment[first]), int(self.nodes.segment[last]))
        return [
            PullWay(way.length_m[part], way.slope_deg[part], way.bend_deg[part], way.radius_m[part])
            for way in self.ways
        ]


@dataclass(slots=True)
class _Drawn:
    """Segments and nodes as they are drawn; not handed out."""

    rows: list[Row] = field(default_factory=list)
    ends_m: list[float] = field(default_factory=lambda: [0.0])
    nodes: list[tuple[int, float, float, float, str, int, int]] = field(default_factory=list)
    cable_m: float = 0.0

    def add(self, rows: list[Row], to_chainage_m: float) -> None:
        for row in rows:
            self.rows.append(row)
            self.cable_m += float(np.max(row[0]))
            self.ends_m.append(to_chainage_m)

    def node(self, level_m: float, kind: str, section: int, shaft: int = -1) -> None:
        here = (len(self.rows), self.cable_m, self.ends_m[-1], level_m, kind, section, shaft)
        if self.nodes and here[1] - self.nodes[-1][1] < 1e-6:  # two places at one length of cable are one
            return
        self.nodes.append(here)


def cable_way(scene: Scene) -> CableWay:
    """Lay out the ways of the cables from terminal to terminal.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    CableWay
        Slopes are NaN where the ground's level isn't known.

    Notes
    -----
    In open cut the trench follows the ground, its bottom straight over about 25 m, and dips where what it
    crosses asks for it; no joint lies in a dip. Bends in plan and in
    elevation are apart, so that where the levels are read doesn't decide how wide a corner is. Ramps and
    shafts are those of the drives' own pulls. Where two ramps overlap in a short open cut, both count whole
    and no trench lies between them.
    """
    route, drawn = scene.route, _Drawn()
    ramps = ramps_by_section(scene)
    before = -1  # drive whose upper end lies at the seam
    for section in range(route.n_sections):
        drive = int(route.drive_of_piece[route.pieces_of_section(section)[0]])
        if drive >= 0:
            _draw_drive(scene, drawn, section, drive, before)
        else:
            _draw_open_cut(scene, drawn, section, ramps.get((section, True)), ramps.get((section, False)))
        before = drive
    return _finished(drawn, scene.assumptions.link.n_cables)


def ramps_by_section(scene: Scene) -> dict[tuple[int, bool], Ramp]:
    """Return the ramps by open cut, and by whether they come up from the drive before it."""
    drives = range(len(scene.plan.drives))
    return {(ramp.section, ramp.is_upper): ramp for index in drives for ramp in ramps_of_drive(scene, index)}


def _finished(drawn: _Drawn, n_cables: int) -> CableWay:
    columns = list(zip(*drawn.nodes, strict=True))
    kind = np.array(columns[4], dtype=np.object_)
    kind[[0, -1]] = TERMINAL
    nodes = JointNodes(
        segment=np.array(columns[0], dtype=np.int64),
        cable_m=np.array(columns[1]),
        chainage_m=np.array(columns[2]),
        level_m=np.array(columns[3]),
        kind=kind,
        section=np.array(columns[5], dtype=np.int64),
        shaft=np.array(columns[6], dtype=np.int64),
    )
    return CableWay(ways_of(drawn.rows, n_cables), np.array(drawn.ends_m), nodes)


def _draw_drive(scene: Scene, drawn: _Drawn, section: int, index: int, before: int) -> None:
    """Draw a drive with the step in the shaft before it, and a place for a joint in that shaft."""
    drive, line = scene.plan.drives[index], scene.lines[index]
    from_m, to_m = scene.route.bounds_of_section(section)
    low_m, high_m = (axis_level_m(scene, index, is_upper=is_upper) for is_upper in (False, True))
    drawn.node(low_m, IN_SHAFT if drawn.nodes else TERMINAL, section, drive.lower_shaft)
    if before >= 0:
        drawn.add(bend_rows(turn_deg(scene, drive.from_vertex), ramp_radius_m(scene.assumptions)), from_m)
        drawn.add(step_rows(scene, before, index), from_m)
    rows, at_m = bore_rows(line), from_m
    for row in rows:
        at_m += float(row[0]) * math.cos(math.radians(float(row[1])))
        drawn.add([row], to_m if row is rows[-1] else min(at_m, to_m))
    drawn.node(high_m, IN_SHAFT, section, drive.upper_shaft)


def _draw_open_cut(
    scene: Scene, drawn: _Drawn, section: int, before: Ramp | None, behind: Ramp | None
) -> None:
    """Draw a ramp up, the trench, a ramp down."""
    from_m, to_m = scene.route.bounds_of_section(section)
    start_m, end_m = between_ramps_m(scene, section, before, behind)
    if before is not None:
        drive = scene.plan.drives[before.drive]
        drawn.add(bend_rows(turn_deg(scene, drive.to_vertex), before.line.radius_m), from_m)
        drawn.add(ramp_rows(before, is_up=True), start_m)
    _draw_trench(scene, drawn, section, start_m, end_m)
    if behind is not None:
        drive = scene.plan.drives[behind.drive]
        drawn.add(ramp_rows(behind, is_up=False), to_m)
        drawn.add(bend_rows(turn_deg(scene, drive.from_vertex), behind.line.radius_m), to_m)


def between_ramps_m(
    scene: Scene, section: int, before: Ramp | None, behind: Ramp | None
) -> tuple[float, float]:
    """Return the chainages between which an open cut is a trench: where the ramps of its shafts end [m]."""
    from_m, to_m = scene.route.bounds_of_section(section)
    room_m = (to_m - from_m) / (2.0 if before is not None and behind is not None else 1.0)
    first_m, last_m = (0.0 if ramp is None else min(ramp.line.run_m, room_m) for ramp in (before, behind))
    return from_m + first_m, to_m - last_m


@dataclass(frozen=True, slots=True)
class _Profile:
    """Bottom of a trench, straight between knots equally far apart; every array has shape (n,).

    `turn_deg` and `curve_per_m` are those of the bend at each knot, 0 at both ends [deg], [1/m].
    """

    knot_m: Array
    level_m: Array
    turn_deg: Array
    curve_per_m: Array


def _graded(scene: Scene, start_m: float, end_m: float) -> _Profile:
    """Lay the bottom of the trench along the ground."""
    n = max(round((end_m - start_m) / LEVEL_STEP_M), 1)
    knot_m = np.linspace(start_m, end_m, n + 1)
    ground_m = scene.ground.level_m(np.array([scene.route.point_at(at) for at in knot_m]))
    slope_deg = np.degrees(np.arctan2(np.diff(ground_m), np.diff(knot_m)))
    turn_deg = np.zeros(n + 1)
    turn_deg[1:-1] = np.abs(np.diff(slope_deg))
    radius_m = _radii_m(scene, knot_m, turn_deg[1:-1])
    curve_per_m = np.zeros(n + 1)
    curve_per_m[1:-1] = 1.0 / radius_m
    return _Profile(knot_m, ground_m - trench_axis_m(scene.assumptions), turn_deg, curve_per_m)


def _draw_trench(scene: Scene, drawn: _Drawn, section: int, start_m: float, end_m: float) -> None:
    """Draw the trench between two ramps in steps, with a bend wherever its direction changes."""
    if end_m - start_m <= 1e-6:
        ground_m = float(scene.ground.level_m(np.array([scene.route.point_at(start_m)]))[0])
        drawn.node(ground_m - trench_axis_m(scene.assumptions), IN_TRENCH, section)
        return
    profile, corners = _graded(scene, start_m, end_m), _corners(scene, start_m, end_m)
    dips = [dip for dip in section_dips(scene, section) if dip.fits(start_m, end_m)]
    knots_m = [at for dip in dips for at in dip.knots_m]
    n = max(math.ceil((end_m - start_m) / NODE_STEP_M), 1)
    places_m = np.linspace(start_m, end_m, n + 1)
    at_m = np.unique(np.concatenate([places_m, profile.knot_m, knots_m, [at for at, _, _ in corners]]))
    at_m = at_m[np.concatenate([[True], np.diff(at_m) > 1e-6])]
    dip_m = np.sum([dip.depth_m(at_m) for dip in dips], axis=0) if dips else np.zeros(len(at_m))
    level_m = np.interp(at_m, profile.knot_m, profile.level_m) - dip_m
    run_m, rise_m = np.diff(at_m), np.diff(level_m)
    true_m, slope_deg = np.hypot(run_m, rise_m), np.degrees(np.arctan2(rise_m, run_m))
    is_node = np.min(np.abs(at_m[:, np.newaxis] - places_m[np.newaxis, :]), axis=1) < 1e-5
    is_node &= dip_m <= 0.0
    bends = _bends_at(profile, corners, at_m)
    _add_dips(bends, dips, at_m)
    drawn.node(float(level_m[0]), IN_TRENCH, section)
    for step in range(len(run_m)):
        drawn.add(bends[step], float(at_m[step]))
        drawn.add([(float(true_m[step]), float(slope_deg[step]), 0.0, math.inf)], float(at_m[step + 1]))
        if is_node[step + 1]:
            drawn.node(float(level_m[step + 1]), IN_TRENCH, section)


def _corners(scene: Scene, start_m: float, end_m: float) -> list[tuple[float, float, float]]:
    """Return chainage, change of direction and radius in plan of the bends of a trench [m], [deg], [m]."""
    route = scene.route
    vertex = np.flatnonzero((route.chainage_m > start_m + 1e-6) & (route.chainage_m < end_m - 1e-6))
    turn = np.array([turn_deg(scene, int(each)) for each in vertex], dtype=np.float64)
    vertex, turn = vertex[turn > _STRAIGHT_DEG], turn[turn > _STRAIGHT_DEG]
    at_m = np.concatenate([[start_m], route.chainage_m[vertex], [end_m]])
    radius_m = _radii_m(scene, at_m, turn)
    return list(zip(at_m[1:-1].tolist(), turn.tolist(), radius_m.tolist(), strict=True))


def _bends_at(profile: _Profile, corners: list[tuple[float, float, float]], at_m: Array) -> list[list[Row]]:
    """Return the bends at each of some places of the trench, in plan first.

    The bottom is rounded all along, so that in a corner both curves count at once; between two knots
    that of the bottom is in proportion.
    """
    rows: list[list[Row]] = [[] for _ in at_m]
    for corner_m, angle_deg, radius_m in corners:
        curve_per_m = float(np.interp(corner_m, profile.knot_m, profile.curve_per_m))
        both_m = 1.0 / math.hypot(1.0 / radius_m, curve_per_m)
        rows[int(np.argmin(np.abs(at_m - corner_m)))] += bend_rows(angle_deg, both_m)
    for knot in np.flatnonzero(profile.curve_per_m > 0.0):
        bend = bend_rows(float(profile.turn_deg[knot]), 1.0 / float(profile.curve_per_m[knot]))
        rows[int(np.argmin(np.abs(at_m - profile.knot_m[knot])))] += bend
    return rows


def _add_dips(rows: list[list[Row]], dips: list[Dip], at_m: Array) -> None:
    """Add the bends of dips, apart from those of the ground: two down and two up."""
    for dip in dips:
        for knot_m in dip.knots_m:
            rows[int(np.argmin(np.abs(at_m - knot_m)))] += bend_rows(dip.bend_deg, dip.radius_m)


def _radii_m(scene: Scene, at_m: Array, turn_deg: Array) -> Array:
    """Return the radius of each bend between the two ends: the largest that stays near it and has room."""
    a = scene.assumptions
    is_bend = turn_deg > _STRAIGHT_DEG
    places_m = np.concatenate([[at_m[0]], at_m[1:-1][is_bend], [at_m[-1]]])
    radius_m = np.full(len(turn_deg), math.inf)
    if np.any(is_bend):
        gap_m = np.diff(places_m)
        radius_m[is_bend] = cut_corner_radius_m(
            turn_deg[is_bend],
            np.minimum(gap_m[:-1], gap_m[1:]) / 2.0,
            off_m=a.trench.corner_cut_m,
            least_m=pipe_bend_m(a),
        )
    return radius_m
