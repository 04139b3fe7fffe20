"""Where two alignments lie apart, or are built otherwise on the same line, and what that costs.

Room: ``answers``. Pure: lines and tables in, stretches out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.ops import substring

from routescreen.answers.words import plain, times

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import pandas as pd
    from numpy.typing import NDArray
    from shapely import LineString

__all__ = [
    "Route",
    "Stretch",
    "cost_between",
    "differing_stretches",
    "matched_drives",
    "moved_drives",
    "route_of",
]

STEP_M = 5.0  # at which the alignments are looked at
GAP_M = 25.0  # stretches nearer to one another than this, in both plans, are one
_EPS_M = 1e-6


@dataclass(frozen=True, slots=True)
class Route:
    """The alignment of a plan with its sections.

    Attributes
    ----------
    line : LineString
        In plan. Distances along it are chainages but for the scale of a coordinate system that it was brought
        into.
    from_m, to_m : ndarray of shape (n,)
        Of each section [m].
    built : tuple of str
        ``open_cut`` or the method of the drive, of each section.
    bores : tuple of int
        Of each section, 0 in open cut.
    section_ids : tuple of str
    """

    line: LineString
    from_m: NDArray[np.float64]
    to_m: NDArray[np.float64]
    built: tuple[str, ...]
    bores: tuple[int, ...]
    section_ids: tuple[str, ...]

    def at(self, chainage_m: NDArray[np.float64] | float) -> NDArray[np.object_]:
        """Return the points at chainages."""
        along_m = self.scale * np.atleast_1d(chainage_m)
        return np.asarray(shapely.line_interpolate_point(self.line, along_m), dtype=object)

    def beside(self, chainage_m: float, other: Route) -> float:
        """Return the chainage of the other route that lies nearest to a point of this one [m]."""
        return float(shapely.line_locate_point(other.line, self.at(chainage_m)[0])) / other.scale

    def piece(self, from_m: float, to_m: float) -> LineString | None:
        """Return the line between two chainages [m]; None where it has no length."""
        part = substring(self.line, self.scale * from_m, self.scale * to_m)
        return part if isinstance(part, shapely.LineString) and part.length > 0.0 else None

    @property
    def scale(self) -> float:
        """Length of the line for a metre of chainage [-]."""
        return float(self.line.length / self.to_m[-1])


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch in which two plans differ, by the chainages of each [m], and how far they lie apart [m]."""

    from_a_m: float
    to_a_m: float
    from_b_m: float
    to_b_m: float
    apart_m: float = 0.0


def route_of(tables: Mapping[str, pd.DataFrame]) -> Route:
    """Return the route of one corridor's result tables."""
    sections = tables["sections"]
    bores = dict(zip(tables["drives"]["section_id"], tables["drives"]["bores"], strict=True))
    is_drive = sections["construction"] == "drive"
    return Route(
        line=shapely.force_2d(tables["alignment"].geometry.iloc[0]),
        from_m=sections["from_chainage_m"].to_numpy(dtype=float),
        to_m=sections["to_chainage_m"].to_numpy(dtype=float),
        built=tuple(str(m) if d else "open_cut" for m, d in zip(sections["method"], is_drive, strict=True)),
        bores=tuple(int(bores.get(name, 0)) for name in sections["section_id"]),
        section_ids=tuple(str(name) for name in sections["section_id"]),
    )


def differing_stretches(a: Route, b: Route, *, tolerance_m: float) -> tuple[Stretch, ...]:
    """Find the stretches in which two plans differ.

    Parameters
    ----------
    a, b : Route
        In one coordinate reference system.
    tolerance_m : float
        How far apart two places may lie and still be the same [m].

    Returns
    -------
    tuple of Stretch
        Along both routes, without overlap in either. A drive that has no counterpart (same method, bores and
        ends) lies in one as a whole, and so does a chain of drives of which any does. Exchanged plans give
        exchanged stretches.
    """
    found = [*_apart(a, b, tolerance_m), *_unmatched(a, b, tolerance_m)]
    found += [_exchanged(s) for s in (*_apart(b, a, tolerance_m), *_unmatched(b, a, tolerance_m))]
    merged = _merged(found)
    while True:
        widened = _merged([_widened(s, a, b) for s in merged])
        if widened == merged:
            break
        merged = widened
    return tuple(_measured(s, a, b) for s in merged)


def matched_drives(a: Route, b: Route, tolerance_m: float) -> dict[int, int]:
    """Return which drive of b each drive of a is: positions among the sections."""
    found: dict[int, int] = {}
    for i, j in ((i, j) for i in _drives(a) for j in _drives(b)):
        if (a.built[i], a.bores[i]) != (b.built[j], b.bores[j]):
            continue
        ends = (
            np.array([a.from_m[i], a.to_m[i]]),
            np.array([b.from_m[j], b.to_m[j]]),
        )
        if (shapely.distance(a.at(ends[0]), b.at(ends[1])) <= tolerance_m).all():
            found[i] = j
    return found


