"""What a sheet is made of: strokes, areas and texts, each with its place on the paper in millimetres.

Room: ``sheets``. Pure data; x from the left, y from the lower edge of the paper.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

Align = Literal["left", "middle", "right"]
LEAST_CAP_MM = 1.8  # capitals no lower than this, so that a sheet can be read on paper


class Box(NamedTuple):
    """An upright rectangle on the paper [mm]."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Its width [mm]."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Its height [mm]."""
        return self.top - self.bottom

    @property
    def middle(self) -> tuple[float, float]:
        """Its middle [mm]."""
        return (self.left + self.right) / 2.0, (self.bottom + self.top) / 2.0

    def inset(self, by_mm: float) -> Box:
        """Return a box smaller by so much on each side."""
        return Box(self.left + by_mm, self.bottom + by_mm, self.right - by_mm, self.top - by_mm)

    def corners(self) -> Array:
        """Return its outline, closed, of shape (5, 2) [mm]."""
        left, bottom, right, top = self
        return np.array([[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom]])


@dataclass(frozen=True, slots=True)
class Ink:
    """How a line is drawn: colour, width and dashes [mm]."""

    colour: str
    width_mm: float
    dash_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Stroke:
    """Lines of one ink, each an array of points of shape (n, 2) [mm]."""

    chains: tuple[Array, ...]
    ink: Ink


@dataclass(frozen=True, slots=True)
class Area:
    """A filled area; rings inside an odd number of others are holes [mm]."""

    rings: tuple[Array, ...]
    fill: str | None
    ink: Ink | None = None


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text.

    Attributes
    ----------
    text : str
    x_mm, y_mm : float
        Left end, middle or right end of the text, half-way up its capitals [mm].
    cap_mm : float
        Height of its capitals [mm].
    align : {"left", "middle", "right"}
    turn_deg : float
        Its direction, left-turning from the x axis [deg].
    colour : str
    is_bold : bool
    is_patched : bool
        Whether the paper below it is cleared.
    """

    text: str
    x_mm: float
    y_mm: float
    cap_mm: float = LEAST_CAP_MM
    align: Align = "left"
    turn_deg: float = 0.0
    colour: str = "#000000"
    is_bold: bool = False
    is_patched: bool = False


Mark = Stroke | Area | Text


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page: what it is called in the file's outline, and its marks, the lowest first."""

    title: str
    marks: tuple[Mark, ...]


def line(ink: Ink, *points: tuple[float, float]) -> Stroke:
    """Return one line through some points [mm]."""
    return Stroke((np.array(points, dtype=np.float64),), ink)


def frame(box: Box, ink: Ink) -> Stroke:
    """Return the outline of a box."""
    return Stroke((box.corners(),), ink)


def filled(box: Box, fill: str, ink: Ink | None = None) -> Area:
    """Return a filled box."""
    return Area((box.corners(),), fill, ink)
