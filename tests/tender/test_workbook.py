"""The workbooks: live sums that come out as the bill, texts that stay text, no price for a bidder to see."""

from __future__ import annotations

import csv
import dataclasses
import io
import re
import zipfile
from decimal import ROUND_HALF_UP, Decimal

import openpyxl
import pandas as pd
import pytest

from routescreen.results.bill_csv import bill_csv_text
from routescreen.results.tables import result_tables
from routescreen.tender import bidders_book, priced_book, tender_bill
from routescreen.tender.sheets import FIRST_ROW, Formula
from tests.results import example
from tests.tender.readers import NASTY, SOFFICE, about, cents, recalculated, without_values, written

# Quantities and rates whose product ends in half a cent: rounded half up, never to even or short by a bit.
HALVES = [
    (0.005, 1.0, 1),
    (1.005, 1.0, 101),
    (2.675, 1.0, 268),
    (1.115, 1.0, 112),
    (0.125, 0.2, 3),
    (8.345, 1.0, 835),
    (1234567.895, 1.0, 123_456_790),
    (0.145, 10.1, 146),
]


@pytest.fixture(scope="module")
def tables():
    """The example with a line for each awkward half cent in its last section of open cut."""
    tables = example.tables()
    bill = tables["bill"]
    odd = [
        bill.iloc[[0]].assign(
            item="TR20", quantity=q, rate_eur=rate, amount_eur=whole / 100.0, section_id="west-S005"
        )
        for q, rate, whole in HALVES
    ]
    extra = [
        bill.iloc[[0]].assign(item="PR01", part="provisional", quantity=0.25, rate_eur=8.0, amount_eur=2.0),
        bill.iloc[[0]].assign(item="DR19", part="allowance", quantity=3.0, rate_eur=5.0, amount_eur=15.0),
    ]
    tables["bill"] = pd.concat([bill, *odd, *extra], ignore_index=True)
    return tables


@pytest.fixture(scope="module")
def priced(tables):
    return priced_book(tender_bill(tables), tables, about())


@pytest.fixture(scope="module")
def stored(priced, tmp_path_factory):
    return openpyxl.load_workbook(written(priced, tmp_path_factory.mktemp("x") / "a.xlsx"), data_only=True)


def total_of_csv(tables):
    lines = csv.DictReader(io.StringIO(bill_csv_text(tables["bill"]), newline=""))
    return sum(round(100 * float(line["amount_eur"])) for line in lines)


def grand_total(workbook):
    (row,) = [r for r in workbook["Summary"].iter_rows(values_only=True) if r[0] == "Total of the bill"]
    return cents(row[1])


def test_stored_values_are_the_bill(tables, stored):
    assert grand_total(stored) == total_of_csv(tables) == tender_bill(tables).total_cents
    rows = list(stored["Summary"].iter_rows(values_only=True))
    told = {row[0]: cents(row[1]) for row in rows[5:] if isinstance(row[1], int | float)}
    # what may never happen is told apart: 0.25 x 8.00 and 3 x 5.00
    assert (told["YP  Provisional sums"], told["YA  Allowances of hours and days"]) == (200, 1500)
    assert told["Total of the works"] == told["Total of the bill"] - 1700


def test_every_amount_is_a_formula(priced):
    for sheet in priced.sheets:
        for row in sheet.rows:
            pairs = zip(row.cells, sheet.columns, strict=False)
            bare = [c for c, column in pairs if column.kind == "amount" and isinstance(c, float | int)]
            if sheet.name not in ("Shafts", "Drives", "Crossings"):  # schedules quote, they don't add up
                assert bare == [], sheet.name


