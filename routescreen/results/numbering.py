"""Names of sections, drives, shafts, crossings and areas, and which section holds a chainage.

Room: ``results``. Imports ``screened`` for its types only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.plan import SectionRun

LETTERS = {
    "section": "S",
    "drive": "D",
    "shaft": "H",
    "crossing": "C",
    "compound": "K",
    "strip": "L",
    "bay": "J",
    "cable_section": "P",
    "check": "Q",
    "alternative": "A",
}


def element_id(corridor_id: str, element: str, index: int) -> str:
    """Return the name of an element from its position, counted from 0.

    >>> element_id("west", "drive", 0)
    'west-D001'
    """
    return f"{corridor_id}-{LETTERS[element]}{index + 1:03d}"


def section_at(
    runs: tuple[SectionRun, ...], vertex_m: NDArray[np.float64], at_m: float, *, is_drive: bool
) -> int:
    """Return the index of the section that holds a chainage.

    Where two sections meet, the one of the wanted construction is taken.
    """
    slack_m = 1e-6
    starts_m = vertex_m[[run.from_vertex for run in runs]]
    first = max(int(np.searchsorted(starts_m, at_m - slack_m, side="right")) - 1, 0)
    last = max(int(np.searchsorted(starts_m, at_m + slack_m, side="right")) - 1, 0)
    if not -slack_m <= at_m <= vertex_m[-1] + slack_m:
        raise ValueError(f"chainage {at_m} m lies outside the alignment of {vertex_m[-1]} m")
    here = range(first, last + 1)
    return next((index for index in here if (runs[index].drive is not None) == is_drive), first)
