"""The ground round the corridor of which the input was read.

Room: ``audit``. May use ``assumptions``, ``project`` and shapely.
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions
    from routescreen.project import CorridorInput


class Surroundings:
    """The corridor, or the fixed line with its tolerance, grown by the margin for works.

    Parameters
    ----------
    inp : CorridorInput
    assumptions : Assumptions

    Notes
    -----
    The edge of a long corridor has many thousand vertices, and hundreds of digs and strips ask about it: it
    is grown, prepared and indexed once, when first asked, so that an answer takes no longer on a longer one.
    """

    def __init__(self, inp: CorridorInput, assumptions: Assumptions) -> None:
        self._inp = inp
        self._frame = assumptions.frame

    def to_edge_m(self, area: shapely.Geometry) -> float:
        """Return how far an area lies from the edge, infinite without a corridor [m]."""
        if self._region is None:
            return math.inf
        _, distances_m = self._edge.query_nearest(area, return_distance=True)
        return float(distances_m[0])

    def outside_m2(self, area: shapely.Geometry) -> float:
        """Return how much of an area lies beyond, 0 without a corridor [m2]."""
        if self._region is None or shapely.contains_properly(self._region, area):
            return 0.0
        return float(shapely.difference(area, self._region).area)

    @cached_property
    def _region(self) -> shapely.Geometry | None:
        margin_m = self._frame.works_margin_m
        if self._inp.outline is not None:
            region = shapely.buffer(self._inp.outline, margin_m)
        elif self._inp.fixed_line is not None:
            tolerance_m = self._frame.fixed_alignment_tolerance_m
            region = shapely.buffer(self._inp.fixed_line, tolerance_m + margin_m)
        else:
            return None
        shapely.prepare(region)
        return region

    @cached_property
    def _edge(self) -> shapely.STRtree:
        """The edge in pieces between two vertices."""
        lines = shapely.get_parts(shapely.boundary(self._region))
        ends_m = [shapely.get_coordinates(line) for line in lines]
        pieces_m = np.concatenate([np.stack([xy_m[:-1], xy_m[1:]], axis=1) for xy_m in ends_m])
        return shapely.STRtree(np.asarray(shapely.linestrings(pieces_m)))
