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

_HALVINGS = 60


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
        By halving: the height falls as the slope steepens [degrees].
    """
    height = not_negative("the height", height_m)
    low, high = (np.array(v) for v in np.broadcast_arrays(np.asarray(phi_deg, float), 90.0 + 0.0 * height))
    low = np.maximum(low, 1e-9)
    stands = standing_height_m(high, phi_deg, cohesion_kPa, gamma_kN_per_m3) >= height
    low = np.where(stands, high, low)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        holds = standing_height_m(middle, phi_deg, cohesion_kPa, gamma_kN_per_m3) >= height
        low, high = np.where(holds, middle, low), np.where(holds, high, middle)
    return np.asarray(low)
