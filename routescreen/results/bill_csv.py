"""The bill as comma-separated values.

Room: ``results``. Imports ``schema`` and its own neighbours.
"""

from __future__ import annotations

import csv
import io
import math
from typing import TYPE_CHECKING

from routescreen.results.files import replace_text
from routescreen.schema import LAYERS_BY_NAME

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd


def bill_csv_text(bill: pd.DataFrame) -> str:
    """Return the bill with a heading, one line an item, by RFC 4180.

    Quantities have three decimals and amounts two, rates as many as they need; a missing value is an
    empty field. There is no line of totals, so that a reader can add the column.

    Parameters
    ----------
    bill : DataFrame
        The result table ``bill``.
    """
    names = LAYERS_BY_NAME["bill"].column_names
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(names)
    for row in bill[list(names)].itertuples(index=False):
        writer.writerow([_cell(name, value) for name, value in zip(names, row, strict=True)])
    return text.getvalue()


def write_bill_csv(bill: pd.DataFrame, path: Path) -> None:
    """Write the bill as UTF-8.

    Raises
    ------
    OutputError
        If the file can't be written.
    """
    replace_text(path, bill_csv_text(bill))


def _cell(name: str, value: object) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    if not isinstance(value, float):
        return str(value)
    if name == "quantity":
        return f"{value:.3f}"
    return f"{value:.2f}" if round(value, 2) == value else str(value)
