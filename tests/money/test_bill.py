"""Lines and totals: half up in decimals, whole cents, nothing lost."""

from decimal import ROUND_HALF_UP, Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routescreen.money.bill import (
    BILL_COLUMNS,
    amount_cents,
    bill_lines,
    cents_by,
    round_half_up,
    total_cents,
)
from routescreen.money.measure import bill_items, rates_eur
from tests.money.places import DEFAULTS

ITEMS = bill_items(DEFAULTS)


def rows(*wanted: dict[str, float]) -> np.ndarray:
    quantities = np.zeros((len(wanted), len(ITEMS)))
    for row, codes in enumerate(wanted):
        for code, quantity in codes.items():
            quantities[row, ITEMS.index[code]] = quantity
    return quantities


@pytest.mark.parametrize(
    ("value", "step", "expected"),
    [
        pytest.param(0.0005, "0.001", "0.001", id="half of a thousandth goes up"),
        pytest.param(0.00049999, "0.001", "0.000", id="less goes down"),
        pytest.param(2.675, "0.01", "2.68", id="binary 2.67499.. is printed 2.675 and goes up"),
        pytest.param(1.005, "0.01", "1.01", id="so is 1.00499.."),
        pytest.param(0.125, "0.01", "0.13", id="a true half goes up, not to even"),
        pytest.param(-0.125, "0.01", "-0.13", id="halves go away from zero"),
    ],
)
def test_rounding(value, step, expected):
    assert round_half_up(value, Decimal(step)) == Decimal(expected)


@pytest.mark.parametrize(
    ("quantity", "rate_eur", "cents"),
    [
        pytest.param("10.000", 12.0, 12000, id="10 m3 x 12 EUR"),
        pytest.param("0.010", 0.5, 1, id="half a cent becomes one"),
        pytest.param("0.009", 0.5, 0, id="0.45 cents become none"),
        pytest.param("1.001", 2.8, 280, id="2.8028 EUR"),
        pytest.param("123456.789", 860.0, 10617283854, id="106 172 838.54 EUR"),
    ],
)
def test_amounts(quantity, rate_eur, cents):
    assert amount_cents(Decimal(quantity), rate_eur) == cents


def test_bill_of_two_sections_and_the_link():
    quantities = rows({"TR10": 100.00049, "CO11": 2.0}, {"DR11": 0.0004, "SH01": 1.0}, {"GE01": 1.0})
    bill = bill_lines(["A-S001", "A-S002", None], ["A-S001", "A-H001", None], quantities, DEFAULTS)
    assert tuple(bill.columns) == BILL_COLUMNS
    assert bill[
        ["item", "quantity", "amount_cents", "section_id", "element_id", "carried_by"]
    ].values.tolist() == [
        ["TR10", 100.0, 120000, "A-S001", "A-S001", "search"],
        ["CO11", 2.0, 56000, "A-S001", "A-S001", "search"],
        ["SH01", 1.0, 2800000, "A-S002", "A-H001", "search"],  # 0.0004 m of DR11 round to nothing
        ["GE01", 1.0, 250000000, None, None, "afterwards"],
    ]
    assert total_cents(bill) == 252976000
    assert cents_by(bill, "section_id") == {"A-S001": 176000, "A-S002": 2800000}
    assert cents_by(bill, "carried_by") == {"search": 2976000, "afterwards": 250000000}


def test_empty_bill():
    bill = bill_lines([], [], np.zeros((0, len(ITEMS))), DEFAULTS)
    assert tuple(bill.columns) == BILL_COLUMNS
    assert len(bill) == 0
    assert total_cents(bill) == 0


@given(
    st.lists(
        st.dictionaries(
            st.sampled_from([item.code for item in ITEMS.items]), st.floats(0.0, 1e7), max_size=6
        ),
        max_size=4,
    )
)
@settings(max_examples=60, deadline=None)
def test_the_bill_is_the_sum_of_what_is_printed(wanted):
    quantities = rows(*wanted) if wanted else np.zeros((0, len(ITEMS)))
    ids = [f"S{row}" for row in range(len(wanted))]
    bill = bill_lines(ids, ids, quantities, DEFAULTS)
    for line in bill.itertuples():
        printed = Decimal(str(line.quantity)) * Decimal(str(line.rate_eur))
        assert Decimal(str(line.amount_eur)) == printed.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
        assert round(line.amount_eur * 100) == line.amount_cents
    assert total_cents(bill) == sum(cents_by(bill, "item").values())
    # rounding moves a line by at most half a thousandth of its rate and half a cent
    unrounded = float(quantities.sum(axis=0) @ rates_eur(DEFAULTS))
    slack = sum(0.0005 * line.rate_eur + 0.005 for line in bill.itertuples())
    dropped = 0.0005 * sum(rates_eur(DEFAULTS)[ITEMS.index[code]] for row in wanted for code in row)
    assert abs(total_cents(bill) / 100.0 - unrounded) <= slack + dropped + 1e-6 * unrounded


@given(st.floats(1.0, 5000.0), st.floats(1.1, 10.0))
def test_dearer_rates_never_lower_the_bill(length_m, factor):
    quantities = rows({"TR10": length_m, "CA10": length_m * factor})
    low, expected, high = (
        total_cents(bill_lines(["S"], ["S"], quantities, DEFAULTS, level=level))
        for level in ("low", "expected", "high")
    )
    assert low <= expected <= high
