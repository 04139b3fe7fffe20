"""A comparison as text for people and as an object for programs.

Room: ``answers``. Pure.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from routescreen.answers.show import parts_text, plain_json
from routescreen.answers.told_parts import Part, records
from routescreen.answers.words import (
    chainage,
    euros,
    is_number,
    metres,
    more_or_less,
    number,
    plain,
    sentence,
    times,
    wrapped,
)

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping

    from routescreen.answers.compare import Comparison

    Row = Mapping[Hashable, Any]

__all__ = ["comparison_json", "comparison_text", "parts_of", "summary_of"]

MOST_ITEMS, MOST_CHECKS, MOST_KEYS, MOST_MET, MOST_WORKS = 10, 12, 30, 8, 25
LEAST_BY_RATE_EUR = 1.0  # less may come from rounding each line to the cent
TABLES = ("figures", "classes", "items", "stretches", "works", "crossings", "checks", "assumptions", "inputs")


def comparison_text(comparison: Comparison) -> str:
    """Return a comparison as lines for people, with a line end; what costs most comes first."""
    return "\n".join([*wrapped(summary_of(comparison)), parts_text(parts_of(comparison))])


def comparison_json(comparison: Comparison) -> dict[str, object]:
    """Return a comparison as an object for programs."""
    tables = {name: plain_json(records(getattr(comparison, name))) for name in TABLES}
    return {
        "a": {"name": comparison.a.name, "corridor_id": comparison.a.corridor_id},
        "b": {"name": comparison.b.name, "corridor_id": comparison.b.corridor_id},
        "tolerance_m": comparison.tolerance_m,
        "is_same": comparison.is_same,
        "extra_eur": comparison.extra_eur,
        "summary": summary_of(comparison),
        **tables,
    }


def summary_of(comparison: Comparison) -> str:
    """Say in a sentence or two what b has otherwise than a."""
    a, b = comparison.a.name, comparison.b.name
    if comparison.is_same:
        return f"{b} is the same plan as {a}: nothing differs."
    totals = {row["figure"]: row for row in records(comparison.figures) if row["unit"] == "EUR"}
    total = totals["bill"]
    share = f" ({number(abs(100.0 * comparison.extra_eur / total['a']), 2)} %)" if total["a"] else ""
    cost = "costs the same as" if comparison.extra_eur == 0.0 else "costs"
    extra = "" if comparison.extra_eur == 0.0 else f" {more_or_less(comparison.extra_eur)} than"
    n_fail = [
        int((comparison.checks[f"status_{which}"] == "fail").sum() - _both_fail(comparison)) for which in "ab"
    ]
    places = int((comparison.stretches["stretch"] > 0).sum())
    otherwise = int((comparison.crossings["what"] == "otherwise").sum())
    return (
        f"{b} {cost}{extra} {a}{share}: {euros(total['b'])} instead of {euros(total['a'])}. They differ in "
        f"{times(places, 'stretch', 'stretches')}; {times(otherwise, 'crossing is', 'crossings are')} passed "
        f"otherwise; {times(n_fail[1], 'check')} newly {'fails' if n_fail[1] == 1 else 'fail'}, "
        f"{number(n_fail[0])} no longer."
    )


def _both_fail(comparison: Comparison) -> int:
    checks = comparison.checks
    return int(((checks["status_a"] == "fail") & (checks["status_b"] == "fail")).sum())


def parts_of(comparison: Comparison) -> tuple[Part, ...]:
    """Return everything that differs, under headings; what costs most comes first in each."""
    parts = [
        _stretch_part(comparison),
        _cost_part(comparison),
        _work_part(comparison),
        _crossing_part(comparison),
        _check_part(comparison),
        _figure_part(comparison),
        _key_part("Assumptions that differ", comparison.assumptions),
        _key_part("Inputs and program that differ", comparison.inputs),
    ]
    return tuple(part for part in parts if part is not None)


def _stretch_part(comparison: Comparison) -> Part | None:
    rows = [row for row in records(comparison.stretches) if row["stretch"] or row["extra_eur"]]
    lines = [line for row in rows for line in _stretch_lines(row, comparison)]
    return Part("Where, and by how much", tuple(lines)) if lines else None


def _stretch_lines(row: Row, comparison: Comparison) -> list[str]:
    extra = more_or_less(row["extra_eur"])
    if not row["stretch"]:
        return [sentence(f"{row['built_a']}: {extra}")]
    apart = (
        f"up to {metres(row['apart_m'])} apart"
        if row["apart_m"] > comparison.tolerance_m
        else "on the same line"
    )
    where = f"{chainage(row['from_a_m'])} to {chainage(row['to_a_m'])}"
    there = f"{chainage(row['from_b_m'])} to {chainage(row['to_b_m'])}"
    head = (
        f"{where} ({there} in {comparison.b.name}), {apart}: {extra}. "
        f"{sentence(row['built_b'] + ' instead of ' + row['built_a'])}"
    )
    met = comparison.crossings[comparison.crossings["stretch"] == row["stretch"]]
    changed = [_crossing_words(crossing) for crossing in records(met)]
    if len(changed) > MOST_MET:
        changed = [*changed[:MOST_MET], f"{len(changed) - MOST_MET} more below"]
    why = [f"There: {'; '.join(changed)}."] if changed else []
    if row["reason_b"]:
        why.append(f"{comparison.b.name}: {row['reason_b']}")
    return [" ".join([head, *why])]


def _cost_part(comparison: Comparison) -> Part | None:
    classes = [row for row in records(comparison.classes) if row["extra_eur"]]
    if not classes:
        return None
    lines = [f"{row['class']}: {more_or_less(row['extra_eur'])}{_split(row)}" for row in classes]
    items = [row for row in records(comparison.items) if row["extra_eur"]]
    lines += [
        f"{row['item']} {row['description']}: {more_or_less(row['extra_eur'])}, "
        f"{number(row['quantity_b'], 1)} {row['unit']} instead of {number(row['quantity_a'], 1)}{_split(row)}"
        for row in items[:MOST_ITEMS]
    ]
    if len(items) > MOST_ITEMS:
        rest = round(sum(row["extra_eur"] for row in items[MOST_ITEMS:]), 2)
        lines.append(f"{len(items) - MOST_ITEMS} more items: {more_or_less(rest)} together")
    return Part("Cost by class, then by item", tuple(map(sentence, lines)))


def _split(row: Row) -> str:
    """Say how much of a difference comes from other rates, where any does."""
    if abs(row["by_rate_eur"]) < LEAST_BY_RATE_EUR:
        return ""
    by = f"{more_or_less(row['by_quantity_eur'])} by quantity, {more_or_less(row['by_rate_eur'])} by rate"
    return f" ({by})"


def _work_part(comparison: Comparison) -> Part | None:
    """Return one line for each drive and shaft that differs."""
    told: dict[tuple[object, object], list[Row]] = {}
    for row in records(comparison.works):
        told.setdefault((row["element_a"], row["element_b"]), []).append(row)
    lines = [_work_line(rows, comparison) for rows in told.values()]
    if len(lines) > MOST_WORKS:
        lines = [*lines[:MOST_WORKS], f"{len(lines) - MOST_WORKS} more: see --json."]
    return Part("Drives and shafts that differ", tuple(lines)) if lines else None


def _work_line(rows: list[Row], comparison: Comparison) -> str:
    first = rows[0]
    money = f", {more_or_less(first['extra_eur'])}" if first["extra_eur"] else ""
    at = f"at {chainage(first['chainage_m'])}"
    if first["what"] == "only in b":
        return f"New: {first['element_b']} of {comparison.b.name} {at}, {first['b']}{money}."
    if first["what"] == "only in a":
        return f"Gone: {first['element_a']} of {comparison.a.name} {at}, {first['a']}{money}."
    same = first["element_a"] == first["element_b"]
    named = first["element_b"] if same else f"{first['element_b']} ({first['element_a']} before)"
    changed = [f"{row['what']} {row['b']} instead of {row['a']}" for row in rows]
    return f"{named} {at}: {', '.join(changed)}{money}."


def _crossing_part(comparison: Comparison) -> Part | None:
    lines = []
    for row in records(comparison.crossings):
        own = f", {more_or_less(row['extra_eur'])} at the crossing itself" if row["extra_eur"] else ""
        lines.append(sentence(f"{_crossing_words(row)}{own}"))
    return Part("Crossings passed otherwise, or met by one plan only", tuple(lines)) if lines else None


def _crossing_words(row: Row) -> str:
    name = f" {row['name']}" if row["name"] else ""
    at_m = row["chainage_b_m"] if is_number(row["chainage_b_m"]) else row["chainage_a_m"]
    called = f"{plain(row['kind'])}{name} ({row['feature_id']}) at {chainage(at_m)}"
    ways = {"a": row["treatment_a"], "b": row["treatment_b"]}
    if row["what"] == "otherwise":
        return f"{called} {_way(ways['b'])} instead of {_way(ways['a'])}"
    if row["what"] == "only in a":
        return f"{called} no longer met ({_way(ways['a'])} before)"
    if row["what"] == "only in b":
        return f"{called} newly met, {_way(ways['b'])}"
    return f"{called} met {row['what']}"


def _way(treatment: str) -> str:
    told = {"open_cut": "in open cut", "trenchless": "by a drive"}
    return " and ".join(told.get(part, part) for part in treatment.split(" + "))


def _check_part(comparison: Comparison) -> Part | None:
    rows = records(comparison.checks)
    if not rows:
        return None
    graver = [row for row in rows if "fail" in (row["status_a"], row["status_b"])]
    other = [row for row in rows if row not in graver]
    shown = [*graver, *other[: max(0, MOST_CHECKS - len(graver))]]
    lines = [_check_line(row) for row in shown]
    if len(shown) < len(rows):
        lines.append(f"{len(rows) - len(shown)} more, none of which fails in either plan: see --json.")
    return Part("Checks whose status differs", tuple(lines))


def _check_line(row: Row) -> str:
    elements = [str(name) for name in dict.fromkeys((row["element_a"], row["element_b"])) if name is not None]
    status = [
        "not there" if row[f"status_{which}"] is None else str(row[f"status_{which}"]).replace("_", " ")
        for which in "ab"
    ]
    word = ""
    if row["status_b"] == "fail" and row["status_a"] != "fail":
        word = "NEWLY FAILS: "
    elif row["status_a"] == "fail" and row["status_b"] != "fail":
        word = "no longer fails: "
    reason = sentence(str(row["reason"]))
    return f"{word}{plain(row['check'])} of {' / '.join(elements)}: {status[1]}, before {status[0]}. {reason}"


def _figure_part(comparison: Comparison) -> Part | None:
    lines = []
    for row in records(comparison.figures):
        if row["difference"]:
            digits = 2 if row["unit"] in ("EUR", "m") else 0
            unit = row["unit"]
            before, now = (f"{number(row[which], digits)} {unit}".strip() for which in "ab")
            by = more_or_less(row["difference"], unit, digits).replace("  ", " ")
            lines.append(sentence(f"{row['figure']}: {now} instead of {before}, {by}"))
    return Part("In figures", tuple(lines)) if lines else None


def _key_part(heading: str, table: Any) -> Part | None:
    rows = records(table)
    lines = [
        f"{row['key']}: {'not given' if row['b'] is None else row['b']} instead of "
        f"{'not given' if row['a'] is None else row['a']}"
        for row in rows[:MOST_KEYS]
    ]
    if len(rows) > MOST_KEYS:
        lines.append(f"{len(rows) - MOST_KEYS} more: see --json.")
    return Part(heading, tuple(lines)) if lines else None
