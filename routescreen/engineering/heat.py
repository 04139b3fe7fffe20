"""Thermal resistances of a buried cable: its layers, what fills the pipe, the pipe, the ground, neighbours.

Room: ``engineering``. Pure arrays in SI units; imports numpy only. Outside its range of validity a
function returns NaN: not evaluated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True, slots=True)
class FluidFill:
    """Constants U, V, Y of the resistance between a cable and the inside of an air-filled pipe.

    Parameters
    ----------
    u, v, y : float
        U [K m/W], V [-] and Y [1/K].

    References
    ----------
    IEC 60287-2-1, table of constants for ducts (from memory).
    """

    u: float
    v: float
    y: float


METALLIC_PIPE = FluidFill(5.2, 1.4, 0.011)  # IEC 60287-2-1 (from memory)
PLASTIC_PIPE = FluidFill(1.87, 0.312, 0.0037)  # IEC 60287-2-1 (from memory)
EARTHENWARE_PIPE = FluidFill(1.87, 0.28, 0.0036)  # IEC 60287-2-1 (from memory)


def conductor_ohm_per_m(
    ohm_per_m_at_20: ArrayLike, per_K_at_20: ArrayLike, conductor_degC: ArrayLike
) -> NDArray[np.float64]:
    """DC resistance of a conductor at its temperature.

    Parameters
    ----------
    ohm_per_m_at_20, per_K_at_20 : array_like
        Resistance [ohm/m] and its temperature coefficient [1/K], both at 20 degC.
    conductor_degC : array_like
        Temperature of the conductor [degC].

    Returns
    -------
    ndarray of float64
        R20 (1 + alpha (T - 20)) [ohm/m].

    References
    ----------
    IEC 60287-1-1, DC resistance of the conductor.

    Examples
    --------
    >>> conductor_ohm_per_m(7.2e-6, 0.00393, 70.0).round(10)
    np.float64(8.6148e-06)
    """
    warmer = np.asarray(conductor_degC, dtype=np.float64) - 20.0
    return np.asarray(
        np.asarray(ohm_per_m_at_20, dtype=np.float64) * (1.0 + np.asarray(per_K_at_20) * warmer),
        dtype=np.float64,
    )


def layer_K_m_per_W(
    inner_diameter_m: ArrayLike, outer_diameter_m: ArrayLike, rho_K_m_per_W: ArrayLike
) -> NDArray[np.float64]:
    """Thermal resistance of a concentric layer: insulation, jacket, grout, pipe wall, ring of grout.

    Parameters
    ----------
    inner_diameter_m, outer_diameter_m : array_like
        Diameters of the layer [m].
    rho_K_m_per_W : array_like
        Its thermal resistivity [K m/W].

    Returns
    -------
    ndarray of float64
        rho / (2 pi) ln(outer / inner) [K m/W]; NaN where the outer diameter is less than the inner.

    Notes
    -----
    A cable that lies on the bottom of a filled pipe has a little less: the concentric form is on the
    safe side.

    References
    ----------
    IEC 60287-2-1, T1 and T3 of single-core cables; Fourier's law.
    """
    inner, outer = np.broadcast_arrays(
        np.asarray(inner_diameter_m, dtype=np.float64), np.asarray(outer_diameter_m, dtype=np.float64)
    )
    is_valid = (inner > 0.0) & (outer >= inner)
    ratio = np.divide(outer, inner, out=np.full(inner.shape, np.nan), where=is_valid)
    return np.asarray(np.asarray(rho_K_m_per_W, dtype=np.float64) / (2.0 * math.pi) * np.log(ratio))


def fluid_fill_K_m_per_W(
    cable_diameter_m: ArrayLike, mean_degC: ArrayLike, fill: FluidFill
) -> NDArray[np.float64]:
    """Thermal resistance between a cable and the inside of a pipe filled with air.

    Parameters
    ----------
    cable_diameter_m : array_like
        Outer diameter De of the cable [m].
    mean_degC : array_like
        Mean temperature of the air between cable and pipe [degC].
    fill : FluidFill
        Constants of the pipe's material.

    Returns
    -------
    ndarray of float64
        U / (1 + 0.1 (V + Y theta_m) De), De in millimetres [K m/W].

    Notes
    -----
    An empirical form, bound to its units. Range: De of 25 to 100 mm in its source; up to 250 mm it is
    used here as its only form (common practice, no source), beyond and below it is NaN.

    References
    ----------
    IEC 60287-2-1, thermal resistance between cable and duct (from memory).
    """
    diameter = np.asarray(cable_diameter_m, dtype=np.float64)
    is_valid = (diameter >= 0.025) & (diameter <= 0.25)
    by_temperature = fill.v + fill.y * np.asarray(mean_degC, dtype=np.float64)
    return np.where(is_valid, fill.u / (1.0 + 0.1 * by_temperature * 1000.0 * diameter), np.nan)


def own_ground_log(depth_m: ArrayLike, outer_diameter_m: ArrayLike) -> NDArray[np.float64]:
    """Logarithm ln(u + sqrt(u^2 - 1)) of the own ground, u = 2 L / De.

    Parameters
    ----------
    depth_m : array_like
        Depth L of the axis below the ground's surface, which counts as isothermal [m].
    outer_diameter_m : array_like
        Diameter De of what lies in the ground: cable, pipe or bore [m].

    Returns
    -------
    ndarray of float64
        Times rho / (2 pi) it is the thermal resistance; NaN where L < De / 2 [-].

    References
    ----------
    IEC 60287-2-1, single isolated buried cable; Kennelly, 1893 (images).
    """
    depth, diameter = np.broadcast_arrays(
        np.asarray(depth_m, dtype=np.float64), np.asarray(outer_diameter_m, dtype=np.float64)
    )
    is_valid = (diameter > 0.0) & (depth >= diameter / 2.0)
    ratio = np.divide(2.0 * depth, diameter, out=np.full(depth.shape, np.nan), where=is_valid)
    return np.asarray(np.arccosh(ratio))


def image_log(
    depth_m: ArrayLike, offset_m: ArrayLike, source_depth_m: ArrayLike, source_offset_m: ArrayLike
) -> NDArray[np.float64]:
    """Logarithm ln(d'/d) of the distances from a line source's image and from the source itself.

    Parameters
    ----------
    depth_m, offset_m : array_like
        Points that are heated: depth, and place across the line [m].
    source_depth_m, source_offset_m : array_like
        Line sources, parallel to the surface [m].

    Returns
    -------
    ndarray of float64
        Times rho / (2 pi) and the source's heat it is the rise; 0 at the surface, NaN above it and on a
        source [-].

    References
    ----------
    IEC 60287-2-1, groups of buried cables; Kennelly, 1893 (images).
    """
    depth, source = np.asarray(depth_m, dtype=np.float64), np.asarray(source_depth_m, dtype=np.float64)
    across = np.asarray(offset_m, dtype=np.float64) - np.asarray(source_offset_m, dtype=np.float64)
    far = across**2 + (depth + source) ** 2
    near = across**2 + (depth - source) ** 2
    is_valid = (near > 0.0) & (depth >= 0.0) & (source > 0.0)
    ratio = np.divide(far, near, out=np.full(far.shape, np.nan), where=is_valid)
    return np.asarray(0.5 * np.log(ratio))


def group_log(depth_m: ArrayLike, offset_m: ArrayLike, outer_diameter_m: float) -> NDArray[np.float64]:
    """Logarithms of a group: of each cable's own ground, and of what each other cable adds.

    Parameters
    ----------
    depth_m, offset_m : array_like of shape (..., n)
        Axes of the n cables, pipes or bores [m].
    outer_diameter_m : float
        Diameter De of what lies in the ground [m].

    Returns
    -------
    ndarray of float64, shape (..., n, n)
        In row i what heats cable i. NaN in both rows of two that overlap [-].

    See Also
    --------
    own_ground_log, image_log
    """
    depth, offset = np.broadcast_arrays(
        np.asarray(depth_m, dtype=np.float64), np.asarray(offset_m, dtype=np.float64)
    )
    rows, columns = (..., slice(None), np.newaxis), (..., np.newaxis, slice(None))
    logs = image_log(depth[rows], offset[rows], depth[columns], offset[columns])
    apart = np.hypot(offset[rows] - offset[columns], depth[rows] - depth[columns])
    # Rounding of offsets must not make touching cables overlap.
    logs = np.where(apart < outer_diameter_m * (1.0 - 1e-9), np.nan, logs)
    diagonal = np.arange(depth.shape[-1])
    logs[..., diagonal, diagonal] = own_ground_log(depth, outer_diameter_m)
    return logs


def backfill_log(centre_depth_m: ArrayLike, width_m: ArrayLike, height_m: ArrayLike) -> NDArray[np.float64]:
    """Logarithm of the ground outside a rectangle of backfill, bedding or concrete.

    Parameters
    ----------
    centre_depth_m, width_m, height_m : array_like
        Depth of the rectangle's centre, its sides [m].

    Returns
    -------
    ndarray of float64
        ln(u + sqrt(u^2 - 1)), u = L_G / r_b [-]; NaN where the longer side is three times the shorter or
        more, or where the rectangle reaches the surface.

    Notes
    -----
    The rectangle as a circle of radius r_b: ln r_b = x / (2 y) (4 / pi - x / y) ln(1 + y^2 / x^2)
    + ln(x / 2), x the shorter side. N cables in it meet N (rho_e - rho_c) / (2 pi) times this logarithm
    more than if the backfill were everywhere.

    References
    ----------
    IEC 60287-2-1, cables in banks and in backfill (from memory).
    """
    depth, width, height = np.broadcast_arrays(
        np.asarray(centre_depth_m, dtype=np.float64),
        np.asarray(width_m, dtype=np.float64),
        np.asarray(height_m, dtype=np.float64),
    )
    short, long = np.minimum(width, height), np.maximum(width, height)
    is_valid = (short > 0.0) & (long < 3.0 * short) & (depth >= height / 2.0)
    aspect = np.divide(short, long, out=np.full(depth.shape, np.nan), where=is_valid)
    radius = np.exp(0.5 * aspect * (4.0 / math.pi - aspect) * np.log1p(1.0 / aspect**2)) * short / 2.0
    return own_ground_log(depth, 2.0 * radius)