@pytest.mark.skipif(SOFFICE is None, reason="needs LibreOffice Calc: soffice of the package libreoffice-calc")
def test_recalculated_sums_are_the_bill_to_the_cent(tables, priced, tmp_path):
    """By LibreOffice, of a file that stores 0 for every sum; then with one section's lines emptied."""
    whole = written(without_values(priced), tmp_path / "whole.xlsx")
    cut = openpyxl.load_workbook(whole)
    for row in cut["Quantities"].iter_rows(min_row=FIRST_ROW):
        if row[0].value == "S002":
            for cell in row:
                cell.value = None
    cut.save(tmp_path / "cut.xlsx")
    first, second = recalculated([whole, tmp_path / "cut.xlsx"], tmp_path)
    n_formulas = 0
    for sheet in priced.sheets:
        start = FIRST_ROW if sheet.has_headings else 3
        for number, row in enumerate(sheet.rows, start=start):
            for at, cell in enumerate(row.cells, start=1):
                if isinstance(cell, Formula):
                    n_formulas += 1
                    found = first[sheet.name].cell(number, at).value
                    assert found == pytest.approx(cell.value, abs=1e-7), (sheet.name, number, at)
    assert n_formulas > 60
    assert grand_total(first) == total_of_csv(tables)
    # section 2: drive 780 000.00, both shafts 28 000.10 and 28 000.20, agreement 50 000.00
    assert grand_total(first) - grand_total(second) == 88_600_030
    differences = [
        row for row in second["Summary"].iter_rows(values_only=True) if row[0] and "wanted" in row[0]
    ]
    assert [row[1] for row in differences] == [0]


@pytest.mark.skipif(SOFFICE is None, reason="needs LibreOffice Calc: soffice of the package libreoffice-calc")
def test_a_bid_is_quantity_by_rate_in_the_bidders_workbook(tables, tmp_path):
    book = bidders_book(tender_bill(tables), tables, about())
    bid = openpyxl.load_workbook(written(without_values(book), tmp_path / "bid.xlsx"))
    rates = {}
    for number, row in enumerate(bid["Bid"].iter_rows(min_row=FIRST_ROW), start=FIRST_ROW):
        if row[0].value and row[1].value:
            row[5].value = rates[number] = 10.0 + number
    bid.save(tmp_path / "bid.xlsx")
    (done,) = recalculated([tmp_path / "bid.xlsx"], tmp_path)
    expected = 0
    for number, rate in rates.items():
        quantity, amount = (done["Bid"].cell(number, at).value for at in (5, 7))
        product = Decimal(str(quantity)) * Decimal(str(rate))
        assert cents(amount) == int(100 * product.quantize(Decimal("0.01"), ROUND_HALF_UP))
        expected += cents(amount)
    quantities = {row[1]: row[4] for row in done["Bid"].iter_rows(values_only=True) if row[1] == "DR11"}
    assert quantities == {"DR11": 1200}
    totals = [row[6] for row in done["Bid"].iter_rows(values_only=True) if row[2] == "Total of the bill"]
    assert [cents(total) for total in totals] == [expected]
    assert expected > 0


@pytest.mark.parametrize("language", ["en", "de"])
def test_bidders_see_no_price_and_no_owner_item(tables, tmp_path, language):
    bill = tender_bill(tables)
    path = written(bidders_book(bill, tables, about(language)), tmp_path / "b.xlsx")
    book = openpyxl.load_workbook(path)
    numbers = {
        round(float(cell.value), 2)
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, int | float)
    }
    # rates and amounts of drive, shafts, agreement and site set-up; what the drives and shafts cost
    assert not {650.0, 780_000.0, 28_000.1, 28_000.2, 50_000.0, 2_500_000.0, 1_250_000.0} & numbers
    costs = [*tables["drives"]["amount_eur"], *tables["shafts"]["amount_eur"]]
    assert not {round(cost, 2) for cost in costs if cost > 0.0} & numbers
    texts = {cell.value for sheet in book for row in sheet.iter_rows() for cell in row}
    assert "AG10" not in texts
    assert "TR10" in texts


