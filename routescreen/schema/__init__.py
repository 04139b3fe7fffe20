"""Every layer, table and column that routescreen reads or writes, as plain data.

Room: just above ``errors``; imports nothing else of the package and nothing heavy. The readers check
inputs against it, the writers check results against it, and the tables in the docs are made from it.
Names in the results are a contract: columns may be added, none is renamed or taken away without a new
``SCHEMA_VERSION``.
"""

from __future__ import annotations

from routescreen.schema.documents import markdown_tables, plan_json_schema, summary_json_schema
from routescreen.schema.inputs import INPUT_LAYERS, INPUT_RASTERS, INPUTS_BY_NAME
from routescreen.schema.model import Column, ColumnType, Layer, Raster
from routescreen.schema.outputs import LAYERS_BY_NAME, RESULT_LAYERS, SCHEMA_VERSION
from routescreen.schema.words import (
    CAUTION,
    CONFIDENCES,
    CONSTRUCTIONS,
    NEVER_PRICED,
    NOT_IN_BILL,
    PARTS,
    SHAFT_ROLES,
    STATUSES,
)

__all__ = [
    "CAUTION",
    "CONFIDENCES",
    "CONSTRUCTIONS",
    "INPUTS_BY_NAME",
    "INPUT_LAYERS",
    "INPUT_RASTERS",
    "LAYERS_BY_NAME",
    "NEVER_PRICED",
    "NOT_IN_BILL",
    "PARTS",
    "RESULT_LAYERS",
    "SCHEMA_VERSION",
    "SHAFT_ROLES",
    "STATUSES",
    "Column",
    "ColumnType",
    "Layer",
    "Raster",
    "markdown_tables",
    "plan_json_schema",
    "summary_json_schema",
]
