"""Where a compound may lie beside its shaft, and the land that bears none.

Room: ``corridor``. Pure geometry. One set of places serves the search's mask, which sweeps them over a class
of headings, and the finished plan, which takes them at the true heading of the drive: each place at a true
heading lies within the place swept over any class that holds it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.drives.methods import enabled_methods, method_geometry

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd
    from numpy.typing import NDArray
    from shapely import Polygon

    from routescreen.assumptions import Assumptions
    from routescreen.assumptions.catalogue import Method
    from routescreen.corridor.ground import GroundSampler
    from routescreen.corridor.treatment import Crossings

_TURNS_DEG = (0.0, 7.5, -7.5, 15.0, -15.0, 22.5, -22.5, 30.0, -30.0, 37.5, -37.5, 45.0)  # against the axis
_SIDES_DEG = (90.0, -90.0, 0.0, 180.0)  # right and left of it, ahead and behind
_SHARES = (0.0, -0.5, 0.5, -1.0, 1.0)  # how far slid along the shaft, in halves of the compound's side
_ALIGNED_RAD = 1e-9  # a side this near to square touches the shaft's whole edge


@dataclass(frozen=True, slots=True)
class Contact:
    """Where a shaft's plan ends towards one side, at all of a range of headings.

    `reach_m` is how far its outermost corner lies out, `corner_m` how far to the right looking out: least and
    most [m].
    """

    reach_m: tuple[float, float]
    corner_m: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Place:
    """One place of a compound: the side it lies on, its size seen from the shaft, and how far it is slid.

    `out_rad` is the direction to that side, against the axis to the right [rad]; `deep_m` counts away from
    the shaft, `wide_m` along it [m]; `share` is the slide to the right in halves of `wide_m`.
    """

    out_rad: float
    deep_m: float
    wide_m: float
    share: float


def places(size_m: tuple[float, float]) -> tuple[Place, ...]:
    """Return all places that are tried for a compound, those of one side one after the other.

    Parameters
    ----------
    size_m : tuple of float
        Longer and shorter side [m].
    """
    return tuple(
        Place(math.radians(turn + side), deep, wide, share)
        for turn in _TURNS_DEG
        for side in _SIDES_DEG
        for share in _SHARES
        for deep, wide in (size_m[::-1], size_m)
    )


def contact(plan_m: tuple[float, float], from_rad: float, to_rad: float) -> Contact:
    """Return how a shaft's plan ends towards a side, over a range of angles between its length and the side.

    Towards the angle p the corner (a, b) of the quadrant lies a cos p + b sin p out; how far it lies to the
    right is the derivative of that, which falls within each quadrant and jumps between them.

    Parameters
    ----------
    plan_m : tuple of float
        Inside length along the drive and width across it [m].
    from_rad, to_rad : float
        Angle from the shaft's length to the side, to the right; `from_rad` <= `to_rad` [rad].
    """
    half_length, half_width = 0.5 * plan_m[0], 0.5 * plan_m[1]
    quarter = 0.5 * math.pi
    reach_m, corner_m = [], []
    first = math.floor((from_rad - _ALIGNED_RAD) / quarter)
    last = math.floor((to_rad + _ALIGNED_RAD) / quarter)
    for quadrant in range(first, last + 1):
        along, across = (half_length, half_width) if quadrant % 2 == 0 else (half_width, half_length)
        low, high = (min(max(p - quadrant * quarter, 0.0), quarter) for p in (from_rad, to_rad))
        peak = min(max(math.atan2(across, along), low), high)
        reach_m += [along * math.cos(p) + across * math.sin(p) for p in (low, peak, high)]
        corner_m += [across * math.cos(p) - along * math.sin(p) for p in (low, high)]
    return Contact((min(reach_m), max(reach_m)), (min(corner_m), max(corner_m)))


def swept_m(place: Place, touched: Contact) -> tuple[float, float, float, float]:
    """Return the rectangle that a place covers at all headings of a contact.

    Returns
    -------
    tuple of float
        Least and most distance out, least and most to the right looking out [m].
    """
    near_m, far_m, left_m, right_m = all_swept_m([place], [touched])[0].tolist()
    return near_m, far_m, left_m, right_m


def all_swept_m(tried: Sequence[Place], touched: Sequence[Contact]) -> NDArray[np.float64]:
    """Return `swept_m` of many places, each at a contact of its own, shape (n, 4) [m]."""
    deep_m, wide_m, share = np.array([(place.deep_m, place.wide_m, place.share) for place in tried]).T
    reach_m, corner_m = (
        np.array([getattr(one, name) for one in touched]).T for name in ("reach_m", "corner_m")
    )
    half_m = 0.5 * wide_m
    low_m, high_m = (np.minimum(np.maximum(share * half_m, c - half_m), c + half_m) for c in corner_m)
    return np.stack([reach_m[0], reach_m[1] + deep_m, low_m - half_m, high_m + half_m], axis=1)


def compound_outlines(
    middle_m: NDArray[np.float64],
    axis: NDArray[np.float64],
    heading_rad: float,
    plan_m: tuple[float, float],
    size_m: tuple[float, float],
) -> list[Polygon]:
    """Return all places of a compound at a shaft whose drive has a known heading.

    Parameters
    ----------
    middle_m : ndarray of shape (2,)
        Middle of the shaft [m].
    axis : ndarray of shape (2,)
        Unit vector of the axis there.
    heading_rad : float
        Of the drive against the axis, to the right [rad].
    plan_m, size_m : tuple of float
        Inside length and width of the shaft; longer and shorter side of the compound [m].
    """
    right = np.array([axis[1], -axis[0]])
    outlines = []
    for place in places(size_m):
        turn = place.out_rad - heading_rad
        touched = contact(plan_m, turn, turn)
        near_m, far_m, *_ = swept_m(place, touched)
        half_m = 0.5 * place.wide_m
        low_m, high_m = touched.corner_m
        slid_m = min(max(place.share * half_m, low_m - half_m), high_m + half_m)
        out = math.cos(place.out_rad) * axis + math.sin(place.out_rad) * right
        side = -math.sin(place.out_rad) * axis + math.cos(place.out_rad) * right
        left_m, right_m = slid_m - half_m, slid_m + half_m
        corners = ((near_m, left_m), (far_m, left_m), (far_m, right_m), (near_m, right_m))
        outlines.append(shapely.Polygon([middle_m + x * out + y * side for x, y in corners]))
    return outlines


def compound_size_m(method: Method, *, is_launch: bool) -> tuple[float, float]:
    """Return longer and shorter side of the compound that a method asks for at one end of its drive [m]."""
    if is_launch:
        sides = method.launch_compound_length_m, method.launch_compound_width_m
    else:
        sides = method.reception_compound_length_m, method.reception_compound_width_m
    return max(sides), min(sides)


def compound_reach_m(assumptions: Assumptions) -> float:
    """Return how far from the middle of its shaft any compound of an enabled method may reach [m]."""
    farthest_m = 0.0
    for name in enabled_methods(assumptions):
        geometry = method_geometry(assumptions, name)
        for is_launch, plan_m in ((True, geometry.launch_plan_m), (False, geometry.reception_plan_m)):
            corner_m = 0.5 * math.hypot(*plan_m)
            long_m, short_m = compound_size_m(assumptions.methods[name], is_launch=is_launch)
            for deep_m, wide_m in ((long_m, short_m), (short_m, long_m)):
                farthest_m = max(farthest_m, math.hypot(corner_m + deep_m, max(wide_m, corner_m)))
    return farthest_m


def closed_outlines(crossings: Crossings) -> NDArray[np.object_]:
    """Return the outlines of the features whose crossing bears no shaft; consent counts as no."""
    is_closed = np.array([allowed != "yes" for allowed in crossings.shaft_allowed], dtype=np.bool_)
    features = crossings.features
    return np.asarray(features.outline[is_closed[features.crossing]], dtype=object)


def barred_cover(sampler: GroundSampler, assumptions: Assumptions) -> NDArray[np.object_]:
    """Return boxes of the ground cover whose class says that it bears no compound; consent counts as yes."""
    is_barred = [cover.compound_allowed == "no" for cover in assumptions.cover.values()]
    return sampler.cover_boxes(np.array(is_barred, dtype=np.bool_))


def refused_ground(pins: gpd.GeoDataFrame) -> tuple[Polygon, ...]:
    """Return the circles in which a planner wants no shaft.

    Parameters
    ----------
    pins : GeoDataFrame
        Layer ``pins`` with `role` and `radius_m`; without a radius a pin takes no ground.
    """
    chosen = pins[(pins["role"] == "no_shaft").to_numpy(dtype=np.bool_)]
    radius_m = chosen["radius_m"].to_numpy(dtype=np.float64, na_value=0.0)
    return tuple(point.buffer(radius) for point, radius in zip(chosen.geometry, radius_m, strict=True))
