"""From pydantic's findings to problems that name the key, the value, what is allowed and the remedy.

Room: assumptions. Pure.
"""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from routescreen.errors import Problem

if TYPE_CHECKING:
    import tomllib
    from collections.abc import Callable, Iterable

    from pydantic_core import ErrorDetails

_LONGEST_VALUE = 80
_CLOSE = 0.75  # likeness of names above which one is taken for a misspelling of the other

_TYPES = {
    "float_type": "a number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "string_type": "a text",
    "bool_type": "true or false",
    "finite_number": "a finite number",
    "tuple_type": "a list",
    "list_type": "a list",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
}

_LIMITS: dict[str, Callable[[dict[str, Any]], str]] = {
    "greater_than": lambda c: f"a number greater than {c['gt']:g}",
    "greater_than_equal": lambda c: f"a number not less than {c['ge']:g}",
    "less_than": lambda c: f"a number less than {c['lt']:g}",
    "less_than_equal": lambda c: f"a number not greater than {c['le']:g}",
    "literal_error": lambda c: str(c["expected"]),
    "too_short": lambda c: f"at least {c['min_length']} entries",
    "too_long": lambda c: f"at most {c['max_length']} entries",
    "string_too_short": lambda c: f"a text of at least {c['min_length']} characters",
    "string_pattern_mismatch": lambda c: f"a text of the form {c['pattern']}",
}


def problems_of(
    errors: Iterable[ErrorDetails],
    file: str | None,
    known_keys: Callable[[tuple[int | str, ...]], list[str]],
    homes: Callable[[str], list[str]],
) -> list[Problem]:
    """Turn the findings into problems; keys missing from one table make one problem together.

    Parameters
    ----------
    errors : iterable of ErrorDetails
        Of one ValidationError.
    file : str or None
        Name of the project's file.
    known_keys : callable
        Gives the keys that the defaults have in the table at a path.
    homes : callable
        Gives the tables of the defaults that have a key; "" for the top of the file.

    Returns
    -------
    list of Problem
    """
    findings = list(errors)
    inner = {error["loc"][:length] for error in findings for length in range(len(error["loc"]))}
    missing: dict[tuple[int | str, ...], list[str]] = {}
    problems = []
    for error in findings:
        if error["type"] == "missing":
            missing.setdefault(error["loc"][:-1], []).append(str(error["loc"][-1]))
        elif error["loc"] not in inner:  # else the fault lies deeper and is listed there
            problems.append(_problem(error, file, known_keys, homes))
    return problems + [
        _missing(location, keys, known_keys(location[:-1]), file) for location, keys in missing.items()
    ]


def key_path(location: Iterable[int | str]) -> str:
    """Write a location as ``group.key[index]``."""
    path = ""
    for part in location:
        if part == "[key]":  # pydantic's mark for a fault in the key itself
            continue
        path += f"[{part}]" if isinstance(part, int) else f".{part}"
    return path.removeprefix(".")


def value_text(value: Any) -> str:
    """Write a value as short as a message needs it."""
    text = f"'{value}'" if isinstance(value, str) else str(value)
    return text if len(text) <= _LONGEST_VALUE else f"{text[:_LONGEST_VALUE]}.."


def syntax_problem(error: tomllib.TOMLDecodeError, file: str | None) -> Problem:
    """Return the problem of a text that is no TOML."""
    return Problem(
        problem=f"The text is not valid TOML: {error}.",
        remedy="Mend the place named; every line is key = value, a [table] or a # comment.",
        file=file,
    )


def _problem(
    error: ErrorDetails,
    file: str | None,
    known_keys: Callable[[tuple[int | str, ...]], list[str]],
    homes: Callable[[str], list[str]],
) -> Problem:
    location, kind = error["loc"], error["type"]
    column = key_path(location)
    value = value_text(error["input"])
    if kind == "extra_forbidden":
        return _unknown_key(location, known_keys(location[:-1]), homes(str(location[-1])), file, value)
    allowed, remedy = _allowed(error)
    return Problem(
        problem=f"The value can't be used; allowed: {allowed}.",
        remedy=remedy,
        file=file,
        column=column,
        value=value,
    )


def _missing(location: tuple[int | str, ...], keys: list[str], known: list[str], file: str | None) -> Problem:
    """Ask for a known name where the entry's own looks like a slip of the pen, else for the keys."""
    name = str(location[-1]) if location else ""
    close = [] if name in known else get_close_matches(name.lower(), known, n=1, cutoff=_CLOSE)
    add = 'a new method, treatment, cover or soil class may start with like = "<known name>"'
    if close:
        return Problem(
            problem=f"There is no entry of this name; perhaps {close[0]}? "
            f"A new entry states every key, and {len(keys)} are missing.",
            remedy=f"Write {close[0]} if that is meant; {add}.",
            file=file,
            column=key_path(location),
        )
    return Problem(
        problem=f"Keys are missing: {', '.join(keys)}; a new entry states every key.",
        remedy=f"Add them; {add}.",
        file=file,
        column=key_path(location),
    )


def _unknown_key(
    location: tuple[int | str, ...], known: list[str], homes: list[str], file: str | None, value: str
) -> Problem:
    close = get_close_matches(str(location[-1]), known, n=1)
    listed = ", ".join(known) if known else "see the commented defaults"
    return Problem(
        problem=f"The key is unknown; allowed: {listed}.",
        remedy=_home_remedy(homes)
        if homes
        else f"Did you mean {close[0]}?"
        if close
        else "Remove it or name a known key.",
        file=file,
        column=key_path(location),
        value=value,
    )


def _home_remedy(homes: list[str]) -> str:
    """Say where a key stands that is known, only not where it was written."""
    tables = [f"[{home}]" if home else "the top of the file" for home in homes]
    return f"It belongs to {' or '.join(tables)}: write it there."


def _allowed(error: ErrorDetails) -> tuple[str, str]:
    kind, context = error["type"], error.get("ctx", {})
    if kind in _LIMITS:
        return _LIMITS[kind](context), "Give a value that is allowed."
    if kind in _TYPES:
        return _TYPES[kind], "Give a value of that kind."
    return error["msg"].removeprefix("must be "), "Change this value or the one it depends on."
