"""The candidate corridors: one outline or one fixed line each, sound and in one piece.

Room: ``inputs``. Touches no file.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely
from shapely import LineString, Polygon

from routescreen.inputs.geometries import MOST_VERTICES, base_type
from routescreen.inputs.problems import few

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd
    import pandas as pd
    from shapely.geometry.base import BaseGeometry

    from routescreen.inputs.problems import Findings
    from routescreen.inputs.sources import Place

DEFAULT_ID = "corridor"
# Characters that ids are joined with in the results, or that end a file's name.
UNFIT_CHARACTERS = ";|/\\\n\r\t"
# Shorter corridors have nothing to decide, longer ones are not in metres. Common practice, no source.
LEAST_LENGTH_M = 20.0
MOST_LENGTH_M = 3_000_000.0
_SIMPLIFY_M = 0.1


def named(corridor_id: str) -> str:
    """Return how a sentence speaks of a corridor: one that nobody named is just the corridor.

    Parameters
    ----------
    corridor_id : str

    Returns
    -------
    str
    """
    return "the corridor" if corridor_id == DEFAULT_ID else f"the corridor {corridor_id}"


@dataclass(frozen=True, slots=True)
class Candidate:
    """One corridor; exactly one of `outline` and `fixed_line` is given.

    Attributes
    ----------
    corridor_id : str
    outline : Polygon or None
    fixed_line : LineString or None
    """

    corridor_id: str
    outline: Polygon | None
    fixed_line: LineString | None

    def area(self, half_width_m: float) -> BaseGeometry:
        """Return the outline, or the strip of that half-width along the fixed line [m]."""
        if self.fixed_line is not None:
            return shapely.buffer(self.fixed_line, half_width_m, cap_style="flat")
        return self.shape

    @property
    def shape(self) -> Polygon | LineString:
        """The outline or the fixed line, whichever is given."""
        shape = self.outline or self.fixed_line
        if shape is None:
            raise ValueError("A candidate has an outline or a fixed line.")
        return shape


def build_candidates(frame: gpd.GeoDataFrame, place: Place, findings: Findings) -> tuple[Candidate, ...]:
    """Put the features of each id together and check what comes out.

    Parameters
    ----------
    frame : GeoDataFrame
        The layer `corridor` in the CRS of the run, geometries and columns checked.
    place : Place
    findings : Findings

    Returns
    -------
    tuple of Candidate
        In the order of the file; those with a fault are left out, the fault noted.
    """
    if frame.empty:
        if not findings.problems:
            _note(place, findings, "The layer has no features.", "Draw the corridor.", None)
        return ()
    ids = _ids(frame, place, findings)
    candidates = []
    for corridor_id in dict.fromkeys(ids):
        shapes = list(frame.geometry[ids == corridor_id])
        candidate = _candidate(str(corridor_id), shapes, place, findings)
        if candidate is not None:
            candidates.append(candidate)
    return tuple(candidates)


def _ids(frame: gpd.GeoDataFrame, place: Place, findings: Findings) -> pd.Series[str]:
    ids = frame["corridor_id"]
    is_absent = ids.isna()
    if is_absent.any() and len(frame) > 1:
        _note(
            place,
            findings,
            "The corridor has no id, and there are several features.",
            "Fill in corridor_id: one id for each candidate.",
            few(list(frame.index[is_absent])),
        )
    is_unfit = ids.fillna("").str.contains(f"[{UNFIT_CHARACTERS!r}]".replace("'", ""), regex=True)
    for label in frame.index[is_unfit]:
        _note(
            place,
            findings,
            "The id has characters that ids may not have.",
            "Use letters, digits, - and _.",
            label,
        )
    return ids.fillna(DEFAULT_ID)


def _candidate(
    corridor_id: str, shapes: Sequence[BaseGeometry], place: Place, findings: Findings
) -> Candidate | None:
    types = {base_type(shape) for shape in shapes}
    if len(types) > 1:
        _note(place, findings, "The corridor mixes areas and lines.", "Give one or the other.", corridor_id)
        return None
    if types == {"Polygon"}:
        outline = _outline(corridor_id, shapes, place, findings)
        return None if outline is None else Candidate(corridor_id, outline, None)
    line = _fixed_line(corridor_id, shapes, place, findings)
    return None if line is None else Candidate(corridor_id, None, line)


def _outline(
    corridor_id: str, shapes: Sequence[BaseGeometry], place: Place, findings: Findings
) -> Polygon | None:
    outline = shapely.union_all(shapes)
    parts = shapely.get_parts(outline)
    if len(parts) > 1:
        _note_pieces(corridor_id, list(parts), place, findings)
        return None
    if shapely.get_num_coordinates(outline) > MOST_VERTICES:
        outline = shapely.simplify(outline, _SIMPLIFY_M)
        findings.warn(f"The outline of {corridor_id} has very many vertices: simplified by {_SIMPLIFY_M} m.")
    polygon = shapely.get_parts(outline)[0]
    length_m = shapely.length(shapely.minimum_rotated_rectangle(polygon)) / 2
    if not _has_fit_length(corridor_id, length_m, place, findings):
        return None
    return polygon if isinstance(polygon, Polygon) else None


def _fixed_line(
    corridor_id: str, shapes: Sequence[BaseGeometry], place: Place, findings: Findings
) -> LineString | None:
    merged = joined_line(shapes)
    if merged is None:
        _note_pieces(
            corridor_id, [part for shape in shapes for part in shapely.get_parts(shape)], place, findings
        )
        return None
    if not merged.is_simple or merged.is_closed:
        _note(
            place,
            findings,
            "The fixed alignment crosses or meets itself.",
            "Draw a line that never touches itself.",
            corridor_id,
        )
        return None
    return merged if _has_fit_length(corridor_id, merged.length, place, findings) else None


def joined_line(shapes: Sequence[BaseGeometry]) -> LineString | None:
    """Join lines end to end, in the direction of the first; None where they are not one line.

    Lines are joined and never noded, so that a line that crosses itself still does afterwards.
    """
    lines = [part for shape in shapes for part in shapely.get_parts(shape)]
    merged = lines[0] if len(lines) == 1 else shapely.line_merge(shapely.multilinestrings(lines))
    if not isinstance(merged, LineString):
        return None
    return merged if len(lines) == 1 or _keeps_direction(merged, lines[0]) else shapely.reverse(merged)


def _keeps_direction(merged: LineString, first: LineString) -> bool:
    start, end = (shapely.line_locate_point(merged, shapely.Point(first.coords[i])) for i in (0, -1))
    return bool(start < end)


def _has_fit_length(corridor_id: str, length_m: float, place: Place, findings: Findings) -> bool:
    if LEAST_LENGTH_M <= length_m <= MOST_LENGTH_M:
        return True
    _note(
        place,
        findings,
        f"The corridor is {length_m:.4g} m long.",
        f"Give one of {LEAST_LENGTH_M:g} m to {MOST_LENGTH_M / 1000:g} km; check its CRS and units.",
        corridor_id,
    )
    return False


def _note_pieces(corridor_id: str, parts: Sequence[BaseGeometry], place: Place, findings: Findings) -> None:
    gaps = []
    for i, part in enumerate(parts):
        rest = shapely.union_all([other for j, other in enumerate(parts) if j != i])
        gaps.append((shapely.distance(part, rest), shapely.shortest_line(part, rest)))
    gap_m, bridge = max(gaps, key=lambda gap: gap[0])
    x, y = bridge.coords[0]
    _note(
        place,
        findings,
        f"The corridor is in {len(parts)} pieces; the widest gap is {gap_m:.1f} m, at "
        f"x {x:.0f} m, y {y:.0f} m.",
        "Join the pieces, or give each candidate an id of its own.",
        corridor_id,
    )


def _note(place: Place, findings: Findings, problem: str, remedy: str, feature: str | None) -> None:
    findings.add(problem, remedy, file=place.file.path, layer=place.layer, feature=feature)
