"""The one list of bill items, and what one unit of each costs under given assumptions.

Room: ``money``. May import ``assumptions``, whose loading sees to it that every item has a rate.

``ITEMS`` are the same for every project. `bill_items` adds one item a cover class where the rate
depends on the ground cover, and the items that a project's own rates name.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from routescreen.money.item import Item, Level
from routescreen.money.list_open_cut import CROSSINGS, GENERAL, LAND, TRENCH
from routescreen.money.list_trenchless import CABLE, DRIVES, SHAFTS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions, CoverClass, Range

ITEMS: tuple[Item, ...] = (*GENERAL, *TRENCH, *CROSSINGS, *DRIVES, *SHAFTS, *CABLE, *LAND)
ITEM_INDEX: dict[str, int] = {item.code: index for index, item in enumerate(ITEMS)}

_CLASS_ITEMS = (
    (
        "TR70",
        "Reinstating {}",
        (
            "Width of the working strip x length, compounds, layout strips, access roads; on paved ground "
            "the trenches and their edges, and shafts."
        ),
    ),
    ("LA10", "Temporary land: {}", "Working strip, compounds, layout strips, access roads."),
    ("LA11", "Permanent easement: {}", "Protective strip x length; over a drive by the easement factor."),
)
_OWN_RULE = "Once for each crossing whose treatment names it."


@dataclass(frozen=True, slots=True)
class BillItems:
    """The items of one project in the order of every quantity vector.

    Attributes
    ----------
    items : tuple of Item
    index : dict
        Code to position.
    n_cover : int
        Cover classes; the items ``TR70_<class>``, ``LA10_<class>``, ``LA11_<class>`` stand in the
        order of the classes without a gap.
    """

    items: tuple[Item, ...]
    index: dict[str, int]
    n_cover: int

    def __len__(self) -> int:
        return len(self.items)

    def first_class_item(self, prefix: str) -> int:
        """Return the position of the first cover class's item, for example of ``TR70``."""
        prefixes = [code for code, _, _ in _CLASS_ITEMS]
        return len(ITEMS) + prefixes.index(prefix) * self.n_cover


def bill_items(a: Assumptions) -> BillItems:
    """List the items of a project.

    Parameters
    ----------
    a : Assumptions

    Returns
    -------
    BillItems
        ``ITEMS``, then the items by cover class, then those that only ``[rates]`` names.
    """
    return _bill_items(tuple(a.cover), tuple(a.rates))


@lru_cache(maxsize=8)
def _bill_items(covers: tuple[str, ...], rates: tuple[str, ...]) -> BillItems:
    """List the items: asked for with every measurement, and the names alone tell them."""
    items = (*ITEMS, *_class_items(covers), *_own_items(rates))
    return BillItems(items, {item.code: index for index, item in enumerate(items)}, len(covers))


def rates_eur(a: Assumptions, *, level: Level = "expected") -> NDArray[np.float64]:
    """Rates in the order of `bill_items`.

    Parameters
    ----------
    a : Assumptions
    level : {"low", "expected", "high"}
        Which value of each range.

    Returns
    -------
    ndarray of float64, shape (n_items,)
        Rate of each item [EUR per its unit].
    """
    return np.array([getattr(_rate(a, item), level) for item in bill_items(a).items], dtype=np.float64)


def rule_of(code: str) -> str:
    """Return how an item is measured, by its code alone.

    Parameters
    ----------
    code : str
        Of `ITEMS`, of an item by ground cover, or of a project's own item.
    """
    if code in ITEM_INDEX:
        return ITEMS[ITEM_INDEX[code]].rule
    prefix = code.partition("_")[0]
    return next((rule for name, _, rule in _CLASS_ITEMS if name == prefix), _OWN_RULE)


def _rate(a: Assumptions, item: Item) -> Range:
    prefix, _, cover = item.code.partition("_")
    return _class_rate(a.cover[cover], prefix) if cover else a.rates[item.rate_code]


def _class_rate(cover: CoverClass, prefix: str) -> Range:
    if prefix == "TR70":
        return cover.reinstate_eur_per_m2
    return cover.temporary_land_eur_per_m2 if prefix == "LA10" else cover.permanent_land_eur_per_m2


def _class_items(covers: tuple[str, ...]) -> Iterator[Item]:
    for prefix, description, rule in _CLASS_ITEMS:
        for name in covers:
            code = f"{prefix}_{name}"
            yield Item(code, description.format(name.replace("_", " ")), "m2", rule, "search", True, code)


def _own_items(rates: tuple[str, ...]) -> Iterator[Item]:
    for code in rates:
        if code not in ITEM_INDEX:
            yield Item(code, f"The project's own item {code}", "each", _OWN_RULE, "search", True, code)
