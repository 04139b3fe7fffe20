"""A workbook as plain data: sheets of rows of cells, some of them formulas with the value they give.

Room: ``tender``. Pure data; knows no file and no library.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

# Rows as a spreadsheet counts them, from 1: title, up to three notes, headings, then the table.
HEADING_ROW = 5
FIRST_ROW = HEADING_ROW + 1

Kind = Literal[
    "text", "long", "figure", "count", "tenth", "length", "quantity", "rate", "open", "amount", "share"
]
Look = Literal["line", "class", "total", "grand", "plain", "strong"]


@dataclass(frozen=True, slots=True)
class Formula:
    """A live formula in English notation, and what it gives, for readers that don't calculate."""

    text: str
    value: float


Cell = str | float | int | Formula | None


@dataclass(frozen=True, slots=True)
class SheetColumn:
    """A column of a sheet.

    Attributes
    ----------
    heading : str
    width : float
        In signs of the usual font.
    kind : Kind
        How its values look; ``open`` cells are for filling in where the sheet is protected.
    """

    heading: str
    width: float
    kind: Kind = "text"


@dataclass(frozen=True, slots=True)
class Row:
    """A row of cells, no more than the sheet has columns."""

    cells: tuple[Cell, ...]
    look: Look = "line"


@dataclass(frozen=True, slots=True)
class Sheet:
    r"""One sheet.

    Attributes
    ----------
    name : str
        On its tab; no more than 31 signs, none of ``[]:*?/\``.
    title : str
    notes : tuple of str
        Up to three lines below the title.
    columns : tuple of SheetColumn
    rows : tuple of Row
    paper : {"A4", "A3"}
        Printed across, as many columns as there are on one page's width.
    is_protected : bool
        All but the open cells are kept from changes, without a password.
    has_filter : bool
    has_headings : bool
        Without, it is no table and nothing is frozen or repeated.
    """

    name: str
    title: str
    notes: tuple[str, ...]
    columns: tuple[SheetColumn, ...]
    rows: tuple[Row, ...]
    paper: Literal["A4", "A3"] = "A4"
    is_protected: bool = False
    has_filter: bool = False
    has_headings: bool = True


@dataclass(frozen=True, slots=True)
class Book:
    """A workbook.

    Attributes
    ----------
    title, about : str
        For the file's properties, and on each printed page.
    sheets : tuple of Sheet
    """

    title: str
    about: str
    sheets: tuple[Sheet, ...]


def sheet_ref(name: str) -> str:
    """Return a sheet's name as it stands in a formula.

    Examples
    --------
    >>> sheet_ref("Priced bill")
    "'Priced bill'!"
    """
    quoted = name.replace("'", "''")
    return f"'{quoted}'!"
