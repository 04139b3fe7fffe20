"""Land that bears no pipe string laid out behind a reception.

Room: ``corridor``. Geometry and arrays; imports the ground and the crossings of its own room.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from routescreen.corridor import shapes
from routescreen.corridor.raster import extent

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.ground import GroundSampler
    from routescreen.corridor.treatment import Crossings
    from routescreen.project import CorridorInput


@dataclass(frozen=True, slots=True)
class LayoutGround:
    """What a layout strip may not lie on.

    Attributes
    ----------
    barred : ndarray of geometry, shape (n,)
        Outlines of crossings and of ground cover that bear no strip.
    region : geometry or None
        The corridor and its surroundings as far as anything is known; None: everywhere.
    tree : STRtree
        Finds the barred land of the whole corridor.
    """

    barred: NDArray[np.object_]
    region: BaseGeometry | None
    tree: shapely.STRtree

    def near(self, box: Polygon) -> LayoutGround:
        """Return the land in a box; what lies outside it is taken as not known."""
        region = box if self.region is None else shapely.intersection(self.region, box)
        return LayoutGround(self.tree.geometries[np.sort(self.tree.query(box))], region, self.tree)

    def edges_m(self) -> NDArray[np.float64]:
        """Return the edges of the barred land and the rim of the region, shape (n, 4) [m]."""
        shapes_ = list(self.barred) + ([] if self.region is None else [self.region])
        if not shapes_:
            return np.zeros((0, 4))
        rings = shapely.get_rings(shapely.get_parts(np.array(shapes_, dtype=object)))
        xy_m, ring = shapely.get_coordinates(rings, return_index=True)
        is_joined = ring[1:] == ring[:-1]
        return np.concatenate([xy_m[:-1][is_joined], xy_m[1:][is_joined]], axis=1)

    def is_open(self, xy_m: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Return whether points lie on land that bears a strip, shape (n,)."""
        points = shapes.points(xy_m)
        is_open = np.ones(len(xy_m), dtype=np.bool_)
        if len(self.barred) and len(points):
            tree = shapely.STRtree(points)
            _, hit = tree.query(self.barred, predicate="intersects")
            is_open[hit] = False
        if self.region is not None:
            shapely.prepare(self.region)
            is_open &= shapely.intersects(self.region, points)
        return is_open


def layout_ground(
    crossings: Crossings,
    sampler: GroundSampler,
    assumptions: Assumptions,
    corridor: CorridorInput,
) -> LayoutGround:
    """Collect the land that bears no layout strip; what needs consent is taken to get it.

    Parameters
    ----------
    crossings : Crossings
        Outlines by half-width only.
    sampler : GroundSampler
    assumptions : Assumptions
    corridor : CorridorInput
        A strip may leave it by the margin to which its surroundings are read.

    Returns
    -------
    LayoutGround
    """
    is_closed = np.array(
        [not assumptions.treatments[kind].layout_allowed for kind in crossings.kind], np.bool_
    )
    cover_says_no = np.array([c.layout_allowed == "no" for c in assumptions.cover.values()], np.bool_)
    outlines = np.asarray(crossings.outline, dtype=object)[is_closed]
    barred = np.concatenate([outlines, sampler.cover_boxes(cover_says_no)])
    barred = barred[~(shapely.is_missing(barred) | shapely.is_empty(barred))]
    region = _surroundings(corridor, assumptions)
    grid, default_class = sampler.cover_raster()
    if cover_says_no[default_class] and region is not None:  # what no raster tells bears no strip
        region = shapely.intersection(region, Polygon() if grid is None else extent(grid))
    return LayoutGround(barred, region, shapely.STRtree(barred))


def _surroundings(corridor: CorridorInput, assumptions: Assumptions) -> BaseGeometry | None:
    """Return the corridor and what was read around it."""
    frame = assumptions.frame
    if corridor.outline is not None:
        return corridor.outline.buffer(frame.works_margin_m)
    if corridor.fixed_line is not None:
        return corridor.fixed_line.buffer(frame.fixed_alignment_tolerance_m + frame.works_margin_m)
    return None
