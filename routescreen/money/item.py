"""What a bill item is: code, description, unit, group, who carries it, how it is measured.

Room: ``money``. Pure data; imports nothing of the package. Codes, descriptions and rules are
routescreen's own.

An item is carried by the ``search`` when it can steer the choice of the plan, else it is measured
``afterwards`` on the finished plan. Factors that a rule names (by soil, depth, diameter, space) are
part of the quantity, so that amount = quantity x rate holds on every line. Rates that depend on the
ground cover have one item a class, for example ``TR70_cropland``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

CarriedBy = Literal["search", "afterwards"]
Level = Literal["low", "expected", "high"]
Part = Literal["works", "provisional", "allowance"]

ALLOWANCES = ("DR19",)

GROUPS = {
    "GE": "general",
    "MO": "mobilisation",
    "TR": "trench",
    "CR": "crossing",
    "AG": "agreement",
    "MN": "monitoring",
    "DR": "drive",
    "PR": "provisional sum",
    "PI": "pipe",
    "SH": "shaft",
    "CO": "compound",
    "CA": "cable",
    "LA": "land",
    "GI": "ground investigation",
    "UX": "explosives",
    "AR": "archaeology",
    "SV": "soil supervision",
    "TE": "survey and tests",
}


@dataclass(frozen=True, slots=True)
class Item:
    """One item of the bill.

    Attributes
    ----------
    code : str
        Two letters for the group and a number; items by ground cover end in the class.
    description, unit, rule : str
        What is paid, in what unit, and how its quantity is measured.
    carried_by : {"search", "afterwards"}
        Whether the search weighs it or it is measured on the finished plan.
    is_measured : bool
        False where the work it pays for is not screened yet: it stands in the list with its rate,
        and no quantity.
    rate_code : str
        The item whose rate it takes; its own code unless the rule says otherwise.
    """

    code: str
    description: str
    unit: str
    rule: str
    carried_by: CarriedBy
    is_measured: bool
    rate_code: str

    @property
    def group(self) -> str:
        """Name of the group."""
        return GROUPS.get(self.code[:2], "own item")

    @property
    def part(self) -> Part:
        """Whether it pays for works, for what may never happen, or for hours and days put by."""
        if self.code in ALLOWANCES:
            return "allowance"
        return "provisional" if self.code.startswith("PR") else "works"


def searched_item(code: str, description: str, unit: str, rule: str, *, rate_code: str = "") -> Item:
    """Return an item that the search weighs."""
    return Item(code, description, unit, rule, "search", True, rate_code or code)


def later_item(code: str, description: str, unit: str, rule: str) -> Item:
    """Return an item of the search's kind whose work is not screened yet."""
    return Item(code, description, unit, rule, "search", False, code)


def afterwards_item(
    code: str, description: str, unit: str, rule: str, *, is_measured: bool = True, rate_code: str = ""
) -> Item:
    """Return an item that is measured on the finished plan."""
    return Item(code, description, unit, rule, "afterwards", is_measured, rate_code or code)
