"""Where and how deep the ramps behind a shaft are dug, and which slopes and walls such a dig has room for.

Room: ``drives``. May use ``assumptions``, ``engineering`` and numpy.

Every cable climbs in a dig of its own that begins as deep as its bore; where they lie close the digs are one.
The ground counts as at the shaft and level, all along the ramp.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.methods import method_geometry
from routescreen.drives.ramp import (
    dig_below_axis_m,
    held_offsets_m,
    laid_run_m,
    most_shift_m,
    most_way_aside_m,
    ramp_radius_m,
    shaft_offsets_m,
    trench_axis_m,
    trench_offsets_m,
)
from routescreen.engineering.dig import neighbour_spacing_m
from routescreen.engineering.dig_slope import proven_slope_deg
from routescreen.engineering.ramp import crossed_m
from routescreen.engineering.trench import pipe_room_m

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from routescreen.assumptions import Assumptions, Soil
    from routescreen.drives.ramp_spread import Spreads

    Array = NDArray[np.float64]

_N_PLACES = 16  # along a ramp: every one to three metres


@dataclass(frozen=True, slots=True)
class PitStations:
    """Places along the ramps of n shafts, p each.

    Attributes
    ----------
    length_m : ndarray of shape (n, p)
        Of the ramp that each place stands for [m].
    depth_m : ndarray of shape (n, p)
        From the ground to the bottom of the dig [m].
    place_m : ndarray of shape (n, p, k)
        Of the cables across the line [m].
    """

    length_m: Array
    depth_m: Array
    place_m: Array


def joined_stations(parts: Sequence[PitStations]) -> PitStations:
    """Return the places along the ramps of all parts, those of the first one first."""
    return PitStations(
        np.concatenate([part.length_m for part in parts]),
        np.concatenate([part.depth_m for part in parts]),
        np.concatenate([part.place_m for part in parts]),
    )


def bottom_axis_m(a: Assumptions, method: str, shaft_depth_m: ArrayLike) -> Array:
    """Return the depth of the bores' axes at shafts, that of the trench at least [m].

    Parameters
    ----------
    a : Assumptions
    method : str
        Of the drive; a drilled bore comes up to the trench by itself.
    shaft_depth_m : array_like
        [m]
    """
    shape, top_m = method_geometry(a, method), trench_axis_m(a)
    depth = np.asarray(shaft_depth_m, dtype=np.float64)
    if shape.is_drilled:
        return np.full(depth.shape, top_m)
    return np.maximum(depth - a.shaft.sump_m - shape.bore_diameter_m / 2.0, top_m)


def plain_stations(a: Assumptions, method: str, bottom_m: Array) -> PitStations:
    """Lay out ramps of one S-bend.

    Parameters
    ----------
    a : Assumptions
    method : str
        Of the drive.
    bottom_m : ndarray of shape (n,)
        Depth of the axes at the shaft [m].

    Returns
    -------
    PitStations
        With the pipes of the trench at their usual spacing.
    """
    top_m = np.full(len(bottom_m), trench_axis_m(a))
    run_m = laid_run_m(bottom_m - top_m, most_shift_m(a, method), a)
    leg = _leg(a, bottom_m, top_m, run_m, shaft_offsets_m(a, method), _foot_m(a), _N_PLACES)
    return _stations(a, [leg])


def spread_stations(a: Assumptions, method: str, bottom_m: Array, spreads: Spreads) -> PitStations:
    """Lay out ramps on which the cables are held apart: two S-bends each, as ``ramp.ramp_line`` does.

    Parameters
    ----------
    a : Assumptions
    method : str
        Of the drive.
    bottom_m : ndarray of shape (n,)
        Depth of the axes at the shaft [m].
    spreads : Spreads
        Of n ramps.
    """
    top_m = np.full(len(bottom_m), trench_axis_m(a))
    at_shaft_m = shaft_offsets_m(a, method)
    hold_m = np.clip(spreads.hold_m, top_m, bottom_m)
    spacing_m, which = np.unique(spreads.spacing_m, return_inverse=True)
    each_m = [held_offsets_m(a, float(one)) for one in spacing_m]
    held_m = np.array(each_m)[which]
    aside_m = np.array([most_way_aside_m(a, one) for one in each_m])[which]
    last_m = laid_run_m(hold_m - top_m, aside_m, a)
    least_m = laid_run_m(bottom_m - hold_m, np.abs(held_m - at_shaft_m).max(axis=1), a)
    whole_m = laid_run_m(bottom_m - top_m, most_shift_m(a, method), a) + spreads.more_m
    first_m = np.maximum(whole_m - last_m, least_m)
    foot_m = _foot_m(a)
    legs = [
        _leg(a, bottom_m, hold_m, first_m, at_shaft_m, held_m, _N_PLACES // 2),
        _leg(a, hold_m, top_m, last_m, held_m, foot_m, _N_PLACES // 2),
    ]
    return _stations(a, legs)


def _foot_m(a: Assumptions) -> Array:
    return np.asarray(trench_offsets_m(a, np.array([a.trench.pipe_spacing_m]))[0])


def _leg(
    a: Assumptions, low_m: Array, high_m: Array, run_m: Array, from_m: Array, to_m: Array, n_places: int
) -> tuple[Array, Array, Array]:
    """Return length, depth of the deepest axis, and places of the cables along one S-bend of n ramps."""
    start_m = np.atleast_2d(from_m)
    shift_m = np.atleast_2d(to_m) - start_m
    rise_m = low_m - high_m
    across_m = np.hypot(rise_m[:, np.newaxis], shift_m)[:, np.newaxis, :]
    along_m = run_m[:, np.newaxis] * (np.arange(n_places) + 0.5) / n_places
    crossed = crossed_m(
        along_m[..., np.newaxis], across_m, run_m[:, np.newaxis, np.newaxis], ramp_radius_m(a)
    )
    share = crossed / np.where(across_m > 0.0, across_m, 1.0)
    depth_m = (low_m[:, np.newaxis, np.newaxis] - rise_m[:, np.newaxis, np.newaxis] * share).max(axis=-1)
    place_m = start_m[:, np.newaxis, :] + shift_m[:, np.newaxis, :] * share
    return np.repeat(run_m[:, np.newaxis] / n_places, n_places, axis=1), depth_m, place_m


def _stations(a: Assumptions, legs: list[tuple[Array, Array, Array]]) -> PitStations:
    length_m, axis_m, place_m = (np.concatenate(parts, axis=1) for parts in zip(*legs, strict=True))
    return PitStations(length_m, axis_m + dig_below_axis_m(a), place_m)


def pit_bottom_m(a: Assumptions) -> float:
    """Return the width of the bottom of the dig for one cable, with room to work [m]."""
    room_m = pipe_room_m(
        a.pipe.trench_outer_diameter_m, n_pipes=1, spacing_m=0.0, margin_m=a.trench.side_margin_m
    )
    return max(float(room_m), a.trench.deepest_width_m)


def pit_slope_deg(a: Assumptions, soil: Soil, depth_m: ArrayLike) -> Array:
    """Return the inclination of the faces of an open ramp.

    Parameters
    ----------
    a : Assumptions
    soil : Soil
    depth_m : array_like
        Of the dig [m].

    Returns
    -------
    ndarray
        The soil's slope to the depth for which slopes need no proof, below it no steeper than a slope that is
        proven to stand so high, the water lowered [degrees].
    """
    depth = np.asarray(depth_m, dtype=np.float64)
    stands = proven_slope_deg(depth, soil.phi_deg, soil.c_kPa, soil.gamma_kN_per_m3)
    is_standard = depth <= a.trench.deepest_sloped_m
    return np.where(is_standard, soil.slope_deg, np.minimum(stands, soil.slope_deg))


@dataclass(frozen=True, slots=True)
class WalledPits:
    """Digs between upright walls: how many stand side by side, how wide they are together, shape (n, p)."""

    n_pits: NDArray[np.int64]
    width_m: Array


def walled_pits(place_m: Array, bottom_m: float) -> WalledPits:
    """Return the digs between walls, one for cables that lie closer than a dig is wide.

    Parameters
    ----------
    place_m : ndarray of shape (n, p, k)
        Of the cables across the line [m].
    bottom_m : float
        Width of a dig for one cable [m].
    """
    gap_m = neighbour_spacing_m(place_m)
    return WalledPits(
        1 + np.sum(gap_m > bottom_m, axis=0), bottom_m + np.minimum(gap_m, bottom_m).sum(axis=0)
    )
