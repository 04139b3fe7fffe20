"""The bill on its sheets: priced, and blank for bidders.

Room: ``tender``. A rate stands once, in the priced bill; a quantity stands once, in the quantities. All else
are formulas over these, so that a row taken out of the quantities is taken out of every sum.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from routescreen.tender.classes import CLASSES_BY_CODE
from routescreen.tender.sheets import FIRST_ROW, HEADING_ROW, Formula, Row, Sheet, SheetColumn, sheet_ref

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from routescreen.tender.bill import Line, Position, TenderBill
    from routescreen.tender.wording import Words


@dataclass(frozen=True, slots=True)
class Layout:
    """Which rows of a bill's sheet hold what, as a spreadsheet counts them.

    Attributes
    ----------
    positions : mapping of int to int
        Row of each position.
    totals : mapping of str to int
        Row of each class's total.
    last : int
        Row of the total of all.
    """

    positions: Mapping[int, int]
    totals: Mapping[str, int]
    last: int


def lay_out(bill: TenderBill, *, for_bidders: bool) -> Layout:
    """Give every position, class total and the grand total a row."""
    positions: dict[int, int] = {}
    totals: dict[str, int] = {}
    row = FIRST_ROW
    for of_class, members in by_class(bill, for_bidders=for_bidders):
        for offset, number in enumerate(members, start=1):
            positions[number] = row + offset
        row += len(members) + 1
        totals[of_class] = row
        row += 1
    return Layout(positions, totals, row)


def by_class(bill: TenderBill, *, for_bidders: bool) -> Iterator[tuple[str, list[int]]]:
    """Yield each class that has positions, with their indices."""
    for of_class in dict.fromkeys(position.of_class for position in bill.positions):
        if of_class.is_for_bidders or not for_bidders:
            yield of_class.code, [n for n, p in enumerate(bill.positions) if p.of_class is of_class]


def class_title(code: str, words: Words) -> str:
    """Return a class with its title in the tender's language."""
    return f"{code}  {words.classes.get(code, CLASSES_BY_CODE[code].title)}"


def lines_of(bill: TenderBill, *, for_bidders: bool) -> list[Line]:
    """Return the lines that a sheet of quantities lists."""
    positions = bill.positions
    return [
        line for line in bill.lines if not for_bidders or positions[line.position].of_class.is_for_bidders
    ]


def priced_sheet(bill: TenderBill, words: Words) -> Sheet:
    """Return the bill with its rates and live amounts."""
    span = span_of(lines_of(bill, for_bidders=False), words)
    cents = _sums(bill, "cents")

    def amount(number: int, row: int) -> Formula:
        text = f"=ROUND(SUMIF({span.key},A{row},{span.amounts}),2)"
        return Formula(text, float(cents.get(number, 0)) / 100.0)

    rows = _bill_rows(bill, words, span, amount, for_bidders=False)
    notes = (words["priced_note"], words["rates_note"])
    name, title = words["sheet_priced"], words["title_priced"]
    return Sheet(name, title, notes, _bill_columns(words, "rate"), tuple(rows))


def bid_sheet(bill: TenderBill, words: Words, *, is_beside_prices: bool) -> Sheet:
    """Return the bill without rates, their cells open, all else kept from changes.

    Beside the priced bill the workbook's quantities list the owner's lines too.
    """
    span = span_of(lines_of(bill, for_bidders=not is_beside_prices), words)

    def amount(_: int, row: int) -> Formula:
        return Formula(f"=ROUND(E{row}*F{row},2)", 0.0)

    rows = _bill_rows(bill, words, span, amount, for_bidders=True)
    notes = (words["bid_note"], words["bid_rounding"], words["bid_owner"])
    name, title = words["sheet_bid"], words["title_bid"]
    return Sheet(name, title, notes, _bill_columns(words, "open"), tuple(rows), is_protected=True)


def _bill_columns(words: Words, rate: str) -> tuple[SheetColumn, ...]:
    return (
        SheetColumn(words["position"], 10),
        SheetColumn(words["item"], 16),
        SheetColumn(words["description"], 62, "long"),
        SheetColumn(words["unit"], 9),
        SheetColumn(words["quantity"], 15, "quantity"),
        SheetColumn(words["rate"], 15, "open" if rate == "open" else "rate"),
        SheetColumn(words["amount"], 18, "amount"),
    )


def _bill_rows(
    bill: TenderBill,
    words: Words,
    span: Span,
    amount: Callable[[int, int], Formula],
    *,
    for_bidders: bool,
) -> Iterator[Row]:
    """Yield the rows of a bill; `amount` gives the amount of a position in its row."""
    layout = lay_out(bill, for_bidders=for_bidders)
    quantities = _sums(bill, "quantity")
    all_eur = 0.0
    for code, members in by_class(bill, for_bidders=for_bidders):
        yield Row((class_title(code, words),), "class")
        class_eur = 0.0
        for number in members:
            position, row = bill.positions[number], layout.positions[number]
            cost = amount(number, row)
            class_eur += cost.value
            quantity = Formula(
                f"=ROUND(SUMIF({span.key},A{row},{span.quantities}),3)", float(quantities.get(number, 0))
            )
            rate = None if for_bidders else position.rate_eur
            yield Row((*describe(position, words), quantity, rate, cost))
        first, last = layout.positions[members[0]], layout.positions[members[-1]]
        total = Formula(f"=SUM(G{first}:G{last})", round(class_eur, 2))
        yield Row((None, None, words["class_total"].format(code=code), None, None, None, total), "total")
        all_eur += class_eur
    cells = ",".join(f"G{row}" for row in layout.totals.values())
    grand = Formula(f"=SUM({cells})" if cells else "=0", round(all_eur, 2))
    yield Row((None, None, words["bill_total"], None, None, None, grand), "grand")


def describe(position: Position, words: Words) -> tuple[str, str, str, str]:
    """Return number, item, description and unit of a position."""
    unit = words.units.get(position.unit, position.unit)
    return position.number, position.item, position.description, unit


@dataclass(frozen=True, slots=True)
class Span:
    """Ranges of the quantities' sheet, from the headings on, so that its first line can be taken out too."""

    sections: str
    key: str
    quantities: str
    amounts: str


def span_of(lines: Sequence[Line], words: Words) -> Span:
    """Return the ranges of the sheet that lists these lines."""
    last, where = max(FIRST_ROW + len(lines) - 1, FIRST_ROW), sheet_ref(words["sheet_quantities"])
    return Span(*(f"{where}${c}${HEADING_ROW}:${c}${last}" for c in ("A", "F", "J", "L")))


def _sums(bill: TenderBill, what: str) -> dict[int, Decimal]:
    sums: dict[int, Decimal] = {}
    for line in bill.lines:
        sums[line.position] = sums.get(line.position, Decimal()) + getattr(line, what)
    return sums
