"""Cut in which the pipe string comes down to the bore at the reception shaft.

Room: ``engineering``. Pure arrays in SI units; imports numpy only.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def approach_run_m(depth_m: ArrayLike, bend_radius_m: float) -> NDArray[np.float64]:
    """Plan length over which a pipe of the given bend comes down to a depth.

    Parameters
    ----------
    depth_m : array_like
        From the ground down to the pipe's invert at the shaft [m].
    bend_radius_m : float
        Least radius of the cold bend [m].

    Returns
    -------
    ndarray of float64
        sqrt(2 R dz) [m]: the parabola that stands for the arc. Own geometry.
    """
    depth = np.maximum(np.asarray(depth_m, dtype=np.float64), 0.0)
    return np.asarray(np.sqrt(2.0 * bend_radius_m * depth))


def approach_radius_m(depth_m: float, run_m: float) -> float:
    """Radius with which a pipe comes down to a depth in a given run: `approach_run_m` solved for it.

    Parameters
    ----------
    depth_m : float
        From the ground down to the pipe's invert at the shaft [m].
    run_m : float
        Plan length in which it comes down [m].

    Returns
    -------
    float
        run^2 / (2 dz) [m], infinite where the pipe needn't come down. Own geometry.
    """
    return run_m * run_m / (2.0 * depth_m) if depth_m > 0.0 else math.inf


def approach_cut_m3(
    depth_m: ArrayLike,
    bend_radius_m: float,
    *,
    n_strings: int,
    spacing_m: float,
    width_m: float,
    slope_cotangent: ArrayLike,
) -> NDArray[np.float64]:
    """Volume of the approach cuts of parallel strings, counted once where they overlap.

    Parameters
    ----------
    depth_m : array_like
        From the ground down to the pipe's invert at the shaft [m].
    bend_radius_m : float
        Least radius of the pipe's cold bend [m].
    n_strings : int
        Parallel strings, one a bore.
    spacing_m : float
        Distance between their axes [m].
    width_m : float
        Bottom width of one cut, at most `spacing_m` [m].
    slope_cotangent : array_like
        Run of the faces per metre of height [-].

    Returns
    -------
    ndarray of float64
        Volume in place [m3].

    Notes
    -----
    The bottom rises as y(x) = dz (1 - x / run)^2. One cut of depth y has the area w y + c y^2. At
    the height h above the bottom it is w + 2 c h wide, so neighbours overlap from the height
    y0 = (s - w) / 2c, and each of the n - 1 pairs counts c (y - y0)^2 twice. Equal cuts at equal
    distances have no other overlap to take off. Own geometry, integrated in closed form with
    u = 1 - x / run.
    """
    depth = np.maximum(np.asarray(depth_m, dtype=np.float64), 0.0)
    slope = np.asarray(slope_cotangent, dtype=np.float64)
    run = approach_run_m(depth, bend_radius_m)
    single = run * (width_m * depth / 3.0 + slope * depth**2 / 5.0)
    twice = (n_strings - 1) * run * _overlap_m2(depth, slope, spacing_m - width_m)
    return np.asarray(n_strings * single - twice)


def _overlap_m2(
    depth_m: NDArray[np.float64], slope: NDArray[np.float64], gap_m: float
) -> NDArray[np.float64]:
    """Overlap of two neighbouring cuts, averaged over the run [m2]."""
    start = gap_m / (2.0 * np.where(slope > 0.0, slope, np.inf))
    start = np.where(slope > 0.0, np.minimum(start, depth_m), depth_m)
    safe = np.where(depth_m > 0.0, depth_m, 1.0)
    u0 = np.sqrt(np.where(depth_m > 0.0, start / safe, 1.0))
    # integral of (dz u^2 - y0)^2 from u0 to 1
    squared = depth_m**2 * (1.0 - u0**5) / 5.0
    mixed = 2.0 * depth_m * start * (1.0 - u0**3) / 3.0
    return np.asarray(slope * np.maximum(squared - mixed + start**2 * (1.0 - u0), 0.0))
