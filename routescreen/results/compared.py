"""A comparison as files: a GeoPackage that opens styled, and one page.

Room: ``results``. Imports ``schema``, ``answers`` and its own neighbours.
"""

from __future__ import annotations

import sqlite3
from contextlib import ExitStack, closing
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pandas as pd
import pyogrio
import shapely
from shapely import Point

from routescreen.answers.stretches import route_of
from routescreen.answers.told_parts import records
from routescreen.languages import ENGLISH
from routescreen.report.compared import compared_html
from routescreen.results.files import replacing
from routescreen.results.geopackage import GEOMETRY_COLUMN, as_output_error, time_of_change
from routescreen.results.style_qml import qml_text
from routescreen.results.style_sld import sld_text
from routescreen.results.symbols import (
    CRIMSON,
    INK_BLUE,
    OCHRE,
    SLATE,
    TEAL,
    WHITE,
    Category,
    Label,
    LayerStyle,
    LinePart,
    MarkerPart,
)
from routescreen.schema.model import Column, real, text
from routescreen.unfinished import file_work

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime
    from pathlib import Path

    from pyproj import CRS

    from routescreen.answers.compare import Comparison

__all__ = ["write_comparison"]

GPKG, PAGE = "compared.gpkg", "compared.html"
_PAIR = (text("plan_a", "Plan that is compared with."), text("plan_b", "Plan that is compared."))
_PLAN = text("plan", "Plan that it is of.")
COLUMNS: dict[str, tuple[Column, ...]] = {
    "alignments": (
        _PLAN,
        text("role", "First plan, or one compared with it.", "a", "b"),
        text("corridor_id", "Corridor."),
        real("length_m", "m", "Plan length."),
        real("total_eur", "EUR", "Sum of the bill."),
    ),
    "stretches": (
        *_PAIR,
        _PLAN,
        real("stretch", "-", "Number along the first plan."),
        text("look", "Whether plan b costs more there.", "dearer", "cheaper", "even", "before"),
        real("from_chainage_m", "m", "Where it begins in its plan."),
        real("to_chainage_m", "m", "Where it ends in its plan."),
        real("apart_m", "m", "Greatest distance of the two alignments."),
        text("built", "How it is built."),
        real("cost_eur", "EUR", "What it costs in its plan."),
        real("extra_eur", "EUR", "What plan b costs more there."),
        text("reason", "Why, where the other plan has other reasons."),
    ),
    "crossings": (
        *_PAIR,
        text("feature_id", "Features of the input."),
        text("kind", "Kind of the feature."),
        text("name", "Its name."),
        text("what", "Passed otherwise, or met by one plan only."),
        text("treatment_a", "How plan a passes it."),
        text("treatment_b", "How plan b passes it."),
        real("stretch", "-", "Stretch it lies in; 0 for none."),
        real("extra_eur", "EUR", "Difference of what is measured at the crossing itself."),
    ),
}
TABLES = ("figures", "classes", "items", "works", "checks", "assumptions", "inputs")
STYLES = (
    LayerStyle(
        "stretches",
        "look",
        (
            Category("dearer", "Plan b costs more here", (LinePart(CRIMSON, 2.2),)),
            Category("cheaper", "Plan b costs less here", (LinePart(TEAL, 2.2, (1.5, 1.0)),)),
            Category("even", "The same cost", (LinePart(SLATE, 2.2),)),
            Category("before", "Plan a here", (LinePart(OCHRE, 1.2, (2.0, 1.0)),)),
        ),
        Label(
            "extra_eur",
            "if(\"look\" = 'before', '', \"stretch\" || ': ' || format_number(\"extra_eur\", 0) || ' EUR')",
            200_000,
            8,
        ),
    ),
    LayerStyle(
        "alignments",
        "role",
        (
            Category("a", "Plan a", (LinePart(SLATE, 0.9, (3.0, 1.5)),)),
            Category("b", "Plan b", (LinePart(WHITE, 1.4), LinePart(INK_BLUE, 0.9))),
        ),
        Label("plan", '"plan"', 500_000, 5),
    ),
    LayerStyle(
        "crossings",
        None,
        (
            Category(
                "",
                "Passed otherwise, or by one plan only",
                (MarkerPart("diamond", 3.2, CRIMSON, LinePart(WHITE, 0.4)),),
            ),
        ),
        Label("kind", "left(coalesce(\"name\", replace(\"kind\", '_', ' ')), 30)", 25_000, 7, 7.5),
        hidden_beyond=250_000,
    ),
)


