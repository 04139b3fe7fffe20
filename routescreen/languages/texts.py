"""The files of the languages.

Room: ``languages``. Each file ``CODE.json`` beside this module is a language: texts of the report, the sheets
and the tender by key, and under ``sentences`` what the results say, by its English.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

ENGLISH = "en"


@cache
def languages() -> tuple[str, ...]:
    """Return the languages that there are: one file each."""
    names = [entry.name for entry in files(__package__).iterdir()]
    return tuple(sorted(name.removesuffix(".json") for name in names if name.endswith(".json")))


@cache
def texts_of(language: str) -> Mapping[str, Any]:
    """Return all texts of a language.

    Parameters
    ----------
    language : str
        One of `languages`.
    """
    text = (files(__package__) / f"{language}.json").read_text(encoding="utf-8")
    texts: Mapping[str, Any] = json.loads(text)
    return texts
