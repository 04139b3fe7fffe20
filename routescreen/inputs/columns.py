"""Columns of a layer checked against the schema and brought to its types.

Room: ``inputs``. Touches no file.
"""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from routescreen.inputs.problems import MOST_VALUES_NAMED, few, listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from routescreen.inputs.problems import Findings
    from routescreen.inputs.sources import Place
    from routescreen.schema import Column, Layer

# Ids that must name one feature each; a borehole's id is shared by its soil layers.
UNIQUE_IDS = ("feature_id", "parcel_id")


def check_columns(
    frame: gpd.GeoDataFrame,
    layer: Layer,
    place: Place,
    findings: Findings,
    words: Mapping[str, tuple[str, ...]],
) -> gpd.GeoDataFrame:
    """Return the table with exactly the schema's columns and its geometry, noting every fault.

    Parameters
    ----------
    frame : GeoDataFrame
        Indexed by the label of each feature.
    layer : Layer
        What the schema declares.
    place : Place
    findings : Findings
    words : mapping of str to tuple of str
        For columns whose words come from the assumptions: what they allow.

    Returns
    -------
    GeoDataFrame
        Text as str or None, numbers as float64 with NaN where missing.
    """
    table = gpd.GeoDataFrame(geometry=frame.geometry.rename("geometry"))
    for column in layer.columns:
        if column.name in frame.columns:
            values = _typed(frame[column.name], column, place, findings)
            _check_values(values, column, place, findings, words.get(column.name, column.allowed))
        else:
            if column.is_required:
                _note_missing_column(frame, column, place, findings)
            values = _nothing(frame.index, column)
        table[column.name] = values
    return table[[*layer.column_names, "geometry"]]


def _typed(values: pd.Series, column: Column, place: Place, findings: Findings) -> pd.Series:
    if column.type == "text":
        return as_text(values)
    numbers = pd.to_numeric(values, errors="coerce").astype("float64")
    is_lost = numbers.isna() & values.notna() & (as_text(values).notna())
    is_lost &= ~values.astype(str).str.strip().str.lower().isin(["nan"])
    _note_values(values[is_lost], column, place, findings, "This is not a number.", _range_text(column))
    return numbers


def as_text(values: pd.Series) -> pd.Series:
    """Text without blanks around it; None where nothing remains. Whole numbers lose their ``.0``."""
    if pd.api.types.is_float_dtype(values) and (values.dropna() % 1 == 0).all():
        values = values.astype("Int64")
    texts = [None if pd.isna(value) else str(value).strip() or None for value in values]
    return pd.Series(texts, index=values.index, dtype=object)


def _nothing(index: pd.Index, column: Column) -> pd.Series:
    if column.type == "text":
        return pd.Series([None] * len(index), index=index, dtype=object)
    return pd.Series(np.nan, index=index, dtype="float64")


def _check_values(
    values: pd.Series, column: Column, place: Place, findings: Findings, allowed: tuple[str, ...]
) -> None:
    known = values.dropna()
    if not column.is_nullable:
        _note_absent(values[values.isna()], column, place, findings)
    if column.type == "text":
        _check_words(known, column, place, findings, allowed)
    else:
        _check_range(known, column, place, findings)
    if column.name in UNIQUE_IDS:
        repeated = known[known.duplicated(keep=False)]
        _note_values(
            repeated,
            column,
            place,
            findings,
            "Several features have this id.",
            "Give each feature its own id, or leave it empty.",
        )


def _check_words(
    known: pd.Series, column: Column, place: Place, findings: Findings, allowed: tuple[str, ...]
) -> None:
    if not allowed:
        return
    unknown = known[~known.isin(allowed)]
    for value, rows in unknown.groupby(unknown, sort=False):  # by the first feature of each
        close = likely(str(value), allowed)
        hint = f"Perhaps {' or '.join(close)}? " if close else ""
        _note_values(rows, column, place, findings, "Unknown word.", f"{hint}Use one of: {listed(allowed)}.")


def likely(word: str, allowed: Iterable[str]) -> list[str]:
    """Return what a word that is not known may stand for, at most three.

    Parameters
    ----------
    word : str
    allowed : iterable of str

    Returns
    -------
    list of str
        The one that is spelt most alike; else those that begin with the word, such as `sand_loose` and
        `sand_dense` for `sand`.
    """
    plain, known = word.strip().lower().replace(" ", "_"), list(allowed)
    alike = difflib.get_close_matches(plain, known, n=1)
    longer = [name for name in known if plain and name.startswith(f"{plain}_")]
    return (alike or longer)[:3]


def _check_range(known: pd.Series, column: Column, place: Place, findings: Findings) -> None:
    low = -np.inf if column.minimum is None else column.minimum
    high = np.inf if column.maximum is None else column.maximum
    is_infinite = np.isinf(known)
    remedy = _range_text(column)
    _note_values(known[is_infinite], column, place, findings, "The number is infinite.", remedy)
    is_out = ~is_infinite & ((known < low) | (known > high))
    _note_values(known[is_out], column, place, findings, "The number is out of range.", remedy)


def _range_text(column: Column) -> str:
    unit = f" {column.unit}" if column.unit not in ("", "-") else ""
    if column.minimum is None or column.maximum is None:
        return f"Give a number{f' in{unit}' if unit else ''}, or leave it empty."
    return f"Give a number from {column.minimum:g} to {column.maximum:g}{unit}" + (
        ", or leave it empty." if column.is_nullable else "."
    )


def _note_values(
    values: pd.Series, column: Column, place: Place, findings: Findings, problem: str, remedy: str
) -> None:
    """Note one fault for each distinct value, with the features that have it, in the features' order."""
    groups = list(values.groupby(values.astype(str), sort=False))
    for value, rows in groups[:MOST_VALUES_NAMED]:
        findings.add(
            problem,
            remedy,
            file=place.file.path,
            layer=place.layer,
            feature=few([str(label) for label in rows.index]),
            column=column.name,
            value=str(value),
        )
    rest = len(groups) - MOST_VALUES_NAMED
    if rest > 0:
        findings.add(
            f"{problem} So are {rest} more values.",
            remedy,
            file=place.file.path,
            layer=place.layer,
            column=column.name,
        )


def _note_absent(rows: pd.Series, column: Column, place: Place, findings: Findings) -> None:
    if rows.empty:
        return
    findings.add(
        "The value is missing.",
        f"Fill it in: {column.meaning}",
        file=place.file.path,
        layer=place.layer,
        feature=few([str(label) for label in rows.index]),
        column=column.name,
    )


def _note_missing_column(frame: gpd.GeoDataFrame, column: Column, place: Place, findings: Findings) -> None:
    if frame.empty:
        return
    findings.add(
        "The layer lacks a column that is needed.",
        f"Add it: {column.meaning}",
        file=place.file.path,
        layer=place.layer,
        column=column.name,
    )
