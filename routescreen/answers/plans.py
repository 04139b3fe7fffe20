"""Which plan is compared with which, and what each is called.

Room: ``answers``. Pure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd

from routescreen.answers.compare import NamedPlan
from routescreen.answers.words import listed
from routescreen.errors import Problem, ResultsError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd
    from pyproj import CRS

__all__ = ["Folder", "pairs_of"]


@dataclass(frozen=True, slots=True)
class Folder:
    """One results folder as read.

    Attributes
    ----------
    name : str
        As the user named it.
    corridors : mapping of str to (mapping of str to DataFrame)
        The result tables of each corridor.
    crs : CRS
    """

    name: str
    corridors: Mapping[str, Mapping[str, pd.DataFrame]]
    crs: CRS


def pairs_of(folders: Sequence[Folder], corridor: str | None) -> list[tuple[NamedPlan, NamedPlan]]:
    """Pair the plans that are to be compared: each with its counterpart in the first folder.

    Parameters
    ----------
    folders : sequence of Folder
        Of one, every corridor is compared with the first. Of several, each corridor is compared with the one
        of its name in the first folder; two folders with one corridor each are compared whatever its name.
    corridor : str or None
        Compare only this one.

    Returns
    -------
    list of (NamedPlan, NamedPlan)
        All geometries in the coordinate reference system of the first folder.

    Raises
    ------
    ResultsError
        Where there is nothing to compare.
    """
    first = folders[0]
    names = _names([folder.name for folder in folders])
    chosen = [_chosen(folder, corridor) for folder in folders]
    if len(folders) == 1:
        if len(chosen[0]) < 2:
            text = "There is only one plan in it: nothing to compare it with."
            raise _error(text, "Name two results folders, or one with several corridors.", first.name)
        plans = [NamedPlan(i, i, first.corridors[i]) for i in chosen[0]]
        return [(plans[0], plan) for plan in plans[1:]]
    pairs = []
    for folder, name, ids in zip(folders[1:], names[1:], chosen[1:], strict=True):
        common = [i for i in chosen[0] if i in ids]
        if not common and len(chosen[0]) == len(ids) == 1:
            matches = [(chosen[0][0], ids[0])]
        elif common:
            matches = [(i, i) for i in common]
        else:
            text = f"No corridor of it ({listed(ids)}) is in {first.name} ({listed(chosen[0])})."
            raise _error(text, "Compare folders with a corridor of the same name.", folder.name)
        is_one = len(matches) == 1
        for i, j in matches:
            label = ["", ""] if is_one and i == j else [f": {i}", f": {j}"]
            pairs.append(
                (
                    NamedPlan(names[0] + label[0], i, first.corridors[i]),
                    NamedPlan(name + label[1], j, _in_crs(folder.corridors[j], first.crs)),
                )
            )
    return pairs


def _names(named: list[str]) -> list[str]:
    """Return the last parts of the paths where they differ, else the whole paths."""
    last = [name.rstrip("/\\").replace("\\", "/").rpartition("/")[2] or name for name in named]
    return last if len(set(last)) == len(last) else named


def _chosen(folder: Folder, corridor: str | None) -> list[str]:
    ids = list(folder.corridors)
    if corridor is None:
        return ids
    if corridor not in ids:
        raise _error(
            f"There is no corridor {corridor} in it; it holds {listed(ids)}.", "Name another.", folder.name
        )
    return [corridor]


def _in_crs(tables: Mapping[str, pd.DataFrame], crs: CRS) -> dict[str, pd.DataFrame]:
    return {
        name: table.to_crs(crs) if isinstance(table, gpd.GeoDataFrame) and table.crs != crs else table
        for name, table in tables.items()
    }


def _error(problem: str, remedy: str, file: str) -> ResultsError:
    return ResultsError([Problem(problem, remedy, file=file)])
