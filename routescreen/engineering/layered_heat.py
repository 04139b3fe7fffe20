"""Heat of line sources in ground of two layers: what a layer of more resistivity above them adds.

Room: ``engineering``. Pure arrays in SI units; imports numpy only.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

_LEFT_OUT = 1e-7  # share of the images' strength that is put together in a last one
_MOST_IMAGES = 400
_N_PARTS = 16  # of the way between neighbours


def mirrored_share(rho_above_K_m_per_W: ArrayLike, rho_K_m_per_W: ArrayLike) -> Array:
    """Share of a line source that is mirrored at the boundary to the layer above.

    Parameters
    ----------
    rho_above_K_m_per_W, rho_K_m_per_W : array_like
        Resistivities of the upper layer and of that in which the sources lie [K m/W].

    Returns
    -------
    ndarray of float64
        (rho_above - rho) / (rho_above + rho); 0 where the upper layer resists less, which is on the safe
        side [-].

    References
    ----------
    Images in two layers: Maxwell (1873), *A treatise on electricity and magnetism* (from memory).
    """
    above, own = np.asarray(rho_above_K_m_per_W, np.float64), np.asarray(rho_K_m_per_W, np.float64)
    return np.asarray(np.maximum((above - own) / (above + own), 0.0))


def column_log(
    depth_m: ArrayLike,
    offset_m: ArrayLike,
    outer_diameter_m: float,
    *,
    column_m: ArrayLike,
    share: ArrayLike,
) -> Array:
    """Logarithms that a layer above a group of cables adds to those of uniform ground.

    Parameters
    ----------
    depth_m, offset_m : array_like of shape (..., n)
        Axes of the n cables, pipes or bores [m].
    outer_diameter_m : float
        Diameter De of what lies in the ground [m].
    column_m : array_like of shape (..., n)
        Height h of the upper layer over each cable; a crown counts as lying below it, a source too [m].
    share : array_like of shape (..., n)
        See `mirrored_share` [-].

    Returns
    -------
    ndarray of float64, shape (..., n, n)
        In row i what heats cable i more, to be multiplied by rho / (2 pi) of its own, lower layer [-].

    Notes
    -----
    A source W at depth L below a layer of height h has, for points z below that layer too, the images c at
    z + L - 2 h and -(1 - c^2) c^(k-1) at z + L - 2 h + 2 k h, k = 1, 2, ..: they keep temperature and flow
    of heat continuous at the boundary and the surface at 0, exactly. With the one image of uniform ground
    taken off there is left
    c ln(r_1 / r_0) + (1 - c^2) sum_{k>=2} c^(k-1) ln(r_k / r_1), nowhere below 0, 0 for h = 0 or c = 0.
    For the cable's own ground ln(4 L / De) counts in place of arcosh(2 L / De): equal flow all round the
    circle, whose mean temperature is that of the images at its axis; a circle of one temperature is never
    warmer (least energy), so that is a bound (own arithmetic).
    """
    depth, offset = np.broadcast_arrays(np.asarray(depth_m, np.float64), np.asarray(offset_m, np.float64))
    part = np.asarray(share, np.float64)
    own_radius_m = outer_diameter_m / 2.0
    height = np.clip(np.asarray(column_m, np.float64), 0.0, np.maximum(depth - own_radius_m, 0.0))
    depth, offset, part, height = np.broadcast_arrays(depth, offset, part, height)
    row, column = (..., slice(None), np.newaxis), (..., np.newaxis, slice(None))
    heated, h, c = depth[row], height[row], part[row]
    across_2 = (offset[row] - offset[column]) ** 2
    sum_m = heated + np.maximum(depth[column], h)
    first_2 = across_2 + sum_m**2
    near_2 = across_2 + (sum_m - 2.0 * h) ** 2
    is_there = (c > 0.0) & (h > 0.0) & (near_2 > 0.0)
    added = c * 0.5 * np.log(np.divide(first_2, near_2, out=np.ones_like(first_2), where=is_there))
    weight = (1.0 - c * c) * c
    last = _n_images(part)
    for k in range(2, last + 1):
        far = 0.5 * np.log((across_2 + (sum_m + 2.0 * (k - 1) * h) ** 2) / first_2)
        added += np.where(is_there, weight * far, 0.0)
        weight = weight * c
    # all further images together, at the next one's place
    rest = 0.5 * np.log((across_2 + (sum_m + 2.0 * last * h) ** 2) / first_2)
    added += np.where(is_there, (1.0 + c) * c**last * rest, 0.0)
    ratio = np.maximum(2.0 * depth / outer_diameter_m, 1.0)
    own = np.log(2.0 * ratio) - np.arccosh(ratio)
    at = np.arange(depth.shape[-1])
    added[..., at, at] += np.where(is_there[..., at, at], own, 0.0)
    return np.asarray(added)


def boundary_log(across_m: ArrayLike, over_m: ArrayLike, *, column_m: ArrayLike, share: ArrayLike) -> Array:
    """Logarithm of the rise at the underside of the upper layer, beside a line source below it.

    Parameters
    ----------
    across_m : array_like
        Distance of the point across the line [m].
    over_m : array_like
        Depth of the source below the underside [m].
    column_m, share : array_like
        Height of the layer [m]; see `mirrored_share` [-].

    Returns
    -------
    ndarray of float64
        Times rho / (2 pi) of the lower layer and the source's heat it is the rise; falls with `across_m`; 0
        where there is no layer [-].

    Notes
    -----
    (1 + c) sum_{k>=0} c^k ln(r_(k+1) / r_k), r_k^2 = x^2 + (L - h + 2 k h)^2: the images of `column_log`
    for a point on the boundary.
    """
    across, over, h, c = np.broadcast_arrays(
        *(np.asarray(value, np.float64) for value in (across_m, over_m, column_m, share))
    )
    across_2 = across**2
    is_there = (h > 0.0) & (across_2 + over**2 > 0.0)
    found, weight = np.zeros(is_there.shape), 1.0 + c
    before = np.where(is_there, across_2 + over**2, 1.0)
    for k in range(1, _n_images(c) + 1):
        after = np.where(is_there, across_2 + (over + 2.0 * k * h) ** 2, 1.0)
        found += weight * 0.5 * np.log(after / before)
        before, weight = after, weight * c
    return found


def boundary_peak_log(
    depth_m: ArrayLike,
    offset_m: ArrayLike,
    outer_diameter_m: float,
    *,
    column_m: ArrayLike,
    share: ArrayLike,
    relative_heat: ArrayLike = 1.0,
) -> Array:
    """Bound of the logarithms of the rise anywhere at the underside of the layer above a group.

    Parameters
    ----------
    depth_m, offset_m, outer_diameter_m, column_m, share
        See `column_log`; the highest layer and the largest share count for all cables.
    relative_heat : array_like of shape (..., n)
        Heat of each cable over that of which the rise is asked for [-].

    Returns
    -------
    ndarray of float64, shape (...)
        Never below the largest rise, times rho / (2 pi) of the lower layer and the heat [-].

    Notes
    -----
    Each cable's rise falls with the distance from the place above it, so the largest sum lies between the
    outermost cables. Of each of 16 equal parts of the way between neighbours each cable's rise at the end
    that is nearer to it counts.
    """
    depth, offset, part, height, heat = np.broadcast_arrays(
        *(np.asarray(value, np.float64) for value in (depth_m, offset_m, share, column_m, relative_heat))
    )
    radius_m = outer_diameter_m / 2.0
    height = np.clip(height, 0.0, np.maximum(depth - radius_m, 0.0)).max(axis=-1, keepdims=True)
    over_m, share_most = np.maximum(depth - height, radius_m), part.max(axis=-1, keepdims=True)
    places = np.sort(offset, axis=-1)
    if places.shape[-1] > 1:
        at = np.linspace(0.0, 1.0, _N_PARTS + 1)
        way = np.diff(places, axis=-1)[..., np.newaxis]
        first, last = (places[..., :-1, np.newaxis] + way * ends for ends in (at[:-1], at[1:]))
        first, last = (ends.reshape(*ends.shape[:-2], -1) for ends in (first, last))
    else:
        first, last = places, places
    source = (..., np.newaxis, slice(None))
    apart_m = np.maximum(first[..., np.newaxis] - offset[source], offset[source] - last[..., np.newaxis])
    logs = boundary_log(
        np.maximum(apart_m, 0.0), over_m[source], column_m=height[source], share=share_most[source]
    )
    return np.asarray(np.einsum("...pj,...j->...p", logs, heat).max(axis=-1))


def _n_images(part: Array) -> int:
    """Return how many images leave out less than a given share of their strength."""
    most = float(np.max(np.nan_to_num(part), initial=0.0))
    if not 0.0 < most < 1.0:
        return 2 if most <= 0.0 else _MOST_IMAGES
    return int(np.clip(math.ceil(math.log(_LEFT_OUT) / math.log(most)), 2, _MOST_IMAGES))
