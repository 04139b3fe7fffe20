"""The measured quantities on their sheet, and the sums over them: by section, by class, beside the bill.

Room: ``tender``. All amounts are formulas over the quantities, each with the value it gives.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.tender.bill_sheets import class_title, describe, lay_out, lines_of, span_of
from routescreen.tender.classes import ALLOWANCES, PROVISIONAL
from routescreen.tender.places import short_id
from routescreen.tender.sheets import FIRST_ROW, HEADING_ROW, Formula, Row, Sheet, SheetColumn, sheet_ref

if TYPE_CHECKING:
    import pandas as pd

    from routescreen.tender.bill import TenderBill
    from routescreen.tender.sheets import Look
    from routescreen.tender.wording import Words

_NOT_WORKS = (PROVISIONAL, ALLOWANCES)


def quantities_sheet(bill: TenderBill, words: Words, *, for_bidders: bool) -> Sheet:
    """Return every measured line by section, with its place; priced unless it is for bidders."""
    lines = lines_of(bill, for_bidders=for_bidders)
    layout, rates = lay_out(bill, for_bidders=False), sheet_ref(words["sheet_priced"])
    rows = []
    for row, line in enumerate(lines, start=FIRST_ROW):
        position, place = bill.positions[line.position], line.place
        where = (
            place.section or words.value("link"),
            place.works or words.value("link"),
            words.value(place.kind),
            place.from_m,
            place.to_m,
        )
        cells = (*where, *describe(position, words), float(line.quantity))
        price = (
            Formula(f"={rates}$F${layout.positions[line.position]}", position.rate_eur),
            Formula(f"=ROUND(J{row}*K{row},2)", line.cents / 100.0),
        )
        rows.append(Row(cells if for_bidders else (*cells, *price)))
    columns = (
        SheetColumn(words["section"], 10),
        SheetColumn(words["works"], 10),
        SheetColumn(words["kind"], 11),
        SheetColumn(words["from"], 12, "length"),
        SheetColumn(words["to"], 12, "length"),
        SheetColumn(words["position"], 10),
        SheetColumn(words["item"], 16),
        SheetColumn(words["description"], 58, "long"),
        SheetColumn(words["unit"], 9),
        SheetColumn(words["quantity"], 15, "quantity"),
        SheetColumn(words["rate"], 14, "rate"),
        SheetColumn(words["amount"], 17, "amount"),
    )
    notes = (words["quantities_note"], "" if for_bidders else words["quantities_live"])
    return Sheet(
        words["sheet_quantities"],
        words["title_quantities"],
        notes,
        columns[:10] if for_bidders else columns,
        tuple(rows),
        paper="A3",
        has_filter=True,
    )


def sections_sheet(bill: TenderBill, sections: pd.DataFrame, corridor_id: str, words: Words) -> Sheet:
    """Return what each section and the whole link cost, summed live over the quantities."""
    span = span_of(lines_of(bill, for_bidders=False), words)
    cents = _cents_by_section(bill)

    def sum_of(row: int, section: str) -> Formula:
        text = f"=ROUND(SUMIF({span.sections},A{row},{span.amounts}),2)"
        return Formula(text, cents.get(section, 0) / 100.0)

    rows = []
    named = zip(
        sections["section_id"],
        sections["construction"],
        sections["method"],
        sections["from_chainage_m"],
        sections["to_chainage_m"],
        sections["reason"],
        strict=True,
    )
    for row, (name, construction, method, from_m, to_m, reason) in enumerate(named, start=FIRST_ROW):
        short = short_id(name, corridor_id)
        kind = (words.value(construction), words.value(method) if isinstance(method, str) else None)
        length = Formula(f"=E{row}-D{row}", float(to_m) - float(from_m))
        rows.append(Row((short, *kind, float(from_m), float(to_m), length, sum_of(row, short), reason)))
    row = FIRST_ROW + len(rows)
    rows.append(Row((words.value("link"), words["whole_link"], None, None, None, None, sum_of(row, ""))))
    lengths = Formula(
        f"=SUM(F{FIRST_ROW}:F{row})", float((sections["to_chainage_m"] - sections["from_chainage_m"]).sum())
    )
    total = Formula(f"=SUM(G{FIRST_ROW}:G{row})", bill.total_cents / 100.0)
    rows.append(Row((words["bill_total"], None, None, None, None, lengths, total), "grand"))
    columns = (
        SheetColumn(words["section"], 10),
        SheetColumn(words["construction"], 14),
        SheetColumn(words["method"], 24),
        SheetColumn(words["from"], 12, "length"),
        SheetColumn(words["to"], 12, "length"),
        SheetColumn(words["length"], 12, "length"),
        SheetColumn(words["amount"], 18, "amount"),
        SheetColumn(words["reason"], 90, "long"),
    )
    title = words["title_sections"]
    return Sheet(words["sheet_sections"], title, (words["sections_note"],), columns, tuple(rows), paper="A3")


def _cents_by_section(bill: TenderBill) -> dict[str, int]:
    cents: dict[str, int] = {}
    for line in bill.lines:
        cents[line.place.section] = cents.get(line.place.section, 0) + line.cents
    return cents


def summary_sheet(bill: TenderBill, apart: pd.DataFrame, words: Words) -> Sheet:
    """Return the totals by class, what is not works apart, and what stands beside the bill."""
    layout, priced = lay_out(bill, for_bidders=False), sheet_ref(words["sheet_priced"])
    cents: dict[str, int] = dict.fromkeys(layout.totals, 0)
    for line in bill.lines:
        cents[bill.positions[line.position].of_class.code] += line.cents
    works = [code for code in layout.totals if code not in _NOT_WORKS]
    others = [code for code in layout.totals if code in _NOT_WORKS]
    rows: list[Row] = []

    def add(title: str, formula: str, value: float, look: Look = "line") -> int:
        rows.append(Row((title, Formula(formula, round(value, 2))), look))
        return FIRST_ROW + len(rows) - 1

    for code in works:
        add(class_title(code, words), f"={priced}G{layout.totals[code]}", cents[code] / 100.0)
    worth = sum(cents[code] for code in works) / 100.0
    of_works = add(words["works_total"], f"=SUM(B{FIRST_ROW}:B{FIRST_ROW + len(rows) - 1})", worth, "total")
    parts = [
        add(class_title(code, words), f"={priced}G{layout.totals[code]}", cents[code] / 100.0)
        for code in others
    ]
    cells = ",".join(f"B{row}" for row in (of_works, *parts))
    total = bill.total_cents / 100.0
    grand = add(words["bill_total"], f"=SUM({cells})", total, "grand")
    rows.append(Row((None,), "plain"))
    add(words["by_lines"], f"={_total_of_lines(bill, words)}", total)
    add(words["difference"], f"=ROUND(B{grand}-B{grand + 2},2)", 0.0)
    rows.append(Row((None,), "plain"))
    last = FIRST_ROW + len(apart)
    add(words["apart_total"], f"={sheet_ref(words['sheet_apart'])}F{last}", float(apart["amount_eur"].sum()))
    columns = (SheetColumn(words["class"], 70), SheetColumn(words["amount"], 20, "amount"))
    notes = (words["summary_note"], words["classes_note"])
    return Sheet(words["sheet_summary"], words["title_summary"], notes, columns, tuple(rows))


def _total_of_lines(bill: TenderBill, words: Words) -> str:
    return f"SUM({span_of(bill.lines, words).amounts})"


def apart_sheet(apart: pd.DataFrame, words: Words) -> Sheet:
    """Return what is not in the bill's total."""
    rows, total = [], 0
    named = zip(
        apart["item"], apart["description"], apart["unit"], apart["quantity"], apart["rate_eur"],
        apart["amount_eur"], strict=True,
    )  # fmt: skip
    for row, (item, text, unit, quantity, rate, amount) in enumerate(named, start=FIRST_ROW):
        total += round(100 * amount)
        cost = Formula(f"=ROUND(D{row}*E{row},2)", float(amount))
        rows.append(Row((item, text, words.units.get(unit, unit), float(quantity), float(rate), cost)))
    row = FIRST_ROW + len(rows)
    cost = Formula(f"=SUM(F{HEADING_ROW}:F{row - 1})", total / 100.0)
    rows.append(Row((None, words["apart_total"], None, None, None, cost), "grand"))
    columns = (
        SheetColumn(words["item"], 16),
        SheetColumn(words["description"], 66, "long"),
        SheetColumn(words["unit"], 9),
        SheetColumn(words["quantity"], 15, "quantity"),
        SheetColumn(words["rate"], 15, "rate"),
        SheetColumn(words["amount"], 18, "amount"),
    )
    notes = (words["apart_note"], words["never_priced_is"].format(what=words["never_priced"]))
    return Sheet(words["sheet_apart"], words["title_apart"], notes, columns, tuple(rows))
