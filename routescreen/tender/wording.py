"""Words of the tender in one of its languages, and what its documents say of themselves.

Room: ``tender``. Reads the package's own texts.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from routescreen import __version__
from routescreen.languages import ENGLISH, speech_of, texts_of
from routescreen.schema import CAUTION, NEVER_PRICED, NOT_IN_BILL

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    import pandas as pd

    from routescreen.languages import Speech
    from routescreen.schema import Column

_ASSUMPTION = "assumption "


@dataclass(frozen=True, slots=True)
class Words:
    """Texts of one language; what it lacks is said in English, in the schema's own words.

    Attributes
    ----------
    texts, headings, values, classes, units : mapping of str to str
        Sentences by key, headings by column, words by value, titles by class, units by unit.
    say : Speech
        Turns a sentence of the results or a rule of measuring into this language.
    """

    texts: Mapping[str, str]
    headings: Mapping[str, str]
    values: Mapping[str, str]
    classes: Mapping[str, str]
    units: Mapping[str, str]
    say: Speech

    def __getitem__(self, key: str) -> str:
        return self.texts[key]

    def heading(self, column: Column) -> str:
        """Return what stands over a column."""
        return self.headings.get(column.name, column.label)

    def value(self, word: str) -> str:
        """Return a value that is one of the tool's own words, any other as it is.

        Roles of a shaft that serves two drives are joined by a plus sign.
        """
        return "+".join(self.values.get(part, part) for part in word.split("+"))


@dataclass(frozen=True, slots=True)
class About:
    """What every document of the tender says of itself.

    Attributes
    ----------
    corridor_id, crs_name : str
    made : datetime
        Time of the run, in UTC.
    words : Words
    currency, price_base : str
        As in the run's record; "" where it doesn't say.
    """

    corridor_id: str
    crs_name: str
    made: datetime
    words: Words
    currency: str = "EUR"
    price_base: str = ""

    @property
    def made_by(self) -> str:
        """Program and version."""
        return f"routescreen {__version__}"

    @property
    def made_at(self) -> str:
        """Time of the run, to the minute."""
        return f"{self.made:%Y-%m-%d %H:%M} UTC"


def about_run(record: pd.DataFrame, corridor_id: str, crs_name: str, made: datetime, language: str) -> About:
    """Read what a corridor's documents say of themselves off its run record.

    Parameters
    ----------
    record : DataFrame
        The table `run_record`, rows of this corridor only.
    corridor_id, crs_name : str
    made : datetime
        Time of the run with its time zone.
    language : str
    """
    said = dict(zip(record["key"], record["value"], strict=True))
    currency = str(said.get(f"{_ASSUMPTION}report.currency") or "EUR")
    base = str(said.get(f"{_ASSUMPTION}report.price_base_year") or "")
    return About(corridor_id, crs_name, made, words_of(language), currency, base)


@cache
def words_of(language: str) -> Words:
    """Return the words of a language."""
    known = texts_of(language)["tender"]
    own = {"caution": CAUTION, "not_in_bill": NOT_IN_BILL, "never_priced": NEVER_PRICED}
    texts = known["texts"] | own if language == ENGLISH else known["texts"]
    say = speech_of(language)
    return Words(texts, known["headings"], known["values"], known["classes"], known["units"], say)
