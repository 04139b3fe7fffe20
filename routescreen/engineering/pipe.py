"""Solid-wall plastic pipe: wall, mass, safe pull; annulus and bore volumes.

Room: ``engineering``. Pure arrays in SI units; imports numpy only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def wall_m(outer_diameter_m: ArrayLike, sdr: ArrayLike) -> NDArray[np.float64]:
    """Wall thickness, outer diameter / SDR [m]."""
    return np.asarray(outer_diameter_m, dtype=np.float64) / np.asarray(sdr, dtype=np.float64)


def wall_area_m2(outer_diameter_m: ArrayLike, sdr: ArrayLike) -> NDArray[np.float64]:
    """Area of the wall in cross-section, pi OD^2 (1/SDR - 1/SDR^2) [m2]."""
    outer = np.asarray(outer_diameter_m, dtype=np.float64)
    ratio = np.asarray(sdr, dtype=np.float64)
    return np.asarray(np.pi * outer**2 * (1.0 / ratio - 1.0 / ratio**2))


def mass_kg_per_m(
    outer_diameter_m: ArrayLike, sdr: ArrayLike, density_kg_per_m3: ArrayLike
) -> NDArray[np.float64]:
    """Mass of the pipe [kg/m]."""
    return np.asarray(wall_area_m2(outer_diameter_m, sdr) * np.asarray(density_kg_per_m3, dtype=np.float64))


def safe_pull_kN(outer_diameter_m: ArrayLike, sdr: ArrayLike, stress_MPa: ArrayLike) -> NDArray[np.float64]:
    """Safe pull of the pipe at an allowable tensile stress [kN].

    Parameters
    ----------
    outer_diameter_m : array_like
        Outer diameter [m].
    sdr : array_like
        Outer diameter / wall thickness [-].
    stress_MPa : array_like
        Allowable tensile stress for the duration of the pull [MPa].

    Returns
    -------
    ndarray of float64
        s pi OD^2 (1/SDR - 1/SDR^2) [kN].
    """
    return np.asarray(wall_area_m2(outer_diameter_m, sdr) * np.asarray(stress_MPa, dtype=np.float64) * 1000.0)


def circle_m2(diameter_m: ArrayLike) -> NDArray[np.float64]:
    """Area of a circle [m2]."""
    return np.asarray(np.pi / 4.0 * np.asarray(diameter_m, dtype=np.float64) ** 2)


def annulus_m2(bore_diameter_m: ArrayLike, outer_diameter_m: ArrayLike) -> NDArray[np.float64]:
    """Area between the bore and the pipe in it [m2]."""
    return circle_m2(bore_diameter_m) - circle_m2(outer_diameter_m)
