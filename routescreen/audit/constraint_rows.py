"""One row of what binds the programme, as the layer ``constraints`` holds it.

Room: ``audit``. Pure data.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions

    Row = dict[str, object]

COLUMNS = (
    *("section_index", "drive_index", "shaft_index", "constraint", "title", "from_month_day", "to_month_day"),
    *("from_h", "to_h", "from_chainage_m", "to_chainage_m", "length_m", "low_h", "expected_h", "high_h"),
    "reason",
)


def constraint_row(where: tuple[int, int, int], span_m: tuple[float, float], **what: object) -> Row:
    """Return a row.

    Parameters
    ----------
    where : tuple of int
        Section, drive and shaft, -1 for none.
    span_m : tuple of float
        Chainage from and to [m].
    **what : object
        Further columns; those left out hold nothing.
    """
    from_m, to_m = span_m
    nothing = dict.fromkeys(COLUMNS[5:9]) | dict.fromkeys(("low_h", "expected_h", "high_h"), np.nan)
    found = nothing | {
        "section_index": where[0],
        "drive_index": where[1],
        "shaft_index": where[2],
        "from_chainage_m": from_m,
        "to_chainage_m": to_m,
        "length_m": to_m - from_m,
    }
    return found | what


def season_of(a: Assumptions, letter: str) -> Row:
    """Return what a closed season fills in of a row."""
    season = a.programme.seasons[letter]
    return {
        "constraint": "closed_season",
        "title": season.title,
        "from_month_day": season.from_month_day,
        "to_month_day": season.to_month_day,
    }