def moved_drives(a: Route, b: Route, tolerance_m: float) -> dict[int, int]:
    """Return which drive of b is likely one of a that has moved: positions among the sections.

    Of the drives without a counterpart those of the same method and bores of which each shares most with the
    other, along the alignment, and more than half of the longer's length.
    """
    known = matched_drives(a, b, tolerance_m)
    rest_a = [i for i in _drives(a) if i not in known]
    rest_b = [j for j in _drives(b) if j not in known.values()]
    shared = {
        (i, j): share
        for i in rest_a
        for j in rest_b
        if (a.built[i], a.bores[i]) == (b.built[j], b.bores[j])
        and (share := min(_shared_frac(a, b, i, j), _shared_frac(b, a, j, i))) > 0.5
    }
    return {
        i: j
        for (i, j), share in shared.items()
        if all(share >= other for (k, m), other in shared.items() if k == i or m == j)
    }


def _shared_frac(a: Route, b: Route, i: int, j: int) -> float:
    """Return the length that section i of a shares with section j of b beside it, by the longer of both."""
    beside = sorted(a.beside(float(at_m), b) for at_m in (a.from_m[i], a.to_m[i]))
    shared_m = min(beside[1], float(b.to_m[j])) - max(beside[0], float(b.from_m[j]))
    longest_m = max(float(a.to_m[i] - a.from_m[i]), float(b.to_m[j] - b.from_m[j]))
    return shared_m / longest_m if longest_m > 0.0 else 0.0


def _drives(route: Route) -> list[int]:
    return [i for i, built in enumerate(route.built) if built != "open_cut"]


def _unmatched(a: Route, b: Route, tolerance_m: float) -> Iterator[Stretch]:
    """Yield the drives of a that b doesn't have."""
    known = matched_drives(a, b, tolerance_m)
    for i in _drives(a):
        if i not in known:
            yield _rectangle(a, b, float(a.from_m[i]), float(a.to_m[i]))


def _rectangle(a: Route, b: Route, from_m: float, to_m: float) -> Stretch:
    beside = sorted(a.beside(at_m, b) for at_m in (from_m, to_m))
    return Stretch(from_m, to_m, beside[0], beside[1])


def _samples(route: Route) -> NDArray[np.float64]:
    """Return chainages at every vertex and every few metres between."""
    length_m = float(route.to_m[-1])
    xy = shapely.get_coordinates(route.line)
    vertices = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))]) / route.scale
    steps = np.linspace(0.0, length_m, max(2, int(np.ceil(length_m / STEP_M)) + 1))
    return np.unique(np.clip(np.concatenate([vertices, steps]), 0.0, length_m))


