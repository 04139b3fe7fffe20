"""The result layers and tables, made from screened corridors.

Room: ``results``. Imports ``schema`` and its own neighbours. Reckons nothing of engineering or money:
it names, places and sums what it is given.
"""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
from shapely import Point

from routescreen import __version__
from routescreen.results import shapes
from routescreen.results.lookup import Lookup, look_up
from routescreen.schema import CAUTION, LAYERS_BY_NAME, RESULT_LAYERS, SCHEMA_VERSION

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pyproj import CRS

    from routescreen.plan import Plan, Shaft
    from routescreen.screened import ScreenedCorridor, Site

Rows = dict[str, Any]

# layers whose rows come ready from the proofs, with indices of elements in place of names, and all that do
CURVES: tuple[str, ...] = (
    "drive_curves",
    "cable_curve",
    "joint_bays",
    "cable_sections",
    "investigation_plan",
    "agreements",
    "hazards",
    "parcels_used",
    "earthworks",
    "constraints",
)
READY: tuple[str, ...] = ("crossing_ways", "shaft_tolerance", "binding_limits", "costs_apart", *CURVES)


def result_tables(corridors: Sequence[ScreenedCorridor], crs: CRS) -> dict[str, pd.DataFrame]:
    """Build every result layer of all corridors, in the schema's order.

    Parameters
    ----------
    corridors : sequence of ScreenedCorridor
    crs : CRS
        Their common projected coordinate reference system.

    Returns
    -------
    dict of str to DataFrame
        By layer name; spatial layers as GeoDataFrame. Columns that nothing fills yet are NULL.
    """
    parts = [_corridor_tables(corridor) for corridor in corridors]
    return {
        layer.name: _assemble(layer.name, [part[layer.name] for part in parts], crs)
        for layer in RESULT_LAYERS
    }


def _assemble(name: str, parts: list[Rows], crs: CRS) -> pd.DataFrame:
    layer = LAYERS_BY_NAME[name]
    tables = [pd.DataFrame(part) for part in parts if part and len(next(iter(part.values())))]
    table = pd.concat(tables, ignore_index=True) if tables else pd.DataFrame()
    for column in layer.columns:
        if column.name not in table and (column.is_nullable or table.empty):
            table[column.name] = pd.Series(
                None, index=table.index, dtype=object if column.type == "text" else float
            )
    if not layer.is_spatial:
        return table
    shapes_of = table.pop("geometry") if "geometry" in table else pd.Series([], dtype=object)
    return gpd.GeoDataFrame(table, geometry=gpd.GeoSeries(shapes_of.tolist(), crs=crs), crs=crs)


def _corridor_tables(corridor: ScreenedCorridor) -> dict[str, Rows]:
    makers: dict[str, Callable[[Lookup], Rows]] = {
        "alignment": _alignment,
        "sections": _sections,
        "drives": _drives,
        "bores": _bores,
        "shafts": _shafts,
        "compounds": _compounds,
        "layout_strips": _strips,
        "crossing_schedule": _crossings,
        "checks": _checks,
        "bill": _bill,
        "long_section": _long_section,
        **{name: partial(_curve, name) for name in READY},
        "alternatives": _alternatives,
        "run_record": _run_record,
    }
    lookup = look_up(corridor)
    named = {"corridor_id": corridor.plan.corridor_id}
    return {name: _stamped(make(lookup), named) for name, make in makers.items()}


def _stamped(rows: Rows, named: dict[str, str]) -> Rows:
    count = len(next(iter(rows.values()), ()))
    return {key: [value] * count for key, value in named.items()} | rows


def _rows(records: list[Rows]) -> Rows:
    return {key: [record[key] for record in records] for key in records[0]} if records else {}


def _columns(table: pd.DataFrame, *left_out: str) -> Rows:
    return {str(name): table[name].tolist() for name in table if name not in left_out}


def _alignment(lookup: Lookup) -> Rows:
    line = shapes.alignment_line(lookup.corridor.plan)
    total_eur = sum(lookup.section_cents.values()) / 100.0
    return {"length_m": [float(lookup.vertex_m[-1])], "total_eur": [total_eur], "geometry": [line]}


