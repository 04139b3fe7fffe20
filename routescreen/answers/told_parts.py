"""The parts that an explanation is put together from: checks, cost, other ways, agreements, hazards.

Room: ``answers``. Pure: rows of the result tables in, sentences out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from routescreen.answers.words import (
    chainage,
    euros,
    is_number,
    level,
    listed,
    metres,
    number,
    plain,
    sentence,
    times,
)

if TYPE_CHECKING:
    from collections.abc import Collection, Hashable, Mapping

    Row = Mapping[Hashable, Any]

__all__ = [
    "Part",
    "agreement_part",
    "check_part",
    "cost_part",
    "crossing_part",
    "hazard_part",
    "profile_line",
    "records",
    "season_part",
    "unknown_part",
    "value_at",
    "ways_part",
]

NO_OWNER = "not known"
MOST_AMBER, MOST_PASSED, MOST_ITEMS, MOST_CROSSINGS = 6, 3, 5, 12
LEAST_PERCENT = 0.1  # less of the bill is not worth a word
FAR_OVER = 1000.0  # what stands for a capacity of nothing
ON_FRAME = "Extra costs are those of the cheapest plan on the frame that passes it so, all else planned anew."


@dataclass(frozen=True, slots=True)
class Part:
    """A heading with its sentences."""

    heading: str
    lines: tuple[str, ...]


def records(table: pd.DataFrame) -> list[dict[Hashable, Any]]:
    """Return the rows of a table without geometry; what is missing is None."""
    plain_table = pd.DataFrame(table.drop(columns=["geometry"], errors="ignore"))
    held = plain_table.astype(object).where(plain_table.notna(), None)
    found: list[dict[Hashable, Any]] = held.to_dict("records")
    return found


# --- Checks ---------------------------------------------------------------------------------------------


def check_part(checks: pd.DataFrame, *, about: str) -> Part | None:
    """Return the checks that govern: all that fail, what is amber, and what passes with least to spare.

    Parameters
    ----------
    checks : DataFrame
        Rows of `checks` that belong here.
    about : str
        Id of what is explained, which is not repeated.
    """
    if checks.empty:
        return None
    rows = {
        status: _worst_first(records(checks[checks["status"] == status]))
        for status in ("fail", "amber", "pass", "not_evaluated")
    }
    counts = [
        f"{len(rows[status])} {word}"
        for status, word in (
            ("fail", "fail"),
            ("amber", "amber"),
            ("pass", "pass"),
            ("not_evaluated", "not evaluated"),
        )
    ]
    shown = [_check_line("FAILS", row, about) for row in rows["fail"]]
    shown += [_check_line("amber", row, about) for row in rows["amber"][:MOST_AMBER]]
    if len(rows["amber"]) > MOST_AMBER:
        shown.append(f"{len(rows['amber']) - MOST_AMBER} more are amber: see the layer checks.")
    tight = [row for row in rows["pass"] if is_number(row["utilisation"]) and 0.0 < row["utilisation"] <= 1.0]
    shown += [_check_line("passes", row, about) for row in tight[:MOST_PASSED]]
    return Part("Checks", (f"Of {times(len(checks), 'check')}: {', '.join(counts)}.", *shown))


def unknown_part(checks: pd.DataFrame, *, about: str) -> Part | None:
    """Return what could not be checked, which is never a pass."""
    rows = records(checks[checks["status"] == "not_evaluated"])
    lines = [f"{_named(row, about)}: {sentence(row['reason'])}" for row in rows]
    return Part("Not evaluated (never a pass)", tuple(lines)) if lines else None


def _worst_first(rows: list[dict[Hashable, Any]]) -> list[dict[Hashable, Any]]:
    return sorted(rows, key=lambda row: -row["utilisation"] if is_number(row["utilisation"]) else 0.0)


def _named(row: Row, about: str) -> str:
    of = "" if row["element_id"] == about else f" of {row['element_id']}"
    return plain(row["check"]) + of


def _check_line(word: str, row: Row, about: str) -> str:
    figures = [f"{_measured(row['demand'])} asked, {_measured(row['capacity'])} there"]
    unit = "" if row["unit"] == "-" else f" ({row['unit']})"
    if is_number(row["utilisation"]):
        used = row["utilisation"]
        figures.append(f"utilisation {number(used, 2) if used < FAR_OVER else 'far above 1'}")
    if is_number(row["governing_chainage_m"]):
        figures.append(f"at {chainage(row['governing_chainage_m'])}")
    figures.append(f"inputs {row['confidence']}")
    return f"{word}: {_named(row, about)}{unit}: {', '.join(figures)}. {sentence(row['reason'])}"


def _measured(value: object) -> str:
    if not isinstance(value, int | float) or not is_number(value):
        return "?"
    return number(value, 0 if abs(value) >= 100.0 else 1 if abs(value) >= 10.0 else 2)


# --- Cost -----------------------------------------------------------------------------------------------


def cost_part(lines: pd.DataFrame, total_eur: float, *, of: str) -> Part | None:
    """Return what bill lines add up to, their share of the bill, and the items that make up most of it.

    Parameters
    ----------
    lines : DataFrame
        Rows of `bill`.
    total_eur : float
        Of the whole bill [EUR].
    of : str
        What they pay for, in words.
    """
    if lines.empty:
        return None
    amount_eur = _sum_eur(lines["amount_eur"])
    percent = 100.0 * amount_eur / total_eur if total_eur else 0.0
    share = f", {number(percent, 1)} % of the bill" if percent >= LEAST_PERCENT else ""
    low_high = f"{euros(_sum_eur(lines['amount_low_eur']))} to {euros(_sum_eur(lines['amount_high_eur']))}"
    items = lines.groupby(["item", "description"], as_index=False)["amount_eur"].sum()
    dearest = sorted(records(pd.DataFrame(items)), key=lambda row: -row["amount_eur"])[:MOST_ITEMS]
    most = [f"{row['description']} ({row['item']}) {euros(row['amount_eur'])}" for row in dearest]
    return Part(
        "Cost",
        (
            f"{of}: {euros(amount_eur)}{share}; with every rate low or high {low_high}.",
            f"Most of it: {'; '.join(most)}.",
        ),
    )


def _sum_eur(amounts_eur: pd.Series) -> float:
    return int((100.0 * amounts_eur).round().sum()) / 100.0


# --- Crossings ------------------------------------------------------------------------------------------


def crossing_name(row: Row) -> str:
    """Return what a crossing is called: kind, name, id of its feature."""
    name = f" {row['name']}" if row["name"] else ""
    return f"{plain(row['kind'])}{name} ({row['feature_id']})"


def crossing_part(schedule: pd.DataFrame, heading: str) -> Part | None:
    """Return one line a crossing: what, where, how, with which cover."""
    rows = records(schedule)
    lines = [_crossing_line(row) for row in rows[:MOST_CROSSINGS]]
    if len(rows) > MOST_CROSSINGS:
        lines.append(f"{len(rows) - MOST_CROSSINGS} more: see the layer crossing_schedule.")
    return Part(heading, tuple(lines)) if lines else None


def _crossing_line(row: Row) -> str:
    way = "in open cut" if row["treatment"] == "open_cut" else "by the drive"
    cover = (
        f", cover {metres(row['cover_m'])} of {metres(row['required_cover_m'])} required"
        if is_number(row["cover_m"])
        else ""
    )
    remark = f"; {row['remark']}" if row["remark"] else ""
    return (
        f"{row['crossing_id']} at {chainage(row['chainage_m'])}: {crossing_name(row)}, {way}{cover}{remark}."
    )


def ways_part(ways: pd.DataFrame, *, is_one: bool) -> Part | None:
    """Return how else crossings could be passed, and what that costs more.

    Parameters
    ----------
    ways : DataFrame
        Rows of `crossing_ways` of the crossings that belong here.
    is_one : bool
        Of one crossing every way is told; of several only those that have a price, the cheapest first.
    """
    rows = [row for row in records(ways) if row["status"] != "chosen"]
    if not is_one:
        rows = [row for row in rows if is_number(row["extra_eur"])]
    rows.sort(key=lambda row: row["extra_eur"] if is_number(row["extra_eur"]) else float("inf"))
    lines = [_way_line(row, is_one=is_one) for row in rows[:MOST_CROSSINGS]]
    if not lines:
        text = "No other way of passing a crossing here lies within the budget of the explanations."
        return None if ways.empty else Part("Other ways", (text,))
    return Part(
        "Other ways", (*lines, ON_FRAME) if any(is_number(r["extra_eur"]) for r in rows) else tuple(lines)
    )


def _way_line(row: Row, *, is_one: bool) -> str:
    of = "" if is_one else f"{row['crossing_id']} "
    by = f"{of}by {plain(row['way'])}"
    if is_number(row["extra_eur"]):
        round_it = ", by going round it" if row["status"] == "goes_round" else ""
        return sentence(f"{by}: {euros(row['extra_eur'], 0)} more{round_it}; {row['reason']}")
    words = {"impossible": "can't be built", "goes_round": "not known"}
    word = words.get(str(row["status"]), "not within the budget")
    return sentence(f"{by}: {word}; {row['reason']}")


# --- The long section at one place ---------------------------------------------------------------------


def profile_line(profile: pd.DataFrame, at_m: float, section: Row) -> str:
    """Say ground, works, cover and groundwater at a chainage of a section."""
    mine = profile[
        profile["chainage_m"].between(section["from_chainage_m"] - 1e-6, section["to_chainage_m"] + 1e-6)
        & (profile["construction"] == section["construction"])
    ]
    mine = mine if len(mine) else profile
    what = "bottom of the trench" if section["construction"] == "open_cut" else "invert of the bores"
    told = {
        "ground": (value_at(mine, "ground_m", at_m), level),
        what: (value_at(mine, "invert_m", at_m), level),
        "cover": (value_at(mine, "cover_m", at_m), metres),
        "cover required": (value_at(mine, "required_cover_m", at_m), metres),
        "groundwater": (value_at(mine, "groundwater_m", at_m), level),
    }
    known = (f"{name} {said(value)}" for name, (value, said) in told.items() if is_number(value))
    return sentence("; ".join(known))


def value_at(profile: pd.DataFrame, column: str, at_m: float) -> float:
    """Return a value of the long section between its points; NaN where there is none."""
    known = profile[profile[column].notna()]
    if known.empty:
        return float("nan")
    return float(np.interp(at_m, known["chainage_m"].to_numpy(float), known[column].to_numpy(float)))


# --- Agreements, hazards, seasons -----------------------------------------------------------------------


def agreement_part(agreements: pd.DataFrame) -> Part | None:
    """Return who must agree to what, and how long it takes."""
    lines = []
    for row in records(agreements)[:MOST_CROSSINGS]:
        watch = f"; watched: {row['monitoring']}" if row["monitoring"] else ""
        of = f" for {row['crossing_id'] or crossing_name(row)}"
        owner = "Owner not known" if row["owner"] == NO_OWNER else row["owner"]
        lines.append(f"{owner}{of}{_lead(row)}: {sentence(row['to_agree'] + watch)}")
    if len(agreements) > MOST_CROSSINGS:
        lines.append(f"{len(agreements) - MOST_CROSSINGS} more: see the table agreements.")
    return Part("Who must agree", tuple(lines)) if lines else None


def _lead(row: Row) -> str:
    lead = [row[f"lead_{which}_months"] for which in ("low", "expected", "high")]
    if not all(map(is_number, lead)):
        return ""
    return f" (about {times(round(lead[1]), 'month')}, {number(lead[0])} to {number(lead[2])})"


def hazard_part(hazards: pd.DataFrame, *, about: str) -> Part | None:
    """Return what may go wrong here, why, what guards against it and who signs."""
    lines = []
    for row in records(hazards):
        owner = row["drive_id"] or row["shaft_id"] or row["section_id"]
        of = "" if owner in (about, None) else f" of {owner}"
        state = "" if row["state"] == "applies" else " (not known whether it applies)"
        lines.append(
            f"{row['hazard'].capitalize()}{of}{state}: {row['cause']}. {sentence(row['guard'])} "
            f"Signed by: {row['who_signs']}."
        )
    return Part("Hazards", tuple(lines)) if lines else None


def season_part(constraints: pd.DataFrame) -> Part | None:
    """Return what binds the programme here."""
    lines = []
    for row in records(constraints)[:MOST_CROSSINGS]:
        when = []
        if row["from_month_day"]:
            when.append(f"{row['from_month_day']} to {row['to_month_day']}")
        if is_number(row["from_h"]):
            when.append(f"{number(row['from_h'])} h to {number(row['to_h'])} h")
        if is_number(row["expected_h"]):
            when.append(f"about {number(row['expected_h'])} h without a break")
        told = f" ({listed(when)})" if when else ""
        lines.append(sentence(f"{row['title']}{told}: {row['reason']}"))
    if len(constraints) > MOST_CROSSINGS:
        lines.append(f"{len(constraints) - MOST_CROSSINGS} more: see the table constraints.")
    return Part("What binds the programme", tuple(dict.fromkeys(lines))) if lines else None


def of_any(table: pd.DataFrame, column: str, ids: Collection[str]) -> pd.DataFrame:
    """Return the rows whose column holds one of the ids."""
    return table[table[column].isin(list(ids))]
