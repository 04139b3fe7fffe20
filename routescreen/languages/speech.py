"""Sentences of the results in another language, read out of their English.

Room: ``languages``. Pure but for the files of the languages.

Results are English, the same whatever the report speaks. A language's file gives for each English sentence
that the program writes, its gaps numbered ``{0}``, ``{1}``, the same sentence of its own. A text is read as
the sentence, or the row of sentences, that leaves least of it unknown; what stands in a gap is read in the
same way. Numbers and days get the language's signs. What no sentence fits, such as the name of a road, stays
as it is.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING

from routescreen.languages.texts import ENGLISH, texts_of

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Mapping

GAP = re.compile(r"\{(\d+)\}")
# Between sentences, between parts of one, and between what is listed, in this order.
JOINTS = (". ", "; ", ": ", ", and ", ", ", " and ", " or ", " / ")
_NUMBER = re.compile(r"[-+]{0,2}\d+(?: \d{3})*(?:\.\d+)?")
_DECIMALS = re.compile(r"\d\.\d")
_CHAINAGE = re.compile(r"\d+\+\d{3}(?:\.\d+)?")
_MONTH_DAY = re.compile(r"(\d\d)-(\d\d)")
_WORD = re.compile(r"\S*|\d+(?: \d{3})*(?:\.\d+)?")
_MARK = ("\ue000", "\ue001")  # signs of no language, round the number of a name
_MARKED = re.compile(f"{_MARK[0]}(\\d+){_MARK[1]}")
_UNIT = re.compile(r" (?:m|m2|m3|mm|EUR|%|kPa|kN|kN/m|A|K|l/s|uT|deg|h|more|less)(?![^ ,;.:)])")
KEY = 3  # signs of a text by which the sentences that may fit are found
TERSE = 3  # letters of a sentence besides its gaps, such as a unit
_EDGE = ",;: "  # signs that a part of a sentence may begin with
LONGEST = 4000  # signs of one text that are looked at


@dataclass(frozen=True, slots=True)
class _Pattern:
    """An English sentence with gaps, and how the language says it.

    `fast` stands between the gaps; `is_terse` where that is next to nothing, so that only single words or
    numbers may fill them.
    """

    fast: tuple[str, ...]
    is_terse: bool
    said: str

    def gaps(self, text: str) -> list[str] | None:
        """Return what a text has in the gaps, each as short as can be, None where it doesn't fit."""
        first, last = self.fast[0], self.fast[-1]
        end = len(text) - len(last)
        if end < len(first) or not (text.startswith(first) and text.endswith(last)):
            return None
        found = self._gaps_from(text, len(first), end, 1)
        return found if found is not None and any(found) else None

    def _gaps_from(self, text: str, at: int, end: int, number: int) -> list[str] | None:
        """Return what fills the gaps from one on, the first way that fits."""
        if number == len(self.fast) - 1:
            return [text[at:end]] if self._may_fill(text[at:end], number) else None
        part = self.fast[number]
        where = text.find(part, at, end)
        while where >= 0:
            rest = None
            if self._may_fill(text[at:where], number):
                rest = self._gaps_from(text, where + len(part), end, number + 1)
            if rest is not None:
                return [text[at:where], *rest]
            where = text.find(part, where + 1, end) if part else -1
        return None

    def _may_fill(self, gap: str, number: int) -> bool:
        """Whether a text may fill the gap before a part: before a unit only a number."""
        if _UNIT.match(self.fast[number]):
            return _NUMBER.fullmatch(gap) is not None
        return not self.is_terse or _WORD.fullmatch(gap) is not None


@dataclass(frozen=True, slots=True)
class _Reading:
    """One way to read a text: what is said, how many signs stay unknown, into how many pieces it fell."""

    said: str
    unknown: int
    pieces: int

    @property
    def rank(self) -> tuple[int, int]:
        return self.unknown, self.pieces


