"""What follows from the schema: JSON Schemas and the docs' tables.

Room: ``schema``. Pure data and text; writes no file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from routescreen.schema.inputs import INPUT_LAYERS, INPUT_RASTERS
from routescreen.schema.outputs import RESULT_LAYERS, SCHEMA_VERSION
from routescreen.schema.words import CAUTION

if TYPE_CHECKING:
    from routescreen.schema.model import Column, Layer

_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_JSON_TYPES = {"text": "string", "integer": "integer", "real": "number", "boolean": "boolean"}

Json = dict[str, Any]


def _object(properties: Json, *, description: str = "", optional: tuple[str, ...] = ()) -> Json:
    required = [name for name in properties if name not in optional]
    node: Json = {
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }
    return {"description": description, **node} if description else node


def _column_schema(column: Column) -> Json:
    kind = _JSON_TYPES[column.type]
    unit = f" [{column.unit}]" if column.unit else ""
    node: Json = {
        "description": f"{column.meaning}{unit}",
        "type": [kind, "null"] if column.is_nullable else kind,
    }
    if column.minimum is not None:
        node["minimum"] = column.minimum
    if column.maximum is not None:
        node["maximum"] = column.maximum
    if column.allowed:
        node["enum"] = [*column.allowed, *([None] if column.is_nullable else [])]
    return node


def _geometry_schema(geometry: str) -> Json:
    name, _, has_z = geometry.partition(" ")
    size = 3 if has_z else 2
    node: Json = {"type": "array", "items": {"type": "number"}, "minItems": size, "maxItems": size}
    for _ in range({"Point": 0, "LineString": 1, "Polygon": 2}[name]):
        node = {"type": "array", "items": node}
    return _object({"type": {"const": name}, "coordinates": node})


def _table_schema(layer: Layer) -> Json:
    properties = {column.name: _column_schema(column) for column in layer.columns}
    if layer.is_spatial:
        properties["geometry"] = _geometry_schema(layer.geometry[0])
    return {"type": "array", "description": layer.meaning, "items": _object(properties)}


def plan_json_schema() -> Json:
    """Return the JSON Schema of ``plan.json``: every result layer as a list of records."""
    tables = {layer.name: _table_schema(layer) for layer in RESULT_LAYERS}
    return {
        "$schema": _DIALECT,
        "title": "routescreen plan",
        **_object(
            {
                "schema_version": {"const": SCHEMA_VERSION},
                "routescreen_version": {"type": "string"},
                "caution": {"const": CAUTION},
                "crs": _object(
                    {
                        "name": {"type": "string"},
                        "authority": {"type": ["string", "null"]},
                        "wkt": {"type": "string"},
                    },
                    description="Projected coordinate reference system of every geometry; "
                    "coordinates are easting, northing and level in metres.",
                ),
                "tables": _object(tables, description="The layers and tables of the GeoPackage."),
            }
        ),
    }


_TEXTS: Json = {"type": "array", "items": {"type": "string"}}
_AMOUNT: Json = {"type": ["number", "null"], "description": "[EUR]"}
_METRES: Json = {"type": ["number", "null"], "minimum": 0, "description": "[m]"}
_COUNT: Json = {"type": ["integer", "null"], "minimum": 0}


def summary_json_schema() -> Json:
    """Return the JSON Schema of the object that ``--json`` prints on stdout."""
    corridor = {
        "corridor_id": {"type": "string"},
        "length_m": _METRES,
        "open_cut_m": _METRES,
        "drive_m": _METRES,
        "drives": _COUNT,
        "shafts": _COUNT,
        "crossings": _COUNT,
        "total_eur": _AMOUNT,
        "total_low_eur": _AMOUNT,
        "total_high_eur": _AMOUNT,
        "provisional_eur": _AMOUNT,
        "allowances_eur": _AMOUNT,
        "overheads_apart_eur": _AMOUNT,
        "owners_apart_eur": _AMOUNT,
        "objective_eur": _AMOUNT,
        "frame_error_percent": {"type": ["number", "null"]},
        "audit_breaches": _COUNT,
    }
    nullable_text = {"type": ["string", "null"]}
    memory_mb = {"type": ["number", "null"], "minimum": 0}
    seconds = {"type": "number", "minimum": 0}
    stage = {
        "corridor_id": nullable_text,
        "stage": {"type": "string"},
        "seconds": seconds,
        "peak_memory_mb": memory_mb,
    }
    problem = {
        **dict.fromkeys(("file", "layer", "feature", "column", "value"), nullable_text),
        "problem": {"type": "string"},
        "remedy": {"type": "string"},
    }
    return {
        "$schema": _DIALECT,
        "title": "routescreen summary",
        **_object(
            {
                "status": {"type": "string", "enum": ["done", "failed"]},
                "exit_code": {"type": "integer", "enum": [0, 1, 2, 3, 4, 5, 6, 130]},
                "corridors": {"type": "array", "items": _object(corridor)},
                "seconds": seconds,
                "peak_memory_mb": memory_mb,
                "stages": {"type": "array", "items": _object(stage)},
                "files": _TEXTS,
                "warnings": _TEXTS,
                "caution": {"const": CAUTION},
                "problems": {"type": "array", "items": _object(problem)},
            },
            optional=("problems",),
        ),
    }


# --- Tables for the docs --------------------------------------------------------------------------------


def _limits(column: Column) -> str:
    if column.allowed:
        return ", ".join(f"`{value}`" for value in column.allowed)
    if column.minimum is None and column.maximum is None:
        return ""
    if column.maximum is None:
        return f"at least {column.minimum:g}"
    low = "" if column.minimum is None else f"{column.minimum:g} "
    return f"{low}to {column.maximum:g}"


def _presence(column: Column) -> str:
    if not column.is_required:
        return "optional"
    return "may be NULL" if column.is_nullable else "always"


def _layer_markdown(layer: Layer) -> str:
    geometry = " or ".join(layer.geometry) if layer.is_spatial else "no geometry"
    lines = [f"### `{layer.name}`", "", f"{geometry}. {layer.meaning}", ""]
    if not layer.columns:
        return "\n".join([*lines[:-1], "No columns are read.", ""])
    lines += ["| column | type | unit | value | limits | meaning |", "| --- | --- | --- | --- | --- | --- |"]
    for column in layer.columns:
        cells = (
            f"`{column.name}`",
            column.type,
            column.unit,
            _presence(column),
            _limits(column),
            column.meaning,
        )
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join([*lines, ""])


def _rasters_markdown() -> str:
    lines = [
        "### Rasters",
        "",
        "| raster | unit | needed | values | meaning |",
        "| --- | --- | --- | --- | --- |",
    ]
    for raster in INPUT_RASTERS:
        needed = "yes" if raster.is_required else "no"
        values = f"{raster.minimum:g} to {raster.maximum:g}"
        lines.append(f"| `{raster.name}` | {raster.unit} | {needed} | {values} | {raster.meaning} |")
    return "\n".join([*lines, ""])


def markdown_tables() -> dict[str, str]:
    """Return the docs' tables as Markdown: ``inputs`` and ``results``, without page headings."""
    inputs = "\n".join([*map(_layer_markdown, INPUT_LAYERS), _rasters_markdown()])
    return {"inputs": inputs, "results": "\n".join(map(_layer_markdown, RESULT_LAYERS))}
