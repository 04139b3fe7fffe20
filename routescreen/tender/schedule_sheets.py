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
    from collections.abc import Mapping, Sequence

    from routescreen.tender.bill import TenderBill
    from routescreen.tender.sheets import Cell, Kind
    from routescreen.tender.wording import Words

_LONG = ("reason", "remark", "to_agree", "name", "owner", "monitoring")
# Cost and search are the owner's own business, not the bidders'.
_INTERNAL = ("extra_if_otherwise_eur", "amount_eur", "move_along_back_m", "move_along_on_m", "move_left_m")
_INTERNAL_TOO = (*_INTERNAL, "move_right_m", "axis_chainage_m", "offset_m", "feature_id")
_WIDTHS: Mapping[Kind, float] = {"long": 46, "text": 16}


def rules_sheet(bill: TenderBill, words: Words, *, for_bidders: bool) -> Sheet:
    """Return how each position's quantity is measured."""
    rows = tuple(
        Row((p.number, p.item, p.description, words.units.get(p.unit, p.unit), p.rule))
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
    columns = [*LAYERS_BY_NAME["crossing_schedule"].columns]
    columns += [LAYERS_BY_NAME["agreements"].column(name) for name in ("owner", "to_agree")]
    return _schedule("crossings", table, columns, corridor_id, words, for_bidders=for_bidders)


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
    columns = [*LAYERS_BY_NAME["shafts"].columns, *(Column(name, "real", "m", "") for name in extra)]
    return _schedule("shafts", table, columns, corridor_id, words, for_bidders=for_bidders)


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
    columns = [*LAYERS_BY_NAME["drives"].columns, *(Column(name, "real", "m", "") for name in added)]
    return _schedule("drives", table, columns, corridor_id, words, for_bidders=for_bidders)


def cable_sheet(tables: Mapping[str, pd.DataFrame], corridor_id: str, words: Words) -> Sheet:
    """Return the cables from joint to joint."""
    columns = LAYERS_BY_NAME["cable_sections"].columns
    table = tables["cable_sections"]
    return _schedule("cables", table, columns, corridor_id, words, for_bidders=False)


def _schedule(
    key: str,
    table: pd.DataFrame,
    columns: Sequence[Column],
    corridor_id: str,
    words: Words,
    *,
    for_bidders: bool,
) -> Sheet:
    left_out = ("corridor_id", *(_INTERNAL_TOO if for_bidders else ()))
    shown = [
        c
        for c in columns
        if c.name not in left_out and (table.empty or bool(table[c.name].notna().any()))
    ]
    kinds = [_kind(column) for column in shown]
    cells = [
        [_cell(value, kind, corridor_id, words) for value in table[column.name]]
        for column, kind in zip(shown, kinds, strict=True)
    ]
    rows = tuple(Row(row) for row in zip(*cells, strict=True)) if len(table) else ()
    headings = tuple(
        SheetColumn(words.heading(column), _WIDTHS.get(kind, 12), kind)
        for column, kind in zip(shown, kinds, strict=True)
    )
    return Sheet(
        words[f"sheet_{key}"],
        words[f"title_{key}"],
        (words["schedule_note"],),
        headings,
        rows,
        paper="A3",
        has_filter=bool(rows),
    )


def _kind(column: Column) -> Kind:
    if column.type == "integer":
        return "count"
    if column.type == "text":
        return "long" if column.name in _LONG else "text"
    if column.unit == "EUR":
        return "amount"
    return "length" if column.unit == "m" else "share" if column.unit == "-" else "tenth"


def _cell(value: Any, kind: Kind, corridor_id: str, words: Words) -> Cell:
    if isinstance(value, str):
        return short_id(words.value(value), corridor_id) if kind == "text" else value
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return None
    return int(value) if kind == "count" else float(value)
