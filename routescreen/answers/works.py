"""Which drives and shafts two plans have in common, and what is otherwise about them.

Room: ``answers``. Pure.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from routescreen.answers.words import chainage, is_number, number, plain
from routescreen.schema import LAYERS_BY_NAME

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping

    from routescreen.answers.counterparts import Counterparts

    Tables = Mapping[str, pd.DataFrame]
    Row = Mapping[Hashable, Any]

__all__ = ["COLUMNS", "work_differences"]

COLUMNS = ("works", "element_a", "element_b", "chainage_m", "what", "a", "b", "extra_eur")
# Layer, its column of ids, and what is compared.
COMPARED = (
    (
        "drives",
        "drive_id",
        (
            "launched_from",
            "length_m",
            "grade_percent",
            "bore_spacing_m",
            "cover_min_m",
            "thrust_kN",
            "pull_in_kN",
            "layout_pieces",
            "status",
        ),
    ),
    ("shafts", "shaft_id", ("role", "depth_m")),
)
# Two numbers that differ by less are the same: what moving a shaft by a centimetre brings about.
LEAST = {"m": 0.05, "%": 0.05, "kN": 1.0}


def work_differences(a: Tables, b: Tables, pairs: Counterparts) -> list[dict[str, Any]]:
    """List the drives and shafts that one plan lacks, and what is otherwise about those that both have.

    Parameters
    ----------
    a, b : mapping of str to DataFrame
        The result tables.
    pairs : Counterparts

    Returns
    -------
    list of dict
        `COLUMNS`: one row for each thing that differs, those about one element together, the element with the
        largest difference of its own amount first. `a` and `b` are texts, None where the plan lacks it;
        `extra_eur` is the difference of the element's amount, on each of its rows.
    """
    groups = []
    for layer, id_column, compared in COMPARED:
        known = [
            {names[str(row[id_column])]: row for row in _rows(tables, layer)}
            for tables, names in ((a, pairs.elements_a), (b, pairs.elements_b))
        ]
        for name in dict.fromkeys([*known[0], *known[1]]):
            rows = _element(layer, id_column, compared, known[0].get(name), known[1].get(name))
            if name in pairs.moved:
                rows = [_place_row(layer, id_column, known[0][name], known[1][name]), *rows]
            if rows:
                groups.append(rows)
    groups.sort(key=lambda rows: -abs(rows[0]["extra_eur"]))
    return [row for rows in groups for row in rows]


def _rows(tables: Tables, layer: str) -> list[dict[Hashable, Any]]:
    """Return the rows of a layer with their chainage, and of drives from which end they are launched."""
    table = pd.DataFrame(tables[layer].drop(columns=["geometry"], errors="ignore"))
    if layer == "drives":
        shafts = tables["shafts"]
        at_m = dict(zip(shafts["shaft_id"], shafts["chainage_m"], strict=True))
        launch, reception = (table[f"{end}_shaft_id"].map(at_m) for end in ("launch", "reception"))
        ends = ["lower chainage" if is_lower else "higher chainage" for is_lower in launch < reception]
        table = table.assign(launched_from=ends, chainage_m=launch.where(launch < reception, reception))
    rows: list[dict[Hashable, Any]] = table.astype(object).where(table.notna(), None).to_dict("records")
    return rows


def _place_row(layer: str, id_column: str, one: Row, other: Row) -> dict[str, Any]:
    """Say from where to where a drive, by its lower end, or a shaft has moved."""
    return {
        **_base(layer, id_column, one, other),
        "what": "place",
        "a": chainage(float(one["chainage_m"])),
        "b": chainage(float(other["chainage_m"])),
    }


def _base(layer: str, id_column: str, one: Row | None, other: Row | None) -> dict[str, Any]:
    """Return what every row about an element holds."""
    there = other if other is not None else one
    assert there is not None  # named by one of the plans
    amount = [0.0 if row is None else float(row["amount_eur"]) for row in (one, other)]
    return {
        "works": layer.removesuffix("s"),
        "element_a": None if one is None else str(one[id_column]),
        "element_b": None if other is None else str(other[id_column]),
        "chainage_m": float(there["chainage_m"]),
        "extra_eur": round(amount[1] - amount[0], 2),
    }


def _element(
    layer: str, id_column: str, compared: tuple[str, ...], one: Row | None, other: Row | None
) -> list[dict[str, Any]]:
    base = _base(layer, id_column, one, other)
    if one is None or other is None:
        what = "only in b" if one is None else "only in a"
        words = [None if row is None else _summary(layer, row) for row in (one, other)]
        return [{**base, "what": what, "a": words[0], "b": words[1]}]
    return [
        {
            **base,
            "what": plain(_stem(name, layer)),
            "a": _text(one, name, layer),
            "b": _text(other, name, layer),
        }
        for name in compared
        if _differs(one[name], other[name], _unit(layer, name))
    ]


def _summary(layer: str, row: Row) -> str:
    if layer == "drives":
        return f"{plain(row['method'])}, {number(row['length_m'])} m"
    return f"{row['role']}, {number(row['depth_m'], 2)} m deep"


def _differs(one: Any, other: Any, unit: str) -> bool:
    if is_number(one) and is_number(other):
        return bool(abs(other - one) >= LEAST.get(unit, 1e-9))
    return bool(one != other)


def _unit(layer: str, name: str) -> str:
    return LAYERS_BY_NAME[layer].column(name).unit if name != "launched_from" else ""


def _stem(name: str, layer: str) -> str:
    unit = _unit(layer, name)
    return name.removesuffix({"%": "_percent"}.get(unit, f"_{unit}"))


def _text(row: Row, name: str, layer: str) -> str:
    value, unit = row[name], _unit(layer, name)
    if value is None:
        return "none"
    if isinstance(value, str):
        return value.replace("_", " ")
    digits = 0 if unit in ("-", "kN") else 2
    return f"{number(value, digits)} {unit}".removesuffix(" -")
