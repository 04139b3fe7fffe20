"""Lines of the long section by section of the alignment, for the drawing and the alignment file.

Room: ``tender``. Tables in, arrays out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import pandas as pd
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_SAME_M = 1e-6


@dataclass(frozen=True, slots=True)
class InvertLine:
    """Invert of one section, its chainages rising.

    Attributes
    ----------
    section_id : str
    is_drive : bool
    at_m, level_m : ndarray of float64, shape (n,)
        Chainages and levels [m]; of a drive the true course of the bores, arcs as chains of points.
    height_m : float
        From the invert to the crown; 0 for the trench, of which only the bottom is drawn [m].
    """

    section_id: str
    is_drive: bool
    at_m: Floats
    level_m: Floats
    height_m: float


def invert_lines(own: Mapping[str, pd.DataFrame]) -> Iterator[InvertLine]:
    """Yield the invert of every section that has one.

    Parameters
    ----------
    own : mapping of str to DataFrame
        The result tables, rows of one corridor only.
    """
    row: Any
    drive: Any
    drives = {row.section_id: row for row in own["drives"].itertuples(index=False)}
    profile = own["long_section"]
    at_m = profile["chainage_m"].to_numpy(dtype=float)
    level_m = profile["invert_m"].to_numpy(dtype=float)
    kinds = profile["construction"].to_numpy()
    line = own["alignment"].geometry.iloc[0]
    for row in own["sections"].itertuples(index=False):
        if row.section_id in drives:
            drive = drives[row.section_id]
            bore_m, invert_m = _course(drive.geometry, line, float(row.from_chainage_m))
            yield InvertLine(row.section_id, True, bore_m, invert_m, float(drive.bore_diameter_m))
            continue
        inside = _inside(at_m, float(row.from_chainage_m), float(row.to_chainage_m))
        rows = inside[(kinds[inside] == "open_cut") & np.isfinite(level_m[inside])]
        if len(rows) > 1:
            yield InvertLine(row.section_id, False, at_m[rows], level_m[rows], 0.0)


def rising(at_m: Floats, level_m: Floats) -> tuple[Floats, Floats]:
    """Return chainages and levels where both are known and the chainage rises, the first of equal ones."""
    known = np.isfinite(level_m)
    at_m, level_m = at_m[known], level_m[known]
    rises = np.concatenate([[True], np.diff(at_m) > _SAME_M]) if len(at_m) else np.zeros(0, dtype=bool)
    return at_m[rises], level_m[rises]


def _inside(at_m: Floats, from_m: float, to_m: float) -> NDArray[np.int64]:
    """Return the rows of a section; of rows at the seam of two sections the one on its own side."""
    rows = np.flatnonzero((at_m >= from_m - _SAME_M) & (at_m <= to_m + _SAME_M))
    starts = rows[np.abs(at_m[rows] - from_m) <= _SAME_M]
    ends = rows[np.abs(at_m[rows] - to_m) <= _SAME_M]
    return np.asarray(np.setdiff1d(rows, np.concatenate([starts[:-1], ends[1:]])), dtype=np.int64)


def _course(bore: shapely.LineString, line: shapely.LineString, from_m: float) -> tuple[Floats, Floats]:
    """Return a drive's middle line by chainage, from the lower end on."""
    points = shapely.get_coordinates(bore, include_z=True)
    start = shapely.get_coordinates(line.interpolate(from_m))[0]
    if np.hypot(*(points[0, :2] - start)) > np.hypot(*(points[-1, :2] - start)):
        points = points[::-1]
    along_m = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points[:, :2], axis=0).T))])
    return from_m + along_m, points[:, 2].copy()
