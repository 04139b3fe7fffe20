"""Which places along the cable bear a joint bay: land, room, crossings; what the land there costs.

Room: ``audit``. May use ``assumptions``, numpy, shapely and the audit's own modules.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.cable_way import IN_SHAFT, IN_TRENCH, TERMINAL
from routescreen.audit.shaft_checks import drives_of, is_launch

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.audit.cable_way import JointNodes
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

POINTS_M = 3.0  # the land under bay and pad is looked up so often
_STRAIGHT_COS = 1.0 - 1e-9


@dataclass(frozen=True, slots=True)
class JointSites:
    """What the land says to a joint at each node; every array has shape (n,).

    Attributes
    ----------
    is_free : ndarray of bool
        A bay fits and the land bears it; ends of the link too.
    is_short : ndarray of bool
        In a shaft that would have to be made longer or wider for the bay.
    cover : ndarray of int64
        Class of the ground cover on the alignment.
    weight_eur : ndarray
        Land, damage and reinstatement of bays and pads at the rates of their cover.
    """

    is_free: NDArray[np.bool_]
    is_short: NDArray[np.bool_]
    cover: NDArray[np.int64]
    weight_eur: Array


def joint_sites(scene: Scene, nodes: JointNodes) -> JointSites:
    """Judge every node.

    Parameters
    ----------
    scene : Scene
    nodes : JointNodes

    Returns
    -------
    JointSites
    """
    n = len(nodes.kind)
    xy_m = np.array([scene.route.point_at(at) for at in nodes.chainage_m]).reshape(-1, 2)
    cover = scene.ground.cover_class(xy_m).astype(np.int64)
    is_free, is_short = nodes.kind == TERMINAL, np.zeros(n, dtype=np.bool_)
    for node in np.flatnonzero(nodes.kind == IN_SHAFT):
        is_free[node] = _fits_in_shaft(scene, int(nodes.shaft[node]))
        is_short[node] = not is_free[node]
    weight = np.zeros(n)
    in_trench = np.flatnonzero(nodes.kind == IN_TRENCH).tolist()
    ends_m = _trench_ends_m(nodes)
    straight = [node for node in in_trench if _has_straight_trench(scene, nodes, node, ends_m)]
    if straight:
        piece = np.searchsorted(scene.route.chainage_m, nodes.chainage_m[straight], side="right") - 1
        price = _prices_eur(scene, xy_m[straight], scene.route.direction[piece])
        is_free[straight] = np.isfinite(price)
        weight[straight] = np.where(np.isfinite(price), price, 0.0)
    return JointSites(is_free, is_short, cover, weight)


def shaft_plans_m(scene: Scene, index: int) -> list[tuple[float, float]]:
    """Return inside length and width of a shaft for each of its drives [m]."""
    shaft, plans = scene.plan.shafts[index], []
    for drive in drives_of(shaft):
        geometry = scene.geometry(scene.plan.drives[drive])
        plans.append(geometry.launch_plan_m if is_launch(scene, shaft, drive) else geometry.reception_plan_m)
    return plans


def _fits_in_shaft(scene: Scene, index: int) -> bool:
    """Return whether the plan of a shaft for one of its drives holds a bay for each system, side by side."""
    cable = scene.assumptions.cable
    width_m = cable.joint_bay_width_m * scene.assumptions.link.n_systems
    return any(
        length >= cable.joint_bay_length_m and across >= width_m
        for length, across in shaft_plans_m(scene, index)
    )


def bay_areas(a: Assumptions) -> list[list[tuple[float, float, float]]]:
    """Return the ways to place bays and their crane pads: bays in a row across, pads on either side.

    Parameters
    ----------
    a : Assumptions

    Returns
    -------
    list of list of tuple
        One list a way: the area of the bays first, then that of the pads on each side. Each is a rectangle:
        its middle to the right of the alignment, its length along and its width across [m].

    Notes
    -----
    A pad is as long as the bay or square, whichever is longer; pads on one side lie end to end. Half of
    them lie on each side; the odd one may lie on either.
    """
    cable, n = a.cable, a.link.n_systems
    width_m = (n - 1) * a.link.trench_spacing_m + cable.joint_bay_width_m
    bays = (0.0, cable.joint_bay_length_m, width_m)
    if cable.crane_pad_m2 <= 0.0:
        return [[bays]]
    long_m = max(cable.joint_bay_length_m, math.sqrt(cable.crane_pad_m2))
    deep_m = cable.crane_pad_m2 / long_m
    ways = []
    for on_left in dict.fromkeys((n // 2, n - n // 2)):
        sides = ((-1.0, on_left), (1.0, n - on_left))
        pads = [(side * (width_m + deep_m) / 2.0, count * long_m, deep_m) for side, count in sides if count]
        ways.append([bays, *pads])
    return ways


def _trench_ends_m(nodes: JointNodes) -> dict[int, tuple[float, float]]:
    """Return from where to where the nodes of each section lie that stand in no shaft: from ramp to ramp."""
    is_open = nodes.kind != IN_SHAFT
    section, chainage_m = nodes.section[is_open], nodes.chainage_m[is_open]
    names, at = np.unique(section, return_inverse=True)
    first_m, last_m = np.full(len(names), np.inf), np.full(len(names), -np.inf)
    np.minimum.at(first_m, at, chainage_m)
    np.maximum.at(last_m, at, chainage_m)
    rows = zip(names.tolist(), first_m.tolist(), last_m.tolist(), strict=True)
    return {name: (low, high) for name, low, high in rows}


def _has_straight_trench(
    scene: Scene, nodes: JointNodes, node: int, ends_m: dict[int, tuple[float, float]]
) -> bool:
    """Return whether a bay lies between the ramps in straight trench whose strip isn't narrowed."""
    route, at_m = scene.route, float(nodes.chainage_m[node])
    half_m = scene.assumptions.cable.joint_bay_length_m / 2.0
    # the section's own nodes end where its ramps begin
    first_m, last_m = ends_m[int(nodes.section[node])]
    if at_m - half_m < first_m or at_m + half_m > last_m:
        return False
    first = int(np.searchsorted(route.chainage_m[1:], at_m - half_m + 1e-6, side="right"))
    last = int(np.searchsorted(route.chainage_m[:-1], at_m + half_m - 1e-6, side="left"))
    touched = np.arange(first, last)
    is_straight = route.direction[touched] @ route.direction[touched[0]] >= _STRAIGHT_COS
    return bool(np.all(is_straight) and not np.any(route.is_narrow[touched]))


