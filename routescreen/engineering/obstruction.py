"""What a bore can't cut or clear: grains too large, timber, piles, old anchors.

Room: ``engineering``. Pure arrays in SI units.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import not_negative, positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def is_enterable(diameter_m: ArrayLike, least_m: float) -> NDArray[np.bool_]:
    """Whether a person may go to the face to clear it.

    Parameters
    ----------
    diameter_m : array_like
        Nominal inside diameter of the jacked pipe [m].
    least_m : float
        1.2: DN 1200 (common practice, no source) [m].
    """
    return np.asarray(positive("the diameter", diameter_m) >= positive("the least diameter", least_m))


def obstruction_utilisation(
    grain_m: ArrayLike,
    has_obstacles: ArrayLike,
    bore_diameter_m: ArrayLike,
    *,
    grain_share: float,
    enterable_m: float,
) -> NDArray[np.float64]:
    """Largest grain over what the bore can take: above 1 the ground is unsuitable.

    Parameters
    ----------
    grain_m : array_like
        Largest grain or boulder expected; NaN where it isn't known [m].
    has_obstacles : array_like of bool
        Timber, piles or old anchors on the line.
    bore_diameter_m : array_like
        [m]
    grain_share : float
        1/3 of the bore (common practice, no source) [-].
    enterable_m : float
        See `is_enterable` [m].

    Returns
    -------
    ndarray of float64
        0 where the face can be reached from inside, infinite where obstacles are known and it can't,
        NaN where the grain isn't known [-].
    """
    bore = positive("the bore's diameter", bore_diameter_m)
    share = not_negative("the grain", grain_m) / (positive("the share", grain_share) * bore)
    stuck = np.where(np.asarray(has_obstacles, dtype=bool), np.inf, share)
    return np.where(is_enterable(bore, enterable_m), 0.0, stuck)
