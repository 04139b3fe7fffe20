"""What belongs to one corridor: its axis, its terminals, its pins, each in its place.

Room: ``inputs``. Touches no file.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely
from shapely import LineString, Point

from routescreen.inputs.corridors import joined_line, named
from routescreen.inputs.problems import few, listed

if TYPE_CHECKING:
    import geopandas as gpd

    from routescreen.inputs.corridors import Candidate
    from routescreen.inputs.problems import Findings
    from routescreen.inputs.sources import Place

# Rounding of coordinates on the way between files and CRSs.
ON_THE_EDGE_M = 0.1


@dataclass(frozen=True, slots=True)
class Claims:
    """The features of one layer, and which corridors there are to claim them.

    Attributes
    ----------
    frame : GeoDataFrame
    place : Place
    corridor_ids : tuple of str
    """

    frame: gpd.GeoDataFrame
    place: Place
    corridor_ids: tuple[str, ...]

    def of(self, corridor_id: str) -> gpd.GeoDataFrame:
        """Return the features of one corridor."""
        if len(self.corridor_ids) == 1:
            own = self.frame["corridor_id"].isna() | (self.frame["corridor_id"] == corridor_id)
        else:
            own = self.frame["corridor_id"] == corridor_id
        return self.frame[own]

    def note(
        self,
        findings: Findings,
        problem: str,
        remedy: str,
        *,
        feature: str | None = None,
        value: str | None = None,
    ) -> None:
        """Note a fault of this layer."""
        findings.add(
            problem, remedy, file=self.place.file.path, layer=self.place.layer, feature=feature, value=value
        )


def check_claims(claims: Claims, findings: Findings) -> None:
    """Note features that name no corridor, where there are several, or one that isn't there."""
    ids = claims.frame["corridor_id"]
    if len(claims.corridor_ids) > 1 and ids.isna().any():
        claims.note(
            findings,
            "There are several corridors, and the feature does not say to which it belongs.",
            f"Fill in corridor_id: one of {listed(claims.corridor_ids)}.",
            feature=few(list(claims.frame.index[ids.isna()])),
        )
    for stranger in sorted(set(ids.dropna()) - set(claims.corridor_ids)):
        claims.note(
            findings,
            "There is no corridor of this id.",
            f"Use one of: {listed(claims.corridor_ids)}.",
            feature=few(list(claims.frame.index[ids == stranger])),
            value=stranger,
        )


def axis_of(candidate: Candidate, claims: Claims, findings: Findings) -> LineString | None:
    """Return the corridor's axis; None where there is none, or with the fault noted."""
    own = claims.of(candidate.corridor_id)
    if own.empty:
        return None
    line = joined_line(list(own.geometry))
    fault = _axis_fault(line, candidate)
    if fault is None:
        return line
    claims.note(
        findings,
        fault,
        "Draw one line along the corridor, from its start to its end.",
        feature=few(list(own.index)),
    )
    return None


def _axis_fault(line: LineString | None, candidate: Candidate) -> str | None:
    if line is None:
        return "The axis is not one unbroken line."
    if not line.is_simple or line.is_closed:
        return "The axis crosses or meets itself."
    if not line.intersects(candidate.area(ON_THE_EDGE_M)):
        return f"The axis lies outside {named(candidate.corridor_id)}."
    return None


def terminals_of(
    candidate: Candidate, claims: Claims, findings: Findings, *, tolerance_m: float
) -> tuple[Point | None, Point | None]:
    """Return the start and end terminal of a corridor; both None where it has none.

    Parameters
    ----------
    candidate : Candidate
    claims : Claims
        The layer `terminals`.
    findings : Findings
    tolerance_m : float
        How far from a fixed alignment a terminal may lie [m].
    """
    own = claims.of(candidate.corridor_id)
    if own.empty:
        return None, None
    # A role that is no known word is told as such; that an end is lacking then follows from it alone.
    has_sound_roles = own["role"].isin(["start", "end"]).all()
    start, end = (
        _terminal(own, role, candidate, claims, findings) if has_sound_roles else None
        for role in ("start", "end")
    )
    _check_inside(own, candidate, claims, findings, tolerance_m=tolerance_m)
    if start is not None and end is not None and start.distance(end) < 1.0:
        claims.note(
            findings,
            f"Start and end of {candidate.corridor_id} are the same place.",
            "Move one of them.",
            feature=few(list(own.index)),
        )
    return start, end


def _terminal(
    own: gpd.GeoDataFrame, role: str, candidate: Candidate, claims: Claims, findings: Findings
) -> Point | None:
    rows = own[own["role"] == role]
    points = [part for shape in rows.geometry for part in shapely.get_parts(shape)]
    if len(points) != 1:
        claims.note(
            findings,
            f"The corridor {candidate.corridor_id} has {len(points)} terminals of the role {role}.",
            "Give one start and one end, or no terminals at all.",
            feature=few(list(rows.index)) or None,
            value=role,
        )
        return None
    return Point(points[0].x, points[0].y)


def check_pins(candidate: Candidate, claims: Claims, findings: Findings, *, tolerance_m: float) -> None:
    """Note pins for a shaft or a point to pass that lie outside the corridor."""
    own = claims.of(candidate.corridor_id)
    binding = own[own["role"].isin(["via", "shaft"])]
    # A radius below nothing is a fault of its own, named before; it must not make one of the place as well.
    reach_m = binding["radius_m"].fillna(0.0).clip(lower=0.0)
    far = _distances(binding, candidate) > reach_m + (
        tolerance_m if candidate.outline is None else ON_THE_EDGE_M
    )
    for label, away_m in _distances(binding, candidate)[far].items():
        claims.note(
            findings,
            f"The pin lies {away_m:.1f} m outside {named(candidate.corridor_id)}, beyond its radius.",
            "Move the pin into the corridor, widen its radius or delete it.",
            feature=str(label),
        )


def _check_inside(
    own: gpd.GeoDataFrame, candidate: Candidate, claims: Claims, findings: Findings, *, tolerance_m: float
) -> None:
    most_m = tolerance_m if candidate.outline is None else ON_THE_EDGE_M
    away_m = _distances(own, candidate)
    for label, far_m in away_m[away_m > most_m].items():
        claims.note(
            findings,
            f"The terminal lies {far_m:.1f} m outside {named(candidate.corridor_id)}.",
            "Move the terminal into the corridor, or widen the corridor.",
            feature=str(label),
        )


def _distances(frame: gpd.GeoDataFrame, candidate: Candidate) -> gpd.pd.Series[float]:
    return frame.geometry.distance(candidate.shape)
