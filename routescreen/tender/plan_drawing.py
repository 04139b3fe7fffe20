"""The plan in real coordinates, and the drawing as a whole with a long section for each corridor.

Room: ``tender``. Tables in, shapes out.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from routescreen.schema import CAUTION
from routescreen.tender.drawing import Block, Circle, Drawing, Label, Line, Shape
from routescreen.tender.drawing_layers import LAYERS
from routescreen.tender.places import short_id
from routescreen.tender.profile_drawing import EXAGGERATION, TEXT_M, crossing_text, profile_shapes

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import pandas as pd

    from routescreen.screened import Backdrop

_SIGN_M = 3.0  # radius of the sign of a crossing or a joint
_EVERY_M = 1000.0  # between the chainages that are written along the alignment
_GAP_M = 150.0  # between the plan and what is drawn below it
_OUTLINES = (("compounds", "PLAN_COMPOUNDS"), ("layout_strips", "PLAN_STRIPS"))


def alignment_drawing(
    tables: Mapping[str, pd.DataFrame], backdrops: Mapping[str, Backdrop], crs_name: str
) -> Drawing:
    """Draw all corridors.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        The result tables.
    backdrops : mapping of str to Backdrop
        What lies in each corridor, by its name; one that isn't there is drawn without.
    crs_name : str

    Returns
    -------
    Drawing
        In metres. The plan lies where it is; the long sections lie below it, each a block whose origin is
        chainage 0 at its datum.
    """
    shapes: list[Shape] = []
    bottom_m, left_m = math.inf, math.inf
    names = [str(name) for name in tables["alignment"]["corridor_id"]]
    own_tables = [
        {key: table[table["corridor_id"] == name] for key, table in tables.items()} for name in names
    ]
    for name, own in zip(names, own_tables, strict=True):
        shapes += _plan(own, backdrops.get(name), name)
        bounds = own["alignment"].total_bounds
        left_m, bottom_m = min(left_m, float(bounds[0])), min(bottom_m, float(bounds[1]))
    for shape in shapes:
        if isinstance(shape, Line):
            bottom_m = min(bottom_m, *(point[1] for point in shape.points))
    left_m = math.floor(left_m / 100.0) * 100.0
    at_m = math.floor((bottom_m - _GAP_M) / 100.0) * 100.0
    blocks = []
    for number, (name, own) in enumerate(zip(names, own_tables, strict=True), start=1):
        datum_m, height_m, drawn = profile_shapes(own, name)
        at = (left_m, at_m - height_m)
        note = (
            f"Long section {name}: x = {at[0]:.0f} + chainage, y = {at[1]:.0f} + {EXAGGERATION:.0f} x (level "
            f"above datum), datum {datum_m:.0f} m; heights exaggerated {EXAGGERATION:.0f} times, lengths true"
        )
        drawn += (Label("PROFILE_LABELS", (0.0, height_m + 8.0 * TEXT_M), note, 1.6 * TEXT_M),)
        blocks.append(Block(f"LONG_SECTION_{number}", at, drawn))
        at_m = at[1] - _GAP_M - 8.0 * TEXT_M
    shapes += _notes(crs_name, (left_m, at_m))
    return Drawing(f"Alignment: {', '.join(names)}", LAYERS, tuple(shapes), tuple(blocks))


def _notes(crs_name: str, at: tuple[float, float]) -> list[Shape]:
    texts = (f"Plan in {crs_name}, metres.", *_broken(CAUTION, 160))
    return [
        Label("PLAN_LABELS", (at[0], at[1] - 2.0 * TEXT_M * row), text, TEXT_M)
        for row, text in enumerate(texts)
    ]


def _broken(text: str, most: int) -> Iterator[str]:
    line = ""
    for word in text.split():
        if line and len(line) + len(word) >= most:
            yield line
            line = ""
        line = f"{line} {word}".strip()
    yield line


def _plan(own: Mapping[str, pd.DataFrame], backdrop: Backdrop | None, name: str) -> list[Shape]:
    shapes = [*_behind(own, backdrop)]
    for key, layer in (("alignment", "PLAN_ALIGNMENT"), ("bores", "PLAN_BORES"), *_OUTLINES):
        for shape in own[key].geometry:
            shapes += _lines(shape, layer)
    shapes += _shafts(own, name)
    row: Any
    for row in own["crossing_schedule"].itertuples(index=False):
        at, text = _points(row.geometry)[0], crossing_text(row, name)
        shapes += [Circle("PLAN_CROSSINGS", at, _SIGN_M), _label(at, text, -60.0)]
    for row in own["joint_bays"].itertuples(index=False):
        at = _points(row.geometry)[0]
        shapes += [Circle("PLAN_JOINTS", at, _SIGN_M), _label(at, short_id(row.bay_id, name), 60.0)]
    shapes += _chainages(own["alignment"].geometry.iloc[0])
    return shapes


def _behind(own: Mapping[str, pd.DataFrame], backdrop: Backdrop | None) -> Iterator[Shape]:
    """Yield the corridor's edge and the features that the schedule names."""
    if backdrop is None:
        return
    if backdrop.outline is not None:
        yield from _lines(backdrop.outline, "PLAN_CORRIDOR")
    crossed = {part for text in own["crossing_schedule"]["feature_id"] for part in str(text).split(";")}
    for feature, shape in zip(backdrop.feature_ids, backdrop.shapes, strict=True):
        if feature in crossed:
            yield from _lines(shape, "PLAN_FEATURES")


