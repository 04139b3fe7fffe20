"""The texts of the sheets in one language, and numbers written its way.

Room: ``sheets``. Reads the package's own texts: one file a language.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from routescreen.languages import texts_of

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime


@dataclass(frozen=True, slots=True)
class Words:
    """Texts by key; a gap in a text is written ``{name}``, a day by ``day_form``."""

    language: str
    texts: Mapping[str, Any]
    day_form: str

    def __call__(self, key: str, **gaps: str) -> str:
        """Return a text with its gaps filled; what is filled in is not looked at again."""
        text = str(self.texts[key])
        if not gaps:
            return text
        parts = text.split("{")
        filled = [parts[0]]
        for part in parts[1:]:
            name, _, rest = part.partition("}")
            filled += [gaps[name], rest]
        return "".join(filled)

    def kind(self, kind: str) -> str:
        """Return the word for a kind of feature."""
        return str(self.texts["kinds"].get(kind, kind.replace("_", " ")))

    def method(self, method: str) -> str:
        """Return the word for a method."""
        return str(self.texts["methods"].get(method, method.replace("_", " ")))

    def confidence(self, value: str) -> str:
        """Return the word for a confidence."""
        return str(self.texts["confidence"].get(value, value))

    def number(self, value: float, digits: int = 2) -> str:
        """Return a number with the language's sign, a dash where it isn't known."""
        if not math.isfinite(value):
            return self("none")
        text = f"{value:.{digits}f}"
        if float(text) == 0.0:
            text = text.removeprefix("-")
        return text.replace("-", "\u2212").replace(".", self("decimal"))

    def chainage(self, value_m: float, digits: int = 2) -> str:
        """Return a chainage as kilometres and metres.

        Examples
        --------
        >>> words_of("de").chainage(12054.974), words_of("en").chainage(999.996)
        ('12+054,97', '1+000.00')
        >>> words_of("en").chainage(50.0, 0)
        '0+050'
        """
        whole = round(value_m * 10**digits)
        kilometres, rest = divmod(whole, 1000 * 10**digits)
        width = 3 + (digits + 1 if digits else 0)
        metres = f"{rest / 10**digits:0{width}.{digits}f}"
        return f"{kilometres}+{metres}".replace(".", self("decimal"))

    def date(self, stamp: datetime) -> str:
        """Return the day of a time."""
        day, month = f"{stamp.day:02d}", f"{stamp.month:02d}"
        return self.day_form.format(year=stamp.year, month=month, day=day)


@cache
def words_of(language: str) -> Words:
    """Return the texts of a language."""
    texts = texts_of(language)
    return Words(language, texts["sheets"], texts["signs"]["date"])
