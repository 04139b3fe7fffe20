"""How deep a group of cables may lie side by side and still carry its current.

Room: ``engineering``. Pure arrays in SI units; imports numpy and `rating` only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.rating import group_rating

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray

    from routescreen.engineering.rating import HeatPath

    Array = NDArray[np.float64]


def rated_depth_m(
    current_A: float,
    offset_m: ArrayLike,
    path_at: Callable[[Array], HeatPath],
    *,
    least_m: ArrayLike,
    most_m: float,
    share: ArrayLike = 1.0,
    n_steps: int = 100,
    tolerance_m: float = 1e-3,
) -> Array:
    """Deepest axis down to which a group at equal depth carries a current.

    Parameters
    ----------
    current_A : float
        What is asked for [A].
    offset_m : array_like of shape (n,)
        Places of the cables across the line [m].
    path_at : callable
        Gives the way of the heat at depths of the axes of shape (k, 1, 1) [m]; its arrays may have the
        shape (m, 1) of m kinds of ground, cables last.
    least_m : array_like of shape (m,)
        Depth from which to look in each kind of ground, or in all of them [m].
    most_m : float
        Depth down to which to look [m].
    share : array_like of shape (n,)
        See `group_rating`.
    n_steps : int
        Depths looked at between the ends before the first change is halved.
    tolerance_m : float
        By how much the answer may lie above the true depth, never below it [m].

    Returns
    -------
    ndarray of float64, shape (m,)
        Carried at every depth from `least_m` down to there; `most_m` where that is all the way, 0 where
        not even at `least_m`, NaN where not evaluated there [m].

    Raises
    ------
    ValueError
        If the depths are not 0 < least < most, or tolerance or number of steps not above 0.

    Notes
    -----
    Deeper cables heat each other more and get rid of less, but lie in ground that the summer warms less, so
    the rating may rise before it falls: a stretch that carries the current below one that does not is
    not taken. One thinner than a step may be missed.
    """
    least = np.asarray(least_m, dtype=np.float64)
    if not np.all((least > 0.0) & (least < most_m)):
        raise ValueError("depths must be looked for from above 0 down to a larger one")
    if not (tolerance_m > 0.0 and n_steps >= 1):
        raise ValueError("tolerance and number of steps must be above 0")
    offsets = np.asarray(offset_m, dtype=np.float64)

    def rating_A(depth_m: Array) -> Array:
        axis = depth_m[..., np.newaxis]
        depths = np.broadcast_to(axis, (*axis.shape[:-1], len(offsets)))
        return group_rating(depths, offsets, path_at(axis), share=share).rating_A

    depths = least + (most_m - least) * np.linspace(0.0, 1.0, n_steps + 1)[:, np.newaxis]
    found = rating_A(depths)  # (depths, kinds of ground)
    depths = np.broadcast_to(depths, found.shape)
    fails = ~(found >= current_A)
    first = np.where(fails.any(axis=0), fails.argmax(axis=0), n_steps + 1)
    kind = np.arange(found.shape[1])
    carried = depths[np.clip(first - 1, 0, n_steps), kind]
    failing = depths[np.minimum(first, n_steps), kind]
    widest_m = float(np.max((most_m - least) / n_steps))
    for _ in range(max(int(np.ceil(np.log2(widest_m / tolerance_m))), 0)):
        middle = (carried + failing) / 2.0
        holds = rating_A(middle) >= current_A
        carried, failing = np.where(holds, middle, carried), np.where(holds, failing, middle)
    carried = np.where(first > n_steps, most_m, carried)
    return np.where(np.isnan(found[0]), np.nan, np.where(first == 0, 0.0, carried))
