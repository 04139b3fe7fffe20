"""What the first screen answers, read off the result tables of one corridor.

Room: ``report``. Adds up and compares; every number stands in a table as well.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from routescreen.schema import STATUSES

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

MOST_CRITICAL = 8  # as many as fit beside the plan


@dataclass(frozen=True, slots=True)
class Answer:
    """The plan in a handful of numbers.

    Attributes
    ----------
    length_m, open_cut_m, drive_m : float
        Along the alignment, in plan [m].
    total_eur : float
        Of the bill [EUR].
    low_eur, high_eur : float
        The bill with every rate at its low or its high value [EUR].
    n_drives, n_shafts, n_crossings, n_driven : int
        `n_driven` crossings are passed by a drive.
    deepest_m : float
        Depth of the deepest shaft, 0 where there is none [m].
    n_checks : mapping of str to int
        By status, all four.
    critical : tuple of str
        Names of the checks that want attention: what fails, then what is used most, one an element and kind.
    """

    length_m: float
    open_cut_m: float
    drive_m: float
    total_eur: float
    low_eur: float
    high_eur: float
    n_drives: int
    n_shafts: int
    n_crossings: int
    n_driven: int
    deepest_m: float
    n_checks: Mapping[str, int]
    critical: tuple[str, ...]


def answer_of(tables: Mapping[str, pd.DataFrame]) -> Answer:
    """Read the answer off the tables of one corridor.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        The result tables, rows of this corridor only.

    Returns
    -------
    Answer
    """
    sections, shafts, crossings = tables["sections"], tables["shafts"], tables["crossing_schedule"]
    is_drive = sections["construction"] == "drive"
    counts = tables["checks"]["status"].value_counts()
    return Answer(
        length_m=float(tables["alignment"]["length_m"].sum()),
        open_cut_m=float(sections.loc[~is_drive, "length_m"].sum()),
        drive_m=float(sections.loc[is_drive, "length_m"].sum()),
        total_eur=float(tables["alignment"]["total_eur"].sum()),
        low_eur=float((100.0 * tables["bill"]["amount_low_eur"]).round().sum()) / 100.0,
        high_eur=float((100.0 * tables["bill"]["amount_high_eur"]).round().sum()) / 100.0,
        n_drives=len(tables["drives"]),
        n_shafts=len(shafts),
        n_crossings=len(crossings),
        n_driven=int((crossings["treatment"] == "trenchless").sum()) if len(crossings) else 0,
        deepest_m=float(shafts["depth_m"].max()) if len(shafts) else 0.0,
        n_checks={status: int(counts.get(status, 0)) for status in STATUSES},
        critical=critical_checks(tables["checks"]),
    )


def critical_checks(checks: pd.DataFrame, most: int = MOST_CRITICAL) -> tuple[str, ...]:
    """Return the checks that want attention, the worst first.

    What fails comes first whatever its utilisation, then amber, then what passes; within a status the most
    used. Of the same check on the same element only the worst is named.

    Parameters
    ----------
    checks : DataFrame
        With `check_id`, `element_id`, `check`, `status` and `utilisation`.
    most : int

    Returns
    -------
    tuple of str
        Values of `check_id`.
    """
    rank = {"fail": 0, "amber": 1, "pass": 2}
    rows = [
        (rank[status], -used, name, (element, check))
        for name, element, check, status, used in zip(
            checks["check_id"],
            checks["element_id"],
            checks["check"],
            checks["status"],
            (_number(value) for value in checks["utilisation"]),
            strict=True,
        )
        if status in rank and (status == "fail" or not math.isnan(used))
    ]
    rows = [(r, math.inf if math.isnan(used) else used, name, of) for r, used, name, of in rows]
    found: dict[object, str] = {}
    for _, _, name, of in sorted(rows, key=lambda row: row[:3]):
        found.setdefault(of, name)
    return tuple(found.values())[:most]


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else math.nan
