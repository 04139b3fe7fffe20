"""One corridor as the sheets need it: its tables, its way, its profile, and what lies round it.

Room: ``sheets``. Reads the result tables; reckons nothing of engineering.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from routescreen.sheets.looks import look_of
from routescreen.sheets.windows import Way

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    import pandas as pd
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.screened import Backdrop
    from routescreen.sheets.words import Words

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Issue:
    """What every sheet's title block says.

    Attributes
    ----------
    project, version, crs_name, caution : str
    stamp_utc : datetime
        Time of the run.
    words : Words
    """

    project: str
    version: str
    crs_name: str
    caution: str
    stamp_utc: datetime
    words: Words


@dataclass(frozen=True, slots=True)
class Run:
    """The long section along one section of the alignment; arrays of shape (n,), levels and covers [m]."""

    is_drive: bool
    chainage_m: Array
    ground_m: Array
    invert_m: Array
    cover_m: Array
    required_m: Array
    groundwater_m: Array

    @property
    def crown_m(self) -> Array:
        """Level of the bore's crown, or of the top of the pipes in a trench [m]."""
        return self.ground_m - self.cover_m

    def at(self, column: str, chainage_m: float) -> float:
        """Return a column's value at a chainage, NaN where it isn't known."""
        return float(np.interp(chainage_m, self.chainage_m, getattr(self, column)))

    def part(self, from_m: float, to_m: float) -> Run | None:
        """Return the part between two chainages, both ends included; None where it lies outside."""
        a, b = max(from_m, float(self.chainage_m[0])), min(to_m, float(self.chainage_m[-1]))
        if b - a < 1e-6:
            return None
        inside = (self.chainage_m > a) & (self.chainage_m < b)
        at = np.concatenate([[a], self.chainage_m[inside], [b]])
        columns = (self.ground_m, self.invert_m, self.cover_m, self.required_m, self.groundwater_m)
        return Run(self.is_drive, at, *(np.interp(at, self.chainage_m, values) for values in columns))


@dataclass(frozen=True, slots=True)
class Features:
    """What lies in and beside the corridor, found by place."""

    shapes: NDArray[np.object_]
    kinds: tuple[str, ...]
    tree: shapely.STRtree
    outline: shapely.Geometry | None

    @classmethod
    def of(cls, backdrop: Backdrop | None) -> Features:
        """Index a backdrop; without one there is nothing."""
        shapes = np.array([] if backdrop is None else list(backdrop.shapes), dtype=np.object_)
        kinds = () if backdrop is None else tuple(backdrop.kinds)
        outline = None if backdrop is None else backdrop.outline
        return cls(shapes, kinds, shapely.STRtree(shapes), outline)

    def within(self, where: shapely.Geometry) -> list[tuple[str, shapely.Geometry]]:
        """Return kind and shape of what meets an area, the lowest first."""
        found = sorted(int(at) for at in self.tree.query(where, predicate="intersects"))
        found.sort(key=lambda at: look_of(self.kinds[at]).rank)
        return [(self.kinds[at], self.shapes[at]) for at in found]


@dataclass(frozen=True, slots=True)
class Scene:
    """One corridor, ready to be drawn.

    Attributes
    ----------
    corridor_id : str
    tables : mapping of str to DataFrame
        The result tables, rows of this corridor only.
    assumptions : Assumptions
    issue : Issue
    way : Way
        Of the alignment.
    runs : tuple of Run
        One for each section.
    features : Features
    """

    corridor_id: str
    tables: Mapping[str, pd.DataFrame]
    assumptions: Assumptions
    issue: Issue
    way: Way
    runs: tuple[Run, ...]
    features: Features
    _kept: dict[str, list[dict[str, Any]]] = field(default_factory=dict, repr=False, compare=False)

    @property
    def words(self) -> Words:
        """The texts."""
        return self.issue.words

    def short(self, name: object) -> str:
        """Return a name without the corridor's in front."""
        return str(name).removeprefix(f"{self.corridor_id}-")

    def rows(self, table: str) -> list[dict[str, Any]]:
        """Return a table row by row, by column; made once."""
        if table not in self._kept:
            self._kept[table] = self._rows(table)
        return self._kept[table]

    def _rows(self, table: str) -> list[dict[str, Any]]:
        return [
            {str(key): value for key, value in row.items()} for row in self.tables[table].to_dict("records")
        ]

    def shapes(self, table: str) -> list[shapely.Geometry]:
        """Return the shapes of a layer."""
        own = self.tables[table]
        return list(own.geometry) if len(own) else []

    def between(self, table: str, from_m: float, to_m: float) -> list[tuple[dict[str, Any], Any]]:
        """Return rows and shapes of a layer whose chainage lies between two, both included, in order."""
        at = self.tables[table]["chainage_m"].to_numpy(dtype=float)
        found = [number for number in np.argsort(at, kind="stable") if from_m <= at[number] <= to_m]
        own = self.tables[table].iloc[found]
        rows = [{str(key): value for key, value in row.items()} for row in own.to_dict("records")]
        return list(zip(rows, list(own.geometry) if len(own) else [], strict=True))


def scene_of(
    tables: Mapping[str, pd.DataFrame],
    corridor_id: str,
    backdrop: Backdrop | None,
    assumptions: Assumptions,
    issue: Issue,
) -> Scene:
    """Take one corridor out of all result tables.

    Parameters
    ----------
    tables : mapping of str to DataFrame
    corridor_id : str
    backdrop : Backdrop or None
    assumptions : Assumptions
    issue : Issue

    Returns
    -------
    Scene
    """
    own = {name: table[table["corridor_id"] == corridor_id] for name, table in tables.items()}
    way = Way.of(shapely.get_coordinates(own["alignment"].geometry.iloc[0])[:, :2])
    return Scene(
        corridor_id, own, assumptions, issue, way, runs_of(own["long_section"]), Features.of(backdrop)
    )


def runs_of(table: pd.DataFrame) -> tuple[Run, ...]:
    """Cut the long section where a chainage stands twice: there one section ends and the next begins.

    Parameters
    ----------
    table : DataFrame
        The result table ``long_section`` of one corridor.

    Returns
    -------
    tuple of Run
    """
    columns = [
        table[name].to_numpy(dtype=float)
        for name in ("chainage_m", "ground_m", "invert_m", "cover_m", "required_cover_m", "groundwater_m")
    ]
    is_drive = (table["construction"] == "drive").to_numpy()
    step_m = np.diff(columns[0])
    seams = np.flatnonzero((step_m < 1e-9) | (is_drive[1:] != is_drive[:-1])) + 1
    edges = [0, *seams.tolist(), len(is_drive)]
    return tuple(
        Run(bool(is_drive[a]), *(column[a:b] for column in columns))
        for a, b in itertools.pairwise(edges)
        if b > a
    )
