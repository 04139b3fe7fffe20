"""What a column, a layer and a raster are.

Room: ``schema``. Imports nothing of the package.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

ColumnType = Literal["text", "integer", "real", "boolean"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a layer or table.

    Attributes
    ----------
    name : str
        Ends in its unit where it has one.
    type : {"text", "integer", "real", "boolean"}
    unit : str
        Unit of the values, "" for text, "-" for plain numbers.
    meaning : str
    is_required : bool
        The column must be there. Every column of a result is.
    is_nullable : bool
        A value may be missing (NULL, None or NaN).
    minimum, maximum : float or None
        Inclusive limits of the values, in `unit`.
    allowed : tuple of str
        The values a text may have; empty where any text may stand.
    """

    name: str
    type: ColumnType
    unit: str
    meaning: str
    is_required: bool = True
    is_nullable: bool = False
    minimum: float | None = None
    maximum: float | None = None
    allowed: tuple[str, ...] = ()

    @property
    def label(self) -> str:
        """Heading for people: the name in words with the unit in brackets."""
        suffix = UNIT_SUFFIXES.get(self.unit, "")
        stem = self.name.removesuffix(suffix) if suffix else self.name
        words = stem.replace("_", " ")
        words = words[:1].upper() + words[1:]
        return f"{words} ({self.unit})" if self.unit not in ("", "-") else words


UNIT_SUFFIXES = {
    "m": "_m",
    "m2": "_m2",
    "m3": "_m3",
    "h": "_h",
    "EUR": "_eur",
    "kN": "_kN",
    "%": "_percent",
    "deg": "_deg",
}


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer or table.

    Attributes
    ----------
    name : str
    geometry : tuple of str
        Geometry types that may stand in it, by their OGC names; empty for a plain table. A result has
        at most one. Inputs may hold several parts (Multi...) of a type named here.
    meaning : str
    columns : tuple of Column
    is_required : bool
        An input that must be there, or a result that is always written.
    """

    name: str
    geometry: tuple[str, ...]
    meaning: str
    columns: tuple[Column, ...]
    is_required: bool = False

    @property
    def is_spatial(self) -> bool:
        """Whether features have a geometry."""
        return bool(self.geometry)

    @property
    def column_names(self) -> tuple[str, ...]:
        """Names of the columns in their order."""
        return tuple(column.name for column in self.columns)

    def column(self, name: str) -> Column:
        """Return the column of that name; KeyError where there is none."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)


@dataclass(frozen=True, slots=True)
class Raster:
    """One raster of the input.

    Attributes
    ----------
    name : str
        Table in the GeoPackage, or stem of the ``.tif`` beside it.
    unit : str
    meaning : str
    is_required : bool
    minimum, maximum : float
        Inclusive limits of the values, in `unit`.
    """

    name: str
    unit: str
    meaning: str
    is_required: bool
    minimum: float
    maximum: float


def text(name: str, meaning: str, *allowed: str, null: bool = False, required: bool = True) -> Column:
    """Return a text column."""
    return Column(name, "text", "", meaning, required, null, allowed=allowed)


def real(
    name: str,
    unit: str,
    meaning: str,
    low: float | None = None,
    high: float | None = None,
    *,
    null: bool = False,
    required: bool = True,
) -> Column:
    """Return a column of real numbers with its inclusive limits."""
    return Column(name, "real", unit, meaning, required, null, low, high)


def option(name: str, meaning: str, *allowed: str) -> Column:
    """Return a text column that an input may leave out."""
    return text(name, meaning, *allowed, null=True, required=False)


def number(name: str, unit: str, meaning: str, low: float, high: float) -> Column:
    """Return a column of real numbers that an input may leave out."""
    return real(name, unit, meaning, low, high, null=True, required=False)
