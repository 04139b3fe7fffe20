"""How the bill's total parts and ranges, as the run record tells it."""

from __future__ import annotations

import numpy as np

from routescreen.assumptions import load_assumptions
from routescreen.money.apart import shown_apart
from routescreen.money.bill import bill_lines
from routescreen.money.measure import bill_items
from routescreen.screening_tables import cost_record

ASSUMPTIONS = load_assumptions()


def test_parts_range_and_what_stands_apart_by_hand() -> None:
    """TR10 at 8 / 12 / 18, PR01 at 90 / 180 / 420 thousand, DR19 at 900 / 1 400 / 2 100 EUR."""
    items, quantities = bill_items(ASSUMPTIONS), np.zeros((1, len(bill_items(ASSUMPTIONS))))
    for code, quantity in {"TR10": 100.0, "PR01": 0.1, "DR19": 1.0}.items():
        quantities[0, items.index[code]] = quantity
    bill = bill_lines(["S"], ["S"], quantities, ASSUMPTIONS)
    record = cost_record(bill, shown_apart(bill, 1000.0, ASSUMPTIONS), ASSUMPTIONS)
    assert record["bill_expected_eur"] == "20600.00"  # 1 200 + 18 000 + 1 400
    assert record["bill_low_eur"] == "10700.00"  # 800 + 9 000 + 900
    assert record["bill_high_eur"] == "45900.00"  # 1 800 + 42 000 + 2 100
    parts = [record[f"bill_{part}_eur"] for part in ("works", "provisional", "allowance")]
    assert parts == ["1200.00", "18000.00", "1400.00"]
    assert record["bill_prices"] == "EUR of 2025, without value-added tax"
    assert record["apart GE03"].startswith("4120.00 (1284.00 to 13770.00): Owner's")
    assert record["apart GE03"].endswith(", 20 % of 20 600.00 EUR")
    assert record["apart GE02"].endswith(", 30 month at 220 000 EUR")
