"""A drawing written as a DXF file.

Room: ``results``. Imports ``tender``'s plain data; the one place that uses the drawing library, which is
loaded when it is needed and not before.
"""

from __future__ import annotations

import re
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from routescreen.tender.drawing import Circle, Line

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from routescreen.tender.drawing import Block, Drawing, Shape

_METRES = 6  # $INSUNITS
_MOST_POINTS = 500
_DASHED, _FONT = "DASHED_M", "OpenSans"
_CONTROL = re.compile("[\x00-\x1f\x7f\ud800-\udfff\ufffe\uffff\u2028\u2029]")


def write_dxf(drawing: Drawing, path: Path) -> None:
    """Write a drawing; the same drawing gives the same bytes.

    Parameters
    ----------
    drawing : Drawing
    path : Path
    """
    with _fixed_times() as ezdxf:
        document = ezdxf.new("R2010", setup=False)
        document.units = _METRES
        document.header["$MEASUREMENT"] = 1
        # a dash of 12 m and a gap of 6 m: readable from 1 : 500 to 1 : 10 000
        document.linetypes.add(_DASHED, [18.0, 12.0, -6.0], description="__ __ __")
        for layer in drawing.layers:
            made = document.layers.add(layer.name, linetype=_DASHED if layer.is_dashed else "Continuous")
            made.rgb = layer.colour
            made.description = layer.meaning
            made.dxf.lineweight = round(100 * layer.weight_mm)
        space = document.modelspace()
        _draw(space, drawing.shapes)
        for block in drawing.blocks:
            _insert(document, space, block)
        _set_view(document, drawing)
        document.saveas(path, encoding="utf-8")


@contextmanager
def _fixed_times() -> Iterator[Any]:
    """Keep the time of writing and chance numbers out of the file."""
    import ezdxf

    options: Any = vars(ezdxf)["options"]  # part of its published interface, though not of its typed one
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield ezdxf
    finally:
        options.write_fixed_meta_data_for_testing = before


def _insert(document: Any, space: Any, block: Block) -> None:
    made = document.blocks.new(block.name)
    _draw(made, block.shapes)
    space.add_blockref(block.name, block.at, dxfattribs={"layer": "0"})


def _draw(space: Any, shapes: Sequence[Shape]) -> None:
    for shape in shapes:
        look = {"layer": shape.layer}
        if isinstance(shape, Line):
            for points in _pieces(shape):
                space.add_lwpolyline(points, close=shape.is_closed, dxfattribs=look)
        elif isinstance(shape, Circle):
            space.add_circle(shape.at, shape.radius, dxfattribs=look)
        else:
            text = space.add_text(
                plain_text(shape.text), height=shape.height, rotation=shape.turn_deg, dxfattribs=look
            )
            text.set_placement(shape.at)


def _pieces(line: Line) -> Iterator[tuple[tuple[float, float], ...]]:
    """Yield a line in pieces end to end: the time for one grows with the square of its points."""
    most = len(line.points) if line.is_closed else _MOST_POINTS
    for start in range(0, max(len(line.points) - 1, 1), most):
        yield line.points[start : start + most + 1]


def plain_text(text: str) -> str:
    """Return a text that is shown as it is: on one line, and with no orders to the program that shows it.

    Examples
    --------
    >>> plain_text("50%%d wide")
    '50% %d wide'
    """
    while "%%" in text:
        text = text.replace("%%", "% %")
    return _CONTROL.sub(" ", text).replace("^", "^ ")


def _set_view(document: Any, drawing: Drawing) -> None:
    """Show the plan when the file is opened."""
    points = [point for shape in drawing.shapes if isinstance(shape, Line) for point in shape.points]
    if not points:
        return
    xs, ys = [x for x, _ in points], [y for _, y in points]
    middle = (0.5 * (min(xs) + max(xs)), 0.5 * (min(ys) + max(ys)))
    height = max(max(ys) - min(ys), 0.6 * (max(xs) - min(xs)), 1.0)
    document.set_modelspace_vport(height=height, center=middle)
