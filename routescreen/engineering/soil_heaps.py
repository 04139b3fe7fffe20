"""Soil beside a trench: heaps of topsoil, subsoil and parent material, and the strip that they take.

Room: ``engineering``. Pure arrays in SI units; areas of a section count per metre of trench. A heap is a
trapezoid that is as high as it may be, or a triangle while it is lower than that.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.trench import cotangent
from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SoilHeap:
    """Section of a long heap.

    Attributes
    ----------
    height_m, width_m : ndarray of float64
        Height, and width of its foot on the ground [m].
    """

    height_m: Array
    width_m: Array


def soil_heap(loose_m2: ArrayLike, *, most_height_m: ArrayLike, slope_deg: ArrayLike) -> SoilHeap:
    """Height and width of the heap that holds an area of loose soil.

    Parameters
    ----------
    loose_m2 : array_like
        Area of its section, loose [m2].
    most_height_m : array_like
        2.0 for topsoil, 3.0 for subsoil and parent material (DIN 19639, from memory) [m].
    slope_deg : array_like
        Of its sides, below 90 [deg].

    Returns
    -------
    SoilHeap

    Notes
    -----
    Triangle: height sqrt(A tan(beta)), width 2 sqrt(A/tan(beta)). Trapezoid: width A/h + h/tan(beta).
    """
    area, most = not_negative("the soil", loose_m2), positive("the greatest height", most_height_m)
    run = positive("the run of the sides", cotangent(slope_deg))
    height = np.minimum(np.sqrt(area / run), most)
    with np.errstate(invalid="ignore", divide="ignore"):
        width = np.where(area > 0.0, area / height + height * run, area)
    height, width = np.broadcast_arrays(height, width)
    return SoilHeap(height, width)


def heap_cone_m(loose_m3: ArrayLike, slope_deg: ArrayLike) -> tuple[Array, Array]:
    """Height and foot's diameter of a heap tipped from one place, a cone [m].

    Parameters
    ----------
    loose_m3 : array_like
        [m3]
    slope_deg : array_like
        Of its sides, below 90 [deg].

    Notes
    -----
    V = pi/3 r^3 tan(beta).
    """
    run = positive("the run of the sides", cotangent(slope_deg))
    radius = np.cbrt(3.0 * not_negative("the soil", loose_m3) * run / np.pi)
    return np.asarray(radius / run), np.asarray(2.0 * radius)


def cone_m3(height_m: ArrayLike, diameter_m: ArrayLike) -> Array:
    """Volume of a conical heap, pi/12 d^2 h [m3].

    Parameters
    ----------
    height_m, diameter_m : array_like
        Height, and diameter of the foot [m].
    """
    height, diameter = not_negative("the height", height_m), not_negative("the diameter", diameter_m)
    return np.asarray(np.pi / 12.0 * diameter**2 * height)


@dataclass(frozen=True, slots=True)
class StripSoil:
    """Soil dug per metre of trench, in place, in the order in which it is stripped.

    Attributes
    ----------
    topsoil_m : float
        Thickness stripped [m].
    topsoil_share : float
        Part of the working strip that is stripped [-].
    subsoil_m2, parent_m2 : array_like
        Area dug of each, in place [m2].
    bulking : float
        Loose over in place [-].
    """

    topsoil_m: float
    topsoil_share: float
    subsoil_m2: ArrayLike
    parent_m2: ArrayLike
    bulking: float


@dataclass(frozen=True, slots=True)
class WorkingStrip:
    """Working strip beside one band of trenches.

    Attributes
    ----------
    topsoil, subsoil, parent : SoilHeap
        The three heaps.
    width_m : ndarray of float64
        Of the whole strip [m].
    """

    topsoil: SoilHeap
    subsoil: SoilHeap
    parent: SoilHeap
    width_m: Array


def working_strip(
    soil: StripSoil,
    *,
    trench_top_m: ArrayLike,
    edge_strip_m: float,
    road_m: float,
    gap_m: float,
    topsoil_height_m: float,
    subsoil_height_m: float,
    slope_deg: float,
) -> WorkingStrip:
    """Width of the strip that trench, three heaps, haul road and the gaps between them take.

    Parameters
    ----------
    soil : StripSoil
    trench_top_m : array_like
        Width of the trench, or of the band of trenches, at the surface [m].
    edge_strip_m : float
        Kept free on both sides of the trench, 0.60 (DIN 4124) [m].
    road_m, gap_m : float
        Width of the haul road; each gap between heaps, road and edges of the strip, of which there are
        six [m].
    topsoil_height_m, subsoil_height_m, slope_deg : float
        See `soil_heap`; the parent material is heaped like the subsoil.

    Returns
    -------
    WorkingStrip

    Raises
    ------
    ValueError
        If the topsoil stripped is more than its heap can hold per metre of width.

    Notes
    -----
    The heap of topsoil lies on the strip from which it was stripped, so it makes the strip wider and
    itself larger. With A = p (F + W), p soil per metre of width, F all but this heap and c the run of its
    sides: W = (p F/h + h c)/(1 - p/h) as a trapezoid, W = 2 p c + sqrt((2 p c)^2 + 4 p c F) as a
    triangle. Own.
    """
    heaps = [
        soil_heap(
            soil.bulking * not_negative("the soil dug", area),
            most_height_m=subsoil_height_m,
            slope_deg=slope_deg,
        )
        for area in (soil.subsoil_m2, soil.parent_m2)
    ]
    fixed = not_negative("the trench", trench_top_m) + 2.0 * edge_strip_m + road_m + 6.0 * gap_m
    fixed = np.asarray(fixed + heaps[0].width_m + heaps[1].width_m)
    per_m = soil.topsoil_m * soil.topsoil_share * soil.bulking
    width = _topsoil_width_m(fixed, per_m, topsoil_height_m, float(cotangent(slope_deg)))
    topsoil = soil_heap(per_m * (fixed + width), most_height_m=topsoil_height_m, slope_deg=slope_deg)
    return WorkingStrip(topsoil, heaps[0], heaps[1], fixed + width)


def _topsoil_width_m(fixed_m: Array, per_m: float, height_m: float, run: float) -> Array:
    if not 0.0 <= per_m < height_m:
        raise ValueError("the topsoil stripped per metre of width must be from 0 to below its heap's height")
    half = 2.0 * per_m * run
    triangle = half + np.sqrt(half**2 + 2.0 * half * fixed_m)
    trapezoid = (per_m * fixed_m / height_m + height_m * run) / (1.0 - per_m / height_m)
    return np.where(triangle <= 2.0 * height_m * run, triangle, trapezoid)
