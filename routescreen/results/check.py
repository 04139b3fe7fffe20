"""Result tables brought into the schema's form, or refused with every fault named.

Room: ``results``. Imports ``errors`` and ``schema``. A fault found here is ours, never the user's.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from routescreen.errors import Problem, RoutescreenError
from routescreen.schema import LAYERS_BY_NAME, RESULT_LAYERS, Column, Layer

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray
    from pyproj import CRS

ROUNDING = 1e-12  # share of a bound, or of 1, by which sums of rounded numbers may pass it
_REMEDY = "This is a fault of routescreen: please report it with the input."


class ResultFaultError(RoutescreenError):
    """A finished table is not what the schema promises; nothing was written."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = tuple(problems)
        lines = [f"- {problem}" for problem in problems]
        super().__init__("\n".join(["The results break their own schema; nothing was written:", *lines]))


def conform(tables: Mapping[str, pd.DataFrame], crs: CRS) -> dict[str, pd.DataFrame]:
    """Return the tables in the schema's order of layers and columns and with its types.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        By layer name; spatial layers as GeoDataFrame. Every required layer must be there.
    crs : CRS
        Coordinate reference system that every spatial layer must have.

    Returns
    -------
    dict of str to DataFrame
        New tables; missing texts are None, missing numbers NaN.

    Raises
    ------
    ResultFaultError
        If a layer or column is missing or unknown, a value has another type, is missing where it may
        not be, infinite or out of its range, or a geometry is missing, empty, invalid, of another
        type or in another coordinate reference system. Lists everything found.
    """
    problems = [
        _fault("There is no such layer in the schema.", name) for name in tables if name not in LAYERS_BY_NAME
    ]
    done: dict[str, pd.DataFrame] = {}
    for layer in RESULT_LAYERS:
        if layer.name in tables:
            done[layer.name] = _conform_layer(layer, tables[layer.name], crs, problems)
        elif layer.is_required:
            problems.append(_fault("The layer is missing.", layer.name))
    if problems:
        raise ResultFaultError(problems)
    return done


def _fault(
    problem: str, layer: str, column: str | None = None, feature: str | None = None, value: object = None
) -> Problem:
    shown = None if value is None else repr(value)[:80]
    return Problem(problem, _REMEDY, layer=layer, feature=feature, column=column, value=shown)


def _conform_layer(layer: Layer, table: pd.DataFrame, crs: CRS, problems: list[Problem]) -> pd.DataFrame:
    geometry = table.geometry.name if isinstance(table, gpd.GeoDataFrame) else None
    extra = [name for name in table.columns if name not in layer.column_names and name != geometry]
    problems += [_fault("The column is not in the schema.", layer.name, str(name)) for name in extra]
    columns: dict[str, pd.Series] = {}
    for column in layer.columns:
        if column.name in table.columns:
            columns[column.name] = _conform_column(layer, column, table[column.name], problems)
        else:
            problems.append(_fault("The column is missing.", layer.name, column.name))
    plain = pd.DataFrame(columns)
    if not layer.is_spatial:
        return plain
    if not isinstance(table, gpd.GeoDataFrame):
        problems.append(_fault("The layer has no geometry.", layer.name))
        return plain
    problems += _geometry_problems(layer, table, crs)
    return gpd.GeoDataFrame(plain, geometry=table.geometry.reset_index(drop=True), crs=table.crs)


def _conform_column(layer: Layer, column: Column, series: pd.Series, problems: list[Problem]) -> pd.Series:
    series = series.reset_index(drop=True)
    missing = series.isna()
    if missing.any() and not column.is_nullable:
        problems.append(_fault("A value is missing.", layer.name, column.name, _feature(missing)))
    wrong = ~missing & ~_has_type(column, series)
    if wrong.any():
        text = f"The value is not {column.type}."
        problems.append(_fault(text, layer.name, column.name, _feature(wrong), series[wrong].iloc[0]))
        return series
    if column.type == "text":
        return _conform_text(layer, column, series.astype(object).where(~missing, None), problems)
    if missing.any() and not column.is_nullable:
        return series
    if column.type == "boolean":
        return series.astype(bool)
    numbers = _rounded_in(column, series.astype(float)) if column.type == "real" else series.astype("int64")
    _check_range(layer, column, numbers, problems)
    return numbers