@dataclass(frozen=True, slots=True)
class Speech:
    """One language for the sentences of the results.

    Attributes
    ----------
    language : str
    sentences : mapping of str to str
        By their English.
    joints : mapping of str to str
        What stands between sentences and between what is listed.
    decimal, month_day : str
        The sign before decimals; how a day of the year is written, with ``{month}`` and ``{day}``.
    """

    language: str
    sentences: Mapping[str, str]
    joints: Mapping[str, str]
    decimal: str
    month_day: str
    _patterns: Mapping[str, tuple[_Pattern, ...]] = field(default_factory=lambda: {"": ()})
    _known: dict[str, _Reading] = field(default_factory=dict)

    def __call__(self, text: str) -> str:
        """Return a text of the results in this language; in English as it is."""
        return text if self.language == ENGLISH else self._read(text).said

    def keeping(self, names: Collection[str]) -> Callable[[str], str]:
        """Return what says texts in which some names stand, each of which stays whatever it is made of."""
        kept = sorted({name for name in names if " " in name}, key=lambda name: (-len(name), name))
        if self.language == ENGLISH or not kept:
            return self
        marks = {name: f"{_MARK[0]}{k}{_MARK[1]}" for k, name in enumerate(kept)}
        finder = re.compile("|".join(map(re.escape, kept)))

        def say(text: str) -> str:
            said = self(finder.sub(lambda found: marks[found[0]], text))
            return _MARKED.sub(lambda mark: kept[int(mark[1])], said)

        return say

    def word(self, text: str) -> str:
        """Return a word or a sentence that has no gaps in this language, anything else as it is."""
        return self.sentences.get(text, text)

    def unknown(self, text: str) -> int:
        """Return how many signs of a text no sentence fits: names, and what the file lacks."""
        return 0 if self.language == ENGLISH else self._read(text).unknown

    def _read(self, text: str) -> _Reading:
        if text not in self._known:
            # whoever reads a part of this text in between finds it as it is, and ends
            self._known[text] = _Reading(text, _n_unknown(text), 1)
            self._known[text] = self._best(text)
        return self._known[text]

    def _best(self, text: str) -> _Reading:
        plain = self._plain(text)
        if plain is not None:
            return plain
        best = self._known[text]
        if len(text) > LONGEST:
            return best
        for reading in self._readings(text):
            if reading.rank < best.rank:
                best = reading
            if best.unknown == 0:
                break
        return best

    def _plain(self, text: str) -> _Reading | None:
        """Read what is one word, one sentence without gaps, one name or one number."""
        if text in self.sentences:
            return _Reading(self.sentences[text], 0, 1)
        if _MARKED.fullmatch(text):
            return _Reading(text, 0, 1)
        if _CHAINAGE.fullmatch(text):
            return _Reading(text.replace(".", self.decimal), 0, 1)
        if _NUMBER.fullmatch(text):
            return _Reading(text.replace(".", self.decimal), 0, 1)
        day = _MONTH_DAY.fullmatch(text)
        if day:
            return _Reading(self.month_day.format(month=day[1], day=day[2]), 0, 1)
        return None

    def _readings(self, text: str) -> Iterator[_Reading]:
        rest = text.lstrip(_EDGE)
        if rest != text and rest:
            yield self._kept(text[: len(text) - len(rest)], rest, "")
        if text.endswith((".", ":", ",")):
            yield self._kept("", text[:-1], text[-1])
        for pattern in self._patterns.get(text[:KEY], self._patterns[""]):
            gaps = pattern.gaps(text)
            if gaps is not None:
                yield self._filled(pattern, gaps)
        if text[:1].isupper() and text[1:2].islower():  # a sentence that began small where it was written
            inner = self._read(text[0].lower() + text[1:])
            yield _Reading(inner.said[:1].upper() + inner.said[1:], inner.unknown, inner.pieces)
        for joint in JOINTS:
            for at in _places(text, joint):
                left, right = text[: at + (joint == ". ")], text[at + len(joint) :]
                if left.strip() and right.strip():
                    yield self._joined(left, joint, right)

    def _kept(self, before: str, text: str, after: str) -> _Reading:
        """Read what stands between signs that every language has."""
        inner = self._read(text)
        return _Reading(before + inner.said + after, inner.unknown, inner.pieces)

    def _filled(self, pattern: _Pattern, gaps: list[str]) -> _Reading:
        inner = [self._read(gap) for gap in gaps]
        said = GAP.sub(lambda hole: inner[int(hole[1])].said, pattern.said)
        return _Reading(said, sum(r.unknown for r in inner), 1 + sum(r.pieces for r in inner))

    def _joined(self, left: str, joint: str, right: str) -> _Reading:
        one, two = self._read(left), self._read(right)
        # a name may hold an "and" of its own
        is_name = one.unknown == _n_unknown(left) and two.unknown == _n_unknown(right)
        unsure = sum(sign.isalpha() for sign in joint) if is_name else 0
        said = one.said + (" " if joint == ". " else self.joints.get(joint, joint)) + two.said
        return _Reading(said, one.unknown + two.unknown + unsure, one.pieces + two.pieces + 1)


def _n_unknown(text: str) -> int:
    """Return the letters of a text and its numbers with decimals, one at least where it isn't empty."""
    n = sum(sign.isalpha() for sign in text) + len(_DECIMALS.findall(text))
    return n or (1 if text.strip() else 0)


def _places(text: str, joint: str) -> Iterator[int]:
    """Yield where a text may fall apart: between all sentences, at the first and the last of other joints."""
    first, last = text.find(joint), text.rfind(joint)
    if joint != ". ":
        yield from (at for at in dict.fromkeys((first, last)) if at >= 0)
        return
    while first >= 0:
        yield first
        first = text.find(joint, first + 1)


def _pattern(english: str, said: str) -> _Pattern:
    fast = tuple(GAP.split(english)[0::2])
    letters = "".join(sign for part in fast for sign in part if sign.isalpha())
    return _Pattern(fast, 0 < len(letters) <= TERSE and "by" not in letters.lower(), said)


def _by_start(patterns: list[_Pattern]) -> dict[str, tuple[_Pattern, ...]]:
    """Return the patterns that may fit a text, by its first signs, in their order; "": those that fit any."""
    starts = [pattern.fast[0][:KEY] if len(pattern.fast[0]) >= KEY else "" for pattern in patterns]
    return {
        start: tuple(p for p, own in zip(patterns, starts, strict=True) if own in (start, ""))
        for start in {"", *starts}
    }


@cache
def speech_of(language: str) -> Speech:
    """Return how a language says the results' sentences."""
    texts = texts_of(language)
    sentences: Mapping[str, str] = texts.get("sentences", {})
    patterns = [_pattern(english, said) for english, said in sentences.items() if GAP.search(english)]
    patterns.sort(key=lambda pattern: -sum(map(len, pattern.fast)))
    signs: Mapping[str, str] = texts["signs"]
    return Speech(
        language,
        sentences,
        texts.get("joints", {}),
        signs["decimal"],
        signs["month_day"],
        _by_start(patterns),
    )
