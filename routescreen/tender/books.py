"""The two workbooks: one with prices for the house, one without any for bidders.

Room: ``tender``. Puts sheets together; the covers say what the other sheets are.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.tender import schedule_sheets as schedules
from routescreen.tender.bill_sheets import bid_sheet, priced_sheet
from routescreen.tender.sheets import FIRST_ROW, Book, Formula, Row, Sheet, SheetColumn, sheet_ref
from routescreen.tender.sum_sheets import apart_sheet, quantities_sheet, sections_sheet, summary_sheet

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd

    from routescreen.tender.bill import TenderBill
    from routescreen.tender.wording import About


def priced_book(bill: TenderBill, tables: Mapping[str, pd.DataFrame], about: About) -> Book:
    """Return the workbook of the house: estimate, blank bill, quantities, schedules.

    Parameters
    ----------
    bill : TenderBill
    tables : mapping of str to DataFrame
        The result tables, rows of one corridor only.
    about : About
    """
    words, name = about.words, about.corridor_id
    summary = summary_sheet(bill, tables["costs_apart"], words)
    grand = next(number for number, row in enumerate(summary.rows) if row.look == "grand")
    sheets = [
        summary,
        priced_sheet(bill, words),
        bid_sheet(bill, words, is_beside_prices=True),
        quantities_sheet(bill, words, for_bidders=False),
        sections_sheet(bill, tables["sections"], name, words),
        apart_sheet(tables["costs_apart"], words),
        *_schedules(bill, tables, about, for_bidders=False),
    ]
    place = f"={sheet_ref(summary.name)}B{FIRST_ROW + grand}"
    total = Formula(place, bill.total_cents / 100.0)
    cover = _cover(about, tables, sheets, words["cover_priced"], total)
    return _book(about, words["title_priced"], cover, sheets)


def bidders_book(bill: TenderBill, tables: Mapping[str, pd.DataFrame], about: About) -> Book:
    """Return the workbook for bidders, in which no price, cost or reason stands.

    Parameters
    ----------
    bill : TenderBill
    tables : mapping of str to DataFrame
        The result tables, rows of one corridor only.
    about : About
    """
    words = about.words
    sheets = [
        bid_sheet(bill, words, is_beside_prices=False),
        quantities_sheet(bill, words, for_bidders=True),
        *_schedules(bill, tables, about, for_bidders=True),
    ]
    cover = _cover(about, tables, sheets, words["cover_bidders"], None)
    return _book(about, words["title_bid"], cover, sheets)


def _schedules(
    bill: TenderBill, tables: Mapping[str, pd.DataFrame], about: About, *, for_bidders: bool
) -> list[Sheet]:
    words, name = about.words, about.corridor_id
    return [
        schedules.rules_sheet(bill, words, for_bidders=for_bidders),
        schedules.crossings_sheet(tables, name, words, for_bidders=for_bidders),
        schedules.shafts_sheet(tables, name, words, for_bidders=for_bidders),
        schedules.drives_sheet(tables, name, words, for_bidders=for_bidders),
        schedules.cable_sheet(tables, name, words),
    ]


def _book(about: About, title: str, cover: Sheet, sheets: Sequence[Sheet]) -> Book:
    head = f"{title}: {about.corridor_id}"
    return Book(head, f"{about.made_by}, {about.made_at}", (cover, *sheets))


def _cover(
    about: About,
    tables: Mapping[str, pd.DataFrame],
    sheets: Sequence[Sheet],
    for_whom: str,
    total: Formula | None,
) -> Sheet:
    words = about.words
    facts: list[tuple[str, str | float | Formula]] = [
        (words["corridor"], about.corridor_id),
        (words["made"], f"{about.made_at}, {about.made_by}"),
        (words["coordinates"], about.crs_name),
        (words["currency"], f"{about.currency} {about.price_base}".strip()),
        (words["length_m"], float(tables["alignment"]["length_m"].iloc[0])),
    ]
    blank = Row((None,), "plain")
    rows = [Row((for_whom,), "strong"), blank]
    rows += [Row((key, value), "plain") for key, value in facts]
    if total is not None:
        rows.append(Row((words["bill_total"], total), "grand"))
    rows += [blank, Row((words["caution_title"], words["caution"]), "plain")]
    if total is not None:
        missing = f"{words['not_in_bill']}; {words['never_priced']}"
        rows.append(Row((words["not_in_total"], missing), "plain"))
    rows += [blank, Row((words["sheets_are"],), "strong")]
    rows += [Row((sheet.name, sheet.title), "plain") for sheet in sheets]
    columns = (SheetColumn("", 30), SheetColumn("", 96, "long"))
    title = f"{words['cover_title']}: {about.corridor_id}"
    return Sheet(words["sheet_cover"], title, (), columns, tuple(rows), has_headings=False)
