"""A result layer as GeoJSON (RFC 7946), feature by feature.

Room: ``tender``. Tables in, pieces of text out, so that a long layer needs no memory of its own.

Notes
-----
RFC 7946, Butler et al. (2016): section 4, longitude and latitude by WGS 84 in degrees; 3.1.6, outer rings run
counterclockwise; 11.2, digits after the point: eight here, about 1 mm, so that what is read back is the plan.
Section 4 counts heights from the ellipsoid. The plan's levels count from the height system of the terrain and
therefore stand in the properties, never as a third coordinate. A straight line in the plan is not straight
in degrees: long ones get points between, every `_STEP_M`, which holds it to about 2 mm at 55 degrees north.
"""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from pyproj import CRS, Transformer
from shapely.geometry.polygon import orient

from routescreen.schema import CAUTION

if TYPE_CHECKING:
    from collections.abc import Iterator

    import geopandas as gpd
    from shapely.geometry.base import BaseGeometry

_STEP_M = 250.0
_DIGITS = 8


def geojson_parts(table: gpd.GeoDataFrame, crs: CRS) -> Iterator[str]:
    """Yield a layer as pieces of one GeoJSON text.

    Parameters
    ----------
    table : GeoDataFrame
        A spatial result layer.
    crs : CRS
        Its projected coordinate reference system.

    Yields
    ------
    str
        Head, features, end.
    """
    to_degrees = Transformer.from_crs(crs, CRS.from_epsg(4326), always_xy=True)
    names = [name for name in table.columns if name != table.geometry.name]
    columns = [table[name].tolist() for name in names]
    # a member of our own, which a reader may pass over (RFC 7946, section 6.1)
    yield f'{{"type":"FeatureCollection","caution":{json.dumps(CAUTION)},"features":[\n'
    for number, shape in enumerate(table.geometry):
        properties = _levels(shape) | {
            name: _value(column[number]) for name, column in zip(names, columns, strict=True)
        }
        feature = {"type": "Feature", "properties": properties, "geometry": _geometry(shape, to_degrees)}
        yield ("" if number == 0 else ",\n") + json.dumps(
            feature, ensure_ascii=False, allow_nan=False, separators=(",", ":")
        )
    yield "\n]}\n"


def _value(value: Any) -> Any:
    """Return a value of a type that JSON has; what is missing is null."""
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value.item() if isinstance(value, np.generic) else value


def _levels(shape: BaseGeometry) -> dict[str, float]:
    """Return the levels that the third coordinate held, of a point or of both ends of a line."""
    if not shape.has_z:
        return {}
    levels = [round(float(z), 3) for z in shapely.get_coordinates(shape, include_z=True)[:, 2]]
    if len(levels) == 1:
        return {"level_m": levels[0]}
    return {"first_level_m": levels[0], "last_level_m": levels[-1]}


def _geometry(shape: BaseGeometry, to_degrees: Transformer) -> dict[str, Any]:
    flat = shapely.segmentize(shapely.force_2d(shape), _STEP_M)
    turned: Any = shapely.transform(
        flat, lambda xy: np.column_stack(to_degrees.transform(xy[:, 0], xy[:, 1]))
    )
    if turned.geom_type == "Polygon":
        rings = orient(turned, sign=1.0)
        coordinates: Any = [_points(ring) for ring in (rings.exterior, *rings.interiors)]
    else:
        coordinates = _points(turned)
        if turned.geom_type == "Point":
            coordinates = coordinates[0]
    return {"type": turned.geom_type, "coordinates": coordinates}


def _points(shape: BaseGeometry) -> list[list[float]]:
    return [[round(x, _DIGITS), round(y, _DIGITS)] for x, y in shapely.get_coordinates(shape).tolist()]
