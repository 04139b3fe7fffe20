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
from routescreen.audit.shaft_checks import drives_of, is_launch, points_in, rectangle

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
    is_free, is_short = np.zeros(n, dtype=np.bool_), np.zeros(n, dtype=np.bool_)
    weight = np.zeros(n)
    for node in range(n):
        if nodes.kind[node] == TERMINAL:
            is_free[node] = True
        elif nodes.kind[node] == IN_SHAFT:
            is_free[node] = _fits_in_shaft(scene, int(nodes.shaft[node]))
            is_short[node] = not is_free[node]
        elif nodes.kind[node] == IN_TRENCH:
            price = _trench_price_eur(scene, nodes, node)
            is_free[node], weight[node] = math.isfinite(price), price if math.isfinite(price) else 0.0
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


def bay_areas(a: Assumptions, middle_m: Array, direction: Array) -> list[list[shapely.Polygon]]:
    """Return the ways to place bays and their crane pads: bays in a row across, pads on either side.

    Parameters
    ----------
    a : Assumptions
    middle_m : ndarray of shape (2,)
        On the alignment [m].
    direction : ndarray of shape (2,)
        Unit heading of the alignment.

    Returns
    -------
    list of list of Polygon
        One list a way: the area of the bays first, then that of the pads on each side.

    Notes
    -----
    A pad is as long as the bay or square, whichever is longer; pads on one side lie end to end. Half of
    them lie on each side; the odd one may lie on either.
    """
    cable, n = a.cable, a.link.n_systems
    width_m = (n - 1) * a.link.trench_spacing_m + cable.joint_bay_width_m
    bays = rectangle(middle_m, direction, (cable.joint_bay_length_m, width_m))
    if cable.crane_pad_m2 <= 0.0:
        return [[bays]]
    long_m = max(cable.joint_bay_length_m, math.sqrt(cable.crane_pad_m2))
    deep_m = cable.crane_pad_m2 / long_m
    right = np.array([direction[1], -direction[0]])
    ways = []
    for on_left in dict.fromkeys((n // 2, n - n // 2)):
        areas = [bays]
        for side, count in ((-1.0, on_left), (1.0, n - on_left)):
            if count:
                middle = middle_m + side * (width_m + deep_m) / 2.0 * right
                areas.append(rectangle(middle, direction, (count * long_m, deep_m)))
        ways.append(areas)
    return ways


def _trench_price_eur(scene: Scene, nodes: JointNodes, node: int) -> float:
    """Return the least price of the land of bays and pads at a place in the trench, inf if none is free."""
    route, at_m = scene.route, float(nodes.chainage_m[node])
    half_m = scene.assumptions.cable.joint_bay_length_m / 2.0
    # the section's own nodes end where its ramps begin
    trench = nodes.chainage_m[(nodes.section == nodes.section[node]) & (nodes.kind != IN_SHAFT)]
    if at_m - half_m < trench.min() or at_m + half_m > trench.max():
        return math.inf
    touched = np.flatnonzero(
        (route.chainage_m[:-1] < at_m + half_m - 1e-6) & (route.chainage_m[1:] > at_m - half_m + 1e-6)
    )
    heading = route.direction[touched[0]]
    if np.any(route.is_narrow[touched]) or np.any(route.direction[touched] @ heading < _STRAIGHT_COS):
        return math.inf
    ways = bay_areas(scene.assumptions, np.array(route.point_at(at_m)), heading)
    return min(_areas_price_eur(scene, areas) for areas in ways)


def _areas_price_eur(scene: Scene, areas: list[shapely.Polygon]) -> float:
    """Return the price of areas, inf where one lies outside the corridor or on land that bears none.

    The bays lie on no feature at all, the pads on none in which no shaft may stand.
    """
    a, features, total = scene.assumptions, scene.features, 0.0
    classes = list(a.cover.values())
    is_barred = np.array([cover.shaft_allowed != "yes" for cover in classes])
    rate = np.array(
        [cover.temporary_land_eur_per_m2.expected + cover.reinstate_eur_per_m2.expected for cover in classes]
    )
    for number, area in enumerate(areas):
        if scene.inp.outline is not None and not scene.inp.outline.covers(area):
            return math.inf
        met = scene.near(area, 0.0)
        if (number == 0 and len(met)) or not np.all(features.shaft_ok[met]):
            return math.inf
        cover = scene.ground.cover_class(points_in(area, POINTS_M))
        if np.any(is_barred[cover]):
            return math.inf
        total += float(shapely.area(area)) * float(np.mean(rate[cover]))
    return total
