"""Plan and long section as still pictures, for paper and for readers without scripts.

Room: ``report``. Text of SVG; every name in it is escaped.
"""

from __future__ import annotations

import math
from html import escape
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd
    from numpy.typing import NDArray

    from routescreen.screened import Backdrop

    Array = NDArray[np.float64]

WIDTH, PLAN_HEIGHT, PROFILE_HEIGHT = 1000.0, 330.0, 260.0
MARGIN = 40.0
MOST_POINTS = 2000  # a curve of more says no more on paper
NICE = (1.0, 2.0, 5.0, 10.0)


def nice_step(span: float, n_wanted: int) -> float:
    """Return a step of 1, 2 or 5 times a power of ten that cuts a span into about so many parts.

    Examples
    --------
    >>> nice_step(12055.0, 6), nice_step(33.0, 5)
    (2000.0, 5.0)
    """
    rough = max(span, 1e-9) / n_wanted
    power = 10.0 ** math.floor(math.log10(rough))
    return power * min(NICE, key=lambda nice: abs(math.log(nice * power / rough)))


def plan_svg(tables: Mapping[str, pd.DataFrame], backdrop: Backdrop | None, title: str) -> str:
    """Return the plan of one corridor, north up.

    Parameters
    ----------
    tables : mapping of str to DataFrame
    backdrop : Backdrop or None
    title : str
        For readers that can't see it.

    Returns
    -------
    str
    """
    line = tables["alignment"].geometry.iloc[0]
    outline = None if backdrop is None else backdrop.outline
    frame = line if outline is None else shapely.union(line, outline)
    west, south, east, north = shapely.bounds(frame)
    scale = min((WIDTH - 2 * MARGIN) / max(east - west, 1.0), 720.0 / max(north - south, 1.0))
    height = max((north - south) * scale + 2 * MARGIN, 120.0)
    drawn = _Drawing(west, north, scale, 0.4 / scale)
    layers: list[str] = []
    if outline is not None:
        layers.append(drawn.path(outline, "edge"))
    if backdrop is not None:
        layers += [
            drawn.path(shape, f"k {_css(kind)}")
            for shape, kind in zip(backdrop.shapes, backdrop.kinds, strict=True)
        ]
    sections = tables["sections"]
    layers += [
        drawn.path(shape, "s-drive" if what == "drive" else "s-cut")
        for shape, what in zip(sections.geometry, sections["construction"], strict=True)
    ]
    layers += (
        [drawn.dot(shape, "shaft") for shape in tables["shafts"].geometry] if len(tables["shafts"]) else []
    )
    layers += [_scale_bar(scale, height), _north_arrow()]
    return _svg(height, title, layers)


class _Drawing:
    """Metres of the ground to points of the picture."""

    def __init__(self, west_m: float, north_m: float, scale: float, tolerance_m: float) -> None:
        self._west_m, self._north_m, self._scale, self._tolerance_m = west_m, north_m, scale, tolerance_m

    def path(self, shape: shapely.Geometry, look: str) -> str:
        thinned = shapely.simplify(shape, self._tolerance_m)
        chains = []
        for piece in shapely.get_parts(thinned):
            if isinstance(piece, shapely.Point):
                continue
            rings = [piece.exterior, *piece.interiors] if isinstance(piece, shapely.Polygon) else [piece]
            chains += [self._chain(ring, isinstance(piece, shapely.Polygon)) for ring in rings]
        return f'<path class="{look}" d="{"".join(chains)}"/>' if chains else ""

    def dot(self, shape: shapely.Geometry, look: str) -> str:
        x, y = self._points(shapely.get_coordinates(shape))[0]
        return f'<circle class="{look}" cx="{x:.1f}" cy="{y:.1f}" r="4"/>'

    def _chain(self, line: shapely.Geometry, is_closed: bool) -> str:
        points = self._points(shapely.get_coordinates(line))
        return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + ("Z" if is_closed else "")

    def _points(self, xy_m: Array) -> Array:
        x = MARGIN + (xy_m[:, 0] - self._west_m) * self._scale
        y = MARGIN + (self._north_m - xy_m[:, 1]) * self._scale
        return np.column_stack([x, y])


