"""What is shown beside the bill and is not in its total: running of the sites, and the owner's costs.

Room: ``money``. May import ``assumptions``. Tables in, tables out; knows no files.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from routescreen.money.bill import MILLI, amount_cents, round_half_up
from routescreen.money.items import bill_items
from routescreen.money.measure_afterwards import n_lots

if TYPE_CHECKING:
    from collections.abc import Mapping

    from routescreen.assumptions import Assumptions
    from routescreen.money.item import Level

OVERHEADS_ITEM, OWNER_ITEM, UNPRICED_ITEM = "GE02", "GE03", "GE04"
APART_COLUMNS = (
    "item",
    "description",
    "unit",
    "quantity",
    "rate_eur",
    "amount_eur",
    "amount_low_eur",
    "amount_high_eur",
)
_AMOUNTS: Mapping[Level, str] = {
    "low": "amount_low_eur",
    "expected": "amount_eur",
    "high": "amount_high_eur",
}


def shown_apart(
    bill: pd.DataFrame, route_length_m: float, a: Assumptions, *, unpriced_eur: float = 0.0
) -> pd.DataFrame:
    """Measure what stands beside a finished bill.

    Parameters
    ----------
    bill : DataFrame
        Every line of the corridor, with the amounts of `bill_lines` at the three levels [EUR].
    route_length_m : float
        Plan length of the alignment [m].
    a : Assumptions
    unpriced_eur : float
        What the checks say that measures would cost which no item of the bill holds [EUR].

    Returns
    -------
    DataFrame
        Columns `APART_COLUMNS`, one line an item: GE02, months of all lots by the assumed duration of one;
        GE03, hundredths of the works without cable supply. Their low and high amounts move quantity and rate
        together. GE04, a provisional sum for the measures that checks ask for, where there are any.
    """
    lots = n_lots(route_length_m, a)
    months = {level: lots * getattr(a.programme.lot_months, level) for level in _AMOUNTS}
    supply = {a.cable.supply_item, a.cable.metallic_return.supply_item}
    works = bill[~bill["item"].isin(supply)]
    share = {level: (100.0 * works[name]).round().sum() / 1e4 for level, name in _AMOUNTS.items()}
    rows = [_line(OVERHEADS_ITEM, months, a), _line(OWNER_ITEM, share, a)]
    if unpriced_eur > 0.0:
        rows.append(_line(UNPRICED_ITEM, dict.fromkeys(_AMOUNTS, unpriced_eur), a))
    return pd.DataFrame(rows, columns=list(APART_COLUMNS))


def _line(code: str, quantity: Mapping[Level, float], a: Assumptions) -> dict[str, object]:
    items = bill_items(a)
    item = items.items[items.index[code]]
    line: dict[str, object] = {"item": code, "description": item.description, "unit": item.unit}
    line |= {
        "quantity": float(round_half_up(quantity["expected"], MILLI)),
        "rate_eur": a.rates[code].expected,
    }
    for level, name in _AMOUNTS.items():
        rate = float(getattr(a.rates[code], level))
        line[name] = amount_cents(round_half_up(quantity[level], MILLI), rate) / 100.0
    return line
