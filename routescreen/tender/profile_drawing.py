"""The long section as shapes: x is the chainage, y the level above a datum, exaggerated.

Room: ``tender``. Tables in, shapes out. Levels that the tables don't hold are not drawn.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from routescreen.tender.drawing import Label, Line, Shape
from routescreen.tender.places import short_id
from routescreen.tender.profiles import invert_lines

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import pandas as pd
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

EXAGGERATION = 10.0
TEXT_M = 5.0  # 2.5 mm on paper at 1 : 2000
_LEVELS_M = 5.0  # between the lines of the grid
_ALONG_M = 500.0
_LINES = (("ground_m", "PROFILE_GROUND"), ("groundwater_m", "PROFILE_WATER"))


def profile_shapes(own: Mapping[str, pd.DataFrame], name: str) -> tuple[float, float, tuple[Shape, ...]]:
    """Draw the long section of one corridor.

    Parameters
    ----------
    own : mapping of str to DataFrame
        The result tables, rows of one corridor only.
    name : str
        The corridor.

    Returns
    -------
    datum_m, height_m : float
        Level of y = 0 [m], and y of the highest line of the grid [m].
    shapes : tuple of Shape
    """
    low_m, high_m = _range_m(own)

    def up(level_m: float) -> float:
        return (level_m - low_m) * EXAGGERATION

    shapes: list[Shape] = [*_grid(float(own["alignment"]["length_m"].iloc[0]), low_m, high_m)]
    profile = own["long_section"]
    at_m = profile["chainage_m"].to_numpy(dtype=float)
    for column, layer in _LINES:
        levels_m = profile[column].to_numpy(dtype=float)
        shapes += [Line(layer, _points(at_m[part], levels_m[part], low_m)) for part in _known(levels_m)]
    limit_m = profile["ground_m"].to_numpy(dtype=float) - profile["required_cover_m"].to_numpy(dtype=float)
    shapes += [
        Line("PROFILE_REQUIRED", _points(at_m[part], limit_m[part], low_m)) for part in _known(limit_m)
    ]
    for invert in invert_lines(own):
        layer = "PROFILE_BORES" if invert.is_drive else "PROFILE_TRENCH"
        points = _points(invert.at_m, invert.level_m, low_m)
        if invert.is_drive:
            crown = _points(invert.at_m, invert.level_m + invert.height_m, low_m)
            shapes.append(Line(layer, (*points, *crown[::-1]), is_closed=True))
        else:
            shapes.append(Line(layer, points))
    shapes += _shafts(own["shafts"], name, low_m)
    ground_m = profile["ground_m"].to_numpy(dtype=float)
    row: Any
    for row in own["crossing_schedule"].itertuples(index=False):
        at = float(row.chainage_m)
        top = up(float(np.interp(at, at_m, ground_m)))
        shapes.append(Line("PROFILE_CROSSINGS", ((at, top), (at, top + 3.0 * TEXT_M))))
        text = crossing_text(row, name)
        shapes.append(Label("PROFILE_LABELS", (at + 0.4 * TEXT_M, top + 3.4 * TEXT_M), text, TEXT_M, 90.0))
    return low_m, up(high_m), tuple(shapes)


def crossing_text(row: Any, corridor_id: str) -> str:
    """Return what is written at a crossing: its id, kind and name."""
    called = f" {row.name}" if isinstance(row.name, str) else ""
    return f"{short_id(row.crossing_id, corridor_id)} {row.kind}{called}"


def _range_m(own: Mapping[str, pd.DataFrame]) -> tuple[float, float]:
    """Return the datum and the highest level, round figures with all that is drawn between."""
    profile, shafts = own["long_section"], own["shafts"]
    levels = [profile[name].to_numpy(dtype=float) for name in ("ground_m", "invert_m", "groundwater_m")]
    bases = [shape.z - depth for shape, depth in zip(shafts.geometry, shafts["depth_m"], strict=True)]
    known = np.concatenate([*levels, np.array(bases, dtype=float)])
    known = known[np.isfinite(known)]
    low_m = math.floor((float(known.min()) - 1.0) / _LEVELS_M) * _LEVELS_M
    return low_m, math.ceil((float(known.max()) + 1.0) / _LEVELS_M) * _LEVELS_M


def _known(values: Floats) -> Iterator[slice]:
    """Yield the runs of two and more known values."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], np.isfinite(values).astype(int), [0]])))
    for start, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if end - start > 1:
            yield slice(start, end)


def _points(at_m: Floats, level_m: Floats, low_m: float) -> tuple[tuple[float, float], ...]:
    return tuple(zip(at_m.tolist(), ((level_m - low_m) * EXAGGERATION).tolist(), strict=True))


def _grid(length_m: float, low_m: float, high_m: float) -> Iterator[Shape]:
    top = (high_m - low_m) * EXAGGERATION
    for level_m in np.arange(low_m, high_m + 0.1, _LEVELS_M).tolist():
        y = (level_m - low_m) * EXAGGERATION
        yield Line("PROFILE_GRID", ((0.0, y), (length_m, y)))
        yield Label("PROFILE_LABELS", (-14.0 * TEXT_M, y - 0.5 * TEXT_M), f"{level_m:.1f} m", TEXT_M)
    for at_m in [*np.arange(0.0, length_m, _ALONG_M).tolist(), length_m]:
        yield Line("PROFILE_GRID", ((at_m, 0.0), (at_m, top)))
        text = f"{int(at_m // 1000)}+{at_m % 1000:06.2f}"
        yield Label("PROFILE_LABELS", (at_m + 0.5 * TEXT_M, -9.0 * TEXT_M), text, TEXT_M, 90.0)


def _shafts(shafts: pd.DataFrame, name: str, low_m: float) -> Iterator[Shape]:
    for text, at_m, depth_m, shape in zip(
        shafts["shaft_id"], shafts["chainage_m"], shafts["depth_m"], shafts.geometry, strict=True
    ):
        at, top = float(at_m), (float(shape.z) - low_m) * EXAGGERATION
        base = (float(shape.z) - float(depth_m) - low_m) * EXAGGERATION
        yield Line("PROFILE_SHAFTS", ((at, top), (at, base)))
        yield Label("PROFILE_LABELS", (at - TEXT_M, base - 2.0 * TEXT_M), short_id(text, name), TEXT_M)
