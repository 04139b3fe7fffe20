"""The list of items: whole, without doubles, every item with a rate and its own words."""

import numpy as np
import pytest

from routescreen.assumptions import load_assumptions
from routescreen.money.item import GROUPS
from routescreen.money.items import ITEM_INDEX, ITEMS, bill_items, rates_eur
from tests.money.places import DEFAULTS


def test_every_code_stands_once_and_in_a_group():
    codes = [item.code for item in ITEMS]
    assert len(codes) == len(set(codes))
    assert {code[:2] for code in codes} == set(GROUPS)
    assert [ITEM_INDEX[code] for code in codes] == list(range(len(ITEMS)))


def test_every_item_says_what_it_is_and_how_it_is_measured():
    for item in ITEMS:
        assert len(item.description) > 5, item.code
        assert item.rule.endswith("."), item.code
        assert item.unit, item.code
    descriptions = [item.description for item in ITEMS]
    assert len(descriptions) == len(set(descriptions))


def test_default_rates_and_items_name_each_other_wholly():
    rated = set(DEFAULTS.rates)
    assert {item.rate_code for item in ITEMS} == rated


def test_items_by_cover_follow_the_fixed_ones_in_the_order_of_the_classes():
    items = bill_items(DEFAULTS)
    names = list(DEFAULTS.cover)
    for prefix in ("TR70", "LA10", "LA11"):
        first = items.first_class_item(prefix)
        assert [item.code for item in items.items[first : first + len(names)]] == [
            f"{prefix}_{name}" for name in names
        ]
    assert len(items) == len(ITEMS) + 3 * len(names)


@pytest.mark.parametrize(
    ("code", "level", "expected_eur"),
    [
        pytest.param("DR11", "expected", 650.0, id="a rate of its own"),
        pytest.param("DR11", "low", 420.0, id="low end"),
        pytest.param("DR11", "high", 1050.0, id="high end"),
        pytest.param("SH18", "expected", 470.0, id="plug dug at the rate of the wet shaft, SH15"),
        pytest.param("TR70_paved", "expected", 95.0, id="reinstatement by cover class"),
        pytest.param("LA10_cropland", "expected", 0.9, id="temporary land by cover class"),
        pytest.param("LA11_forest", "high", 9.0, id="easement by cover class"),
    ],
)
def test_rates(code, level, expected_eur):
    rates = rates_eur(DEFAULTS, level=level)
    assert rates[bill_items(DEFAULTS).index[code]] == expected_eur


def test_a_project_may_add_an_item_and_a_cover_class():
    a = load_assumptions("""
[rates]
CR50 = [100.0, 200.0, 300.0]
[treatments.tree_line]
like = "hedge"
trench_items = ["CR50"]
[cover.orchard]
like = "cropland"
reinstate_eur_per_m2 = [5.0, 6.0, 7.0]
""")
    items, rates = bill_items(a), rates_eur(a)
    assert rates[items.index["CR50"]] == 200.0
    assert rates[items.index["TR70_orchard"]] == 6.0
    assert np.all(np.isfinite(rates))
    assert len(rates) == len(items)
