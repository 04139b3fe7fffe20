"""Classes, positions and places: every line of the bill is there, in its class, with its chainage."""

from __future__ import annotations

import pytest

from routescreen.money.items import ITEMS, rule_of
from routescreen.tender import tender_bill
from routescreen.tender.classes import CLASSES, class_of
from tests.results import example


@pytest.mark.parametrize(
    ("item", "part", "code"),
    [
        pytest.param("GE01", "works", "A", id="site set-up is general"),
        pytest.param("GI10", "works", "B", id="borehole"),
        pytest.param("TR41", "works", "C", id="well points"),
        pytest.param("SH21", "works", "C", id="anchors, though of a shaft"),
        pytest.param("SH20", "works", "T", id="base plug belongs to the shaft"),
        pytest.param("TR20", "works", "E", id="digging"),
        pytest.param("TR70_cropland", "works", "E", id="reinstating by cover"),
        pytest.param("TR30", "works", "L", id="trench boxes, longer than TR3"),
        pytest.param("TR31", "works", "P", id="sheet piles"),
        pytest.param("TR80", "works", "R", id="haul road"),
        pytest.param("TR81", "works", "X", id="fences: nothing longer fits"),
        pytest.param("CO11", "works", "R", id="access road, though of a compound"),
        pytest.param("PI10", "works", "I", id="pipe"),
        pytest.param("PI13", "works", "L", id="layout strip, though of a pipe"),
        pytest.param("CA10", "works", "XC", id="cable"),
        pytest.param("LA11_water", "works", "XO", id="land is the owner's"),
        pytest.param("AG10", "works", "XO", id="agreements are the owner's"),
        pytest.param("DR19", "allowance", "YA", id="hours put by, whatever their item"),
        pytest.param("PR01", "provisional", "YP", id="provisional sum"),
        pytest.param("ZZ99", "works", "X", id="a project's own item"),
    ],
)
def test_class_of_an_item(item, part, code):
    assert class_of(item, part).code == code


def test_no_item_of_the_list_falls_through_to_miscellaneous_unseen():
    assert {item.code for item in ITEMS if class_of(item.code, item.part).code == "X"} == {"TR81"}


def test_class_codes_can_stand_in_an_exchange_file_and_a_criterion():
    codes = [each.code for each in CLASSES]
    assert len(set(codes)) == len(codes)
    assert all(code.isalnum() and code.isascii() for code in codes)


@pytest.mark.parametrize(
    ("code", "words"),
    [("TR20", "Area of the sloped"), ("LA10_water", "Working strip"), ("OWN1", "Once for each crossing")],
    ids=["of the list", "by cover", "the project's own"],
)
def test_every_item_has_a_rule(code, words):
    assert rule_of(code).startswith(words)


def test_every_line_keeps_its_quantity_amount_and_place():
    tables = example.tables()
    bill = tender_bill(tables)
    # 1 201.50 + 780 000.00 + 28 000.10 + 28 000.20 + 50 000.00 + 1 250 000.00
    assert bill.total_cents == 213_720_180
    told = [
        (bill.positions[line.position].item, line.place.section, line.place.works, line.place.kind)
        for line in bill.lines
    ]
    assert told == [
        ("TR10", "S001", "S001", "section"),
        ("DR11", "S002", "D001", "drive"),
        ("SH01", "S002", "H001", "shaft"),
        ("SH01", "S002", "H002", "shaft"),
        ("AG10", "S002", "C002", "crossing"),
        ("GE01", "", "", "link"),
    ]
    # drive from 300 to 600 m; shafts at its ends; railway of 14 m around chainage 450 m; link of 2 km
    length_m = 300 + 300 + 400 + 200 + 2 * (150**2 + 80**2) ** 0.5 + 250 + 250
    ends = [(line.place.from_m, line.place.to_m) for line in bill.lines]
    assert ends == [
        (0, 300),
        (300, 600),
        (300, 300),
        (600, 600),
        (443, 457),
        (0, pytest.approx(length_m)),
    ]


def test_an_item_at_two_rates_is_two_positions():
    numbers = [p.number for p in tender_bill(example.tables()).positions]
    assert numbers == ["A010", "E010", "T010", "T020", "T030", "XO010"]
