"""The bill parted into positions and the lines that are measured for each, every line with its place.

Room: ``tender``. May import ``money`` for the measuring rules. Adds up whole cents, reckons no price.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from routescreen.money.items import ITEM_INDEX, rule_of
from routescreen.tender.classes import CLASSES, BillClass, class_of
from routescreen.tender.places import Place, places_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd


@dataclass(frozen=True, slots=True)
class Position:
    """One item of the tender's bill, priced at one rate.

    Attributes
    ----------
    number : str
        Class and a number of three digits; letters and digits only.
    of_class : BillClass
    item, description, unit, rule, part : str
        As in the list of bill items.
    rate_eur : float
        For one unit [EUR].
    """

    number: str
    of_class: BillClass
    item: str
    description: str
    unit: str
    rule: str
    part: str
    rate_eur: float


@dataclass(frozen=True, slots=True)
class Line:
    """One measured quantity of a position.

    Attributes
    ----------
    position : int
        Index among the bill's positions.
    place : Place
        Section, works and chainage that it is measured on.
    quantity : Decimal
        In the position's unit, to 0.001.
    cents : int
        Its amount in whole cents.
    """

    position: int
    place: Place
    quantity: Decimal
    cents: int


@dataclass(frozen=True, slots=True)
class TenderBill:
    """Positions by class, and the lines by section.

    Attributes
    ----------
    positions : tuple of Position
        Class by class, in each in the order of the list of items.
    lines : tuple of Line
        By section from the start of the link on, items of the whole link last.
    """

    positions: tuple[Position, ...]
    lines: tuple[Line, ...]

    @property
    def total_cents(self) -> int:
        """Amount of all lines in whole cents."""
        return sum(line.cents for line in self.lines)


def tender_bill(tables: Mapping[str, pd.DataFrame]) -> TenderBill:
    """Part the bill of one corridor into positions and measured lines.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        The result tables, rows of one corridor only.

    Returns
    -------
    TenderBill
        Every line of the table `bill` is a line of it.
    """
    places = places_of(tables)
    bill = tables["bill"]
    rows = list(
        zip(
            bill["item"],
            bill["description"],
            bill["unit"],
            bill["part"],
            bill["rate_eur"],
            bill["quantity"],
            bill["amount_eur"],
            bill["section_id"],
            bill["element_id"],
            strict=True,
        )
    )
    positions = _positions([row[:5] for row in rows])
    at = {(p.item, p.description, p.unit, p.part, p.rate_eur): number for number, p in enumerate(positions)}
    lines = [
        Line(
            at[(row[0], row[1], row[2], row[3], float(row[4]))],
            places.of(row[7], row[8]),
            Decimal(repr(float(row[5]))).quantize(Decimal("0.001")),
            round(100 * row[6]),
        )
        for row in rows
    ]
    lines.sort(key=lambda line: line.place.order)  # stable: the bill's own order within a place
    return TenderBill(positions, tuple(lines))


def _positions(keys: list[tuple[str, str, str, str, float]]) -> tuple[Position, ...]:
    """Return the items numbered class by class, tens apart, so that one can be added by hand."""
    found: list[Position] = []
    ordered = sorted(dict.fromkeys(keys), key=lambda key: ITEM_INDEX.get(key[0], len(ITEM_INDEX)))
    for of_class in CLASSES:
        own = [key for key in ordered if class_of(key[0], key[3]) is of_class]
        for number, (item, description, unit, part, rate) in enumerate(own, start=1):
            found.append(
                Position(
                    f"{of_class.code}{10 * number:03d}",
                    of_class,
                    item,
                    description,
                    unit,
                    rule_of(item),
                    part,
                    float(rate),
                )
            )
    return tuple(found)
