"""Where along the alignment each section, drive, shaft and crossing lies.

Room: ``tender``. Tables in, places out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

LINK = "link"


@dataclass(frozen=True, slots=True)
class Place:
    """What a quantity is measured on.

    Attributes
    ----------
    section : str
        Short id of the section; "" for the whole link.
    works : str
        Short id of the section, drive, shaft or crossing; "" for the whole link.
    kind : str
        ``section``, ``drive``, ``shaft``, ``crossing`` or ``link``.
    from_m, to_m : float
        Chainages between which it lies [m]; the same for a shaft.
    order : int
        Number of its section from the start of the link, beyond all for the whole link.
    """

    section: str
    works: str
    kind: str
    from_m: float
    to_m: float
    order: int


@dataclass(frozen=True, slots=True)
class Places:
    """All places of one corridor, by short id."""

    corridor_id: str
    by_id: Mapping[str, tuple[str, float, float]]
    order: Mapping[str, int]
    length_m: float

    def of(self, section_id: object, element_id: object) -> Place:
        """Return the place of a line of the bill; ids may be None."""
        section, works = self.short(section_id), self.short(element_id)
        order = self.order.get(section, len(self.order))
        kind, from_m, to_m = self.by_id.get(works, (LINK, 0.0, self.length_m))
        return Place(section, works, kind, from_m, to_m, order)

    def short(self, name: object) -> str:
        """Return an id without its corridor, which is the same all over a tender."""
        return short_id(name, self.corridor_id)


def short_id(name: object, corridor_id: str) -> str:
    """Return an id without its corridor, "" for none.

    Examples
    --------
    >>> short_id("west-S001", "west"), short_id(None, "west")
    ('S001', '')
    """
    return name.removeprefix(f"{corridor_id}-") if isinstance(name, str) else ""


def places_of(tables: Mapping[str, pd.DataFrame]) -> Places:
    """Find every element's chainages.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        The result tables, rows of one corridor only.
    """
    alignment, sections = tables["alignment"], tables["sections"]
    corridor_id = str(alignment["corridor_id"].iloc[0])
    by_id: dict[str, tuple[str, float, float]] = {}
    for name, from_m, to_m in zip(
        sections["section_id"], sections["from_chainage_m"], sections["to_chainage_m"], strict=True
    ):
        by_id[short_id(name, corridor_id)] = ("section", float(from_m), float(to_m))
    order = {name: number for number, name in enumerate(sorted(by_id, key=lambda name: by_id[name][1:]))}
    for name, section in zip(tables["drives"]["drive_id"], tables["drives"]["section_id"], strict=True):
        _, from_m, to_m = by_id[short_id(section, corridor_id)]
        by_id[short_id(name, corridor_id)] = ("drive", from_m, to_m)
    for name, at_m in zip(tables["shafts"]["shaft_id"], tables["shafts"]["chainage_m"], strict=True):
        by_id[short_id(name, corridor_id)] = ("shaft", float(at_m), float(at_m))
    schedule = tables["crossing_schedule"]
    length_m = float(alignment["length_m"].iloc[0])
    for name, at_m, width_m in zip(
        schedule["crossing_id"], schedule["chainage_m"], schedule["width_m"], strict=True
    ):
        ends = (max(0.0, at_m - width_m / 2.0), min(length_m, at_m + width_m / 2.0))
        by_id[short_id(name, corridor_id)] = ("crossing", *ends)
    return Places(corridor_id, by_id, order, length_m)
