"""From TOML text to validated assumptions: merge over the defaults, then list every problem at once.

Room: assumptions. Reads the package's own default files; a project's text is handed in by the caller.
"""

from __future__ import annotations

import tomllib
from copy import deepcopy
from dataclasses import replace
from functools import cache, lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from routescreen.assumptions.crosschecks import cross_problems
from routescreen.assumptions.merging import CATALOGUES, Table, merge, merge_project
from routescreen.assumptions.messages import problems_of, syntax_problem, value_text
from routescreen.assumptions.model import Assumptions
from routescreen.errors import AssumptionsError, Problem

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

PROFILES = ("dc525", "dc525_return", "ac110")
"""Cable systems that come ready; ``dc525`` is the defaults themselves."""

COVER_CODE_LISTS = ("esa", "clc")
"""Code lists of ground-cover rasters that come ready."""

_NAMED = (*CATALOGUES, "drivability", "seasons")
"""Tables whose entries have names of their own, that stand for one another."""


def load_assumptions(text: str | None = None, *, file: str | None = None) -> Assumptions:
    """Merge a project's assumptions over the defaults and check the whole.

    Parameters
    ----------
    text : str, optional
        TOML that states only what differs; the defaults alone when None.
    file : str, optional
        Name of the file that `text` came from, for messages.

    Returns
    -------
    Assumptions

    Raises
    ------
    AssumptionsError
        Listing every problem: key, value, what is allowed, remedy.
    """
    if text is None or not text.strip():
        return _defaults()
    return _merged(text, file)


def defaults_text() -> str:
    """Return the commented text of all defaults, cover code lists included."""
    parts = ["defaults.toml", *(f"cover_codes/{name}.toml" for name in COVER_CODE_LISTS)]
    return "\n\n".join(_package_text(part).rstrip("\n") for part in parts) + "\n"


@lru_cache(maxsize=32)  # the same object for the same text: what follows from it alone is kept with it
def _merged(text: str, file: str | None) -> Assumptions:
    project = _parsed(text, file)
    base, profile_problems = _with_profile(project)
    table, like_problems = merge_project(base, project)
    problems = [replace(problem, file=file) for problem in (*profile_problems, *like_problems)]
    assumptions, found = _validated(table, file)
    problems += found
    if problems or assumptions is None:
        raise AssumptionsError(problems)
    return assumptions


@cache
def _defaults() -> Assumptions:
    assumptions, problems = _validated(default_table(), None)
    if assumptions is None or problems:
        raise AssumptionsError(problems)
    return assumptions


@cache
def _parsed_defaults() -> Table:
    return tomllib.loads(defaults_text())


def default_table() -> Table:
    """Return a fresh copy of the defaults as plain tables."""
    return deepcopy(_parsed_defaults())


def _package_text(name: str) -> str:
    return (files("routescreen.assumptions") / name).read_text(encoding="utf-8")


def _parsed(text: str, file: str | None) -> Table:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise AssumptionsError([syntax_problem(error, file)]) from None


def _with_profile(project: Table) -> tuple[Table, list[Problem]]:
    """Return the defaults with the profile that the project names laid over them."""
    link = project.get("link")
    profile = link.get("profile", PROFILES[0]) if isinstance(link, dict) else PROFILES[0]
    if profile == PROFILES[0]:
        return default_table(), []
    if profile not in PROFILES:
        problem = Problem(
            problem=f"There is no such profile; allowed: {', '.join(PROFILES)}.",
            remedy="Name a known profile and state what differs from it.",
            column="link.profile",
            value=value_text(profile),
        )
        return default_table(), [problem]
    return merge(default_table(), tomllib.loads(_package_text(f"profiles/{profile}.toml"))), []


def _validated(table: Table, file: str | None) -> tuple[Assumptions | None, list[Problem]]:
    """Validate; where keys are faulty, mend a copy so that the cross-checks still see all the rest."""
    try:
        assumptions, problems = Assumptions.model_validate(_with_whole_codes(table)), []
    except ValidationError as error:
        details = error.errors(include_url=False)
        problems = problems_of(details, file, _known_keys, _homes)
        try:
            assumptions = Assumptions.model_validate(_with_whole_codes(_mended(table, details)))
        except ValidationError:
            return None, problems
    codes = frozenset(_parsed_defaults()["rates"])
    return assumptions, [*problems, *cross_problems(assumptions, file, codes, _rates(table))]


def _rates(table: Table) -> Table:
    """Return the rates as they are written; none where they are no table."""
    rates = table.get("rates")
    return rates if isinstance(rates, dict) else {}


def _with_whole_codes(table: Table) -> Table:
    """Turn the codes of the code lists, which TOML only has as text, into whole numbers."""
    lists = table.get("cover_codes")
    if not isinstance(lists, dict):
        return table
    whole = {
        name: {int(code) if code.isdecimal() else code: cover for code, cover in codes.items()}
        if isinstance(codes, dict)
        else codes
        for name, codes in lists.items()
    }
    return {**table, "cover_codes": whole}


def _known_keys(location: tuple[int | str, ...]) -> list[str]:
    node: Any = _parsed_defaults()
    for part in location:
        node = _reference(node, part)
    return list(node) if isinstance(node, dict) else []


def _homes(key: str) -> list[str]:
    """Return the tables of the defaults that have a key; entries of one table count as one, `NAME`."""
    found: dict[str, None] = {}
    _gather_homes(_parsed_defaults(), key, (), found)
    return list(found)


def _gather_homes(node: Table, key: str, path: tuple[str, ...], found: dict[str, None]) -> None:
    if key in node:
        found[".".join(path)] = None
    for name, below in node.items():
        if isinstance(below, dict):
            _gather_homes(below, key, (*path, "NAME" if path and path[-1] in _NAMED else name), found)


def _mended(table: Table, details: list[ErrorDetails]) -> Table:
    """Return a copy in which each faulty key has its default, or that of the first entry of its kind."""
    mended = deepcopy(table)
    for detail in details:
        _mend(mended, detail["loc"], is_surplus=detail["type"] == "extra_forbidden")
    return mended


def _mend(node: Any, location: tuple[int | str, ...], *, is_surplus: bool) -> None:
    if location[-1] == "[key]":
        location, is_surplus = location[:-1], True
    reference: Any = _parsed_defaults()
    for depth, part in enumerate(location):
        key = str(part)
        reference = _reference(reference, key)
        if depth < len(location) - 1 and isinstance(node.get(key), dict):
            node = node[key]
            continue
        if is_surplus:
            node.pop(key, None)
        elif isinstance(reference, dict) and isinstance(node.get(key), dict):
            node[key] = merge(node[key], reference)
        else:
            node[key] = deepcopy(reference)
        return


def _reference(node: Any, part: int | str) -> Any:
    """Return the default at a key; a name that the defaults don't have counts as the first that they do."""
    if not isinstance(node, dict):
        return None
    return node.get(part, next(iter(node.values()), None))
