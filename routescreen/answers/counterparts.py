"""Which element of one plan is which of another: crossings by feature, drives and shafts by place.

Room: ``answers``. Pure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.answers.stretches import matched_drives, moved_drives

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from routescreen.answers.stretches import Route

    Tables = Mapping[str, pd.DataFrame]

__all__ = ["Counterparts", "counterparts_of"]


@dataclass(frozen=True, slots=True)
class Counterparts:
    """What stands for the same thing in two plans.

    Attributes
    ----------
    features : tuple of (tuple of int, tuple of int)
        Rows of the crossing schedules of a and of b that meet the same feature; either may be empty.
    elements_a, elements_b : mapping of str to str
        Ids of elements to a name that both plans share; an element without counterpart has one of its own.
    moved : frozenset of str
        Those names of drives and shafts that stand for the same, further apart than the tolerance.
    """

    features: tuple[tuple[tuple[int, ...], tuple[int, ...]], ...]
    elements_a: Mapping[str, str]
    elements_b: Mapping[str, str]
    moved: frozenset[str] = frozenset()


def counterparts_of(a: Tables, b: Tables, routes: tuple[Route, Route], *, tolerance_m: float) -> Counterparts:
    """Find what stands for the same thing in two plans.

    Parameters
    ----------
    a, b : mapping of str to DataFrame
    routes : tuple of Route
        Of a and b.
    tolerance_m : float
        How far apart shafts, and ends of drives, may lie and still be the same [m].

    Notes
    -----
    A drive that has moved further is still the same where method and bores are, it passes a feature that the
    other passes too, and each is the other's that it shares most with, more than half of the longer's length.
    Its shafts then stand for those of the other, end for end.
    """
    features = _features(a["crossing_schedule"], b["crossing_schedule"])
    names: tuple[dict[str, str], dict[str, str]] = ({}, {})
    for own, tables, which in zip(names, (a, b), "ab", strict=True):
        own[str(tables["alignment"]["corridor_id"].iloc[0])] = "link"
        for layer, column in (
            ("sections", "section_id"),
            ("drives", "drive_id"),
            ("shafts", "shaft_id"),
            ("crossing_schedule", "crossing_id"),
        ):
            own.update({str(name): f"{name} of {which}" for name in tables[layer][column]})
    for k, pair in enumerate(features):
        for own, tables, rows in zip(names, (a, b), pair, strict=True):
            own.update(
                {str(tables["crossing_schedule"]["crossing_id"].iloc[i]): f"feature {k}" for i in rows}
            )
    _name_sections_and_drives(a, b, routes, names, tolerance_m)
    _name_shafts(a["shafts"], b["shafts"], names, tolerance_m)
    moved = _name_moved((a, b), routes, names, tolerance_m)
    return Counterparts(features, *names, frozenset(moved))


def _features(a: pd.DataFrame, b: pd.DataFrame) -> tuple[tuple[tuple[int, ...], tuple[int, ...]], ...]:
    """Group the meetings of both plans by feature: those that share any feature id belong together."""
    groups: list[tuple[set[str], list[int], list[int]]] = []
    for is_b, schedule in ((False, a), (True, b)):
        for row, ids in enumerate(schedule["feature_id"]):
            rows = ([], [row]) if is_b else ([row], [])
            mine: tuple[set[str], list[int], list[int]] = (set(str(ids).split(";")), *rows)
            rest = []
            for group in groups:
                if group[0] & mine[0]:
                    mine = (group[0] | mine[0], group[1] + mine[1], group[2] + mine[2])
                else:
                    rest.append(group)
            groups = [*rest, mine]
    return tuple((tuple(sorted(group[1])), tuple(sorted(group[2]))) for group in groups)


def _name_sections_and_drives(
    a: Tables,
    b: Tables,
    routes: tuple[Route, Route],
    names: tuple[dict[str, str], dict[str, str]],
    tolerance_m: float,
) -> None:
    """Name drives, with their sections, that both plans have, and open cuts that lie beside one another."""
    drive_of = [dict(zip(t["drives"]["section_id"], t["drives"]["drive_id"], strict=True)) for t in (a, b)]
    for i, j in matched_drives(*routes, tolerance_m).items():
        sections = routes[0].section_ids[i], routes[1].section_ids[j]
        for own, drives, section in zip(names, drive_of, sections, strict=True):
            own[section] = f"section of drive {i}"
            own[str(drives[section])] = f"drive {i}"
    for i, built in enumerate(routes[0].built):
        if built != "open_cut":
            continue
        beside = _open_cut_beside(routes, i)
        # only where each is the other's: exchanged plans must name the same
        if beside is not None and _open_cut_beside(routes[::-1], beside) == i:
            names[0][routes[0].section_ids[i]] = names[1][routes[1].section_ids[beside]] = f"open cut {i}"


def _open_cut_beside(routes: tuple[Route, Route], i: int) -> int | None:
    """Return the open cut of the other route that shares most of the length of one of this."""
    own, other = routes
    ends = sorted(own.beside(float(at_m), other) for at_m in (own.from_m[i], own.to_m[i]))
    overlap = np.minimum(other.to_m, ends[1]) - np.maximum(other.from_m, ends[0])
    overlap[[built != "open_cut" for built in other.built]] = 0.0
    best = int(np.argmax(overlap))
    return best if overlap[best] > 0.0 else None


def _name_shafts(
    a: pd.DataFrame, b: pd.DataFrame, names: tuple[dict[str, str], dict[str, str]], tolerance_m: float
) -> None:
    """Name the shafts that stand in the same place, the nearest pairs first."""
    if a.empty or b.empty:
        return
    distance_m = shapely.distance(
        np.asarray(a.geometry.array)[:, None], np.asarray(b.geometry.array)[None, :]
    )
    while distance_m.size and np.nanmin(distance_m, initial=np.inf) <= tolerance_m:
        i, j = np.unravel_index(int(np.nanargmin(distance_m)), distance_m.shape)
        names[0][str(a["shaft_id"].iloc[i])] = names[1][str(b["shaft_id"].iloc[j])] = f"shaft {i}"
        distance_m[i, :] = np.inf
        distance_m[:, j] = np.inf


def _name_moved(
    tables: tuple[Tables, Tables],
    routes: tuple[Route, Route],
    names: tuple[dict[str, str], dict[str, str]],
    tolerance_m: float,
) -> set[str]:
    """Name drives that have moved, with their sections and those shafts that have no counterpart yet."""
    drive_of = [dict(zip(t["drives"]["section_id"], t["drives"]["drive_id"], strict=True)) for t in tables]
    passed = [_passed(t, own) for t, own in zip(tables, names, strict=True)]
    moved: set[str] = set()
    for i, j in moved_drives(*routes, tolerance_m).items():
        sections = routes[0].section_ids[i], routes[1].section_ids[j]
        if not passed[0].get(sections[0], set()) & passed[1].get(sections[1], set()):
            continue
        ids = [str(drives[section]) for drives, section in zip(drive_of, sections, strict=True)]
        for own, section, drive in zip(names, sections, ids, strict=True):
            own[section], own[drive] = f"section of drive {i}", f"drive {i}"
        moved.add(f"drive {i}")
        ends = [_ends(t, drive) for t, drive in zip(tables, ids, strict=True)]
        for shaft_a, shaft_b in zip(*ends, strict=True):
            if names[0][shaft_a].endswith(" of a") and names[1][shaft_b].endswith(" of b"):
                names[0][shaft_a] = names[1][shaft_b] = f"shaft of drive {i}, {shaft_a}"
                moved.add(names[0][shaft_a])
    return moved


def _passed(tables: Tables, names: Mapping[str, str]) -> dict[str, set[str]]:
    """Return the features that each section meets, by the names that both plans share."""
    schedule = tables["crossing_schedule"]
    found: dict[str, set[str]] = {}
    for section, crossing in zip(schedule["section_id"], schedule["crossing_id"], strict=True):
        found.setdefault(str(section), set()).add(names[str(crossing)])
    return found


def _ends(tables: Tables, drive_id: str) -> list[str]:
    """Return the shafts of a drive, the one of lower chainage first."""
    drives, shafts = tables["drives"], tables["shafts"]
    row = drives[drives["drive_id"] == drive_id].iloc[0]
    at_m = dict(zip(shafts["shaft_id"], shafts["chainage_m"], strict=True))
    ids = [str(row["launch_shaft_id"]), str(row["reception_shaft_id"])]
    return sorted(ids, key=lambda shaft: float(at_m[shaft]))