def _sections(lookup: Lookup) -> Rows:
    plan = lookup.corridor.plan
    records = []
    for index, (run, reason) in enumerate(zip(lookup.runs, lookup.corridor.reasons, strict=True)):
        from_m, to_m = (float(lookup.vertex_m[at]) for at in (run.from_vertex, run.to_vertex))
        records.append(
            {
                "section_id": lookup.name("section", index),
                "construction": "open_cut" if run.drive is None else "drive",
                "method": None if run.drive is None else plan.drives[run.drive].method,
                "from_chainage_m": from_m,
                "to_chainage_m": to_m,
                "length_m": to_m - from_m,
                "reason": reason,
                "amount_eur": lookup.section_cents.get(index, 0) / 100.0,
                "geometry": shapes.alignment_line(plan, run.from_vertex, run.to_vertex),
            }
        )
    return _rows(records)


def _drives(lookup: Lookup) -> Rows:
    plan = lookup.corridor.plan
    sections = {run.drive: index for index, run in enumerate(lookup.runs)}
    records = []
    for index, (drive, data) in enumerate(zip(plan.drives, lookup.corridor.drives, strict=True)):
        line = shapes.bore_line(plan, drive, data)
        ends = (drive.lower_shaft, drive.upper_shaft)
        launch, reception = ends if drive.is_launched_at_lower else ends[::-1]
        records.append(
            {
                "drive_id": lookup.name("drive", index),
                "section_id": lookup.name("section", sections[index]),
                "method": drive.method,
                "launch_shaft_id": lookup.name("shaft", launch),
                "reception_shaft_id": lookup.name("shaft", reception),
                "length_m": shapes.bore_length_m(line, data),
                "grade_percent": 100.0 * shapes.rise_frac(line),
                "bores": data.n_bores,
                "bore_diameter_m": data.bore_diameter_m,
                "bore_spacing_m": data.bore_spacing_m if data.n_bores > 1 else math.nan,
                "cover_min_m": data.cover_min_m,
                "cover_min_chainage_m": data.cover_min_chainage_m,
                "thrust_kN": data.thrust_kN,
                "thrust_utilisation": data.thrust_utilisation,
                "pull_in_kN": data.pull_in_kN,
                "pull_in_utilisation": data.pull_in_utilisation,
                "layout_pieces": drive.n_layout_pieces if drive.layout_xy_m else 0,
                "status": lookup.drive_status(index, sections[index]),
                "amount_eur": lookup.amount_eur("drive", index),
                "reason": lookup.corridor.reasons[sections[index]],
                "geometry": line,
            }
        )
    return _rows(records)


def _bores(lookup: Lookup) -> Rows:
    plan = lookup.corridor.plan
    records = []
    for index, (drive, data) in enumerate(zip(plan.drives, lookup.corridor.drives, strict=True)):
        drive_id = lookup.name("drive", index)
        for number, left_m in enumerate(shapes.bore_offsets_m(data), start=1):
            line = shapes.bore_line(plan, drive, data, left_m)
            record = {"bore_id": f"{drive_id}-B{number}", "drive_id": drive_id}
            records.append(record | {"length_m": shapes.bore_length_m(line, data), "geometry": line})
    return _rows(records)


def _role(plan: Plan, shaft: Shaft) -> str:
    roles = []
    if shaft.incoming is not None:
        roles.append("reception" if plan.drives[shaft.incoming].is_launched_at_lower else "launch")
    if shaft.outgoing is not None:
        roles.append("launch" if plan.drives[shaft.outgoing].is_launched_at_lower else "reception")
    return "+".join(roles)


def _shaft_vertex(plan: Plan, shaft: Shaft) -> int:
    if shaft.incoming is not None:
        return plan.drives[shaft.incoming].to_vertex
    if shaft.outgoing is None:
        raise ValueError("a shaft must serve a drive")
    return plan.drives[shaft.outgoing].from_vertex


def _shafts(lookup: Lookup) -> Rows:
    plan, bill = lookup.corridor.plan, lookup.corridor.bill
    is_fill = (bill["element"] == "shaft") & (bill["item"] == "SH29")
    filled = set(bill[is_fill]["element_index"])
    records = []
    for index, shaft in enumerate(plan.shafts):
        along_m, offset_m = shapes.locate_on_axis(lookup.corridor.axis, shaft.xy_m)
        records.append(
            {
                "shaft_id": lookup.name("shaft", index),
                "role": _role(plan, shaft),
                "chainage_m": float(lookup.vertex_m[_shaft_vertex(plan, shaft)]),
                "axis_chainage_m": along_m,
                "offset_m": offset_m,
                "depth_m": shaft.depth_m,
                "fill": "conducting" if index in filled else "spoil",
                "amount_eur": lookup.amount_eur("shaft", index),
                "geometry": Point(*shaft.xy_m, shaft.ground_m),
            }
        )
    own = lookup.corridor.shaft_columns
    return _rows(records) | ({} if own is None else _columns(own))


