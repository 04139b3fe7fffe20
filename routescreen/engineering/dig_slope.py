"""Height to which the slope of a dig stands, and the steepest slope that stands to a height.

Room: ``engineering``. Pure arrays in SI units. Drained ground above the water, which must be lowered below
the bottom first; no load beside the edge, no tension crack.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import friction_angle_rad, not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

UNDRAINED_FACTOR = 1.4  # on cu; EN 1997-1, table A.4, set M2; from memory
UNDRAINED_NUMBER = (
    5.24  # of slopes up to 60 degrees, circles below their foot included; Taylor 1937, from memory
)
STRENGTH_FACTOR = 1.25  # on tan phi and c; EN 1997-1, table A.4, set M2; from memory


def standing_height_m(
    slope_deg: ArrayLike, phi_deg: ArrayLike, cohesion_kPa: ArrayLike, gamma_kN_per_m3: ArrayLike
) -> Array:
    """Height to which a slope stands, by sliding on a plane through its foot.

    Parameters
    ----------
    slope_deg : array_like
        To the horizontal, above 0 and up to 90 [degrees].
    phi_deg, cohesion_kPa : array_like
        Of the soil, reduced by their partial factors [degrees], [kPa].
    gamma_kN_per_m3 : array_like
        Unit weight [kN/m3].

    Returns
    -------
    ndarray of float64
        (4 c/gamma) sin b cos phi/(1 - cos(b - phi)); infinite where the slope is no steeper than phi [m].

    Notes
    -----
    Good for steep slopes; for flat ones in cohesive ground curved planes slide sooner: it promises too much.

    References
    ----------
    Culmann, 1866 (from memory). b = 90 degrees, phi = 0: 4 c/gamma, the upright cut.
    """
    slope = np.radians(positive("the slope", slope_deg))
    phi, cohesion = friction_angle_rad(phi_deg), not_negative("the cohesion", cohesion_kPa)
    slope, phi, cohesion = np.broadcast_arrays(slope, phi, cohesion)
    weight = positive("the unit weight", gamma_kN_per_m3)
    steeper = np.maximum(slope - phi, 0.0)
    bare = 2.0 * np.sin(steeper / 2.0) ** 2  # 1 - cos, also near 0
    shape = np.divide(np.sin(slope) * np.cos(phi), bare, out=np.full(slope.shape, np.inf), where=bare > 0.0)
    height = 4.0 / weight * np.where(bare > 0.0, cohesion * np.where(bare > 0.0, shape, 0.0), np.inf)
    return np.asarray(height)


def standing_slope_deg(
    height_m: ArrayLike, phi_deg: ArrayLike, cohesion_kPa: ArrayLike, gamma_kN_per_m3: ArrayLike
) -> Array:
    """Steepest slope that stands to a height, at least phi and at most 90 degrees.

    Parameters
    ----------
    height_m : array_like
        [m]
    phi_deg, cohesion_kPa, gamma_kN_per_m3
        See `standing_height_m`.

    Returns
    -------
    ndarray of float64
        The larger root of N cos phi cos b + (N sin phi + cos phi) sin b = N with N = gamma H/(4 c), which is
        `standing_height_m` solved for b: the height falls as the slope steepens [degrees].
    """
    height = not_negative("the height", height_m)
    phi, cohesion = friction_angle_rad(phi_deg), not_negative("the cohesion", cohesion_kPa)
    load = positive("the unit weight", gamma_kN_per_m3) * height
    height, phi, cohesion, load = np.broadcast_arrays(height, phi, cohesion, load)
    holds = cohesion > 0.0
    number = load / np.where(holds, 4.0 * cohesion, 1.0)
    across, up = number * np.cos(phi), number * np.sin(phi) + np.cos(phi)
    angle = np.arctan2(up, across) + np.arccos(np.minimum(number / np.hypot(across, up), 1.0))
    # without cohesion any height stands at phi, and nothing steeper but no height at all
    bare = np.where(height > 0.0, phi, np.pi / 2.0)
    return np.asarray(np.degrees(np.clip(np.where(holds, angle, bare), phi, np.pi / 2.0)))


def proven_slope_deg(
    height_m: ArrayLike, phi_deg: ArrayLike, cohesion_kPa: ArrayLike, gamma_kN_per_m3: ArrayLike
) -> Array:
    """Steepest slope that stands to a height with `STRENGTH_FACTOR` on the soil's strength [degrees].

    Parameters
    ----------
    height_m : array_like
        [m]
    phi_deg, cohesion_kPa, gamma_kN_per_m3
        Of the soil as it is, see `standing_height_m`.
    """
    phi = np.degrees(np.arctan(np.tan(np.radians(phi_deg)) / STRENGTH_FACTOR))
    cohesion = np.asarray(cohesion_kPa, dtype=np.float64) / STRENGTH_FACTOR
    return standing_slope_deg(height_m, phi, cohesion, gamma_kN_per_m3)


def undrained_height_m(cu_kPa: float | None, gamma_kN_per_m3: float) -> float:
    """Height to which a slope of up to 60 degrees stands before cohesive ground drains [m].

    Parameters
    ----------
    cu_kPa : float or None
        Undrained shear strength; None in ground that drains at once [kPa].
    gamma_kN_per_m3 : float
        Unit weight [kN/m3].

    Returns
    -------
    float
        5.24 cu/(1.4 gamma), infinite without cu [m].

    References
    ----------
    D. W. Taylor, Stability of earth slopes, 1937 (from memory).
    """
    if cu_kPa is None:
        return float("inf")
    return UNDRAINED_NUMBER * cu_kPa / (UNDRAINED_FACTOR * gamma_kN_per_m3)
