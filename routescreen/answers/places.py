"""What ``--at`` names: a chainage, or a section, drive, shaft, crossing, joint bay and what belongs to one.

Room: ``answers``. Pure.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING

from routescreen.answers.words import chainage, listed
from routescreen.errors import Problem, ResultsError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd

__all__ = ["Place", "choose_corridor", "find_place"]

# Layer, its column of ids, and the kind of place that an id of it leads to.
NAMED = (
    ("sections", "section_id", "section"),
    ("drives", "drive_id", "drive"),
    ("shafts", "shaft_id", "shaft"),
    ("crossing_schedule", "crossing_id", "crossing"),
    ("joint_bays", "bay_id", "bay"),
)
# What belongs to something else: layer, its column of ids, the column that leads on.
BELONGING = (
    ("bores", "bore_id", "drive_id"),
    ("compounds", "compound_id", "shaft_id"),
    ("layout_strips", "strip_id", "drive_id"),
)
NEAR = 5
_PLUS = re.compile(r"^(\d+)\+(\d{1,3}(?:\.\d+)?)(?:\s*m)?$")
_LENGTH = re.compile(r"^([+-]?\d+(?:\.\d+)?)\s*(m|km)?$")
_REMEDY = "Give a chainage (12+345 or '12345 m') or the id of a section, drive, shaft or crossing."


@dataclass(frozen=True, slots=True)
class Place:
    """A place of one corridor's plan.

    Attributes
    ----------
    kind : {"chainage", "section", "drive", "shaft", "crossing", "bay"}
    element_id : str
        Its id; the chainage in words for a chainage.
    at_m : float
        Chainage, of the middle for what is long [m].
    """

    kind: str
    element_id: str
    at_m: float


def choose_corridor(corridor_ids: Sequence[str], asked: str | None, at: str, file: str) -> str:
    """Return which corridor is meant: the one asked for, the one that the id begins with, or the only one.

    Parameters
    ----------
    corridor_ids : sequence of str
    asked : str or None
        What the user named.
    at : str
        The place; an id begins with the name of its corridor.
    file : str
        For messages.

    Raises
    ------
    ResultsError
        Where there is no such corridor, or several and none is named.
    """
    if asked is not None:
        if asked in corridor_ids:
            return asked
        text = f"There is no such corridor; the results hold {listed(corridor_ids)}."
        raise ResultsError([Problem(text, "Name one of them.", file=file, value=asked)])
    owners = [name for name in corridor_ids if at.strip().lower().startswith(f"{name.lower()}-")]
    if owners:
        return max(owners, key=len)
    if len(corridor_ids) == 1:
        return corridor_ids[0]
    text = f"The results hold several corridors: {listed(corridor_ids)}."
    raise ResultsError([Problem(text, "Say which with --corridor.", file=file, value=at)])


def find_place(tables: Mapping[str, pd.DataFrame], corridor_id: str, at: str, file: str = "") -> Place:
    """Find what the user names in the plan of one corridor.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        The result tables of this corridor.
    corridor_id : str
    at : str
        A chainage such as ``12+345``, ``12345`` or ``12.345 km``; an id with or without the corridor's name,
        in any case; or the name or feature id of a crossing.
    file : str
        For messages.

    Returns
    -------
    Place

    Raises
    ------
    ResultsError
        Where there is nothing of that name (near ones are named), where several crossings bear it, or where
        the chainage lies beyond the alignment.
    """
    asked = at.strip()
    at_m = _chainage_m(asked)
    if at_m is not None:
        length_m = float(tables["alignment"]["length_m"].iloc[0])
        if not 0.0 <= at_m <= length_m:
            text = f"The alignment runs from {chainage(0.0)} to {chainage(length_m)}."
            raise ResultsError([Problem(text, "Give a chainage between.", file=file, value=at)])
        return Place("chainage", chainage(at_m), at_m)
    known = _known(tables)
    for name in (asked.lower(), f"{corridor_id}-{asked}".lower()):
        if name in known:
            return known[name]
    return _crossing_of_name(tables, corridor_id, asked, known, file)


def _chainage_m(text: str) -> float | None:
    plus = _PLUS.match(text)
    if plus:
        return 1000.0 * int(plus[1]) + float(plus[2])
    length = _LENGTH.match(text)
    if length:
        return float(length[1]) * (1000.0 if length[2] == "km" else 1.0)
    return None


def _known(tables: Mapping[str, pd.DataFrame]) -> dict[str, Place]:
    """Return every place by its id in lower case."""
    found: dict[str, Place] = {}
    sections = tables["sections"]
    middle_m = 0.5 * (sections["from_chainage_m"] + sections["to_chainage_m"])
    middles = {str(name): float(at_m) for name, at_m in zip(sections["section_id"], middle_m, strict=True)}
    for layer, column, kind in NAMED:
        for row in tables[layer].to_dict("records"):
            at_m = row["chainage_m"] if "chainage_m" in row else middles[str(row["section_id"])]
            found[str(row[column]).lower()] = Place(kind, str(row[column]), float(at_m))
    for layer, column, leads_to in BELONGING:
        for name, owner in zip(tables[layer][column], tables[layer][leads_to], strict=True):
            found[str(name).lower()] = found[str(owner).lower()]
    return found


def _crossing_of_name(
    tables: Mapping[str, pd.DataFrame], corridor_id: str, asked: str, known: Mapping[str, Place], file: str
) -> Place:
    """Return the crossing that bears a name or holds a feature; else the error that names near ids."""
    schedule = tables["crossing_schedule"]
    ids = [
        str(row.crossing_id)
        for row in schedule.itertuples()
        if asked.lower() in {str(row.name or "").lower(), *str(row.feature_id).lower().split(";")} - {""}
    ]
    if len(ids) == 1:
        return known[ids[0].lower()]
    if ids:
        text = f"The alignment meets it {len(ids)} times: {listed(ids)}."
        raise ResultsError([Problem(text, "Give one of these ids.", file=file, value=asked)])
    near = _near(schedule, corridor_id, asked, known)
    hint = f" Do you mean {listed(near, 'or')}?" if near else ""
    raise ResultsError(
        [Problem(f"Nothing of that name is in the plan.{hint}", _REMEDY, file=file, value=asked)]
    )


def _near(schedule: pd.DataFrame, corridor_id: str, asked: str, known: Mapping[str, Place]) -> list[str]:
    """Return ids and names that look like what was asked for."""
    words = {key: place.element_id for key, place in known.items()}
    words |= {key.removeprefix(f"{corridor_id.lower()}-"): name for key, name in words.items()}
    words |= {str(name).lower(): str(name) for name in schedule["name"].dropna()}
    close = get_close_matches(asked.lower(), list(words), n=NEAR, cutoff=0.6)
    return list(dict.fromkeys(words[word] for word in close))