def test_only_the_rates_of_the_bid_are_open(priced, tmp_path):
    book = openpyxl.load_workbook(written(priced, tmp_path / "a.xlsx"))
    bid = book["Bid"]
    assert bid.protection.sheet
    assert not bid.protection.password
    open_cells = {cell.coordinate for row in bid.iter_rows() for cell in row if not cell.protection.locked}
    items = [row for row in bid.iter_rows(min_row=FIRST_ROW) if row[1].value]
    assert open_cells == {row[5].coordinate for row in items}
    assert {row[5].value for row in items} == {None}
    assert [sheet.title for sheet in book if sheet.protection.sheet] == ["Bid"]


def test_names_stay_text(tmp_path):
    for number, name in enumerate(NASTY):
        corridor = dataclasses.replace(
            example.corridor(name[:40]), crossings=example.crossings().assign(name=name)
        )
        tables = result_tables([corridor], example.METRES)
        tables["bill"] = tables["bill"].assign(description=name)
        book = priced_book(tender_bill(tables), tables, about(corridor_id=name[:40]))
        path = written(book, tmp_path / f"{number}.xlsx")
        back = openpyxl.load_workbook(path)
        cells = [cell for sheet in back for row in sheet.iter_rows() for cell in row]
        formulas = [cell.value for cell in cells if cell.data_type == "f"]
        # nothing but our own functions, references and numbers
        assert all(re.fullmatch(r"=[-A-Z0-9$:'!(), .*a-z]*", text) for text in formulas)
        assert not any("cmd" in text or "hit" in text for text in formulas)
        names = {cell.value for cell in back["Crossings"]["C"][FIRST_ROW - 1 :]}
        shown = name if name.isprintable() else None
        assert len(names) == 1
        assert shown is None or names == {shown}
        assert names.pop().startswith(name[:8])


def test_a_text_longer_than_a_cell_is_cut_and_not_lost(tmp_path):
    tables = example.tables()
    tables["crossing_schedule"] = tables["crossing_schedule"].assign(name="x" * 40_000)
    book = priced_book(tender_bill(tables), tables, about())
    back = openpyxl.load_workbook(written(book, tmp_path / "a.xlsx"))
    assert {len(cell.value) for cell in back["Crossings"]["C"][FIRST_ROW - 1 :]} == {32_767}


def test_pages_and_panes_are_set(priced, tmp_path):
    book = openpyxl.load_workbook(written(priced, tmp_path / "a.xlsx"))
    papers = {sheet.title: (sheet.page_setup.paperSize, sheet.page_setup.orientation) for sheet in book}
    assert papers["Priced bill"] == (9, "landscape")  # A4
    assert papers["Quantities"] == (8, "landscape")  # A3
    assert book["Quantities"].freeze_panes == "A6"
    assert book["Quantities"].print_title_rows == "$5:$5"
    assert book["Quantities"].auto_filter.ref.startswith("A5:L")


def test_times_in_the_file_are_those_of_the_run(priced, tmp_path):
    path = written(priced, tmp_path / "a.xlsx")
    with zipfile.ZipFile(path) as file:
        assert b"2026-03-01T12:00:00Z" in file.read("docProps/core.xml")
        assert {info.date_time[0] for info in file.infolist()} == {1980}


def test_a_link_without_drives_has_empty_schedules(tmp_path):
    tables = example.tables()
    for name in ("drives", "shafts", "crossing_schedule", "cable_sections"):
        tables[name] = tables[name].iloc[:0]
    tables["bill"] = tables["bill"].iloc[[0, 5]]
    book = priced_book(tender_bill(tables), tables, about())
    back = openpyxl.load_workbook(written(book, tmp_path / "a.xlsx"), data_only=True)
    assert grand_total(back) == 125_120_150  # 1 201.50 and 1 250 000.00
    assert back["Drives"].max_row == FIRST_ROW - 1


@pytest.mark.parametrize("key", ["texts", "headings", "values", "classes", "units"])
def test_german_says_all_that_english_says(key):
    english, german = (getattr(about(language).words, key) for language in ("en", "de"))
    assert set(english) <= set(german)
