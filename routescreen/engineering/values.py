"""What every formula does with its arguments: arrays of float64, and a word on impossible ones.

Room: ``engineering``. Imports numpy only. NaN means "not known" and passes through; outside its range
of validity a formula returns NaN, so that a caller can say "not evaluated", never "passed".
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def positive(name: str, value: ArrayLike) -> NDArray[np.float64]:
    """Return a value as an array, all above 0.

    Raises
    ------
    ValueError
        If any value is 0 or below; NaN passes.
    """
    array = np.asarray(value, dtype=np.float64)
    if np.any(array <= 0.0):
        raise ValueError(f"{name} must be above 0")
    return array


def not_negative(name: str, value: ArrayLike) -> NDArray[np.float64]:
    """Return a value as an array, none below 0.

    Raises
    ------
    ValueError
        If any value is below 0; NaN passes.
    """
    array = np.asarray(value, dtype=np.float64)
    if np.any(array < 0.0):
        raise ValueError(f"{name} must be 0 or above")
    return array


def friction_angle_rad(phi_deg: ArrayLike) -> NDArray[np.float64]:
    """Return an angle of friction in radians.

    Raises
    ------
    ValueError
        If any angle is not from 0 to below 90 degrees; NaN passes.
    """
    angle = not_negative("the angle of friction", phi_deg)
    if np.any(angle >= 90.0):
        raise ValueError("the angle of friction must be below 90 degrees")
    return np.asarray(np.radians(angle))


def utilisation(demand: ArrayLike, capacity: ArrayLike) -> NDArray[np.float64]:
    """Demand over capacity; infinite where something is asked of nothing [-].

    Parameters
    ----------
    demand, capacity : array_like
        In one unit; a demand of 0 or below is borne by anything, even by nothing.
    """
    asked, given = np.broadcast_arrays(
        np.asarray(demand, dtype=np.float64), np.asarray(capacity, dtype=np.float64)
    )
    known = np.where(np.isnan(asked + given), np.nan, np.where(asked > 0.0, np.inf, 0.0))
    return np.asarray(np.divide(asked, given, out=known, where=given > 0.0))
