"""What a project's file changes: key, default, value, unit, and where each came from.

Room: assumptions. Pure but for the package's own default files.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from routescreen.assumptions.explain import flat_items, only_different
from routescreen.assumptions.loading import PROFILES, defaults_text, load_assumptions

if TYPE_CHECKING:
    from routescreen.assumptions.explain import Value

__all__ = ["Difference", "differences", "differences_text"]

_TABLE = re.compile(r"^\s*\[\[?\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_\-\".']+)\s*=")
_COMMENT = re.compile(r"#\s*(.*)$")
_QUOTED = re.compile(r"\"[^\"]*\"|'[^']*'")
_BARE = re.compile(r"^[A-Za-z0-9_-]+$")
_UNIT_FIRST = re.compile(r"^(EUR(?:/[^:;,]+)?|%|h|m2?|month|each|set|kN)\s*[:;]")
# Endings of keys, the longest first, and the units that they mean.
_UNITS = {
    "_EUR_per_m": "EUR/m",
    "_eur_per_m": "EUR/m",
    "_kN_per_m3": "kN/m3",
    "_kN_per_m": "kN/m",
    "_kg_per_m3": "kg/m3",
    "_kg_per_m": "kg/m",
    "_m3_per_h": "m3/h",
    "_m_per_s": "m/s",
    "_m2_per_s": "m2/s",
    "_m_per_h": "m/h",
    "_m_per_day": "m/day",
    "_ohm_per_m": "ohm/m",
    "_N_per_mm2": "N/mm2",
    "_Km_per_W": "K m/W",
    "_per_K": "1/K",
    "_percent": "%",
    "_frac": "-",
    "_degC": "degC",
    "_deg": "deg",
    "_eur": "EUR",
    "_EUR": "EUR",
    "_kPa": "kPa",
    "_MPa": "MPa",
    "_kN": "kN",
    "_mm2": "mm2",
    "_mm": "mm",
    "_m3": "m3",
    "_m2": "m2",
    "_km": "km",
    "_m": "m",
    "_days": "days",
    "_months": "months",
    "_h": "h",
    "_min": "min",
    "_t": "t",
    "_A": "A",
    "_K": "K",
    "_uT": "uT",
}


@dataclass(frozen=True, slots=True)
class Difference:
    """One value that is not the default.

    Attributes
    ----------
    key : str
        Its path, such as ``treatments.road.half_width_m``.
    default, value : bool, int, float, str, tuple or None
        None where one side has no such key.
    unit : str
        Of both; empty where it has none.
    origin : str
        What set it: the file with its line, or the profile, or the entry that it is like.
    note : str
        What the defaults say about it: source, "placeholder", "common practice".
    """

    key: str
    default: Value
    value: Value
    unit: str
    origin: str
    note: str


def differences(text: str | None, *, file: str = "") -> list[Difference]:
    """List what a project's assumptions change.

    Parameters
    ----------
    text : str or None
        TOML that states only what differs; None for the defaults themselves.
    file : str
        What it is called.

    Returns
    -------
    list of Difference
        In the order of the keys.

    Raises
    ------
    AssumptionsError
        Where the text can't be used; lists every problem.
    """
    a = load_assumptions(text, file=file or None)
    own, notes = _lines(text or ""), _default_notes()
    profile = a.link.profile
    profiled = flat_items(load_assumptions(f'link.profile = "{profile}"')) if profile != PROFILES[0] else {}
    found = []
    for key, default, value in only_different(a):
        line = _line_of(key, own)
        if line is not None:
            origin = f"{file} line {line}" if file else f"line {line}"
        elif key in profiled and profiled[key] == value:
            origin = f"profile {profile}"
        else:
            origin = "the entry it is like"
        note = notes.get(key, "")
        found.append(Difference(key, default, value, unit_of(key, note), origin, note))
    return found


def differences_text(found: list[Difference], n_all: int) -> str:
    """Return the differences as a file of assumptions that says the same, each with its default.

    What stands in a list of tables, and what is no longer there, is told in a comment.

    Parameters
    ----------
    found : list of Difference
    n_all : int
        How many values there are in all.
    """
    head = f"# {len(found)} of {n_all} assumptions differ from the defaults.\n"
    return head + "".join(f"{_toml_line(difference)}\n" for difference in found)


def unit_of(key: str, note: str = "") -> str:
    """Return the unit of a value, by the ending of its key, or as the defaults' comment begins.

    >>> unit_of("treatments.road.half_width_m"), unit_of("rates.TR51", "EUR/m3: bedding"), unit_of("a.b")
    ('m', 'EUR/m3', '')
    """
    name = key.rpartition(".")[2]
    for ending, unit in _UNITS.items():
        if name.endswith(ending):
            return unit
    first = _UNIT_FIRST.match(note)
    return first[1].strip() if first else ""


def _toml_line(difference: Difference) -> str:
    told = [difference.unit] if difference.unit else []
    told.append(
        "not in the defaults" if difference.default is None else f"default {_toml(difference.default)}"
    )
    told.append(difference.origin)
    note = _UNIT_FIRST.sub("", difference.note).strip()
    if note:
        told.append(f"the defaults say: {note}")
    comment = "; ".join(told)
    if difference.value is None or "[" in difference.key:
        value = "no longer given" if difference.value is None else _toml(difference.value)
        return f"# {difference.key}: {value}; {comment}"
    return f"{_toml_key(difference.key)} = {_toml(difference.value)}  # {comment}"


def _toml_key(key: str) -> str:
    return ".".join(part if _BARE.match(part) else json.dumps(part) for part in key.split("."))


def _toml(value: Value) -> str:
    if isinstance(value, tuple):
        return f"[{', '.join(_toml(entry) for entry in value)}]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value)


# --- Where a key stands in a text -------------------------------------------------------------------------


def _lines(text: str) -> dict[str, int]:
    """Return the line of each key and each table of a TOML text, counted from 1."""
    found: dict[str, int] = {}
    table = ""
    for number, line in enumerate(text.splitlines(), start=1):
        header = _TABLE.match(line)
        key = _KEY.match(line)
        if header and not key:
            table = _plain_key(header[1])
            found.setdefault(table, number)
        elif key:
            path = _plain_key(key[1])
            found[f"{table}.{path}" if table else path] = number
    return found


def _line_of(key: str, lines: dict[str, int]) -> int | None:
    """Return the line that states a key, or the inline table or list it stands in."""
    path = re.sub(r"\[\d+\]", "", key)
    if path in lines:
        return lines[path]
    parent = path.rpartition(".")[0]
    while parent:
        # a table's header states nothing of a key that isn't below it; an inline table does
        if parent in lines and not any(name.startswith(f"{parent}.") for name in lines):
            return lines[parent]
        parent = parent.rpartition(".")[0]
    return None


def _plain_key(text: str) -> str:
    return ".".join(part.strip().strip("\"'") for part in text.split("."))


@cache
def _default_notes() -> dict[str, str]:
    """Return the comment that follows each key of the defaults on its line."""
    text = defaults_text()
    rows = text.splitlines()
    notes = {}
    for key, number in _lines(text).items():
        comment = _COMMENT.search(_QUOTED.sub("", rows[number - 1]))
        if comment:
            notes[key] = comment[1].strip()
    return notes
