"""Result tables as a person reads them: sentences in the language asked for, all else as it is.

Room: ``languages``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.languages.speech import speech_of
from routescreen.languages.texts import ENGLISH

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    import pandas as pd

    from routescreen.languages.speech import Speech

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
    told = dict(tables)
    for name, columns in SENTENCES.items():
        if name in told:
            told[name] = _said(told[name], columns, speech)
    for name, columns in OR_NAMES.items():
        if name in told:
            told[name] = _said(told[name], columns, speech.word)
    if "run_record" in told:
        told["run_record"] = _warned(told["run_record"], speech)
    return told


def _said(table: pd.DataFrame, columns: tuple[str, ...], say: Callable[[str], str]) -> pd.DataFrame:
    """Return a table with texts of some columns said anew."""
    told = table.copy()
    for column in columns:
        if column in table:
            told[column] = [_text(value, say) for value in table[column]]
    return told


def _text(value: object, say: Callable[[str], str]) -> object:
    return say(value) if isinstance(value, str) else value


def _warned(record: pd.DataFrame, speech: Speech) -> pd.DataFrame:
    """Return the run record with its warnings said anew; keys and values stay."""
    told = record.copy()
    pairs = zip(record["key"], record["value"], strict=True)
    told["value"] = [_text(value, speech) if str(key).startswith(WARNING) else value for key, value in pairs]
    return told
