"""What two bills differ in: by item and by class, split into what other quantities and other rates make.

Room: ``answers``. Pure.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from routescreen.money.item import GROUPS

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["cents", "class_differences", "item_differences"]

_CLASS = re.compile(r"^[A-Za-z]+")


def cents(amounts_eur: pd.Series) -> int:
    """Return the sum of rounded amounts in whole cents."""
    return int(np.rint(100.0 * amounts_eur.to_numpy(dtype=float)).sum())


def item_differences(bill_a: pd.DataFrame, bill_b: pd.DataFrame) -> pd.DataFrame:
    """Compare two bills item by item.

    Parameters
    ----------
    bill_a, bill_b : DataFrame
        With the columns of the result table `bill`.

    Returns
    -------
    DataFrame
        One row an item of either bill, the largest difference first: `item`, `class`, `description`, `unit`,
        `quantity_a`, `quantity_b`, `amount_a_eur`, `amount_b_eur`, `extra_eur` (b less a),
        `by_quantity_eur`, `by_rate_eur`. The sum of `extra_eur` is the difference of the totals, to the cent.

    Notes
    -----
    With mean quantity q and mean rate r of both bills, (q_b - q_a) r + (r_b - r_a) q is the difference,
    whichever bill comes first. An item that only one bill has differs by its quantity alone.
    """
    sums = [_by_item(bill) for bill in (bill_a, bill_b)]
    items = sums[0].index.union(sums[1].index)
    quantity = [table["quantity"].reindex(items).fillna(0.0).to_numpy(dtype=float) for table in sums]
    amount = [table["cents"].reindex(items).fillna(0).to_numpy(dtype=float) / 100.0 for table in sums]
    words = sums[0][["description", "unit"]].reindex(items).combine_first(sums[1][["description", "unit"]])
    extra = np.round(amount[1] - amount[0], 2)
    by_quantity = _by_quantity(quantity, amount)
    table = pd.DataFrame(
        {
            "item": items.to_numpy(dtype=object),
            "class": [class_of(str(item)) for item in items],
            "description": words["description"].to_numpy(dtype=object),
            "unit": words["unit"].to_numpy(dtype=object),
            "quantity_a": quantity[0],
            "quantity_b": quantity[1],
            "amount_a_eur": amount[0],
            "amount_b_eur": amount[1],
            "extra_eur": extra,
            "by_quantity_eur": by_quantity,
            "by_rate_eur": np.round(extra - by_quantity, 2),
        }
    )
    return dearest_first(table)


def class_differences(items: pd.DataFrame) -> pd.DataFrame:
    """Add the differences up by class of the bill, the largest first."""
    columns = ["amount_a_eur", "amount_b_eur", "extra_eur", "by_quantity_eur", "by_rate_eur"]
    sums = items.groupby("class", sort=True)[columns].sum().round(2).reset_index()
    return dearest_first(sums)


def dearest_first(table: pd.DataFrame) -> pd.DataFrame:
    """Sort by the size of the difference, whatever its sign; equals stay in their order."""
    order = np.argsort(-table["extra_eur"].abs().to_numpy(dtype=float), kind="stable")
    return table.iloc[order].reset_index(drop=True)


def class_of(item: str) -> str:
    """Return the class of an item in words.

    >>> class_of("TR70_grassland"), class_of("XY1")
    ('trench', 'XY')
    """
    found = _CLASS.match(item)
    letters = found[0] if found else item
    return GROUPS.get(letters, letters)


def _by_item(bill: pd.DataFrame) -> pd.DataFrame:
    lines = bill.assign(cents=np.rint(100.0 * bill["amount_eur"].to_numpy(dtype=float)))
    return lines.groupby("item").agg(
        description=("description", "first"),
        unit=("unit", "first"),
        quantity=("quantity", "sum"),
        cents=("cents", "sum"),
    )


def _by_quantity(
    quantity: list[NDArray[np.float64]], amount: list[NDArray[np.float64]]
) -> NDArray[np.float64]:
    """Return what the other quantities alone make of the difference [EUR]."""
    rate = [
        np.divide(money, of, out=np.full(len(of), np.nan), where=of != 0.0)
        for of, money in zip(quantity, amount, strict=True)
    ]
    # an item that one bill lacks has the other's rate there
    own = [np.where(np.isnan(rate[k]), rate[1 - k], rate[k]) for k in (0, 1)]
    middle = np.nan_to_num(0.5 * (own[0] + own[1]))
    return np.asarray(np.round((quantity[1] - quantity[0]) * middle, 2), dtype=np.float64)
