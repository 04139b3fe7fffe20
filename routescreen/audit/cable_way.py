"""The way of one cable along the whole route: trench, ramps and bores as segments, with places for joints.

Room: ``audit``. May use ``assumptions``, ``engineering``, numpy and the audit's own modules.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_places import Ramp, ramps_of_drive, trench_axis_m
from routescreen.audit.cable_pulls import PullWay, bore_rows, climb, turn_deg
from routescreen.engineering.cable_pull import cut_corner_radius_m
from routescreen.money.measure_shaft import ramp_radius_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

NODE_STEP_M = 5.0  # places for joints are looked at so often
NODES_A_LEVEL = 5  # the trench's bottom is straight over so many steps: it is graded, not laid on each clod
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
        Length of cable from the start, chainage, level of the cables' axes [m].
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
    """The whole way in segments, up-chainage, and its places for joints.

    `chainage_m` has shape (n + 1,): where each of the n segments begins, and the end of the last.
    """

    way: PullWay
    chainage_m: Array
    nodes: JointNodes

    def between(self, first: int, last: int) -> PullWay:
        """Return the segments between two nodes."""
        part = slice(int(self.nodes.segment[first]), int(self.nodes.segment[last]))
        way = self.way
        return PullWay(way.length_m[part], way.slope_deg[part], way.bend_deg[part], way.radius_m[part])


@dataclass(slots=True)
class _Drawn:
    """Segments and nodes as they are drawn; not handed out."""

    rows: list[tuple[float, float, float, float]] = field(default_factory=list)
    ends_m: list[float] = field(default_factory=lambda: [0.0])
    nodes: list[tuple[int, float, float, float, str, int, int]] = field(default_factory=list)
    cable_m: float = 0.0

    def add(self, rows: list[tuple[float, float, float, float]], to_chainage_m: float) -> None:
        for row in rows:
            self.rows.append(row)
            self.cable_m += row[0]
            self.ends_m.append(to_chainage_m)

    def node(self, level_m: float, kind: str, section: int, shaft: int = -1) -> None:
        here = (len(self.rows), self.cable_m, self.ends_m[-1], level_m, kind, section, shaft)
        if self.nodes and here[1] - self.nodes[-1][1] < 1e-6:  # two places at one length of cable are one
            return
        self.nodes.append(here)


def cable_way(scene: Scene) -> CableWay:
    """Lay out the way of the cable from terminal to terminal.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    CableWay
        Slopes are NaN where the ground's level isn't known.

    Notes
    -----
    In open cut the trench follows the ground, its bottom straight over 25 m; every change of direction, in
    plan and in elevation, is a bend. Ramps and shafts are those of the drives' own pulls. Where two ramps
    overlap in a short open cut, both count whole and no trench lies between them.
    """
    route, drawn = scene.route, _Drawn()
    drives = range(len(scene.plan.drives))
    ramps = {(ramp.section, ramp.is_upper): ramp for index in drives for ramp in ramps_of_drive(scene, index)}
    before = -1  # drive whose upper end lies at the seam
    for section in range(route.n_sections):
        drive = int(route.drive_of_piece[route.pieces_of_section(section)[0]])
        if drive >= 0:
            _draw_drive(scene, drawn, section, drive, before)
        else:
            _draw_open_cut(scene, drawn, section, ramps.get((section, True)), ramps.get((section, False)))
        before = drive
    return _finished(drawn)


def _finished(drawn: _Drawn) -> CableWay:
    length, slope, bend, radius = np.array(drawn.rows, dtype=np.float64).reshape(-1, 4).T
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
    return CableWay(PullWay(length, slope, bend, radius), np.array(drawn.ends_m), nodes)


def _axis_level_m(scene: Scene, drive: int, *, is_upper: bool) -> float:
    line = scene.lines[drive]
    return (line.upper_crown_m if is_upper else line.lower_crown_m) - line.radius_m


def _draw_drive(scene: Scene, drawn: _Drawn, section: int, index: int, before: int) -> None:
    """Draw a drive with the step in the shaft before it, and a place for a joint in that shaft."""
    drive, line = scene.plan.drives[index], scene.lines[index]
    from_m, to_m = scene.route.bounds_of_section(section)
    low_m, high_m = (_axis_level_m(scene, index, is_upper=is_upper) for is_upper in (False, True))
    drawn.node(low_m, IN_SHAFT if drawn.nodes else TERMINAL, section, drive.lower_shaft)
    if before >= 0:
        radius_m = ramp_radius_m(drive.method, scene.assumptions)
        drawn.add(_bend(turn_deg(scene, drive.from_vertex), radius_m), from_m)
        drawn.add(climb(scene, low_m - _axis_level_m(scene, before, is_upper=True), radius_m), from_m)
    rows, at_m = bore_rows(line), from_m
    for row in rows:
        at_m += row[0] * math.cos(math.radians(row[1]))
        drawn.add([row], to_m if row is rows[-1] else min(at_m, to_m))
    drawn.node(high_m, IN_SHAFT, section, drive.upper_shaft)


def _bend(angle_deg: float, radius_m: float) -> list[tuple[float, float, float, float]]:
    return [(0.0, 0.0, angle_deg, radius_m)] if angle_deg > _STRAIGHT_DEG else []


def _draw_open_cut(
    scene: Scene, drawn: _Drawn, section: int, before: Ramp | None, behind: Ramp | None
) -> None:
    """Draw a ramp up, the trench, a ramp down."""
    from_m, to_m = scene.route.bounds_of_section(section)
    room_m = (to_m - from_m) / (2.0 if before is not None and behind is not None else 1.0)
    first_m, last_m = (0.0 if ramp is None else min(ramp.run_m, room_m) for ramp in (before, behind))
    start_m, end_m = from_m + first_m, to_m - last_m
    if before is not None:
        drive = scene.plan.drives[before.drive]
        drawn.add(_bend(turn_deg(scene, drive.to_vertex), before.radius_m), from_m)
        drawn.add(climb(scene, before.rise_m, before.radius_m), start_m)
    _draw_trench(scene, drawn, section, start_m, end_m)
    if behind is not None:
        drive = scene.plan.drives[behind.drive]
        drawn.add(climb(scene, -behind.rise_m, behind.radius_m), to_m)
        drawn.add(_bend(turn_deg(scene, drive.from_vertex), behind.radius_m), to_m)


def _draw_trench(scene: Scene, drawn: _Drawn, section: int, start_m: float, end_m: float) -> None:
    """Draw the trench between two ramps in steps, with a bend wherever its direction changes."""
    route, axis_m = scene.route, trench_axis_m(scene.assumptions)
    if end_m - start_m <= 1e-6:
        level_m = float(scene.ground.level_m(np.array([route.point_at(start_m)]))[0]) - axis_m
        drawn.node(level_m, IN_TRENCH, section)
        return
    n = max(math.ceil((end_m - start_m) / NODE_STEP_M), 1)
    places_m = np.linspace(start_m, end_m, n + 1)
    knots_m = np.unique(np.append(places_m[::NODES_A_LEVEL], end_m))
    knot_levels_m = scene.ground.level_m(np.array([route.point_at(at) for at in knots_m])) - axis_m
    within = route.chainage_m[(route.chainage_m > start_m + 1e-6) & (route.chainage_m < end_m - 1e-6)]
    at_m = np.unique(np.concatenate([places_m, within]))
    at_m = at_m[np.concatenate([[True], np.diff(at_m) > 1e-6])]
    level_m = np.interp(at_m, knots_m, knot_levels_m)
    piece = np.searchsorted(route.chainage_m, (at_m[:-1] + at_m[1:]) / 2.0, side="right") - 1
    run_m, rise_m = np.diff(at_m), np.diff(level_m)
    true_m = np.hypot(run_m, rise_m)
    slope_deg = np.degrees(np.arctan2(rise_m, run_m))
    plan_way = route.direction[piece] * (run_m / true_m)[:, np.newaxis]
    heading = np.column_stack([plan_way, rise_m / true_m])
    turn = np.degrees(np.arccos(np.clip(np.sum(heading[1:] * heading[:-1], axis=1), -1.0, 1.0)))
    radius_m = _radii_m(scene, at_m, turn)
    is_node = np.min(np.abs(at_m[:, np.newaxis] - places_m[np.newaxis, :]), axis=1) < 1e-5
    drawn.node(float(level_m[0]), IN_TRENCH, section)
    for step in range(len(run_m)):
        if step > 0:
            drawn.add(_bend(float(turn[step - 1]), float(radius_m[step - 1])), float(at_m[step]))
        drawn.add([(float(true_m[step]), float(slope_deg[step]), 0.0, math.inf)], float(at_m[step + 1]))
        if is_node[step + 1]:
            drawn.node(float(level_m[step + 1]), IN_TRENCH, section)


def _radii_m(scene: Scene, at_m: Array, turn: Array) -> Array:
    """Return the radius of each bend in the trench: the largest that stays near the corner and has room."""
    a = scene.assumptions
    is_bend = turn > _STRAIGHT_DEG
    places_m = np.concatenate([[at_m[0]], at_m[1:-1][is_bend], [at_m[-1]]])
    radius_m = np.full(len(turn), math.inf)
    if np.any(is_bend):
        gap_m = np.diff(places_m)
        radius_m[is_bend] = cut_corner_radius_m(
            turn[is_bend],
            np.minimum(gap_m[:-1], gap_m[1:]) / 2.0,
            off_m=a.trench.corner_cut_m,
            least_m=a.pipe.cold_bend_diameters * a.pipe.trench_outer_diameter_m,
        )
    return radius_m
