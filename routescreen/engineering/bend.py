"""Bending of pipes: stress of a radius and the radius of a stress.

Room: ``engineering``. Pure arrays in SI units; imports numpy only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def bend_stress_MPa(
    e_MPa: ArrayLike, outer_diameter_m: ArrayLike, radius_m: ArrayLike
) -> NDArray[np.float64]:
    """Stress at the outside of a bent pipe, E D / (2 R) [MPa].

    Parameters
    ----------
    e_MPa : array_like
        Modulus of elasticity [MPa].
    outer_diameter_m : array_like
    radius_m : array_like
        Of the pipe's axis [m].
    """
    e, diameter = np.asarray(e_MPa, dtype=np.float64), np.asarray(outer_diameter_m, dtype=np.float64)
    return np.asarray(e * diameter / (2.0 * np.asarray(radius_m, dtype=np.float64)))
