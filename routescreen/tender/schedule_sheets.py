"""Schedules of a tender: measuring rules, crossings, shafts, drives, sections of cable.

Room: ``tender``. Result tables in, sheets out; ids without the corridor, columns that hold nothing left out.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import pandas as pd
import shapely

from routescreen.schema import LAYERS_BY_NAME, Column
from routescreen.tender.places import short_id
from routescreen.tender.sheets import Row, Sheet, SheetColumn

if TYPE_CHECKING:
    from collections.abc import Mapping

    from routescreen.tender.bill import TenderBill
    from routescreen.tender.sheets import Cell, Kind
    from routescreen.tender.wording import Words

# Columns of each schedule in their order, then those that only the house gets: costs, utilisations.
_CROSSINGS = (
    ("crossing_id", "kind", "name", "chainage_m", "width_m", "angle_deg", "treatment", "section_id"),
    ("cover_m", "required_cover_m", "clearance_m", "confidence", "owner", "to_agree", "remark"),
)
_SHAFTS = (("shaft_id", "role", "chainage_m", "easting_m", "northing_m", "ground_m", "depth_m"),)
_DRIVES = (
    ("drive_id", "section_id", "method", "launch_shaft_id", "reception_shaft_id", "from_chainage_m"),
    ("to_chainage_m", "length_m", "grade_percent", "bores", "bore_diameter_m", "bore_spacing_m"),
    ("launch_invert_m", "reception_invert_m", "cover_min_m", "cover_min_chainage_m", "thrust_kN"),
    ("pull_in_kN", "layout_pieces"),
)
_CABLES = (LAYERS_BY_NAME["cable_sections"].column_names[1:],)
_HOUSE: Mapping[str, tuple[str, ...]] = {
    "crossings": ("extra_if_otherwise_eur", "feature_id"),
    "shafts": ("axis_chainage_m", "offset_m", "amount_eur"),
    "drives": ("thrust_utilisation", "pull_in_utilisation", "status", "amount_eur"),
}
_LONG: Mapping[str, float] = {
    "name": 24,
    "owner": 22,
    "to_agree": 46,
    "remark": 30,
    "feature_id": 22,
    "method": 26,
}
_OWN_WORDS = ("status", "cable", "governed_by")
_TEXT: Mapping[str, float] = {"kind": 16, "role": 20, "treatment": 12, "confidence": 11, "drum_at": 11}


def rules_sheet(bill: TenderBill, words: Words, *, for_bidders: bool) -> Sheet:
    """Return how each position's quantity is measured."""
    rows = tuple(
        Row((p.number, p.item, p.description, words.units.get(p.unit, p.unit), words.say(p.rule)))
        for p in bill.positions
        if p.of_class.is_for_bidders or not for_bidders
    )
    columns = (
        SheetColumn(words["position"], 10),
        SheetColumn(words["item"], 16),
        SheetColumn(words["description"], 48, "long"),
        SheetColumn(words["unit"], 9),
        SheetColumn(words["rule"], 84, "long"),
    )
    notes = (words["rules_note"], words["rules_rounding"])
    return Sheet(words["sheet_rules"], words["title_rules"], notes, columns, rows)


def crossings_sheet(
    tables: Mapping[str, pd.DataFrame], corridor_id: str, words: Words, *, for_bidders: bool
) -> Sheet:
    """Return the crossing schedule with who must agree to what."""
    schedule = pd.DataFrame(tables["crossing_schedule"].drop(columns="geometry"))
    agreed = tables["agreements"][["crossing_id", "owner", "to_agree"]].drop_duplicates("crossing_id")
    table = schedule.merge(agreed, on="crossing_id", how="left")
    known = (*LAYERS_BY_NAME["crossing_schedule"].columns, *LAYERS_BY_NAME["agreements"].columns)
    return _schedule("crossings", table, known, _CROSSINGS, corridor_id, words, for_bidders=for_bidders)