def _prices_eur(scene: Scene, xy_m: Array, heading: Array) -> Array:
    """Return the least price of the land of bays and pads at places in the trench, inf where none is free.

    They lie inside the corridor and on cover that bears a shaft; the bays on no feature at all, the pads on
    none in which no shaft may stand.
    """
    a, features = scene.assumptions, scene.features
    classes = list(a.cover.values())
    is_barred = np.array([cover.shaft_allowed != "yes" for cover in classes])
    rate = np.array(
        [cover.temporary_land_eur_per_m2.expected + cover.reinstate_eur_per_m2.expected for cover in classes]
    )
    best = np.full(len(xy_m), np.inf)
    for way in bay_areas(a):
        price, is_bad = np.zeros(len(xy_m)), np.zeros(len(xy_m), dtype=np.bool_)
        for number, (right_m, long_m, wide_m) in enumerate(way):
            corners = _placed(xy_m, heading, right_m, _grid(long_m, wide_m, math.inf))
            outline = shapely.polygons(corners[:, [0, 1, 3, 2]])
            if scene.inp.outline is not None:
                shapely.prepare(scene.inp.outline)  # a long corridor has an outline of many corners
                is_bad |= ~shapely.covers(scene.inp.outline, outline)
            place, feature = scene.tree.query(outline, predicate="intersects")
            is_bad[place[(number == 0) | ~features.shaft_ok[feature]]] = True
            points = _placed(xy_m, heading, right_m, _grid(long_m, wide_m, POINTS_M))
            cover = scene.ground.cover_class(points.reshape(-1, 2)).reshape(points.shape[:2])
            is_bad |= np.any(is_barred[cover], axis=1)
            price += long_m * wide_m * np.mean(rate[cover], axis=1)
        best = np.minimum(best, np.where(is_bad, np.inf, price))
    return best


def _grid(long_m: float, wide_m: float, step_m: float) -> Array:
    """Return points of a rectangle about 0 at most a step apart, its corners included: along, across [m]."""
    along, across = (
        np.linspace(-side / 2.0, side / 2.0, max(math.ceil(side / step_m), 1) + 1)
        for side in (long_m, wide_m)
    )
    return np.stack(np.meshgrid(along, across, indexing="ij"), axis=-1).reshape(-1, 2)


def _placed(xy_m: Array, heading: Array, right_m: float, grid: Array) -> Array:
    """Return the points of a grid at each place, shape (places, points, 2)."""
    right = np.column_stack([heading[:, 1], -heading[:, 0]])
    along = grid[:, 0][np.newaxis, :, np.newaxis] * heading[:, np.newaxis, :]
    return np.asarray(
        xy_m[:, np.newaxis, :]
        + along
        + (right_m + grid[:, 1])[np.newaxis, :, np.newaxis] * right[:, np.newaxis, :]
    )