def profile_svg(
    table: pd.DataFrame,
    title: str,
    labels: Mapping[str, str],
    bands: Sequence[tuple[float, float, str]] = (),
) -> str:
    """Return the long section, heights exaggerated as said in it.

    Parameters
    ----------
    table : DataFrame
        The result table ``long_section`` of one corridor.
    title : str
    labels : mapping of str to str
        Words for the lines by column, for ``chainage`` and for ``exaggerated`` with a place for the number.
    bands : sequence of (float, float, str)
        Chainages between which the ground is shaded, and the look of that [m].

    Returns
    -------
    str
    """
    along, ground, invert, water = (
        table[name].to_numpy(dtype=float) for name in ("chainage_m", "ground_m", "invert_m", "groundwater_m")
    )
    levels = np.concatenate([ground, invert, water])
    low, high = float(np.nanmin(levels)), float(np.nanmax(levels))
    step = nice_step(max(high - low, 1.0), 5)
    low, high = math.floor(low / step) * step, math.ceil(high / step) * step
    x_scale = (WIDTH - 2 * MARGIN) / max(float(along[-1] - along[0]), 1.0)
    y_scale = (PROFILE_HEIGHT - 2 * MARGIN) / max(high - low, step)
    x = MARGIN + (along - along[0]) * x_scale

    def y_of(level: Array) -> Array:
        return PROFILE_HEIGHT - MARGIN - (level - low) * y_scale

    is_drive = (table["construction"] == "drive").to_numpy()
    parts = [_band((from_m - along[0], to_m - along[0]), x_scale, look) for from_m, to_m, look in bands]
    parts += _grid((low, high, step), y_scale, (float(along[0]), float(along[-1])), x_scale)
    parts += [
        _curve(x, y_of(water), "water"),
        _curve(x, y_of(ground), "ground"),
        _curve(x, np.where(is_drive, np.nan, y_of(invert)), "s-cut"),
        _curve(x, np.where(is_drive, y_of(invert), np.nan), "s-drive"),
    ]
    names = (("ground_m", "ground"), ("groundwater_m", "water"), ("open_cut", "s-cut"), ("drive", "s-drive"))
    for number, (name, look) in enumerate(names):
        at = MARGIN + number * 170.0
        parts.append(f'<path class="{look}" d="M{at:.0f} 14h26"/>')
        parts.append(f'<text x="{at + 32:.0f}" y="18">{escape(labels[name])}</text>')
    told = labels["exaggerated"].replace("{n}", f"{y_scale / x_scale:.0f}")
    parts.append(
        f'<text x="{WIDTH - MARGIN:.0f}" y="{PROFILE_HEIGHT - 6:.0f}" text-anchor="end">'
        f"{escape(labels['chainage'])}; {escape(told)}</text>"
    )
    return _svg(PROFILE_HEIGHT, title, parts)


def _band(ends_m: tuple[float, float], x_scale: float, look: str) -> str:
    x, width = MARGIN + ends_m[0] * x_scale, max((ends_m[1] - ends_m[0]) * x_scale, 1.0)
    height = PROFILE_HEIGHT - 2 * MARGIN
    return f'<rect class="{look}" x="{x:.1f}" y="{MARGIN}" width="{width:.1f}" height="{height:.0f}"/>'


def _curve(x: Array, y: Array, look: str) -> str:
    """Return a curve, broken where it has no value, of a bounded number of points."""
    path: list[str] = []
    is_down = False
    for index in _kept(x, y):
        if math.isnan(y[index]):
            is_down = False
            continue
        path.append(f"{'L' if is_down else 'M'}{x[index]:.1f} {y[index]:.1f}")
        is_down = True
    return f'<path class="{look}" d="{"".join(path)}"/>' if path else ""


def _kept(x: Array, y: Array) -> Sequence[int]:
    """Return the points to draw: of each stretch its ends, its highest and its lowest."""
    if len(x) <= MOST_POINTS:
        return range(len(x))
    kept: set[int] = set()
    for part in np.array_split(np.arange(len(x)), MOST_POINTS // 4):
        known = part[~np.isnan(y[part])]
        kept |= {int(part[0]), int(part[-1])}
        if len(known):
            kept |= {int(known[np.argmin(y[known])]), int(known[np.argmax(y[known])])}
    return sorted(kept)


def _grid(
    levels: tuple[float, float, float], y_scale: float, along: tuple[float, float], x_scale: float
) -> list[str]:
    low, high, step = levels
    parts = []
    for number in range(round((high - low) / step) + 1):
        level = low + number * step
        y = PROFILE_HEIGHT - MARGIN - (level - low) * y_scale
        parts.append(f'<path class="grid" d="M{MARGIN} {y:.1f}H{WIDTH - MARGIN}"/>')
        parts.append(f'<text x="{MARGIN - 4}" y="{y + 4:.1f}" text-anchor="end">{level:g}</text>')
    across = nice_step(along[1] - along[0], 8)
    for number in range(math.floor((along[1] - along[0]) / across) + 1):
        x = MARGIN + number * across * x_scale
        parts.append(f'<path class="grid" d="M{x:.1f} {MARGIN}V{PROFILE_HEIGHT - MARGIN}"/>')
        parts.append(
            f'<text x="{x:.1f}" y="{PROFILE_HEIGHT - MARGIN + 14:.1f}" text-anchor="middle">'
            f"{along[0] + number * across:g}</text>"
        )
    return parts


def _scale_bar(scale: float, height: float) -> str:
    length_m = nice_step(200.0 / scale, 1)
    at, y, width = MARGIN, height - 12.0, length_m * scale
    told = f"{length_m / 1000:g} km" if length_m >= 1000.0 else f"{length_m:g} m"
    return (
        f'<path class="bar" d="M{at} {y - 5:.1f}v5h{width:.1f}v-5"/>'
        f'<text x="{at + width + 6:.1f}" y="{y:.1f}">{told}</text>'
    )


def _north_arrow() -> str:
    x = WIDTH - MARGIN
    return (
        f'<path class="arrow" d="M{x:.0f} 8l-7 22l7 -5l7 5z"/>'
        f'<text x="{x:.0f}" y="44" text-anchor="middle">N</text>'
    )


def _css(kind: str) -> str:
    """Return a kind as the name of a look: nothing but letters, digits and dashes gets through."""
    return "".join(sign if sign.isascii() and sign.isalnum() else "-" for sign in kind)


def _svg(height: float, title: str, parts: Sequence[str]) -> str:
    return (
        f'<svg class="still" viewBox="0 0 {WIDTH:.0f} {height:.0f}" role="img" aria-label="{escape(title)}" '
        f'xmlns="http://www.w3.org/2000/svg">{"".join(parts)}</svg>'
    )
