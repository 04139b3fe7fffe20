"""The three cases in which a drive's fluid presses on the ground, along the whole drive.

Room: ``engineering``. Pure arrays in SI units.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.pressure_window import column_kPa, face_peak_kPa

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from routescreen.engineering.pressure_window import Window

    Array = NDArray[np.float64]

CASES = ("face while advancing", "mud at rest", "grout")


@dataclass(frozen=True, slots=True)
class DriveFluids:
    """Fluids of drives, each of shape (...): one a drive.

    Attributes
    ----------
    slurry_kN_per_m3, grout_kN_per_m3 : array_like
    control_kPa : array_like
        By how much the face pressure may be off [kPa].
    mud_level_m : array_like
        Level to which the mud stands open: the launch's ground [m].
    vent_level_m : array_like
        Level of the grout's vent, see `window_search.vent_range` [m].
    injection_kPa : array_like
        At which grout is injected [kPa].
    """

    slurry_kN_per_m3: ArrayLike
    grout_kN_per_m3: ArrayLike
    control_kPa: ArrayLike
    mud_level_m: ArrayLike
    vent_level_m: ArrayLike
    injection_kPa: ArrayLike


@dataclass(frozen=True, slots=True)
class Governing:
    """Where and when a drive is worst, each of shape (...).

    Attributes
    ----------
    utilisation : ndarray of float64
        The largest; NaN where any point isn't evaluated and no other fails [-].
    point, case : ndarray of int64
        Index along the drive, and of `CASES`; -1 where not evaluated.
    """

    utilisation: Array
    point: NDArray[np.int64]
    case: NDArray[np.int64]


def case_pressures_kPa(
    window: Window, crown_level_m: ArrayLike, diameter_m: ArrayLike, fluids: DriveFluids
) -> Array:
    """Pressure at the crown in each case.

    Parameters
    ----------
    window : Window
        At points along the drives, of shape (..., n_points).
    crown_level_m : array_like of shape (..., n_points)
        [m]
    diameter_m : array_like of shape (...)
        Of the bore [m].
    fluids : DriveFluids

    Returns
    -------
    ndarray of float64, shape (3, ..., n_points)
        In the order of `CASES` [kPa].
    """

    def along(value: ArrayLike) -> Array:
        return np.asarray(value, dtype=np.float64)[..., np.newaxis]

    slurry = along(fluids.slurry_kN_per_m3)
    face = face_peak_kPa(window.face_kPa, along(fluids.control_kPa), slurry, along(diameter_m))
    mud = column_kPa(slurry, along(fluids.mud_level_m), crown_level_m)
    injected = along(fluids.injection_kPa)
    grout = column_kPa(along(fluids.grout_kN_per_m3), along(fluids.vent_level_m), crown_level_m, injected)
    return np.stack(np.broadcast_arrays(face, mud, grout))


def governing_case(utilisation: ArrayLike) -> Governing:
    """Find the worst point and case of each drive.

    Parameters
    ----------
    utilisation : array_like of shape (3, ..., n_points)
        As `Window.utilisation` gives it for `case_pressures_kPa`.

    Returns
    -------
    Governing
        A point that isn't evaluated leaves its drive so too, unless another point fails already.
    """
    used = np.moveaxis(np.asarray(utilisation, dtype=np.float64), 0, -1)
    flat = used.reshape(*used.shape[:-2], -1)
    is_known = ~np.isnan(flat)
    at = np.argmax(np.where(is_known, flat, -np.inf), axis=-1)
    worst = np.take_along_axis(flat, at[..., np.newaxis], axis=-1)[..., 0]
    is_settled = np.all(is_known, axis=-1) | (worst > 1.0)
    point, case = np.divmod(at, used.shape[-1])
    return Governing(
        np.where(is_settled, worst, np.nan),
        np.where(is_settled, point, -1),
        np.where(is_settled, case, -1),
    )