def write_comparison(
    comparisons: Sequence[Comparison],
    crs: CRS,
    folder: Path,
    *,
    stamp_utc: datetime,
    language: str = ENGLISH,
) -> tuple[Path, ...]:
    """Write ``compared.gpkg`` and ``compared.html``, both or none.

    Parameters
    ----------
    comparisons : sequence of Comparison
    crs : CRS
        Of all geometries.
    folder : Path
        Made where it is missing.
    stamp_utc : datetime
        When the comparison was made, with its time zone.
    language : str
        Of the page, one of ``languages.languages``.

    Returns
    -------
    tuple of Path

    Raises
    ------
    OutputError
        If a file can't be written; the last good files stay.
    """
    page = compared_html(comparisons, crs_name=crs.name, stamp_utc=stamp_utc, language=language)
    with ExitStack() as stack:
        temporary = stack.enter_context(replacing(folder / GPKG))
        _fill(comparisons, crs, temporary, folder / GPKG, stamp_utc)
        stack.enter_context(replacing(folder / PAGE)).write_bytes(page.encode())
        finished = stack.pop_all()
    with file_work():
        finished.close()
    return folder / GPKG, folder / PAGE


def _fill(
    comparisons: Sequence[Comparison], crs: CRS, temporary: Path, path: Path, stamp_utc: datetime
) -> None:
    layers = {
        "alignments": _alignments(comparisons, crs),
        "stretches": _layer("stretches", list(_stretches(comparisons)), crs),
        "crossings": _layer("crossings", list(_crossings(comparisons)), crs),
    }
    with as_output_error(path), time_of_change(stamp_utc):
        for number, (name, table) in enumerate(layers.items()):
            _write(table, temporary, name, is_first=number == 0)
        for name in TABLES:
            parts = [_named(getattr(c, name), c) for c in comparisons]
            _write(pd.concat(parts, ignore_index=True), temporary, name, is_first=False)
        _write(_styles(stamp_utc), temporary, "layer_styles", is_first=False)
        with closing(sqlite3.connect(temporary, isolation_level=None)) as database:
            database.execute("pragma journal_mode=delete")


def _write(table: pd.DataFrame, path: Path, layer: str, *, is_first: bool) -> None:
    options: dict[str, Any] = {"layer_options": {"FID": "id"} if layer == "layer_styles" else {}}
    if is_first:
        options["dataset_options"] = {"VERSION": "1.3"}
    if isinstance(table, gpd.GeoDataFrame):
        options["geometry_type"] = "Point" if layer == "crossings" else "LineString"
        options["promote_to_multi"] = False
        options["layer_options"] = {"SPATIAL_INDEX": "YES", "GEOMETRY_NAME": GEOMETRY_COLUMN}
    pyogrio.write_dataframe(table, path, layer=layer, driver="GPKG", append=not is_first, **options)


def _alignments(comparisons: Sequence[Comparison], crs: CRS) -> gpd.GeoDataFrame:
    first = comparisons[0].a
    plans = [("a", first), *(("b", c.b) for c in comparisons)]
    rows = [
        {
            "plan": plan.name,
            "role": role,
            "corridor_id": plan.corridor_id,
            "length_m": float(plan.tables["alignment"]["length_m"].iloc[0]),
            "total_eur": float(plan.tables["alignment"]["total_eur"].iloc[0]),
            "geometry": shapely.force_2d(plan.tables["alignment"].geometry.iloc[0]),
        }
        for role, plan in plans
    ]
    return gpd.GeoDataFrame(rows, geometry="geometry", crs=crs)