def _distances(a: Route, b: Route, at_m: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(shapely.distance(a.at(at_m), b.line), dtype=float)


def _apart(a: Route, b: Route, tolerance_m: float) -> Iterator[Stretch]:
    """Yield where a lies further from b than the tolerance, its ends taken between samples."""
    at_m = _samples(a)
    distance_m = _distances(a, b, at_m)
    is_apart = np.concatenate([[False], distance_m > tolerance_m, [False]])
    edges = np.flatnonzero(np.diff(is_apart.astype(int)))
    for first, behind in zip(edges[::2], edges[1::2], strict=True):
        from_m = _crossed(at_m, distance_m, first - 1, first, tolerance_m)
        to_m = _crossed(at_m, distance_m, behind, behind - 1, tolerance_m)
        yield _rectangle(a, b, from_m, to_m)


def _crossed(
    at_m: NDArray[np.float64], distance_m: NDArray[np.float64], near: int, far: int, tolerance_m: float
) -> float:
    """Return where the distance passes the tolerance between two samples; the end where there is but one."""
    if near < 0 or near >= len(at_m):
        return float(at_m[far])
    share = (tolerance_m - distance_m[near]) / (distance_m[far] - distance_m[near])
    return float(at_m[near] + share * (at_m[far] - at_m[near]))


def _exchanged(s: Stretch) -> Stretch:
    return Stretch(s.from_b_m, s.to_b_m, s.from_a_m, s.to_a_m, s.apart_m)


def _hull(s: Stretch, t: Stretch) -> Stretch:
    return Stretch(
        min(s.from_a_m, t.from_a_m),
        max(s.to_a_m, t.to_a_m),
        min(s.from_b_m, t.from_b_m),
        max(s.to_b_m, t.to_b_m),
    )


def _merged(stretches: list[Stretch]) -> list[Stretch]:
    """Join what overlaps in either plan or is hardly apart in both, until all follow one another in both."""
    rest = sorted(stretches, key=lambda s: (s.from_a_m, s.from_b_m))
    while True:
        done: list[Stretch] = []
        for stretch in rest:
            if done and _belong_together(done[-1], stretch):
                done[-1] = _hull(done[-1], stretch)
            else:
                done.append(stretch)
        if len(done) == len(rest):
            return done
        rest = done


def _belong_together(s: Stretch, t: Stretch) -> bool:
    gap_a, gap_b = t.from_a_m - s.to_a_m, t.from_b_m - s.to_b_m
    return min(gap_a, gap_b) < -_EPS_M or max(gap_a, gap_b) <= GAP_M


def _widened(s: Stretch, a: Route, b: Route) -> Stretch:
    """Return a stretch that holds every chain of drives it touches as a whole."""
    for from_m, to_m in _chains(a):
        if from_m < s.to_a_m - _EPS_M and to_m > s.from_a_m + _EPS_M:
            s = _hull(s, _rectangle(a, b, from_m, to_m))
    for from_m, to_m in _chains(b):
        if from_m < s.to_b_m - _EPS_M and to_m > s.from_b_m + _EPS_M:
            s = _hull(s, _exchanged(_rectangle(b, a, from_m, to_m)))
    return s


def _chains(route: Route) -> list[tuple[float, float]]:
    """Return where drives follow one another without open cut between."""
    chains: list[tuple[float, float]] = []
    for i in _drives(route):
        if chains and abs(chains[-1][1] - route.from_m[i]) <= _EPS_M:
            chains[-1] = (chains[-1][0], float(route.to_m[i]))
        else:
            chains.append((float(route.from_m[i]), float(route.to_m[i])))
    return chains


def _measured(s: Stretch, a: Route, b: Route) -> Stretch:
    """Return the stretch with the greatest distance of either route from the other in it."""
    apart = 0.0
    for own, other, from_m, to_m in (
        (a, b, s.from_a_m, s.to_a_m),
        (b, a, s.from_b_m, s.to_b_m),
    ):
        at_m = _samples(own)
        inside = np.concatenate([[from_m], at_m[(at_m > from_m) & (at_m < to_m)], [to_m]])
        apart = max(apart, float(_distances(own, other, inside).max()))
    return Stretch(s.from_a_m, s.to_a_m, s.from_b_m, s.to_b_m, apart)


# --- Cost and words of a stretch --------------------------------------------------------------------------


def cost_between(tables: Mapping[str, pd.DataFrame], route: Route, from_m: float, to_m: float) -> float:
    """Return what the bill lines of sections come to between two chainages [EUR].

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Of the plan.
    route : Route
        Of the plan.
    from_m, to_m : float
        No drive is cut by them [m].

    Notes
    -----
    What is measured at a crossing in open cut counts at its chainage, the rest of an open cut is shared out
    by length. A drive counts as a whole, with the shafts that the bill gives it. Items of the whole link are
    in no stretch. Stretches that follow one another from end to end add up to all sections.
    """
    bill, schedule = tables["bill"], tables["crossing_schedule"]
    crossing_m = dict(zip(schedule["crossing_id"], schedule["chainage_m"], strict=True))
    is_last = to_m >= float(route.to_m[-1]) - _EPS_M
    total = 0.0
    for i, section_id in enumerate(route.section_ids):
        lines = bill[bill["section_id"] == section_id]
        start_m, end_m = float(route.from_m[i]), float(route.to_m[i])
        if route.built[i] != "open_cut":
            middle_m = 0.5 * (start_m + end_m)
            total += float(lines["amount_eur"].sum()) if from_m <= middle_m < to_m else 0.0
            continue
        at_m = lines["element_id"].map(crossing_m).to_numpy(dtype=float)
        amounts = lines["amount_eur"].to_numpy(dtype=float)
        is_point = ~np.isnan(at_m)
        is_inside = is_point & (at_m >= from_m) & ((at_m < to_m) | is_last)
        overlap_m = max(0.0, min(end_m, to_m) - max(start_m, from_m))
        share = overlap_m / (end_m - start_m) if end_m > start_m else 0.0
        total += float(amounts[is_inside].sum()) + share * float(amounts[~is_point].sum())
    return total


def built_between(route: Route, from_m: float, to_m: float) -> str:
    """Say how a route is built between two chainages.

    Returns
    -------
    str
        Such as ``open cut 120 m, 1 drive by guided thrust boring 35 m``.
    """
    lengths: dict[str, float] = {}
    counts: dict[str, int] = {}
    for start_m, end_m, built in zip(route.from_m, route.to_m, route.built, strict=True):
        overlap_m = min(float(end_m), to_m) - max(float(start_m), from_m)
        if overlap_m > _EPS_M:
            lengths[built] = lengths.get(built, 0.0) + overlap_m
            counts[built] = counts.get(built, 0) + 1
    told = [
        f"open cut {length_m:.0f} m"
        if built == "open_cut"
        else f"{times(counts[built], 'drive')} by {plain(built)} {length_m:.0f} m"
        for built, length_m in lengths.items()
    ]
    return ", ".join(told) or "nothing"
