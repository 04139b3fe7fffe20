"""What the page is told: tables, plan and long section of each corridor, ready for JSON.

Room: ``report``. Numbers are rounded to what is shown; lengths of the plan are whole decimetres.
"""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from routescreen.assumptions import flat_items, load_assumptions
from routescreen.report.answer import answer_of
from routescreen.report.outlines import PER_M, coded, parts, simple_shapes
from routescreen.schema import LAYERS_BY_NAME, Column

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from routescreen.screened import Backdrop

    Json = dict[str, Any]

# In the order of the page. What is drawn only, or listed nowhere but in the GeoPackage, is left out.
SHOWN = (
    "sections",
    "crossing_schedule",
    "drives",
    "shafts",
    "shaft_tolerance",
    "crossing_ways",
    "alternatives",
    "binding_limits",
    "checks",
    "bill",
    "costs_apart",
    "cable_sections",
    "joint_bays",
    "agreements",
    "hazards",
    "constraints",
    "parcels_used",
    "earthworks",
    "investigation_plan",
)
DIGITS = {"EUR": 2, "-": 3, "m": 2, "deg": 1, "%": 2, "kN": 1, "m2": 0, "m3": 1, "h": 1, "t": 1, "A": 0}
LEFT_OUT = "corridor_id"
SAID_ELSEWHERE = {("drives", "reason")}  # stands in the sections' table
ASSUMPTION, WARNING = "assumption ", "warning "


def payload_of(tables: Mapping[str, pd.DataFrame], backdrop: Backdrop | None, corridor_id: str) -> Json:
    """Return all that the page shows of one corridor.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        All result tables that the schema names.
    backdrop : Backdrop or None
        What lies in the corridor; without it the plan shows the works alone.
    corridor_id : str

    Returns
    -------
    dict
    """
    own = {name: table[table[LEFT_OUT] == corridor_id] for name, table in tables.items()}
    record = dict(zip(own["run_record"]["key"], own["run_record"]["value"], strict=True))
    answer = asdict(answer_of(own))
    answer["n_checks"] = dict(answer["n_checks"])
    return {
        "id": corridor_id,
        "answer": answer,
        "plan": _plan(own, backdrop),
        "profile": _profile(own["long_section"]),
        "tables": {name: _table(name, own[name]) for name in SHOWN},
        "differs": _differs(record),
        "warnings": [value for key, value in record.items() if key.startswith(WARNING)],
        "record": [
            [key, value]
            for key, value in record.items()
            if not key.startswith((ASSUMPTION, WARNING, "caution"))
        ],
    }


def _table(name: str, table: pd.DataFrame) -> Json:
    columns = [
        c
        for c in LAYERS_BY_NAME[name].columns
        if c.name != LEFT_OUT and c.name in table and (name, c.name) not in SAID_ELSEWHERE
    ]
    # a column that nothing has filled would only be in the way
    columns = [c for c in columns if not len(table) or bool(table[c.name].notna().any())]
    return {
        "columns": [_column(c) for c in columns],
        "rows": [
            list(row) for row in zip(*(_values(table[c.name], _digits(c)) for c in columns), strict=True)
        ]
        if columns
        else [],
    }


def _column(column: Column) -> Json:
    return {
        "key": column.name,
        "label": column.label,
        "meaning": column.meaning,
        "type": "text" if column.type in ("text", "boolean") else "number",
        "digits": _digits(column),
    }


def _digits(column: Column) -> int:
    return 0 if column.type == "integer" else DIGITS.get(column.unit, 2)


def _values(values: pd.Series[Any], digits: int) -> list[object]:
    return [_value(value, digits) for value in values]


def _value(value: object, digits: int) -> object:
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    if isinstance(value, int | float | np.integer | np.floating):
        number = float(value)
        return None if not math.isfinite(number) else round(number, digits) if digits else round(number)
    return value if isinstance(value, str) else None


def _plan(own: Mapping[str, pd.DataFrame], backdrop: Backdrop | None) -> Json:
    """Return everything that is drawn in the plan."""
    line = shapely.get_coordinates(own["alignment"].geometry.iloc[0])
    origin = (float(line[0, 0]), float(line[0, 1]))
    along_m = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line[:, :2], axis=0).T))])
    return {
        "per_m": PER_M,
        "origin": list(origin),
        "alignment": coded(line, origin),
        "along": [int(value) for value in np.rint(along_m * PER_M)],
        "outline": [] if backdrop is None or backdrop.outline is None else parts(backdrop.outline, origin)[1],
        "features": [] if backdrop is None else _features(backdrop, origin),
        "drives": _shapes(own["drives"], "drive_id", origin, "status"),
        "bores": _shapes(own["bores"], "bore_id", origin),
        "shafts": _shapes(own["shafts"], "shaft_id", origin, "role"),
        "shaft_tolerance": _shapes(own["shaft_tolerance"], "shaft_id", origin),
        "compounds": _shapes(own["compounds"], "shaft_id", origin),
        "layout_strips": _shapes(own["layout_strips"], "drive_id", origin),
        "joint_bays": _shapes(own["joint_bays"], "bay_id", origin),
        "alternatives": _shapes(own["alternatives"], "alternative_id", origin),
        "crossings": _shapes(own["crossing_schedule"], "crossing_id", origin, "treatment"),
    }


def _features(backdrop: Backdrop, origin: tuple[float, float]) -> list[Json]:
    found = []
    for number, shape in simple_shapes(backdrop.shapes):
        form, chains = parts(shape, origin)
        kind, name, feature = (
            backdrop.kinds[number],
            backdrop.names[number],
            backdrop.feature_ids[number],
        )
        found.append({"form": form, "at": chains, "kind": kind, "name": name, "id": feature})
    return found


def _shapes(
    table: pd.DataFrame, name: str, origin: tuple[float, float], drawn_by: str | None = None
) -> list[Json]:
    """Return a layer's shapes with their names and what they are drawn by."""
    found = []
    looks = table[drawn_by] if drawn_by else [""] * len(table)
    for of, look, shape in zip(table[name], looks, table.geometry if len(table) else [], strict=True):
        if shape is not None and not shapely.is_empty(shape):
            found.append({"id": of, "look": look, "at": parts(shapely.force_2d(shape), origin)[1]})
    return found


def _profile(table: pd.DataFrame) -> Json:
    """Return the long section as one list a line, levels in centimetres."""
    columns = ("ground_m", "invert_m", "cover_m", "required_cover_m", "groundwater_m")
    return {
        "along": [int(value) for value in np.rint(table["chainage_m"].to_numpy(dtype=float) * PER_M)],
        "is_drive": [int(value == "drive") for value in table["construction"]],
        **{name: [_centi(value) for value in table[name]] for name in columns},
    }


def _centi(value: object) -> int | None:
    number = float(value) if isinstance(value, int | float) else math.nan
    return round(number * 100.0) if math.isfinite(number) else None


def _differs(record: Mapping[str, str]) -> list[list[str]]:
    """Return the assumptions that differ from the defaults: key, value, default."""
    defaults = {key: str(value) for key, value in flat_items(load_assumptions()).items()}
    given = {
        key.removeprefix(ASSUMPTION): str(value).removesuffix(" (not used yet)")
        for key, value in record.items()
        if key.startswith(ASSUMPTION)
    }
    return [
        [key, given.get(key, ""), defaults.get(key, "")]
        for key in dict.fromkeys([*given, *defaults])
        if given.get(key) != defaults.get(key) and given
    ]
