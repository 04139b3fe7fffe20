"""What lies in a corridor, cut to what is drawn.

Room: beside ``screen``. Shapes in, shapes out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.screened import Backdrop

if TYPE_CHECKING:
    from routescreen.project import CorridorInput

BESIDE_M = 300.0  # drawn beyond the corridor's edge, so that it is seen where lines lead


def backdrop_of(corridor: CorridorInput) -> Backdrop:
    """Return the features in and beside a corridor.

    Parameters
    ----------
    corridor : CorridorInput

    Returns
    -------
    Backdrop
        Shapes cut to the corridor's bounds with a margin; those that lie further off are left out.
    """
    where = corridor.outline if corridor.outline is not None else corridor.fixed_line
    table = corridor.crossings
    shapes = np.asarray(table.geometry.array, dtype=np.object_)
    shapely.prepare(where)
    is_seen = ~shapely.is_empty(shapes) & shapely.dwithin(shapes, where, BESIDE_M)
    west, south, east, north = shapely.bounds(where)
    cut = shapely.clip_by_rect(
        shapes[is_seen], west - BESIDE_M, south - BESIDE_M, east + BESIDE_M, north + BESIDE_M
    )
    is_left = ~(shapely.is_missing(cut) | shapely.is_empty(cut))
    kinds, names, ids = (
        tuple(_text(value) for value in table[name].to_numpy()[is_seen][is_left])
        for name in ("kind", "name", "feature_id")
    )
    return Backdrop(corridor.outline, tuple(cut[is_left]), kinds, names, ids)


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""
