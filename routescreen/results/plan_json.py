"""The whole plan as JSON, for other programs.

Room: ``results``. Imports ``schema`` and its own neighbours. Its JSON Schema is made from the same
declarations as the GeoPackage.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pandas as pd
from shapely import Point, Polygon

from routescreen import __version__
from routescreen.results.check import conform
from routescreen.results.files import replace_text
from routescreen.schema import CAUTION, SCHEMA_VERSION, plan_json_schema

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from pyproj import CRS
    from shapely.geometry.base import BaseGeometry

Json = dict[str, Any]


def plan_document(tables: Mapping[str, pd.DataFrame], crs: CRS) -> Json:
    """Return the plan as an object that the JSON Schema describes.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        The schema's result layers by name.
    crs : CRS
        Their projected coordinate reference system.

    Raises
    ------
    ResultFaultError
        If a table breaks the schema.
    """
    return _document(conform(tables, crs), crs)


def _document(ready: Mapping[str, pd.DataFrame], crs: CRS) -> Json:
    authority = crs.to_authority()
    return {
        "schema_version": SCHEMA_VERSION,
        "routescreen_version": __version__,
        "caution": CAUTION,
        "crs": {
            "name": crs.name,
            "authority": ":".join(authority) if authority else None,
            "wkt": crs.to_wkt(),
        },
        "tables": {name: _records(table) for name, table in ready.items()},
    }


def plan_json_text(tables: Mapping[str, pd.DataFrame], crs: CRS) -> str:
    """Return ``plan.json`` as text.

    Raises
    ------
    ResultFaultError
        If a table breaks the schema.
    """
    return _dumps(plan_document(tables, crs))


def ready_json_text(ready: Mapping[str, pd.DataFrame], crs: CRS) -> str:
    """Return ``plan.json`` as text, of tables as `check.conform` returns them."""
    return _dumps(_document(ready, crs))


def write_plan_json(tables: Mapping[str, pd.DataFrame], crs: CRS, path: Path) -> None:
    """Write ``plan.json``.

    Raises
    ------
    ResultFaultError
        If a table breaks the schema.
    OutputError
        If the file can't be written.
    """
    replace_text(path, plan_json_text(tables, crs))


def plan_schema_text() -> str:
    """Return the JSON Schema of ``plan.json`` as the docs hold it."""
    return _dumps(plan_json_schema())


def _dumps(document: Json) -> str:
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _records(table: pd.DataFrame) -> list[Json]:
    geometry = table.geometry if isinstance(table, gpd.GeoDataFrame) else None
    plain = pd.DataFrame(table.drop(columns=geometry.name) if geometry is not None else table)
    values = plain.astype(object).where(plain.notna(), None)
    records = [dict(zip(values.columns, row, strict=True)) for row in values.itertuples(index=False)]
    if geometry is not None:
        for record, shape in zip(records, geometry, strict=True):
            record["geometry"] = {"type": shape.geom_type, "coordinates": _coordinates(shape)}
    return records


def _coordinates(shape: BaseGeometry) -> list[Any]:
    """Return the coordinates nested as GeoJSON (RFC 7946) nests them."""
    if isinstance(shape, Polygon):
        return [_coordinates(ring) for ring in (shape.exterior, *shape.interiors)]
    points = [list(point) for point in shape.coords]
    return points[0] if isinstance(shape, Point) else points
