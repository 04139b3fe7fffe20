"""Eyes: where bores leave and enter a shaft, and the treated ground that keeps water out meanwhile.

Room: ``engineering``. Pure arrays in SI units.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


def is_eye_wet(water_level_m: ArrayLike, invert_level_m: ArrayLike) -> NDArray[np.bool_]:
    """Whether the water stands above the bore's invert, so that the eye needs a seal or a treated block.

    Parameters
    ----------
    water_level_m, invert_level_m : array_like
        Highest groundwater; NaN where it isn't known, which counts as wet [m].
    """
    water = np.asarray(water_level_m, dtype=np.float64)
    return np.asarray(~(water <= np.asarray(invert_level_m, dtype=np.float64)))


def treated_length_m(
    bore_diameter_m: ArrayLike, is_wet: ArrayLike, *, least_m: float, diameters: float
) -> Array:
    """Length of treated ground along the bore outside the wall [m]; 0 at a dry eye.

    Parameters
    ----------
    bore_diameter_m : array_like
        [m]
    is_wet : array_like of bool
        See `is_eye_wet`.
    least_m, diameters : float
        3.0 m and 3 bore diameters (common practice, no source) [m], [-].
    """
    needed = np.maximum(least_m, diameters * positive("the bore's diameter", bore_diameter_m))
    return np.where(np.asarray(is_wet, dtype=bool), needed, 0.0)


def treated_block_m3(
    length_m: ArrayLike,
    bore_diameter_m: ArrayLike,
    *,
    n_bores: ArrayLike,
    spacing_m: ArrayLike,
    margin_m: ArrayLike,
) -> Array:
    """Ground to be treated at one end of a drive: one block, or one a bore where they don't meet [m3].

    Parameters
    ----------
    length_m : array_like
        See `treated_length_m` [m].
    bore_diameter_m, spacing_m : array_like
        Diameter of the bores, distance between their axes [m].
    n_bores : array_like
        [-]
    margin_m : array_like
        Of treated ground round a bore, e.g. 1.0 (common practice, no source) [m].

    Notes
    -----
    L (D + 2 m) b, with b = min((n - 1) s + D + 2 m, n (D + 2 m)).
    """
    side = positive("the bore's diameter", bore_diameter_m) + 2.0 * not_negative("the margin", margin_m)
    bores = not_negative("the number of bores", n_bores)
    joined = np.maximum(bores - 1.0, 0.0) * not_negative("the distance", spacing_m) + side
    return np.asarray(not_negative("the length", length_m) * side * np.minimum(joined, bores * side))
