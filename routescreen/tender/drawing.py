"""A drawing as plain data: layers, lines, circles and texts, in the plan or in a block of their own.

Room: ``tender``. Pure data; knows no file and no library.
"""

from __future__ import annotations

from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class DrawingLayer:
    """A layer of the drawing.

    Attributes
    ----------
    name : str
    colour : tuple of int
        Red, green, blue, 0 to 255; dark enough for white paper.
    meaning : str
    is_dashed : bool
    weight_mm : float
        Width of its lines on paper [mm].
    """

    name: str
    colour: tuple[int, int, int]
    meaning: str
    is_dashed: bool = False
    weight_mm: float = 0.25


@dataclass(frozen=True, slots=True)
class Line:
    """A chain of straight lines, closed or not."""

    layer: str
    points: tuple[Point, ...]
    is_closed: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle."""

    layer: str
    at: Point
    radius: float


@dataclass(frozen=True, slots=True)
class Label:
    """A text on one line.

    Attributes
    ----------
    layer : str
    at : tuple of float
        Its lower left corner.
    text : str
    height : float
    turn_deg : float
        From the x axis, counterclockwise [degrees].
    """

    layer: str
    at: Point
    text: str
    height: float
    turn_deg: float = 0.0


Shape = Line | Circle | Label


@dataclass(frozen=True, slots=True)
class Block:
    """Shapes that are drawn together, with their own origin.

    Attributes
    ----------
    name : str
    at : tuple of float
        Where its origin lies in the drawing.
    shapes : tuple of Shape
    """

    name: str
    at: Point
    shapes: tuple[Shape, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing in metres.

    Attributes
    ----------
    title : str
    layers : tuple of DrawingLayer
    shapes : tuple of Shape
        In real coordinates.
    blocks : tuple of Block
    """

    title: str
    layers: tuple[DrawingLayer, ...]
    shapes: tuple[Shape, ...]
    blocks: tuple[Block, ...]
