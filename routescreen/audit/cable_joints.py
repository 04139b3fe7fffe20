"""The joints of the cable along the whole route: where they lie, what each section between them bears.

Room: ``audit``. The exact pass is that of ``engineering``; numbers come from the assumptions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.cable_pulls import DOWN, EXPECTED, HIGH, UP, pulls_along
from routescreen.audit.cable_way import CableWay, cable_way
from routescreen.audit.joint_sites import JointSites, joint_sites
from routescreen.engineering.cable_pull import DRUM_BRAKE_KN, GRAVITY_M_PER_S2, pull_reach
from routescreen.engineering.drum_sections import JointPlan, place_joints

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.assumptions.works import CableType
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]
    Reach = tuple[NDArray[np.int64], NDArray[np.int64]]

SHORT_SHAFT_EUR = 1e9  # a shaft that would have to be made longer is the last choice among equally few joints
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class SectionPull:
    """What one cable bears on its way between two joints, shape (2, 2): from which end, at which friction.

    `pull_m` and `wall_m` are the chainages at which pull and side wall are largest; `side` is the end at
    which the drum stands, `rule` what uses most of its limit there, at expected friction.
    """

    pull_kN: Array
    wall_kN_per_m: Array
    pull_m: Array
    wall_m: Array
    side: int
    rule: str

    @property
    def governing_m(self) -> float:
        """Chainage at which what rules is largest, at expected friction [m]."""
        at = self.pull_m if self.rule == "pull" else self.wall_m
        return float(at[self.side, EXPECTED])


@dataclass(frozen=True, slots=True)
class Joints:
    """The joints of the link with what lies between them.

    Attributes
    ----------
    way : CableWay
    sites : JointSites
    plan : JointPlan
    friction : int
        `HIGH` if every section can be pulled at high friction as well, `EXPECTED` if only at that.
    n_at_high : int
        Joints that high friction asks for, -1 where none are enough.
    ends : ndarray of int64, shape (n + 1,)
        Nodes of both terminals and the joints between; empty where there is no plan.
    """

    way: CableWay
    sites: JointSites
    plan: JointPlan
    friction: int
    n_at_high: int
    ends: NDArray[np.int64]


def cable_kinds(a: Assumptions) -> list[tuple[CableType, str]]:
    """Return the kinds of cable of the link, each with the suffix of its checks."""
    kinds: list[tuple[CableType, str]] = [(a.cable, "")]
    if a.link.returns_per_system:
        kinds.append((a.cable.metallic_return, "_return"))
    return kinds


def plan_joints(scene: Scene) -> Joints | None:
    """Place the joints: as few as drums and pulls allow, then where the land costs least.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    Joints or None
        None where the level of the ground isn't known all along.

    Notes
    -----
    All cables of a system share its bays, so each section must suit each of them, pulled from the same end.
    Sections hold at expected friction; of equally few the plan that holds at high friction too is taken, else
    one that leaves the reserve at expected friction.
    Shafts that would have to be made longer for a bay are used only where nothing else will do.
    """
    way = cable_way(scene)
    if any(np.isnan(one.slope_deg).any() for one in way.ways):
        return None
    sites = joint_sites(scene, way.nodes)
    reserve = scene.assumptions.cable.pull_reserve_frac
    cases = ((EXPECTED, 0.0), (HIGH, 0.0), (EXPECTED, reserve))
    reaches = [_reach(scene.assumptions, way, friction, spare) for friction, spare in cases]
    for usable in (sites.is_free, sites.is_free | sites.is_short):
        plans = [_placed(scene.assumptions, way, sites, usable, reach) for reach in reaches]
        expected, high, spared = plans
        if expected.is_feasible:
            break
    holds, spares = (plan.is_feasible and len(plan.nodes) == len(expected.nodes) for plan in (high, spared))
    plan = high if holds else spared if spares else expected
    n_at_high = len(high.nodes) if high.is_feasible else -1
    last = len(way.nodes.kind) - 1
    ends = np.array([0, *plan.nodes, last] if plan.is_feasible else [], dtype=np.int64)
    return Joints(way, sites, plan, HIGH if holds else EXPECTED, n_at_high, ends)


def longest_section_m(a: Assumptions) -> float:
    """Return what the drums of all kinds of cable carry [m]."""
    return min(cable.section_length_m for cable, _ in cable_kinds(a))


def _placed(
    a: Assumptions, way: CableWay, sites: JointSites, usable: NDArray[np.bool_], reach: Reach
) -> JointPlan:
    """Place joints at the usable nodes; their numbers are those of all nodes."""
    at = np.flatnonzero(usable)
    # a node reached or started from is numbered among those that are usable
    forward = np.searchsorted(at, reach[0][at], side="right") - 1
    backward = np.searchsorted(at, reach[1][at], side="left")
    weight = sites.weight_eur + np.where(sites.is_short, SHORT_SHAFT_EUR, 0.0)
    found = place_joints(
        way.nodes.cable_m[at],
        weight[at],
        most_m=longest_section_m(a),
        forward_reach=forward,
        backward_reach=backward,
    )
    return JointPlan(
        is_feasible=found.is_feasible,
        nodes=at[found.nodes],
        chainage_m=way.nodes.chainage_m[at[found.nodes]],
        section_m=found.section_m,
        cost=found.cost,
        farthest_m=float(np.interp(found.farthest_m, way.nodes.cable_m, way.nodes.chainage_m)),
    )


def _reach(a: Assumptions, way: CableWay, friction: int, reserve_frac: float) -> Reach:
    """Return the last node to which all cables can be pulled from each, and the first back to it.

    Which cable lies where isn't set, so every kind must be pulled along every way.
    """
    n = len(way.nodes.kind)
    forward, backward = np.full(n, n - 1), np.zeros(n, dtype=np.int64)
    at, n_segments = way.nodes.segment, len(way.chainage_m) - 1
    for (cable, _), parts in product(cable_kinds(a), way.ways):
        mu = (cable.pipe_friction.expected, cable.pipe_friction.high)[friction]
        ahead, back = (
            pull_reach(
                parts.length_m[::step],
                step * parts.slope_deg[::step],
                parts.bend_deg[::step],
                parts.radius_m[::step],
                weight_kN_per_m=cable.mass_kg_per_m.expected * GRAVITY_M_PER_S2 / 1000.0,
                friction=mu,
                back_tension_kN=DRUM_BRAKE_KN,
                limit_kN=cable.eye_limit_kN / (1.0 + reserve_frac),
                side_wall_limit_kN_per_m=cable.side_wall_kN_per_m / (1.0 + reserve_frac),
            )
            for step in (1, -1)
        )
        forward = np.minimum(forward, np.searchsorted(at, ahead[at], side="right") - 1)
        first = n_segments - back[n_segments - at]
        backward = np.maximum(backward, np.searchsorted(at, first, side="left"))
    return forward, backward


def section_pull(joints: Joints, number: int, cable: CableType, side: int | None = None) -> SectionPull:
    """Work out what a cable bears between two joints.

    Parameters
    ----------
    joints : Joints
    number : int
        Of the section, from 0.
    cable : CableType
    side : int, optional
        End at which the drum stands; else the one that uses less of the limits at expected friction.

    Returns
    -------
    SectionPull
    """
    first, last = joints.ends[number], joints.ends[number + 1]
    ways, nodes = joints.way.between(first, last), joints.way.nodes
    begin, end = int(nodes.segment[first]), int(nodes.segment[last])
    starts_m, ends_m = joints.way.chainage_m[begin:end], joints.way.chainage_m[begin + 1 : end + 1]
    leaves_m = np.stack([ends_m, starts_m])  # where the cable leaves each segment, by the drum's end
    along = [pulls_along(way, cable) for way in ways]
    # of each segment the cable that bears most
    pulls, walls = (np.max([each[part] for each in along], axis=0) for part in (0, 1))
    pull, wall = pulls.max(axis=-1), walls.max(axis=-1)
    used = np.maximum(pull / cable.eye_limit_kN, wall / cable.side_wall_kN_per_m)[:, EXPECTED]
    if side is None:
        side = UP if used[UP] <= used[DOWN] else DOWN
    is_pull = pull[side, EXPECTED] / cable.eye_limit_kN >= wall[side, EXPECTED] / cable.side_wall_kN_per_m
    at_pull, at_wall = (
        np.take_along_axis(leaves_m[:, np.newaxis, :], np.argmax(part, axis=-1)[..., np.newaxis], axis=-1)
        for part in (pulls, walls)
    )
    rule = "pull" if is_pull else "side_wall"
    return SectionPull(pull, wall, at_pull[..., 0], at_wall[..., 0], side, rule)


def common_side(joints: Joints, number: int, a: Assumptions) -> int:
    """Return the end at which the drums of a section stand: all cables come from the same.

    That one at which the cable that uses most of its limits at expected friction uses least.
    """
    worst = np.zeros(2)
    for cable, _ in cable_kinds(a):
        found = section_pull(joints, number, cable)
        used = np.maximum(found.pull_kN / cable.eye_limit_kN, found.wall_kN_per_m / cable.side_wall_kN_per_m)
        worst = np.maximum(worst, used[:, EXPECTED])
    return UP if worst[UP] <= worst[DOWN] else DOWN


def drum_mass_t(cable: CableType, length_m: float) -> float:
    """Return the mass of a full drum at the cable's expected mass [t]."""
    return cable.drum_empty_t + cable.mass_kg_per_m.expected * length_m / 1000.0


def exceeds_at_high(found: SectionPull, cable: CableType) -> bool:
    """Return whether a section bears more than it may at high friction."""
    pull, wall = found.pull_kN[found.side, HIGH], found.wall_kN_per_m[found.side, HIGH]
    return bool(pull > cable.eye_limit_kN or wall > cable.side_wall_kN_per_m or math.isnan(pull))


def is_amber(found: SectionPull, cable: CableType, reserve_frac: float) -> bool:
    """Return whether a section that holds at expected friction doesn't at high, or has too little reserve."""
    pull, wall = found.pull_kN[found.side, EXPECTED], found.wall_kN_per_m[found.side, EXPECTED]
    used = max(pull / cable.eye_limit_kN, wall / cable.side_wall_kN_per_m)
    return bool(used * (1.0 + reserve_frac) > 1.0 + _ROUNDING) or exceeds_at_high(found, cable)