def _stretches(comparisons: Sequence[Comparison]) -> Iterator[dict[str, Any]]:
    """Yield each stretch as it lies in either plan, that of plan b on top."""
    for c in comparisons:
        for key, plan in (("a", c.a), ("b", c.b)):
            route = route_of(plan.tables)
            for row in records(c.stretches):
                piece = route.piece(row[f"from_{key}_m"], row[f"to_{key}_m"]) if row["stretch"] else None
                if piece is None:
                    continue
                extra = row["extra_eur"]
                look = "dearer" if extra > 0.0 else "cheaper" if extra < 0.0 else "even"
                yield {
                    "plan_a": c.a.name,
                    "plan_b": c.b.name,
                    "plan": plan.name,
                    "stretch": float(row["stretch"]),
                    "look": look if key == "b" else "before",
                    "from_chainage_m": row[f"from_{key}_m"],
                    "to_chainage_m": row[f"to_{key}_m"],
                    "apart_m": row["apart_m"],
                    "built": row[f"built_{key}"],
                    "cost_eur": row[f"cost_{key}_eur"],
                    "extra_eur": extra,
                    "reason": row[f"reason_{key}"],
                    "geometry": piece,
                }


def _crossings(comparisons: Sequence[Comparison]) -> Iterator[dict[str, Any]]:
    for c in comparisons:
        for row in records(c.crossings):
            plan, at_m = (
                (c.b, row["chainage_b_m"]) if row["chainage_b_m"] is not None else (c.a, row["chainage_a_m"])
            )
            kept = {name: row[name] for name in ("feature_id", "kind", "name", "what")}
            ways = {name: row[name] for name in ("treatment_a", "treatment_b", "extra_eur")}
            place = route_of(plan.tables).at(float(at_m))[0]
            yield {
                "plan_a": c.a.name,
                "plan_b": c.b.name,
                **kept,
                **ways,
                "stretch": float(row["stretch"]),
                "geometry": Point(place.x, place.y),
            }


def _layer(name: str, rows: list[dict[str, Any]], crs: CRS) -> gpd.GeoDataFrame:
    table = pd.DataFrame(rows, columns=[*(column.name for column in COLUMNS[name]), "geometry"])
    for column in COLUMNS[name]:
        kept = table[column.name].astype(object)
        table[column.name] = kept.where(kept.notna(), None) if column.type == "text" else kept.astype(float)
    shapes = gpd.GeoSeries(table.pop("geometry").tolist(), crs=crs)
    return gpd.GeoDataFrame(table, geometry=shapes, crs=crs)


def _named(table: pd.DataFrame, c: Comparison) -> pd.DataFrame:
    """Return a table with the names of both plans in front; texts whole, numbers as numbers."""
    named = table.copy()
    named.insert(0, "plan_a", c.a.name)
    named.insert(1, "plan_b", c.b.name)
    for name in ("utilisation_a", "utilisation_b", "chainage_a_m", "chainage_b_m"):
        if name in named:
            named[name] = named[name].astype(float)
    return named


def _styles(stamp_utc: datetime) -> pd.DataFrame:
    rows = [
        {
            "f_table_catalog": "",
            "f_table_schema": "",
            "f_table_name": style.layer,
            "f_geometry_column": GEOMETRY_COLUMN,
            "styleName": style.layer,
            "styleQML": qml_text(style, COLUMNS[style.layer]),
            "styleSLD": sld_text(style),
            "useAsDefault": True,
            "description": style.layer,
            "owner": "",
            "ui": None,
            "update_time": pd.Timestamp(stamp_utc),
        }
        for style in STYLES
    ]
    return pd.DataFrame(rows).astype({"ui": object})