def _rounded_in(column: Column, numbers: pd.Series) -> pd.Series:
    """Set what only rounding has brought beyond a bound to it: no run may fail by that."""
    for bound in (column.minimum, column.maximum):
        if bound is not None:
            is_there = (numbers - bound).abs() <= ROUNDING * max(1.0, abs(bound))
            numbers = numbers.mask(is_there, bound)
    return numbers


def _has_type(column: Column, series: pd.Series) -> pd.Series:
    kinds: dict[str, tuple[type, ...]] = {
        "text": (str,),
        "integer": (int, np.integer),
        "real": (float, int, np.floating, np.integer),
        "boolean": (bool, np.bool_),
    }
    wanted = kinds[column.type]
    is_truth = column.type == "boolean"
    return pd.Series(
        [
            isinstance(value, wanted) and (is_truth or not isinstance(value, bool | np.bool_))
            for value in series
        ],
        index=series.index,
        dtype=bool,
    )


def _conform_text(layer: Layer, column: Column, texts: pd.Series, problems: list[Problem]) -> pd.Series:
    known = texts.notna()
    if column.allowed:
        strange = known & ~texts.isin(column.allowed)
        if strange.any():
            text = f"The value is none of {', '.join(column.allowed)}."
            value = texts[strange].iloc[0]
            problems.append(_fault(text, layer.name, column.name, _feature(strange), value))
    unwritable = known & pd.Series([not _is_writable(text) for text in texts], index=texts.index, dtype=bool)
    if unwritable.any():
        value = texts[unwritable].iloc[0]
        text = "The text holds a character that can't be stored."
        problems.append(_fault(text, layer.name, column.name, _feature(unwritable), value))
    return texts


def _is_writable(text: str | None) -> bool:
    """Whether a database keeps the text whole: no end mark in it and no half characters."""
    if text is None:
        return True
    try:
        return b"\0" not in text.encode()
    except UnicodeEncodeError:
        return False


def _check_range(layer: Layer, column: Column, numbers: pd.Series, problems: list[Problem]) -> None:
    low = -np.inf if column.minimum is None else column.minimum
    high = np.inf if column.maximum is None else column.maximum
    infinite = np.isinf(numbers)
    outside = ~infinite & ((numbers < low) | (numbers > high))
    for bad, text in (
        (infinite, "The value is infinite."),
        (outside, f"The value is not within {low:g} and {high:g}."),
    ):
        if bad.any():
            value = numbers[bad].iloc[0]
            problems.append(_fault(text, layer.name, column.name, _feature(bad), float(value)))


def _geometry_problems(layer: Layer, table: gpd.GeoDataFrame, crs: CRS) -> list[Problem]:
    name = layer.name
    problems = []
    if table.crs is None or table.crs != crs:
        problems.append(
            _fault("The layer has another coordinate reference system.", name, value=str(table.crs))
        )
    shapes = np.asarray(table.geometry.array)
    kind, _, has_z = layer.geometry[0].partition(" ")
    there = ~shapely.is_missing(shapes) & ~shapely.is_empty(shapes)
    finite = _is_finite(shapes, has_z=bool(has_z))
    wrong_type = there & (shapely.get_type_id(shapes) != _TYPE_IDS[kind])
    other_dimension = there & (shapely.has_z(shapes) != bool(has_z))
    for bad, text in (
        (~there, "The geometry is missing or empty."),
        (wrong_type, f"The geometry is not a {kind}."),
        (other_dimension, f"The geometry is not a {layer.geometry[0]}."),
        (there & ~other_dimension & ~finite, "A coordinate is not a finite number."),
        (there & finite & ~wrong_type & ~shapely.is_valid(shapes), "The geometry is not valid."),
    ):
        if bad.any():
            problems.append(_fault(text, name, "geometry", _feature(pd.Series(bad))))
    return problems


_TYPE_IDS = {"Point": 0, "LineString": 1, "Polygon": 3}


def _is_finite(shapes: NDArray[np.object_], *, has_z: bool) -> NDArray[np.bool_]:
    coordinates, owner = shapely.get_coordinates(shapes, include_z=has_z, return_index=True)
    finite = np.ones(len(shapes), dtype=bool)
    finite[owner[~np.isfinite(coordinates).all(axis=1)]] = False
    return finite


def _feature(bad: pd.Series) -> str:
    rows = np.flatnonzero(bad.to_numpy())
    return f"row {rows[0] + 1}" + (f" and {len(rows) - 1} more" if len(rows) > 1 else "")
