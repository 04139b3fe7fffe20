"""What stands beside the bill, by hand; and the bill's range and parts."""

import numpy as np
import pytest

from routescreen.assumptions import load_assumptions
from routescreen.money.apart import APART_COLUMNS, shown_apart
from routescreen.money.bill import bill_lines
from routescreen.money.measure import bill_items
from tests.money.places import DEFAULTS

ITEMS = bill_items(DEFAULTS)


def bill(**codes: float):
    quantities = np.zeros((1, len(ITEMS)))
    for code, quantity in codes.items():
        quantities[0, ITEMS.index[code]] = quantity
    return bill_lines(["S"], ["S"], quantities, DEFAULTS)


def test_a_line_has_the_same_quantity_at_three_rates():
    # TR10 8 / 12 / 18 EUR
    line = bill(TR10=100.0).iloc[0]
    assert line[["amount_low_eur", "amount_eur", "amount_high_eur"]].tolist() == [800.0, 1200.0, 1800.0]


def test_a_credit_stays_one_at_every_rate():
    # clean surplus that counts as loaded instead: TR60 18 / 32 / 50 EUR
    line = bill(TR60=-10.0).iloc[0]
    assert line[["amount_low_eur", "amount_eur", "amount_high_eur"]].tolist() == [-180.0, -320.0, -500.0]


def test_provisional_sums_and_allowances_are_told_from_works():
    lines = bill(TR10=1.0, PR01=0.1, DR19=24.0).set_index("item")
    assert lines["part"].to_dict() == {"TR10": "works", "PR01": "provisional", "DR19": "allowance"}


def test_owner_s_share_leaves_out_the_cable_supply():
    # works 1 000 m3 of TR10 and 100 m of CA11, at low / expected / high rates:
    #   8 000 + 2 800 = 10 800;  12 000 + 4 500 = 16 500;  18 000 + 8 000 = 26 000 EUR
    # 12 / 20 / 30 % of them; the cable doesn't count
    apart = shown_apart(bill(TR10=1000.0, CA11=100.0, CA10=100.0), 12_000.0, DEFAULTS)
    assert tuple(apart.columns) == APART_COLUMNS
    line = apart.set_index("item").loc["GE03"]
    assert (line["quantity"], line["rate_eur"]) == (165.0, 20.0)
    amounts = line[["amount_low_eur", "amount_eur", "amount_high_eur"]].tolist()
    assert amounts == pytest.approx([1296.0, 3300.0, 7800.0])


@pytest.mark.parametrize(
    ("length_m", "lots"),
    [pytest.param(12_000.0, 1, id="a short link is one lot"), pytest.param(70_000.0, 2, id="two lots")],
)
def test_running_of_the_sites_by_months_of_a_lot(length_m, lots):
    # 24 / 30 / 38 months at 140 / 220 / 380 thousand EUR
    line = shown_apart(bill(TR10=1.0), length_m, DEFAULTS).set_index("item").loc["GE02"]
    assert line["quantity"] == 30.0 * lots
    amounts = line[["amount_low_eur", "amount_eur", "amount_high_eur"]].tolist()
    assert amounts == pytest.approx([3.36e6 * lots, 6.6e6 * lots, 14.44e6 * lots])


def test_months_of_a_lot_are_the_project_s_to_say():
    a = load_assumptions("[programme]\nlot_months = 10.0\n")
    assert shown_apart(bill(TR10=1.0), 12_000.0, a)["quantity"].iloc[0] == 10.0


def test_what_checks_ask_for_and_no_item_holds_is_one_line_apart():
    # 12 345.675 EUR: a half goes up
    line = (
        shown_apart(bill(TR10=1.0), 12_000.0, DEFAULTS, unpriced_eur=12_345.675).set_index("item").loc["GE04"]
    )
    assert (line["quantity"], line["rate_eur"], line["unit"]) == (12_345.675, 1.0, "EUR")
    assert line[["amount_low_eur", "amount_eur", "amount_high_eur"]].tolist() == [12_345.68] * 3
    assert "GE04" not in set(shown_apart(bill(TR10=1.0), 12_000.0, DEFAULTS)["item"])