def shafts_sheet(
    tables: Mapping[str, pd.DataFrame], corridor_id: str, words: Words, *, for_bidders: bool
) -> Sheet:
    """Return the shafts with coordinates and level of the ground."""
    shafts = tables["shafts"]
    table = pd.DataFrame(shafts.drop(columns="geometry"))
    at = shapely.get_coordinates(list(shafts.geometry), include_z=True) if len(shafts) else None
    extra = ("easting_m", "northing_m", "ground_m")
    for number, name in enumerate(extra):
        table[name] = at[:, number] if at is not None else []
    known = (*LAYERS_BY_NAME["shafts"].columns, *(Column(name, "real", "m", "") for name in extra))
    return _schedule("shafts", table, known, _SHAFTS, corridor_id, words, for_bidders=for_bidders)


def drives_sheet(
    tables: Mapping[str, pd.DataFrame], corridor_id: str, words: Words, *, for_bidders: bool
) -> Sheet:
    """Return the drives with their chainages and the levels of the invert at both ends."""
    drives, sections = tables["drives"], tables["sections"]
    table = pd.DataFrame(drives.drop(columns="geometry"))
    ends = sections.set_index("section_id")
    lines = [shapely.get_coordinates(line, include_z=True) for line in drives.geometry]
    added: dict[str, list[float]] = {
        "from_chainage_m": [float(ends["from_chainage_m"][name]) for name in drives["section_id"]],
        "to_chainage_m": [float(ends["to_chainage_m"][name]) for name in drives["section_id"]],
        "launch_invert_m": [float(line[0, 2]) for line in lines],
        "reception_invert_m": [float(line[-1, 2]) for line in lines],
    }
    table = table.assign(**added)
    known = (*LAYERS_BY_NAME["drives"].columns, *(Column(name, "real", "m", "") for name in added))
    return _schedule("drives", table, known, _DRIVES, corridor_id, words, for_bidders=for_bidders)


def cable_sheet(tables: Mapping[str, pd.DataFrame], corridor_id: str, words: Words) -> Sheet:
    """Return the cables from joint to joint."""
    known = LAYERS_BY_NAME["cable_sections"].columns
    table = tables["cable_sections"]
    return _schedule("cables", table, known, _CABLES, corridor_id, words, for_bidders=False)


def _schedule(
    key: str,
    table: pd.DataFrame,
    known: tuple[Column, ...],
    names: tuple[tuple[str, ...], ...],
    corridor_id: str,
    words: Words,
    *,
    for_bidders: bool,
) -> Sheet:
    """Return a table as a sheet: the named columns that hold anything, ids without the corridor."""
    by_name = {column.name: column for column in known}
    wanted = [name for part in names for name in part] + list(() if for_bidders else _HOUSE.get(key, ()))
    shown = [by_name[name] for name in wanted if table.empty or bool(table[name].notna().any())]
    cells = [[_cell(value, column, corridor_id, words) for value in table[column.name]] for column in shown]
    rows = tuple(Row(row) for row in zip(*cells, strict=True)) if len(table) else ()
    headings = tuple(SheetColumn(words.heading(column), _width(column), _kind(column)) for column in shown)
    name, title = words[f"sheet_{key}"], words[f"title_{key}"]
    notes = (words["schedule_note"],)
    return Sheet(name, title, notes, headings, rows, paper="A3", has_filter=bool(rows))


def _kind(column: Column) -> Kind:
    if column.type == "integer":
        return "count"
    if column.type == "text":
        return "long" if column.name in _LONG else "text"
    if column.unit == "EUR":
        return "amount"
    return "length" if column.unit == "m" else "share" if column.unit == "-" else "tenth"


def _width(column: Column) -> float:
    widths: Mapping[Kind, float] = {"amount": 16, "text": _TEXT.get(column.name, 11), "count": 9}
    return widths.get(_kind(column), _LONG.get(column.name, 13 if column.unit == "m" else 11))


def _cell(value: Any, column: Column, corridor_id: str, words: Words) -> Cell:
    if isinstance(value, str):
        is_id, is_word = column.name.endswith("_id"), column.name in ("method", *_TEXT, *_OWN_WORDS)
        shown = words.value(value) if is_word else value
        return short_id(shown, corridor_id) if is_id and column.name != "feature_id" else shown
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return None
    return int(value) if column.type == "integer" else float(value)
