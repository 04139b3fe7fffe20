"""The bill of quantities: rounded lines and totals in whole cents.

Room: ``money``. May import ``assumptions``. Tables in, tables out; knows no files.

A quantity is rounded half up to 0.001 of its unit, and its amount, that quantity x rate, half up to
the cent, both in decimal arithmetic. Totals add whole cents, so they are the sums of what is printed.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from routescreen.money.items import bill_items, rates_eur

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.money.item import Level

BILL_COLUMNS = (
    "item",
    "description",
    "unit",
    "quantity",
    "rate_eur",
    "amount_eur",
    "amount_cents",
    "section_id",
    "element_id",
    "carried_by",
    "part",
    "amount_low_eur",
    "amount_high_eur",
)
MILLI = Decimal("0.001")
_CENT = Decimal("0.01")
ENDS: tuple[Level, Level] = ("low", "high")


def round_half_up(value: float | Decimal, step: Decimal) -> Decimal:
    """Round to a multiple of a decimal step, halves away from zero.

    Parameters
    ----------
    value : float or Decimal
        A float counts as the shortest decimal number that prints it, so 0.0005 is a half.
    step : Decimal
        For example 0.001.

    Returns
    -------
    Decimal

    Examples
    --------
    >>> round_half_up(2.675, Decimal("0.01"))
    Decimal('2.68')
    """
    exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    return exact.quantize(step, rounding=ROUND_HALF_UP)


def bill_lines(
    section_ids: Sequence[str | None],
    element_ids: Sequence[str | None],
    quantities: NDArray[np.float64],
    a: Assumptions,
    *,
    level: Level = "expected",
) -> pd.DataFrame:
    """Write the lines of the bill.

    Parameters
    ----------
    section_ids, element_ids : sequence of str or None, length n
        Section and element (section, drive, shaft, crossing) of each row; None for the whole link.
    quantities : ndarray of float64, shape (n, n_items)
        In the order of ``items.bill_items``.
    a : Assumptions
    level : {"low", "expected", "high"}
        Which rate of each range.

    Returns
    -------
    DataFrame
        Columns `BILL_COLUMNS`, row by row in the order of the items; what rounds to nothing is left
        out. `quantity` in the item's unit, `amount_eur` = `amount_cents` / 100; `amount_low_eur`,
        `amount_high_eur` the same quantity at the low and the high rate.
    """
    items, rates = bill_items(a).items, rates_eur(a, level=level)
    ends = [rates_eur(a, level=end) for end in ENDS]
    lines = []
    for row, column in np.argwhere(quantities != 0.0):
        quantity = round_half_up(quantities[row, column], MILLI)
        if quantity == 0:
            continue
        item, rate = items[column], float(rates[column])
        cents = amount_cents(quantity, rate)
        where = (section_ids[row], element_ids[row], item.carried_by, item.part)
        low_high = [amount_cents(quantity, float(end[column])) / 100.0 for end in ends]
        what = (item.code, item.description, item.unit, float(quantity), rate, cents / 100.0, cents)
        lines.append((*what, *where, *low_high))
    return _table(lines)


def amount_cents(quantity: Decimal, rate_eur: float) -> int:
    """Price a rounded quantity, rounded half up to whole cents."""
    return int(round_half_up(quantity * Decimal(repr(rate_eur)), _CENT) * 100)


def total_cents(bill: pd.DataFrame) -> int:
    """Add up the bill in whole cents."""
    return int(bill["amount_cents"].sum())


def cents_by(bill: pd.DataFrame, column: str) -> dict[str, int]:
    """Add up the bill in whole cents by section, element, item or who carries it.

    Parameters
    ----------
    bill : DataFrame
        From `bill_lines`.
    column : str
        ``section_id``, ``element_id``, ``item`` or ``carried_by``.

    Returns
    -------
    dict of str to int
        Cents by the column's values, in the order in which they first appear; lines without a value
        are left out.
    """
    sums = bill.groupby(column, sort=False)["amount_cents"].sum()
    return {str(key): int(cents) for key, cents in sums.items()}


def _table(lines: Sequence[tuple[object, ...]]) -> pd.DataFrame:
    table = pd.DataFrame(lines, columns=list(BILL_COLUMNS), dtype="object")  # keeps None as None
    names = ("quantity", "rate_eur", "amount_eur", "amount_low_eur", "amount_high_eur")
    numbers = dict.fromkeys(names, "float64")
    return table.astype({**numbers, "amount_cents": "int64"})
