"""Area of digs side by side.

Room: ``engineering``. Pure arrays in SI units; imports numpy only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def neighbour_spacing_m(place_m: ArrayLike) -> NDArray[np.float64]:
    """Distances of neighbours across the line.

    Parameters
    ----------
    place_m : array_like of shape (..., k)
        Across the line, in any order [m].

    Returns
    -------
    ndarray of float64, shape (k - 1, ...)
        From one side to the other [m].

    Examples
    --------
    >>> neighbour_spacing_m([[0.0, 3.0, 2.0], [1.0, 2.0, 9.0]])
    array([[2., 1.],
           [1., 7.]])
    """
    # pair by pair over all rows: arrays of few columns and many rows are slow
    place = np.ascontiguousarray(np.moveaxis(np.asarray(place_m, dtype=np.float64), -1, 0))
    spacing = np.diff(place, axis=0)
    return np.asarray(np.diff(np.sort(place, axis=0), axis=0) if (spacing < 0.0).any() else spacing)


def side_by_side_m2(
    height_m: ArrayLike, place_m: ArrayLike, *, width_m: float, slope_cotangent: ArrayLike
) -> NDArray[np.float64]:
    """Cross-section of equal digs beside one another, counted once where they overlap.

    Parameters
    ----------
    height_m : array_like of shape (..., n)
        From the bottom to the surface that is dug from; below 0 counts as 0 [m].
    place_m : array_like of shape (n, k)
        Middles of the k digs across the line, in any order [m].
    width_m : float
        Bottom width of one dig [m].
    slope_cotangent : array_like of shape (n,)
        Run of the faces per metre of height [-].

    Returns
    -------
    ndarray of float64, shape (..., n)
        Area in place [m2].

    Notes
    -----
    One dig is w h + c h^2. Neighbours s apart overlap from the height y0 = (s - w) / 2c on, by
    c (h - y0)^2; where s < w they overlap from the bottom on and the next adds s h. Digs in a row have no
    other overlap to take off. Own geometry.

    Examples
    --------
    >>> side_by_side_m2([2.0, 2.0], [[0.0, 2.0], [0.0, 9.0]], width_m=1.0, slope_cotangent=1.0)
    array([ 9.75, 12.  ])
    """
    height = np.maximum(np.asarray(height_m, dtype=np.float64), 0.0)
    slope = np.asarray(slope_cotangent, dtype=np.float64)
    one = width_m * height + slope * height**2
    reach, share = 2.0 * slope * height, np.where(slope > 0.0, 4.0 * slope, 1.0)
    whole = np.zeros(())
    for spacing in neighbour_spacing_m(place_m):
        # 2 c y0 is the gap: the overlap without dividing by c, which is 0 for upright faces
        common = np.maximum(reach - np.maximum(spacing - width_m, 0.0), 0.0) ** 2 / share
        whole = whole + np.where(spacing < width_m, spacing * height, one - common)
    return np.asarray(one + whole)
