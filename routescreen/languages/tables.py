"""Result tables as a person reads them: sentences in the language asked for, all else as it is.

Room: ``languages``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from routescreen.languages.speech import speech_of
from routescreen.languages.texts import ENGLISH

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

SENTENCES = {
    "sections": ("reason",),
    "drives": ("reason",),
    "shafts": ("reason",),
    "crossing_schedule": ("remark",),
    "crossing_ways": ("reason",),
    "alternatives": ("instead",),
    "binding_limits": ("reason",),
    "checks": ("reason", "source"),
    "bill": ("description",),
    "costs_apart": ("description",),
    "investigation_plan": ("reason", "tests", "remark"),
    "agreements": ("monitoring", "to_agree"),
    "hazards": ("hazard", "cause", "guard", "who_signs"),
    "earthworks": ("width_rule",),
    "constraints": ("title", "reason"),
}
"""Columns that hold sentences of the program, by table."""

# Columns of the input's words that hold one of ours where the input says nothing.
OR_NAMES = {"agreements": ("owner",), "parcels_used": ("owner",)}
# Names of the input, which sentences tell too and which stay.
NAMES = {"crossing_schedule": ("name",), "agreements": ("name", "owner"), "parcels_used": ("owner",)}
NOT_KNOWN = "not known"  # stands where the input names no owner
WARNING = "warning "


def spoken(tables: Mapping[str, pd.DataFrame], language: str) -> dict[str, pd.DataFrame]:
    """Return the result tables with their sentences in a language.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        As the schema names them; those that are missing are left out.
    language : str
        One of ``languages``.

    Returns
    -------
    dict of str to DataFrame
        Tables without sentences, and all of them in English, are the very ones handed in.
    """
    if language == ENGLISH:
        return dict(tables)
    speech = speech_of(language)
    say = speech.keeping(_names(tables))
    told = dict(tables)
    for name, columns in SENTENCES.items():
        if name in told:
            told[name] = _said(told[name], columns, say)
    for name, columns in OR_NAMES.items():
        if name in told:
            told[name] = _said(told[name], columns, speech.word)
    if "run_record" in told:
        told["run_record"] = _warned(told["run_record"], say)
    return told


def _names(tables: Mapping[str, pd.DataFrame]) -> set[str]:
    """Return the names that the input gives, as they stand in sentences."""
    found = {
        str(value)
        for name, columns in NAMES.items()
        if name in tables
        for column in columns
        if column in tables[name]
        for value in tables[name][column].dropna()
    }
    return (found | {name.replace(";", " / ") for name in found}) - {NOT_KNOWN}


def _said(table: pd.DataFrame, columns: tuple[str, ...], say: Callable[[str], str]) -> pd.DataFrame:
    """Return a table with texts of some columns said anew."""
    told = table.copy()
    for column in columns:
        if column in table:
            told[column] = pd.Series([_text(value, say) for value in table[column]], table.index, object)
    return told


def _text(value: object, say: Callable[[str], str]) -> object:
    return say(value) if isinstance(value, str) else value


def _warned(record: pd.DataFrame, say: Callable[[str], str]) -> pd.DataFrame:
    """Return the run record with its warnings said anew; keys and values stay."""
    told = record.copy()
    pairs = zip(record["key"], record["value"], strict=True)
    values = [_text(value, say) if str(key).startswith(WARNING) else value for key, value in pairs]
    told["value"] = pd.Series(values, record.index, object)
    return told
