"""Whether finished tables fit together: ids, sections, sums.

Room: ``resultsread``. Pure: tables in, faults out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.errors import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import pandas as pd

__all__ = ["faults_of"]

# Which column names its rows, and which columns point to the rows of another layer.
OWN_IDS = {
    "alignment": "corridor_id",
    "sections": "section_id",
    "drives": "drive_id",
    "shafts": "shaft_id",
    "crossing_schedule": "crossing_id",
    "checks": "check_id",
    "joint_bays": "bay_id",
}
POINTERS = {
    "section_id": "sections",
    "drive_id": "drives",
    "shaft_id": "shafts",
    "launch_shaft_id": "shafts",
    "reception_shaft_id": "shafts",
    "crossing_id": "crossing_schedule",
}
SLACK_M = 0.01  # by which two sections may miss one another in a file that is sound


def faults_of(tables: Mapping[str, pd.DataFrame]) -> list[Problem]:
    """Return what is wrong with tables that keep to the schema one by one.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Every result layer, in the schema's form.

    Returns
    -------
    list of Problem
        Without file and remedy: the caller knows them. Ids that stand twice or point nowhere, rows of no
        corridor, sections that leave a gap, a bill that isn't the total.
    """
    if tables["alignment"].empty:
        return [Problem("There is no corridor in it.", "", layer="alignment")]
    return [
        *_twice(tables),
        *_strangers(tables),
        *_lost(tables),
        *_gaps(tables),
        *_sums(tables),
    ]


def _twice(tables: Mapping[str, pd.DataFrame]) -> Iterator[Problem]:
    for name, column in OWN_IDS.items():
        ids = tables[name][column]
        for value in ids[ids.duplicated()].unique()[:1]:
            yield Problem("The id stands twice.", "", layer=name, column=column, value=str(value))


def _strangers(tables: Mapping[str, pd.DataFrame]) -> Iterator[Problem]:
    known = set(tables["alignment"]["corridor_id"])
    for name, table in tables.items():
        for value in sorted(set(table["corridor_id"]) - known)[:1]:
            text = "The row belongs to a corridor that has no alignment."
            yield Problem(text, "", layer=name, column="corridor_id", value=str(value))


def _lost(tables: Mapping[str, pd.DataFrame]) -> Iterator[Problem]:
    for name, table in tables.items():
        for column, target in POINTERS.items():
            if column not in table or column == OWN_IDS.get(name):
                continue
            known = set(tables[target][OWN_IDS[target]])
            for value in sorted(set(table[column].dropna()) - known)[:1]:
                text = f"It points to nothing in the layer {target}."
                yield Problem(text, "", layer=name, column=column, value=str(value))


def _gaps(tables: Mapping[str, pd.DataFrame]) -> Iterator[Problem]:
    for corridor_id, length_m in zip(
        tables["alignment"]["corridor_id"], tables["alignment"]["length_m"], strict=True
    ):
        sections = tables["sections"]
        mine = sections[sections["corridor_id"] == corridor_id]
        edges_m = np.array([0.0, *mine["to_chainage_m"]])
        starts_m = np.array([*mine["from_chainage_m"], length_m])
        is_off = np.abs(edges_m - starts_m) > SLACK_M
        if is_off.any():
            text = f"The sections leave a gap or overlap at chainage {starts_m[is_off][0]:.2f} m."
            yield Problem(text, "", layer="sections", feature=str(corridor_id))


def _sums(tables: Mapping[str, pd.DataFrame]) -> Iterator[Problem]:
    for corridor_id, total_eur in zip(
        tables["alignment"]["corridor_id"], tables["alignment"]["total_eur"], strict=True
    ):
        bill = tables["bill"]
        cents = np.rint(100.0 * bill.loc[bill["corridor_id"] == corridor_id, "amount_eur"]).sum()
        if round(100.0 * total_eur) != int(cents):
            text = f"The bill adds up to {cents / 100.0:.2f} EUR, the alignment says {total_eur:.2f} EUR."
            yield Problem(text, "", layer="bill", feature=str(corridor_id))
