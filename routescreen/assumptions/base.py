"""The pieces that every group of the assumptions is made of: strict model, three-valued range, number types.

Room: assumptions. Imports nothing of the package.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError


class Group(BaseModel):
    """Base of all groups: frozen, strict, no unknown keys, only finite numbers.

    What each key means, and where its default comes from, stands beside it in ``defaults.toml``.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class Range(Group):
    """A low, an expected and a high value of one quantity, about P10, P50 and P90.

    Written in TOML as ``[low, expected, high]``; one number alone means all three.
    """

    low: float
    expected: float
    high: float

    @model_validator(mode="before")
    @classmethod
    def _from_list(cls, value: Any) -> Any:
        if isinstance(value, bool):
            raise range_error()
        if isinstance(value, int | float):
            return {"low": value, "expected": value, "high": value}
        if isinstance(value, list):
            if len(value) != 3:
                raise range_error()
            return dict(zip(("low", "expected", "high"), value, strict=True))
        if not isinstance(value, dict | Range):
            raise range_error()
        return value

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.low <= self.expected <= self.high:
            raise range_error()
        return self


def range_error() -> PydanticCustomError:
    """Return the error of a list that is no range."""
    return PydanticCustomError("range_order", "must be [low, expected, high] with low <= expected <= high")


def _not_negative(value: Range) -> Range:
    if value.low < 0.0:
        raise PydanticCustomError("range_sign", "must be a range without negative values")
    return value


def _positive(value: Range) -> Range:
    if value.low <= 0.0:
        raise PydanticCustomError("range_sign", "must be a range of values greater than 0")
    return value


NotNegativeRange = Annotated[Range, AfterValidator(_not_negative)]
PositiveRange = Annotated[Range, AfterValidator(_positive)]

Positive = Annotated[float, Field(gt=0.0)]
NotNegative = Annotated[float, Field(ge=0.0)]
Frac = Annotated[float, Field(ge=0.0, le=1.0)]
Percent = Annotated[float, Field(ge=0.0, le=100.0)]
Angle = Annotated[float, Field(ge=0.0, le=90.0)]
Factor = Annotated[float, Field(gt=0.0, le=100.0)]
Count = Annotated[int, Field(ge=1)]
CountOrNone = Annotated[int, Field(ge=0)]
Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")]
Text = Annotated[str, Field(min_length=1)]
ItemCode = Annotated[str, Field(pattern=r"^[A-Z]{2}[0-9]{2}$")]
ItemCodes = Annotated[tuple[ItemCode, ...], Field(strict=False)]
Numbers = Annotated[tuple[Positive, ...], Field(strict=False, min_length=1)]
Names = Annotated[tuple[str, ...], Field(strict=False)]

Allowed = Literal["yes", "no", "consent"]
"""``consent``: counts as yes for trench and drive (flagged), as no for shafts until overridden."""

Season = Literal["F", "B", "Q", "D"]
Seasons = Annotated[tuple[Season, ...], Field(strict=False)]
