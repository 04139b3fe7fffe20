"""The exchange file: its structure by the published schema, the bill's quantities, no price, any name."""

from __future__ import annotations

import dataclasses
from decimal import Decimal
from xml.etree import ElementTree as ET

import pandas as pd
import pytest

from routescreen.money.items import ITEMS
from routescreen.results.tables import result_tables
from routescreen.tender import exchange_text, tender_bill
from routescreen.tender.exchange import unit_code
from tests.results import example
from tests.tender.gaeb_structure import SPACE, faults
from tests.tender.readers import NASTY, about


def read(text: str) -> ET.Element:
    return ET.fromstring(text.encode())


@pytest.fixture(scope="module")
def tables():
    tables = example.tables()
    bill = tables["bill"]
    more = [
        bill.iloc[[0]].assign(section_id="west-S005", element_id="west-S005", quantity=0.375),
        bill.iloc[[0]].assign(
            item="PR01", description="Rescue", part="provisional", unit="event", quantity=0.25
        ),
    ]
    tables["bill"] = pd.concat([bill, *more], ignore_index=True)
    return tables


@pytest.fixture(scope="module")
def root(tables):
    return read(exchange_text(tender_bill(tables), about()))


@pytest.mark.parametrize("language", ["en", "de"])
def test_structure_is_that_of_the_schema(tables, language):
    assert faults(read(exchange_text(tender_bill(tables), about(language)))) == []


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("<DP>83</DP>", "<DP>84</DP>", "DP: 84"),
        ("<QU>m3</QU>", "<QU>cubic</QU>", "QU has 5 signs, 4 at most"),
        ("<QU>m3</QU>", "<UP>12.00</UP><QU>m3</QU>", "Item holds UP"),
        ("<Num>Yes</Num>", "", "Num 0 times in BoQBkdn"),
        ('RNoPart="01"', 'RNoPart="0.1"', "RNoPart 0.1"),
        ('ID="R1"', 'ID="B1"', "ID B1 twice"),
        ("<Qty>100.500</Qty>", "<Qty>123456789.5</Qty>", "Qty: 123456789.5"),
    ],
    ids=["another phase", "long unit", "a price", "no numbering", "number with a point", "same id", "digits"],
)
def test_a_fault_of_structure_is_seen(tables, old, new, fault):
    text = exchange_text(tender_bill(tables), about())
    assert old in text
    assert fault in faults(read(text.replace(old, new, 1)))


def items(root):
    return {item.findtext(f".//{SPACE}OutlTxt//{SPACE}span"): item for item in root.iter(f"{SPACE}Item")}


def test_quantities_are_the_bill_by_item_and_by_place(root):
    topsoil = items(root)["Topsoil"]
    assert topsoil.findtext(f"{SPACE}Qty") == "100.500"  # 100.125 and 0.375
    parts = {
        split.findtext(f"{SPACE}CtlgAssign/{SPACE}CtlgCode"): split.findtext(f"{SPACE}Qty")
        for split in topsoil.iter(f"{SPACE}QtySplit")
    }
    assert parts == {"S001": "100.125", "S005": "0.375"}
    for item in root.iter(f"{SPACE}Item"):
        shares = [Decimal(split.findtext(f"{SPACE}Qty")) for split in item.iter(f"{SPACE}QtySplit")]
        assert sum(shares) == Decimal(item.findtext(f"{SPACE}Qty"))


def test_every_quantity_of_the_bill_but_the_owners_is_asked_for(tables, root):
    asked = sum(Decimal(i.findtext(f"{SPACE}Qty")) for i in root.iter(f"{SPACE}Item"))
    bill = tables["bill"]
    mine = bill[~bill["item"].isin(["AG10"])]
    assert asked == sum(Decimal(str(quantity)) for quantity in mine["quantity"])


def test_no_price_stands_in_it(root):
    tags = {element.tag.removeprefix(SPACE) for element in root.iter()}
    assert not tags & {"UP", "IT", "Totals", "Total", "UPFrom", "UPAvg", "UPTo", "Markup"}
    texts = " ".join(root.itertext())
    assert "780000" not in texts
    assert "28000" not in texts


def test_what_may_never_happen_is_marked(root):
    marked = [i for i in root.iter(f"{SPACE}Item") if i.find(f"{SPACE}Provis") is not None]
    assert [item.findtext(f"{SPACE}QU") for item in marked] == ["each"]


def test_rule_and_caution_are_told(root):
    told = " ".join(items(root)["Drive"].itertext())
    assert "True length of the bores x soil factor" in told
    assert "A screening aid, not a design" in " ".join(root.find(f".//{SPACE}Remark").itertext())


@pytest.mark.parametrize("unit", sorted({item.unit for item in ITEMS}))
def test_every_unit_has_a_code(unit):
    code = unit_code(unit)
    assert 1 <= len(code) <= 4
    assert code in {"each", "mon", "lot", "set", "m", "m2", "m3", "kg", "kN", "h", "%", "EUR"}


@pytest.mark.parametrize("name", NASTY, ids=range(len(NASTY)))
def test_names_stay_text(name):
    corridor = dataclasses.replace(example.corridor(name[:40]), crossings=example.crossings())
    tables = result_tables([corridor], example.METRES)
    tables["bill"] = tables["bill"].assign(description=name)
    text = exchange_text(tender_bill(tables), about(corridor_id=name[:40]))
    root = read(text)
    assert faults(root) == []
    shown = "".join(sign if sign.isprintable() else " " for sign in name)
    assert shown in items(root)
