"""Collects every fault and every remark of a reading, to be raised or said once.

Room: ``inputs``. Touches no file.
"""

from __future__ import annotations

import warnings
from contextlib import contextmanager
from typing import TYPE_CHECKING

from routescreen.errors import CRSError, InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

# A reader's message must stay readable: beyond these counts the rest is only counted.
MOST_FEATURES_NAMED = 5
MOST_VALUES_NAMED = 50
_FOR_DEVELOPERS = (DeprecationWarning, PendingDeprecationWarning, ResourceWarning)


class Findings:
    """What one reading has found so far.

    Attributes
    ----------
    problems : list of Problem
        Faults that make the input unusable.
    warnings : list of str
        Remarks for the user; each stands once.
    provenance : dict of str to str
        What was read and how, for the run record.
    """

    def __init__(self) -> None:
        self.problems: list[Problem] = []
        self.warnings: list[str] = []
        self.provenance: dict[str, str] = {}
        self._crs_problems: list[Problem] = []

    def add(
        self,
        problem: str,
        remedy: str,
        *,
        file: Path | str | None = None,
        layer: str | None = None,
        feature: str | None = None,
        column: str | None = None,
        value: str | None = None,
        is_crs: bool = False,
    ) -> None:
        """Note a fault; `is_crs` says that a coordinate reference system is to blame."""
        found = Problem(
            problem=problem,
            remedy=remedy,
            file=None if file is None else str(file),
            layer=layer,
            feature=feature,
            column=column,
            value=value,
        )
        if found in self.problems:
            return
        self.problems.append(found)
        if is_crs:
            self._crs_problems.append(found)

    def warn(self, text: str) -> None:
        """Note a remark once."""
        if text not in self.warnings:
            self.warnings.append(text)

    def raise_if_any(self) -> None:
        """Raise everything that was found as one error.

        Raises
        ------
        CRSError
            When coordinate reference systems are all that is wrong.
        InputError
            When anything else is wrong too.
        """
        if not self.problems:
            return
        if len(self._crs_problems) == len(self.problems):
            raise CRSError(self.problems)
        raise InputError(self.problems)

    @contextmanager
    def listening(self, file: Path) -> Iterator[None]:
        """Turn what a reading library warns about into remarks."""
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always")
            yield
        for item in caught:
            is_for_developers = issubclass(item.category, _FOR_DEVELOPERS)
            # Coordinates that are no numbers are named feature by feature later on.
            if not is_for_developers and "invalid value encountered" not in str(item.message):
                self.warn(f"{file.name}: {item.message}")


def few(names: Sequence[str], most: int = MOST_FEATURES_NAMED) -> str:
    """Name the first few and count the rest.

    >>> few(["a", "b", "c"], most=2)
    'a, b and 1 more'
    """
    shown = ", ".join(names[:most])
    rest = len(names) - most
    return f"{shown} and {rest} more" if rest > 0 else shown


def listed(words: Iterable[str]) -> str:
    """Join words for a message.

    >>> listed(["yes", "no"])
    'yes, no'
    """
    return ", ".join(words)


def percent(share: float) -> str:
    """Write a share so that a small one does not read as nothing.

    >>> percent(0.12345), percent(0.000001)
    ('12.3 %', 'under 0.1 %')
    """
    return f"{share:.1%}".replace("%", " %") if share >= 0.001 else "under 0.1 %"
