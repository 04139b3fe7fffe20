"""Many plane shapes at once from coordinates, typed as arrays.

Room: ``corridor``. Geometry only; imports nothing of the package.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray


def points(xy_m: NDArray[np.float64]) -> NDArray[np.object_]:
    """Return the points at coordinates of shape (n, 2)."""
    return cast("NDArray[np.object_]", shapely.points(xy_m))


def lines(xy_m: NDArray[np.float64]) -> NDArray[np.object_]:
    """Return the straight lines through coordinates of shape (n, k, 2)."""
    return cast("NDArray[np.object_]", shapely.linestrings(xy_m))


def polygons(xy_m: NDArray[np.float64]) -> NDArray[np.object_]:
    """Return the polygons round corners of shape (n, k, 2), rings not closed."""
    n, k, _ = xy_m.shape
    closed = np.concatenate([xy_m, xy_m[:, :1]], axis=1).reshape(-1, 2)
    offsets = (np.arange(0, n * (k + 1) + 1, k + 1), np.arange(n + 1))
    # half again as fast as shapely.polygons, which makes rings first
    return shapely.from_ragged_array(shapely.GeometryType.POLYGON, closed, offsets)
