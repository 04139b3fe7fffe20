"""Exceptions of routescreen, arranged by what the caller can do about them.

Room: the ground floor. Imports nothing of the package.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault, located as closely as it is known and with its remedy.

    Attributes
    ----------
    problem : str
        What is wrong, in one sentence.
    remedy : str
        What the user can do about it.
    file, layer, feature, column, value : str or None
        Where it is; None where that does not apply.
    """

    problem: str
    remedy: str
    file: str | None = None
    layer: str | None = None
    feature: str | None = None
    column: str | None = None
    value: str | None = None

    def __str__(self) -> str:
        where = [f"{name} {text}" for name, text in self.location().items()]
        place = f"{', '.join(where)}: " if where else ""
        return f"{place}{self.problem} Remedy: {self.remedy}"

    def location(self) -> dict[str, str]:
        """Return the parts of the location that are known."""
        names = ("file", "layer", "feature", "column", "value")
        return {name: text for name in names if (text := getattr(self, name)) is not None}

    def as_dict(self) -> dict[str, str | None]:
        """Return all fields, for the command's JSON answer."""
        return asdict(self)


class RoutescreenError(Exception):
    """Base of every error that routescreen raises on purpose."""

    exit_code = 1


class InputError(RoutescreenError, ValueError):
    """The input can't be used; lists every problem found."""

    exit_code = 3

    def __init__(self, problems: list[Problem] | tuple[Problem, ...]) -> None:
        self.problems = tuple(problems)
        count = len(self.problems)
        head = "The input can't be used" + (f" ({count} problems):" if count > 1 else ":")
        super().__init__("\n".join([head, *(f"- {problem}" for problem in self.problems)]))


class SchemaError(InputError):
    """A table has not the columns, types or ranges that the schema declares."""


class CRSError(InputError):
    """A coordinate reference system is missing, unfit or can't be transformed."""


class AssumptionsError(InputError):
    """The assumptions file can't be used; names key, value and what is allowed."""


class ResultsError(InputError):
    """A results folder is missing, half written, from another version or spoilt; lists what is wrong."""


class NoPlanError(RoutescreenError):
    """No plan can satisfy the constraints; says where, what stops it and what would open it."""

    exit_code = 4

    def __init__(self, message: str, problems: tuple[Problem, ...] = ()) -> None:
        self.problems = problems
        super().__init__(message)


class AuditError(RoutescreenError):
    """The finished plan breaches a constraint that could not be mended."""

    exit_code = 5

    def __init__(self, message: str, problems: tuple[Problem, ...] = ()) -> None:
        self.problems = problems
        super().__init__(message)


class OutputError(RoutescreenError):
    """The results can't be written."""

    exit_code = 6

    def __init__(self, message: str, problems: tuple[Problem, ...] = ()) -> None:
        self.problems = problems
        super().__init__(message)