def _lines(shape: shapely.Geometry, layer: str) -> Iterator[Line]:
    """Yield the lines and outlines of a geometry, in plan; points have none."""
    for part in shapely.get_parts([shape]):
        if part.geom_type == "Polygon":
            for ring in (part.exterior, *part.interiors):
                yield Line(layer, _points(ring)[:-1], is_closed=True)
        elif part.geom_type in ("LineString", "LinearRing"):
            yield Line(layer, _points(part))
        elif part.geom_type == "GeometryCollection":
            for inner in part.geoms:
                yield from _lines(inner, layer)


def _points(shape: shapely.Geometry) -> tuple[tuple[float, float], ...]:
    return tuple((x, y) for x, y in shapely.get_coordinates(shape).tolist())


def _shafts(own: Mapping[str, pd.DataFrame], name: str) -> Iterator[Shape]:
    shafts = own["shafts"]
    for text, role, depth_m, shape in zip(
        shafts["shaft_id"], shafts["role"], shafts["depth_m"], shafts.geometry, strict=True
    ):
        at = _points(shape)[0]
        yield Circle("PLAN_SHAFTS", at, 1.5 * _SIGN_M)
        yield Line("PLAN_SHAFTS", ((at[0] - _SIGN_M, at[1]), (at[0] + _SIGN_M, at[1])))
        yield Line("PLAN_SHAFTS", ((at[0], at[1] - _SIGN_M), (at[0], at[1] + _SIGN_M)))
        yield _label(at, f"{short_id(text, name)} {role}, {depth_m:.2f} m deep", 75.0)


def _label(at: tuple[float, float], text: str, turn_deg: float) -> Label:
    turn = math.radians(turn_deg)
    off = (2.0 * _SIGN_M * math.cos(turn), 2.0 * _SIGN_M * math.sin(turn))
    return Label("PLAN_LABELS", (at[0] + off[0], at[1] + off[1]), text, TEXT_M, turn_deg)


def _chainages(line: shapely.LineString) -> Iterator[Shape]:
    """Yield a tick across the alignment and its chainage, at both ends and each kilometre."""
    marks_m = sorted({0.0, *np.arange(0.0, line.length, _EVERY_M).tolist(), line.length})
    for at_m in marks_m:
        near = [line.interpolate(min(max(at_m + step, 0.0), line.length)) for step in (-1.0, 0.0, 1.0)]
        dx, dy = near[2].x - near[0].x, near[2].y - near[0].y
        size = math.hypot(dx, dy) or 1.0
        left = (-dy / size * 2.0 * TEXT_M, dx / size * 2.0 * TEXT_M)
        at = (near[1].x, near[1].y)
        yield Line("PLAN_LABELS", ((at[0] - left[0], at[1] - left[1]), (at[0] + left[0], at[1] + left[1])))
        text = f"{int(at_m // 1000)}+{at_m % 1000:06.2f}"
        yield Label("PLAN_LABELS", (at[0] + left[0], at[1] + left[1]), text, TEXT_M)
