"""Ground cover from the areas of an OpenStreetMap extract, drawn on pixels.

Room: ``inputs``. Touches no file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from rasterio import Affine
from rasterio.features import geometry_mask, rasterize

from routescreen.inputs.corridors import named
from routescreen.inputs.osm import first_fit
from routescreen.inputs.problems import percent
from routescreen.project import RasterGrid

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from routescreen.assumptions import Assumptions
    from routescreen.inputs.osm import OsmFeatures
    from routescreen.inputs.problems import Findings
    from routescreen.inputs.vectors import Bounds

PIXEL_M = 10.0


def osm_cover(
    features: OsmFeatures,
    a: Assumptions,
    findings: Findings,
    *,
    corridor: BaseGeometry,
    bounds: Bounds,
    of: str,
) -> RasterGrid:
    """Draw the areas with a cover class; where areas overlap the smaller one wins.

    Parameters
    ----------
    features : OsmFeatures
    a : Assumptions
    findings : Findings
        Gets the share of the corridor that no area classifies.
    corridor : Polygon
        [m]
    bounds : tuple of float
        West, south, east, north of what is drawn [m].
    of : str
        The corridor's id, for the message.

    Returns
    -------
    RasterGrid
        Class indices on pixels of 10 m, int16.
    """
    unknown = a.cover_names.index("unknown")
    transform, shape = _grid_of(bounds)
    values = np.full(shape, unknown, dtype=np.int16)
    shapes = _ordered(features, a)
    if shapes:
        values = rasterize(shapes, out=values, transform=transform)
    _say_share(values, unknown, corridor, transform, findings, of)
    return RasterGrid(values, float(transform.c), float(transform.f), PIXEL_M, PIXEL_M)


def _grid_of(bounds: Bounds) -> tuple[Affine, tuple[int, int]]:
    west, south, east, north = np.array(bounds) / PIXEL_M
    west, south, east, north = np.floor(west), np.floor(south), np.ceil(east), np.ceil(north)
    transform = Affine(PIXEL_M, 0.0, float(west) * PIXEL_M, 0.0, -PIXEL_M, float(north) * PIXEL_M)
    return transform, (int(north - south), int(east - west))


def _ordered(features: OsmFeatures, a: Assumptions) -> list[tuple[BaseGeometry, int]]:
    """Shapes with their class, those drawn later winning: areas from large to small, then lines."""
    rules = a.osm.cover_rules
    rule = first_fit(features, rules)
    chosen = np.flatnonzero(rule >= 0)
    order = np.lexsort((-features.area_m2[chosen], features.geometry[chosen] != "polygon"))
    index = {name: number for number, name in enumerate(a.cover_names)}
    return [(features.shapes[i], index[rules[rule[i]].cover]) for i in chosen[order]]


def _say_share(
    values: NDArray[np.int16],
    unknown: int,
    corridor: BaseGeometry,
    transform: Affine,
    findings: Findings,
    of: str,
) -> None:
    inside = ~geometry_mask([corridor], out_shape=values.shape, transform=transform)
    if not inside.any():
        return
    share = float((values[inside] == unknown).mean())
    if share > 0.0:
        findings.warn(
            f"OpenStreetMap has no ground cover for {percent(share)} of {named(of)}: taken as unknown."
        )
