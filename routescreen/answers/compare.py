"""What two plans differ in: figures, cost, stretches, crossings, checks, assumptions and inputs.

Room: ``answers``. Pure: result tables in, tables of differences out; all differences are b less a.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from routescreen.answers.bills import cents, class_differences, item_differences
from routescreen.answers.counterparts import Counterparts, counterparts_of
from routescreen.answers.stretches import (
    Route,
    Stretch,
    built_between,
    cost_between,
    differing_stretches,
    route_of,
)
from routescreen.answers.works import COLUMNS as WORK_COLUMNS
from routescreen.answers.works import work_differences
from routescreen.counted import counted

if TYPE_CHECKING:
    from collections.abc import Mapping

    Tables = Mapping[str, pd.DataFrame]

__all__ = ["TOLERANCE_M", "Comparison", "NamedPlan", "compare_plans"]

TOLERANCE_M = 5.0
ASSUMPTION, INPUT_FILE = "assumption ", "input_file."
# Keys of the run record that say with what a plan was made.
_MADE_WITH = ("routescreen_version", "crs", "frame")
_RANK = {"fail": 3, "amber": 2, "not_evaluated": 1, "pass": 0}


@dataclass(frozen=True, slots=True)
class NamedPlan:
    """One plan with what it is called in the comparison.

    Attributes
    ----------
    name : str
    corridor_id : str
    tables : mapping of str to DataFrame
        The result tables of its corridor.
    """

    name: str
    corridor_id: str
    tables: Tables


@dataclass(frozen=True, slots=True)
class Comparison:
    """What plan b has otherwise than plan a; every difference is b less a.

    Attributes
    ----------
    a, b : NamedPlan
    tolerance_m : float
        How far apart two places may lie and still count as the same [m].
    figures : DataFrame
        `figure`, `unit`, `a`, `b`, `difference`.
    classes, items : DataFrame
        Of the bill, see `bills.class_differences` and `bills.item_differences`.
    stretches : DataFrame
        `stretch` (number along a), chainages in both, `apart_m`, `built_a`, `built_b`, `cost_a_eur`,
        `cost_b_eur`, `extra_eur`, `reason_a`, `reason_b` (reasons that the other plan hasn't there); the
        dearest first. Numbers 0 are the rest: the same
        line built the same (``elsewhere``) and items of the whole link.
    works : DataFrame
        Drives and shafts that one plan lacks, and what is otherwise about the others, see
        `works.work_differences`.
    crossings : DataFrame
        Passed otherwise, or met by one plan only.
    checks : DataFrame
        Whose status differs, those that fail in one plan first.
    assumptions, inputs : DataFrame
        `key`, `a`, `b` of what differs.
    """

    a: NamedPlan
    b: NamedPlan
    tolerance_m: float
    figures: pd.DataFrame
    classes: pd.DataFrame
    items: pd.DataFrame
    stretches: pd.DataFrame
    works: pd.DataFrame
    crossings: pd.DataFrame
    checks: pd.DataFrame
    assumptions: pd.DataFrame
    inputs: pd.DataFrame

    @property
    def extra_eur(self) -> float:
        """What b costs more than a [EUR]."""
        return (cents(self.b.tables["bill"]["amount_eur"]) - cents(self.a.tables["bill"]["amount_eur"])) / 100

    @property
    def is_same(self) -> bool:
        """Whether nothing differs."""
        is_like = bool((self.figures["difference"] == 0.0).all() and (self.items["extra_eur"] == 0.0).all())
        others = (self.works, self.crossings, self.checks, self.assumptions, self.inputs)
        return is_like and not any(map(len, others)) and not (self.stretches["stretch"] > 0).any()


def compare_plans(a: NamedPlan, b: NamedPlan, *, tolerance_m: float = TOLERANCE_M) -> Comparison:
    """Compare plan b with plan a.

    Parameters
    ----------
    a, b : NamedPlan
        Their geometries in one coordinate reference system.
    tolerance_m : float
        How far apart two places may lie and still count as the same [m].

    Returns
    -------
    Comparison
    """
    routes = route_of(a.tables), route_of(b.tables)
    parts = differing_stretches(*routes, tolerance_m=tolerance_m)
    pairs = counterparts_of(a.tables, b.tables, routes, tolerance_m=tolerance_m)
    items = item_differences(a.tables["bill"], b.tables["bill"])
    return Comparison(
        a,
        b,
        tolerance_m,
        figures=_figures(a.tables, b.tables),
        classes=class_differences(items),
        items=items,
        stretches=_stretch_table(a.tables, b.tables, routes, parts),
        works=_table(work_differences(a.tables, b.tables, pairs), WORK_COLUMNS),
        crossings=_crossings(a.tables, b.tables, pairs, parts),
        checks=_checks(a.tables["checks"], b.tables["checks"], pairs),
        assumptions=_record_differences(a.tables, b.tables, ASSUMPTION),
        inputs=_input_differences(a.tables, b.tables),
    )


def _table(rows: list[dict[str, Any]], columns: tuple[str, ...]) -> pd.DataFrame:
    """Return rows as a table; a text that is missing is None."""
    table = pd.DataFrame(rows, columns=list(columns))
    for name in columns:
        if not pd.api.types.is_numeric_dtype(table[name]):
            table[name] = table[name].astype(object).where(table[name].notna(), None)
    return table


# --- Figures --------------------------------------------------------------------------------------------


def _figures(a: Tables, b: Tables) -> pd.DataFrame:
    values = [_figures_of(tables) for tables in (a, b)]
    table = pd.DataFrame(
        [
            {"figure": figure, "unit": unit, "a": value, "b": values[1][(figure, unit)]}
            for (figure, unit), value in values[0].items()
        ]
    )
    return table.assign(difference=(table["b"] - table["a"]).round(2))


def _figures_of(tables: Tables) -> dict[tuple[str, str], float]:
    sections, bill, checks = tables["sections"], tables["bill"], tables["checks"]
    is_drive = sections["construction"] == "drive"
    schedule, shafts, land = tables["crossing_schedule"], tables["shafts"], tables["parcels_used"]
    record = dict(zip(tables["run_record"]["key"], tables["run_record"]["value"], strict=True))
    statuses = checks["status"].value_counts()
    return {
        ("length", "m"): float(tables["alignment"]["length_m"].sum()),
        ("length in open cut", "m"): float(sections.loc[~is_drive, "length_m"].sum()),
        ("length in drives", "m"): float(sections.loc[is_drive, "length_m"].sum()),
        ("drives", ""): float(len(tables["drives"])),
        ("longest drive", "m"): float(tables["drives"]["length_m"].max()) if len(tables["drives"]) else 0.0,
        ("shafts", ""): float(len(shafts)),
        ("deepest shaft", "m"): float(shafts["depth_m"].max()) if len(shafts) else 0.0,
        ("crossings", ""): float(len(schedule)),
        ("crossings passed by drives", ""): float((schedule["treatment"] == "trenchless").sum()),
        ("bill", "EUR"): cents(bill["amount_eur"]) / 100.0,
        ("bill, every rate low", "EUR"): cents(bill["amount_low_eur"]) / 100.0,
        ("bill, every rate high", "EUR"): cents(bill["amount_high_eur"]) / 100.0,
        ("in it provisional sums", "EUR"): cents(bill.loc[bill["part"] == "provisional", "amount_eur"])
        / 100.0,
        ("in it allowances", "EUR"): cents(bill.loc[bill["part"] == "allowance", "amount_eur"]) / 100.0,
        ("not in the bill, costs apart", "EUR"): cents(tables["costs_apart"]["amount_eur"]) / 100.0,
        ("temporary land", "m2"): round(float(land["temporary_m2"].sum()), 2),
        ("permanent land", "m2"): round(float(land["permanent_m2"].sum()), 2),
        ("joint bays", ""): float(len(tables["joint_bays"])),
        ("checks that fail", ""): float(statuses.get("fail", 0)),
        ("checks that are amber", ""): float(statuses.get("amber", 0)),
        ("checks not evaluated", ""): float(statuses.get("not_evaluated", 0)),
        ("warnings", ""): float(sum(str(key).startswith("warning ") for key in record)),
    }


def _part_eur(bill: pd.DataFrame, part: str) -> float:
    return cents(bill.loc[bill["part"] == part, "amount_eur"]) / 100.0


# --- Stretches ------------------------------------------------------------------------------------------

_STRETCH_COLUMNS = (
    "stretch",
    "from_a_m",
    "to_a_m",
    "from_b_m",
    "to_b_m",
    "apart_m",
    "built_a",
    "built_b",
    "cost_a_eur",
    "cost_b_eur",
    "extra_eur",
    "reason_a",
    "reason_b",
)


def _stretch_table(
    a: Tables, b: Tables, routes: tuple[Route, Route], parts: tuple[Stretch, ...]
) -> pd.DataFrame:
    rows = [_stretch_row(number, part, a, b, routes) for number, part in enumerate(parts, start=1)]
    rows.sort(key=lambda row: -abs(row["extra_eur"]))
    link = [cents(tables["bill"].loc[tables["bill"]["section_id"].isna(), "amount_eur"]) for tables in (a, b)]
    # what is left over of the sections, so that all of it adds up to the difference of the totals to the cent
    rest = [
        cents(tables["bill"]["amount_eur"]) - own - round(100.0 * sum(row[column] for row in rows))
        for tables, own, column in zip((a, b), link, ("cost_a_eur", "cost_b_eur"), strict=True)
    ]
    rows += [_rest_row("elsewhere, on the same line", rest), _rest_row("items of the whole link", link)]
    return _table(rows, _STRETCH_COLUMNS)


def _stretch_row(
    number: int, part: Stretch, a: Tables, b: Tables, routes: tuple[Route, Route]
) -> dict[str, Any]:
    cost = [
        round(cost_between(tables, route, from_m, to_m), 2)
        for tables, route, from_m, to_m in (
            (a, routes[0], part.from_a_m, part.to_a_m),
            (b, routes[1], part.from_b_m, part.to_b_m),
        )
    ]
    reasons = (
        _reasons(a["sections"], part.from_a_m, part.to_a_m),
        _reasons(b["sections"], part.from_b_m, part.to_b_m),
    )
    return {
        "stretch": number,
        "from_a_m": part.from_a_m,
        "to_a_m": part.to_a_m,
        "from_b_m": part.from_b_m,
        "to_b_m": part.to_b_m,
        "apart_m": part.apart_m,
        "built_a": built_between(routes[0], part.from_a_m, part.to_a_m),
        "built_b": built_between(routes[1], part.from_b_m, part.to_b_m),
        "cost_a_eur": cost[0],
        "cost_b_eur": cost[1],
        "extra_eur": round(cost[1] - cost[0], 2),
        "reason_a": " ".join(text for text in reasons[0] if text not in reasons[1]),
        "reason_b": " ".join(text for text in reasons[1] if text not in reasons[0]),
    }


def _rest_row(what: str, of_cents: list[int]) -> dict[str, Any]:
    numbers = dict.fromkeys(("from_a_m", "to_a_m", "from_b_m", "to_b_m", "apart_m"), np.nan)
    cost = [value / 100.0 for value in of_cents]
    return {
        "stretch": 0,
        **numbers,
        "built_a": what,
        "built_b": what,
        "cost_a_eur": cost[0],
        "cost_b_eur": cost[1],
        "extra_eur": (of_cents[1] - of_cents[0]) / 100.0,
        "reason_a": "",
        "reason_b": "",
    }


def _reasons(sections: pd.DataFrame, from_m: float, to_m: float) -> list[str]:
    """Return why drives stand in a stretch, or, where there are none, why it is open cut."""
    inside = sections[
        (sections["from_chainage_m"] < to_m - 0.01) & (sections["to_chainage_m"] > from_m + 0.01)
    ]
    drives = inside[inside["construction"] == "drive"]
    return [str(reason) for reason in (drives if len(drives) else inside)["reason"]]


# --- Crossings, checks, assumptions, inputs --------------------------------------------------------------

_CROSSING_COLUMNS = (
    "feature_id",
    "kind",
    "name",
    "what",
    "treatment_a",
    "treatment_b",
    "crossing_a",
    "crossing_b",
    "chainage_a_m",
    "chainage_b_m",
    "stretch",
    "extra_eur",
)


def _crossings(a: Tables, b: Tables, pairs: Counterparts, parts: tuple[Stretch, ...]) -> pd.DataFrame:
    """Return the features that one plan passes otherwise than the other, or that only one meets.

    `extra_eur` is the difference of the bill lines measured at the crossing itself; what it brings about,
    such as a drive, is in its stretch.
    """
    rows = []
    for rows_a, rows_b in pairs.features:
        meets = [a["crossing_schedule"].iloc[list(rows_a)], b["crossing_schedule"].iloc[list(rows_b)]]
        ways = [" + ".join(sorted(set(table["treatment"]))) for table in meets]
        if ways[0] == ways[1] and len(rows_a) == len(rows_b):
            continue
        one = meets[0] if len(rows_a) else meets[1]
        own = [
            cents(tables["bill"].loc[tables["bill"]["element_id"].isin(table["crossing_id"]), "amount_eur"])
            for tables, table in zip((a, b), meets, strict=True)
        ]
        at_m = [float(table["chainage_m"].iloc[0]) if len(table) else np.nan for table in meets]
        rows.append(
            {
                "feature_id": str(one["feature_id"].iloc[0]),
                "kind": str(one["kind"].iloc[0]),
                "name": one["name"].iloc[0],
                "what": _what(ways, len(rows_a), len(rows_b)),
                "treatment_a": ways[0] or None,
                "treatment_b": ways[1] or None,
                "crossing_a": ", ".join(meets[0]["crossing_id"]) or None,
                "crossing_b": ", ".join(meets[1]["crossing_id"]) or None,
                "chainage_a_m": at_m[0],
                "chainage_b_m": at_m[1],
                "stretch": _stretch_at(parts, at_m),
                "extra_eur": (own[1] - own[0]) / 100.0,
            }
        )
    rows.sort(key=lambda row: (row["what"] != "otherwise", -abs(row["extra_eur"])))
    return _table(rows, _CROSSING_COLUMNS)


def _what(ways: list[str], n_a: int, n_b: int) -> str:
    if not n_b:
        return "only in a"
    if not n_a:
        return "only in b"
    return "otherwise" if ways[0] != ways[1] else f"{counted(n_a, 'time')} in a, {counted(n_b, 'time')} in b"


def _stretch_at(parts: tuple[Stretch, ...], at_m: list[float]) -> int:
    """Return the number of the stretch that a crossing lies in, 0 for none."""
    for number, part in enumerate(parts, start=1):
        if part.from_a_m <= at_m[0] <= part.to_a_m or part.from_b_m <= at_m[1] <= part.to_b_m:
            return number
    return 0


_CHECK_COLUMNS = (
    "check",
    "element_a",
    "element_b",
    "status_a",
    "status_b",
    "utilisation_a",
    "utilisation_b",
    "chainage_a_m",
    "chainage_b_m",
    "reason",
)


def _checks(checks_a: pd.DataFrame, checks_b: pd.DataFrame, pairs: Counterparts) -> pd.DataFrame:
    """Return the checks whose worst status on an element differs, failures first."""
    worst = [
        _worst_by_key(checks, names)
        for checks, names in ((checks_a, pairs.elements_a), (checks_b, pairs.elements_b))
    ]
    rows = []
    for key in dict.fromkeys([*worst[0], *worst[1]]):
        one, other = worst[0].get(key), worst[1].get(key)
        status = [row["status"] if row is not None else None for row in (one, other)]
        if status[0] == status[1] or max(_RANK.get(str(s), 0) for s in status) == 0:
            continue
        graver = other if _RANK.get(str(status[1]), -1) > _RANK.get(str(status[0]), -1) else one
        rows.append(_check_row(key[0], one, other, graver))
    rows.sort(key=_check_order)
    return _table(rows, _CHECK_COLUMNS)


Check = dict[Any, Any]


def _worst_by_key(checks: pd.DataFrame, names: Mapping[str, str]) -> dict[tuple[str, str], Check]:
    """Return the worst check of each kind on each element, elements by the name both plans share."""
    found: dict[tuple[str, str], Check] = {}
    for row in checks.to_dict("records"):
        key = (str(row["check"]), names.get(str(row["element_id"]), str(row["element_id"])))
        before = found.get(key)
        if before is None or _gravity(row) > _gravity(before):
            found[key] = row
    return found


def _gravity(row: Check) -> tuple[int, float]:
    used = row["utilisation"]
    return _RANK[row["status"]], float(used) if isinstance(used, float) and np.isfinite(used) else -1.0


def _check_order(row: Mapping[str, Any]) -> tuple[bool, bool, int]:
    """Put what fails first, then what both plans have, then by gravity."""
    status = [row["status_a"], row["status_b"]]
    return "fail" not in status, None in status, -max(_RANK.get(str(s), 0) for s in status)


def _check_row(check: str, one: Check | None, other: Check | None, graver: Check | None) -> dict[str, Any]:
    def of(row: Check | None, column: str) -> Any:
        return None if row is None else row[column]

    return {
        "check": check,
        "element_a": of(one, "element_id"),
        "element_b": of(other, "element_id"),
        "status_a": of(one, "status"),
        "status_b": of(other, "status"),
        "utilisation_a": of(one, "utilisation"),
        "utilisation_b": of(other, "utilisation"),
        "chainage_a_m": of(one, "governing_chainage_m"),
        "chainage_b_m": of(other, "governing_chainage_m"),
        "reason": of(graver, "reason"),
    }


def _record(tables: Tables) -> dict[str, str]:
    record = tables["run_record"]
    return {str(key): str(value) for key, value in zip(record["key"], record["value"], strict=True)}


def _record_differences(a: Tables, b: Tables, start: str) -> pd.DataFrame:
    records = [_record(tables) for tables in (a, b)]
    keys = [key for key in dict.fromkeys([*records[0], *records[1]]) if key.startswith(start)]
    rows = [
        {"key": key.removeprefix(start), "a": records[0].get(key), "b": records[1].get(key)}
        for key in keys
        if records[0].get(key) != records[1].get(key)
    ]
    return _table(rows, ("key", "a", "b"))


def _input_differences(a: Tables, b: Tables) -> pd.DataFrame:
    """Return which input files, sources and settings of the run differ, assumptions apart."""
    records = [_record(tables) for tables in (a, b)]
    keys = [
        key
        for key in dict.fromkeys([*records[0], *records[1]])
        if key.startswith((INPUT_FILE, "input.")) or key in _MADE_WITH
    ]
    rows = [
        {"key": key, "a": records[0].get(key), "b": records[1].get(key)}
        for key in keys
        if records[0].get(key) != records[1].get(key)
    ]
    return _table(rows, ("key", "a", "b"))
