"""What keeps a pressure window open: the height of the grout's vent, the least cover.

Room: ``engineering``. Pure arrays in SI units.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.pressure_window import face_peak_kPa, pressure_window
from routescreen.engineering.values import positive

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray

    from routescreen.engineering.pressure_window import WindowFactors, WindowGround

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class VentRange:
    """Levels between which the grout's vent keeps every point of a drive in its window.

    Attributes
    ----------
    lowest_m, highest_m : ndarray of float64
        NaN where the window of any point is not evaluated [m].
    """

    lowest_m: Array
    highest_m: Array

    @property
    def is_open(self) -> NDArray[np.bool_]:
        """Whether any level does; False where not evaluated."""
        return np.asarray(self.lowest_m <= self.highest_m)


def vent_range(
    crown_level_m: ArrayLike,
    least_kPa: ArrayLike,
    limit_kPa: ArrayLike,
    grout_kN_per_m3: ArrayLike,
    injection_kPa: ArrayLike,
) -> VentRange:
    """Levels of the grout's vent at which a drive's grout stays in its window.

    Parameters
    ----------
    crown_level_m, least_kPa, limit_kPa : array_like of shape (..., n_points)
        Level of the crown along the drive [m], and the pressures between which the grout must lie
        there [kPa].
    grout_kN_per_m3, injection_kPa : array_like of shape (...)
        One of each a drive [kN/m3], [kPa].

    Returns
    -------
    VentRange
        Of shape (...).

    Notes
    -----
    least <= gamma (z_vent - z) + p_inj <= limit at every point, solved for z_vent. A column of grout
    can't pull: a highest level below the highest crown means that the injection must fall first.
    """
    level = np.asarray(crown_level_m, dtype=np.float64)
    weight = positive("the grout's unit weight", grout_kN_per_m3)[..., np.newaxis]
    injected = np.asarray(injection_kPa, dtype=np.float64)[..., np.newaxis]
    lowest = np.max(level + (np.asarray(least_kPa, dtype=np.float64) - injected) / weight, axis=-1)
    highest = np.min(level + (np.asarray(limit_kPa, dtype=np.float64) - injected) / weight, axis=-1)
    return VentRange(np.asarray(lowest), np.asarray(highest))


@dataclass(frozen=True, slots=True)
class WindowLoads:
    """What presses on the ground: slurry at the face, and the mud's column at rest.

    Attributes
    ----------
    slurry_kN_per_m3 : array_like
    mud_head_m : array_like
        Height of the mud's open level above the ground or bed that the cover counts from [m].
    """

    slurry_kN_per_m3: ArrayLike
    mud_head_m: ArrayLike


def window_room_kPa(
    cover_m: ArrayLike,
    diameter_m: ArrayLike,
    ground: WindowGround,
    loads: WindowLoads,
    factors: WindowFactors,
) -> Array:
    """Pressure that is left in the worst of the three cases: below 0 the window is closed [kPa].

    Parameters
    ----------
    cover_m, diameter_m : array_like
        Of the bore [m].
    ground : WindowGround
    loads : WindowLoads
    factors : WindowFactors

    Returns
    -------
    ndarray of float64
        Upper limit less the largest of: the face's peak, the mud at rest, and the least pressure of
        grout, whose vent can be set so that it needs no more. NaN where not evaluated.
    """
    window = pressure_window(cover_m, diameter_m, ground, factors)
    face = face_peak_kPa(window.face_kPa, factors.control_kPa, loads.slurry_kN_per_m3, diameter_m)
    head = np.maximum(np.asarray(loads.mud_head_m, dtype=np.float64) + np.asarray(cover_m), 0.0)
    mud = np.asarray(loads.slurry_kN_per_m3, dtype=np.float64) * head
    asked = np.maximum(np.maximum(face, mud), window.grout_least_kPa)
    return np.asarray(window.limit_kPa - asked)


def least_cover_m(
    diameter_m: ArrayLike,
    ground: WindowGround,
    loads: WindowLoads,
    factors: WindowFactors,
    *,
    from_m: float,
    to_m: float,
    tolerance_m: float = 1e-3,
    n_steps: int = 64,
) -> Array:
    """Least cover from which on the window stays open.

    Parameters
    ----------
    diameter_m : array_like
    ground : WindowGround
    loads : WindowLoads
    factors : WindowFactors
    from_m, to_m : float
        Covers between which to look [m].
    tolerance_m : float
        By how much the answer may lie above the root, never below it [m].
    n_steps : int
        Covers looked at between the ends before the last change is halved.

    Returns
    -------
    ndarray of float64
        The window is open from there to `to_m`; `from_m` where it is open all the way, NaN where it is
        closed or not evaluated at `to_m` [m].

    Raises
    ------
    ValueError
        If the ends are not 0 <= from_m < to_m, or the tolerance or number of steps not above 0.
    """
    if not 0.0 <= from_m < to_m:
        raise ValueError("covers must be looked for from 0 or more up to a larger one")
    if not (tolerance_m > 0.0 and n_steps >= 1):
        raise ValueError("tolerance and number of steps must be above 0")

    def is_open(cover_m: Array) -> NDArray[np.bool_]:
        return np.asarray(window_room_kPa(cover_m, diameter_m, ground, loads, factors) >= 0.0)

    return last_opening_m(is_open, from_m, to_m, tolerance_m, n_steps)


def last_opening_m(
    is_open: Callable[[Array], NDArray[np.bool_]],
    from_m: float,
    to_m: float,
    tolerance_m: float,
    n_steps: int,
) -> Array:
    """Find the depth from which on something stays open down to the deepest looked at.

    Parameters
    ----------
    is_open : callable
        Of an array of depths, one for each case or one for all; not evaluated must count as closed.
    from_m, to_m, tolerance_m, n_steps
        See `least_cover_m`.

    Returns
    -------
    ndarray of float64
        See `least_cover_m` [m].

    Notes
    -----
    Walks up from the deepest to the first closed one, then halves the step between. An opening above a
    closed stretch is not taken; a closed stretch thinner than a step may be missed.
    """
    covers = np.linspace(to_m, from_m, n_steps + 1)
    open_at = np.asarray(covers[0])
    still = is_open(open_at)
    opens = np.where(still, to_m, np.nan)
    closed = np.array(opens)
    for cover in covers[1:]:
        now = still & is_open(np.asarray(cover))
        opens = np.where(now, cover, opens)
        closed = np.where(still & ~now, cover, closed)
        still = now
    closed = np.where(still, opens, closed)  # open all the way: nothing to halve
    for _ in range(max(int(np.ceil(np.log2((to_m - from_m) / n_steps / tolerance_m))), 0)):
        middle = (opens + closed) / 2.0
        is_middle_open = is_open(middle)
        opens = np.where(is_middle_open, middle, opens)
        closed = np.where(is_middle_open, closed, middle)
    return np.asarray(opens)
