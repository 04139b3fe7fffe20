"""What several tables need of one corridor, reckoned once: sections, numbers, sums and statuses.

Room: ``results``. Imports its own neighbours.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from routescreen.plan import SectionRun, section_runs, vertex_chainage_m
from routescreen.results.numbering import element_id, section_at

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from routescreen.screened import ScreenedCorridor

_SEVERITY = ("fail", "amber", "not_evaluated", "pass")

Element = tuple[str, int]
Key = TypeVar("Key")


@dataclass(frozen=True, slots=True)
class Lookup:
    """A corridor with its sections and everything that is looked up by element.

    Attributes
    ----------
    corridor : ScreenedCorridor
    runs : tuple of SectionRun
    vertex_m : ndarray of shape (n,)
        Chainage of each alignment vertex [m].
    crossing_rows : tuple of int
        Rows of the crossings by chainage, those at one place in their given order.
    crossing_sections : tuple of int
        Section of each row of the crossings, in the given order.
    statuses : dict
        Statuses of the checks of each element.
    element_cents, section_cents : dict
        Sums of amounts in whole cents, so that they are exact.
    """

    corridor: ScreenedCorridor
    runs: tuple[SectionRun, ...]
    vertex_m: NDArray[np.float64]
    crossing_rows: tuple[int, ...]
    crossing_sections: tuple[int, ...]
    statuses: dict[Element, set[str]]
    element_cents: dict[Element, int]
    section_cents: dict[int, int]

    @property
    def corridor_id(self) -> str:
        """Name of the corridor."""
        return self.corridor.plan.corridor_id

    def name(self, element: str, index: int) -> str:
        """Return the id of an element by its position."""
        return element_id(self.corridor_id, element, index)

    def names(self, table: pd.DataFrame) -> list[str | None]:
        """Return the ids that a table's `element` and `element_index` mean, None for the link."""
        number_of = {row: number for number, row in enumerate(self.crossing_rows)}
        ids: list[str | None] = []
        for element, index in zip(table["element"], table["element_index"], strict=True):
            number = number_of[index] if element == "crossing" else index
            ids.append(None if element == "link" else self.name(element, number))
        return ids

    def amount_eur(self, element: str, index: int) -> float:
        """Return the sum of the bill lines that measure an element [EUR]."""
        return self.element_cents.get((element, index), 0) / 100.0

    def drive_status(self, index: int, section: int) -> str:
        """Return the worst status among the checks of a drive, its shafts and the crossings on it.

        What is not evaluated never looks passed: it counts as worse than a pass, and no check at all
        counts as not evaluated.
        """
        drive = self.corridor.plan.drives[index]
        crossings = [("crossing", row) for row, at in enumerate(self.crossing_sections) if at == section]
        mine = [("drive", index), ("shaft", drive.lower_shaft), ("shaft", drive.upper_shaft), *crossings]
        found = set().union(*(self.statuses.get(element, set()) for element in mine))
        return next((status for status in _SEVERITY if status in found), "not_evaluated")


def look_up(corridor: ScreenedCorridor) -> Lookup:
    """Reckon the lookup of one corridor."""
    runs, vertex_m = section_runs(corridor.plan), vertex_chainage_m(corridor.plan)
    crossings = corridor.crossings
    at_m = crossings["chainage_m"].to_numpy(dtype=float)
    is_drive = (crossings["treatment"] == "trenchless").to_numpy(dtype=bool)
    bill = corridor.bill
    elements = list(zip(bill["element"], bill["element_index"].astype(int), strict=True))
    return Lookup(
        corridor=corridor,
        runs=runs,
        vertex_m=vertex_m,
        crossing_rows=tuple(int(row) for row in np.argsort(at_m, kind="stable")),
        crossing_sections=tuple(
            section_at(runs, vertex_m, float(here_m), is_drive=bool(wanted))
            for here_m, wanted in zip(at_m, is_drive, strict=True)
        ),
        statuses=_statuses(corridor.checks),
        element_cents=_sums(elements, bill["amount_eur"]),
        section_cents=_sums(bill["section_index"].astype(int).tolist(), bill["amount_eur"]),
    )


def _statuses(checks: pd.DataFrame) -> dict[Element, set[str]]:
    found: dict[Element, set[str]] = defaultdict(set)
    for element, index, status in zip(
        checks["element"], checks["element_index"], checks["status"], strict=True
    ):
        found[(element, int(index))].add(status)
    return dict(found)


def _sums(keys: list[Key], amounts_eur: pd.Series) -> dict[Key, int]:
    sums: dict[Key, int] = defaultdict(int)
    cents = np.rint(amounts_eur.to_numpy(dtype=float) * 100.0)
    for key, amount in zip(keys, cents, strict=True):
        sums[key] += int(amount)
    return dict(sums)