def _area(site: Site) -> Rows:
    outline = site.outline
    return {"area_m2": outline.area, "length_m": shapes.longer_side_m(outline), "geometry": outline}


def _compounds(lookup: Lookup) -> Rows:
    records = []
    for index, site in enumerate(lookup.corridor.compounds):
        record = {"compound_id": lookup.name("compound", index), "shaft_id": lookup.name("shaft", site.owner)}
        records.append(record | _area(site))
    return _rows(records)


def _strips(lookup: Lookup) -> Rows:
    records = []
    for index, site in enumerate(lookup.corridor.strips):
        drive = lookup.corridor.plan.drives[site.owner]
        shaft = drive.upper_shaft if drive.is_launched_at_lower else drive.lower_shaft
        record = {
            "strip_id": lookup.name("strip", index),
            "shaft_id": lookup.name("shaft", shaft),
            "drive_id": lookup.name("drive", site.owner),
            "pieces": drive.n_layout_pieces,
            "turn_deg": shapes.turn_deg(drive.layout_xy_m),
            "area_m2": site.outline.area,
            "length_m": shapes.length_m(drive.layout_xy_m),
            "geometry": site.outline,
        }
        records.append(record)
    return _rows(records)


def _crossings(lookup: Lookup) -> Rows:
    line = shapes.alignment_line(lookup.corridor.plan)
    order = list(lookup.crossing_rows)
    rows = _columns(lookup.corridor.crossings.iloc[order])
    rows["crossing_id"] = [lookup.name("crossing", number) for number in range(len(order))]
    rows["section_id"] = [lookup.name("section", lookup.crossing_sections[row]) for row in order]
    rows["geometry"] = [line.interpolate(at_m) for at_m in rows["chainage_m"]]
    return rows


def _checks(lookup: Lookup) -> Rows:
    table = lookup.corridor.checks
    rows = _columns(table, "element", "element_index")
    rows["check_id"] = [lookup.name("check", number) for number in range(len(table))]
    rows["element_id"] = [name or lookup.corridor_id for name in lookup.names(table)]
    if "margin" not in rows:
        rows["margin"] = (table["capacity"].astype(float) - table["demand"].astype(float)).tolist()
    return rows


def _bill(lookup: Lookup) -> Rows:
    table = lookup.corridor.bill
    rows = _columns(table, "section_index", "element", "element_index")
    rows["section_id"] = [None if at < 0 else lookup.name("section", at) for at in table["section_index"]]
    rows["element_id"] = lookup.names(table)
    return rows


def _long_section(lookup: Lookup) -> Rows:
    profile = lookup.corridor.long_section
    names = ("chainage_m", "ground_m", "invert_m", "cover_m", "required_cover_m", "groundwater_m")
    rows: Rows = {name: getattr(profile, name).tolist() for name in names}
    rows["construction"] = np.where(profile.is_drive, "drive", "open_cut").tolist()
    return rows


def _curve(name: str, lookup: Lookup) -> Rows:
    """Return the rows of a curve or register, what they are about by its name; -1 means nothing."""
    table = lookup.corridor.curves.get(name, pd.DataFrame())
    elements = ("drive", "section", "shaft", "crossing", "bay", "cable_section", "alternative")
    rows = _columns(table, *(f"{element}_index" for element in elements))
    number_of = {row: number for number, row in enumerate(lookup.crossing_rows)}
    for element in elements:
        if f"{element}_index" in table:
            places = [int(at) for at in table[f"{element}_index"]]
            if element == "crossing":
                places = [number_of.get(at, at) for at in places]  # -1: none
            rows[f"{element}_id"] = [None if at < 0 else lookup.name(element, at) for at in places]
    return rows


def _alternatives(lookup: Lookup) -> Rows:
    """Return the alternatives, what each is about by the name of its crossing."""
    rows = _curve("alternatives", lookup)
    number_of = {row: number for number, row in enumerate(lookup.crossing_rows)}
    about = [int(at) for at in rows.pop("about_index", [])]
    return rows | {"about_id": [None if at < 0 else lookup.name("crossing", number_of[at]) for at in about]}


def _run_record(lookup: Lookup) -> Rows:
    about = {"routescreen_version": __version__, "schema_version": SCHEMA_VERSION, "caution": CAUTION}
    record = about | dict(lookup.corridor.run_record)
    return {"key": list(record), "value": list(record.values())}
