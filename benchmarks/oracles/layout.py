"""How the strings of a drive lie, by trying every layout of the family, the fewest pieces first.

A layout begins at the reception's node in line with the drive. It is straight, or from a place on that is
`AHEAD` and a whole number of `STEP_M` away from the node, at most `FURTHEST_M`, it turns to one side: by up
to six kinks of 15 degrees, with legs between kinks that touch an arc of the method's radius. A layout is
clear where no edge of barred land meets the rectangles along its legs, each drawn out at its kinks as far as
the outer edge of the next one needs it.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterator

    from routescreen.search.arrays import SearchArrays

STEP_M, FURTHEST_M = 25.0, 300.0
KINK = math.pi / 12.0


class LayoutOracle:
    """Tries layouts on one problem's land."""

    def __init__(self, arrays: SearchArrays) -> None:
        self.s = arrays
        edges = arrays.layout.segment_xy_m.reshape(-1, 2, 2)
        self._tree = shapely.STRtree(shapely.linestrings(edges)) if len(edges) else None

    def n_pieces(
        self, method: int, launch: tuple[int, int], reception: tuple[int, int], true_m: float
    ) -> int | None:
        """Return the fewest pieces that the strings can be laid out in, None where they can't."""
        land, xy = self.s.layout, self.s.frame.node_xy_m
        if land.most_pieces[method] == 0:
            return 1
        if not land.is_open[reception]:
            return None
        heading = math.atan2(*(xy[reception] - xy[launch])[::-1])
        for n in range(1, int(land.most_pieces[method]) + 1):
            end_m = float(land.ahead_m[method]) + true_m / n
            for stations, turn in self._ways(method, end_m):
                if self._is_clear(method, xy[reception], heading, stations, turn):
                    return n
        return None

    def _ways(self, method: int, end_m: float) -> Iterator[tuple[list[float], float]]:
        """Yield the layouts of a length: where they have kinks, and the turn at each."""
        yield [0.0, end_m], 0.0
        leg_m = 2.0 * float(self.s.layout.radius_m[method]) * math.tan(KINK / 2.0)
        for k in itertools.count():
            first_m = float(self.s.layout.ahead_m[method]) + k * STEP_M
            if first_m > min(FURTHEST_M, end_m):
                return
            at = [first_m + leg_m * i for i in range(6)]
            n_inside = sum(m < end_m for m in at)  # a kink behind the end turns nothing
            for kinks in range(1, n_inside + 1):
                stations = [0.0, *at[:kinks], end_m]
                yield stations, KINK
                yield stations, -KINK

    def _is_clear(
        self, method: int, start: np.ndarray, heading: float, stations: list[float], turn: float
    ) -> bool:
        if self._tree is None:
            return True
        half_m = float(self.s.layout.half_width_m[method])
        more_m = half_m * math.tan(KINK / 2.0)
        point, last = np.asarray(start), len(stations) - 2
        for leg, (begin, end) in enumerate(itertools.pairwise(stations)):
            along = np.array([math.cos(heading + leg * turn), math.sin(heading + leg * turn)])
            aside = half_m * np.array([-along[1], along[0]])
            near = point - (more_m if leg > 0 else 0.0) * along
            point = point + (end - begin) * along
            far = point + (more_m if leg < last else 0.0) * along
            band = shapely.polygons([near - aside, near + aside, far + aside, far - aside])
            if len(self._tree.query(band, predicate="intersects")):
                return False
        return True
