"""The frame axis: a smooth line along the middle of the corridor, or along a given axis or line.

Room: ``corridor``. Geometry only. Imports ``errors``, ``project`` and ``corridor.centre``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
import shapely.ops
from scipy.interpolate import CubicSpline
from scipy.linalg import solveh_banded

from routescreen.corridor.centre import (
    corridor_width_m,
    end_middles,
    medial_line,
    section_extents,
    section_middles,
)
from routescreen.errors import InputError, Problem

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import LineString, Polygon

    from routescreen.project import CorridorInput

# smoothing lengths tried in turn, as multiples of half the corridor's mean width
_SMOOTHING_STEPS = (0.25, 0.4, 0.6, 0.9, 1.4, 2.0, 3.0, 4.5, 7.0)
_MAX_ROUNDS = 80
_STILL_SHARE = 1e-9  # of the corridor's width: below this the line counts as still
_STEP_SHARE = 0.5  # of the way to the middle of the section in one round
_MOST_GROWTH = 1.2  # of the number of stations, before a round of settling is given up
_SAMPLES_PER_SPAN = 16
_TERMINAL_TOLERANCE_M = 1e-3


@dataclass(frozen=True, slots=True)
class Axis:
    """A line known by stations of equal spacing, with continuous direction.

    Attributes
    ----------
    xy_m : ndarray of shape (n, 2)
        Points along the line, dense enough to measure its length by their chords [m].
    tangent : ndarray of shape (n, 2)
        Unit direction there.
    chainage_m : ndarray of shape (n,)
        Length from the start [m].
    """

    xy_m: NDArray[np.float64]
    tangent: NDArray[np.float64]
    chainage_m: NDArray[np.float64]

    @property
    def length_m(self) -> float:
        """Length of the axis [m]."""
        return float(self.chainage_m[-1])

    def at(self, chainage_m: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return points and unit directions; beyond the ends the line runs straight on."""
        inside = np.clip(chainage_m, 0.0, self.length_m)
        xy = _interpolate(inside, self.chainage_m, self.xy_m)
        tangent = _unit(_interpolate(inside, self.chainage_m, self.tangent))
        return xy + (chainage_m - inside)[:, None] * tangent, tangent


def frame_axis(corridor: CorridorInput, *, cell_m: float) -> Axis:
    """Derive the frame axis of a corridor.

    A fixed alignment is its own axis. With a given axis that one is cut to the terminals, else the
    line in the middle of the corridor's square sections is found. Either is then smoothed, with the
    terminals held, until it bends nowhere more sharply than the corridor is wide.

    Parameters
    ----------
    corridor : CorridorInput
    cell_m : float
        Spacing of the frame [m].

    Returns
    -------
    Axis

    Raises
    ------
    InputError
        If the terminals can't be told, lie off a fixed line, or the corridor is too bent for its width.
    """
    if corridor.fixed_line is not None:
        return _fixed_axis(corridor, cell_m)
    if corridor.outline is None:
        raise InputError(
            [_problem(corridor, "The corridor has neither an outline nor a fixed line.", "Give one.")]
        )
    outline = corridor.outline
    width_m = corridor_width_m(outline)
    spacing_m = max(cell_m, width_m / 8.0)
    start, end = _terminals(corridor, outline)
    _check_inside(corridor, outline, start, end)
    if corridor.axis is not None:
        return _smoothed_until_wide(corridor, _cut(corridor.axis, start, end, spacing_m), spacing_m, width_m)
    first = restation(medial_line(outline, start, end), spacing_m)
    return _smoothed_until_wide(corridor, first, spacing_m, width_m)


def _terminals(corridor: CorridorInput, outline: Polygon) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return start and end: as given, else the ends of the axis, else the middles of the end edges."""
    ends: list[NDArray[np.float64] | None] = [
        None if point is None else np.array([point.x, point.y]) for point in (corridor.start, corridor.end)
    ]
    if corridor.axis is not None:
        parts = shapely.get_parts(corridor.axis.intersection(outline.buffer(1e-6)))
        # each part runs along the axis: its ends lie furthest back and furthest on
        ends_of = [shapely.get_coordinates(part)[[0, -1]] for part in parts if not part.is_empty]
        coordinates = np.concatenate(ends_of) if ends_of else np.zeros((0, 2))
        if len(np.unique(coordinates, axis=0)) < 2:
            raise InputError(
                [_problem(corridor, "The axis does not lie in the corridor.", "Draw it inside.", "axis")]
            )
        along = [corridor.axis.project(shapely.Point(xy)) for xy in coordinates]
        guess = (coordinates[int(np.argmin(along))], coordinates[int(np.argmax(along))])
    elif ends[0] is None or ends[1] is None:
        found = end_middles(outline)
        if found is None:
            remedy = "Add a layer terminals with a start and an end point, or a layer axis."
            raise InputError(
                [_problem(corridor, "The corridor's two ends can't be told from its shape.", remedy)]
            )
        guess = found
    else:
        return ends[0], ends[1]
    start, end = (guess[k] if ends[k] is None else ends[k] for k in (0, 1))
    assert start is not None
    assert end is not None
    return start, end


def _check_inside(
    corridor: CorridorInput, outline: Polygon, start: NDArray[np.float64], end: NDArray[np.float64]
) -> None:
    """Raise if a terminal lies outside the corridor, or both are one."""
    problems = []
    for role, xy in (("start", start), ("end", end)):
        away_m = float(outline.distance(shapely.Point(xy)))
        if away_m > _TERMINAL_TOLERANCE_M:
            text = f"The {role} terminal lies {away_m:.2f} m outside the corridor."
            problems.append(_problem(corridor, text, "Move it inside.", "terminals"))
    if np.hypot(*(end - start)) <= _TERMINAL_TOLERANCE_M:
        problems.append(_problem(corridor, "Start and end terminal coincide.", "Move one.", "terminals"))
    if problems:
        raise InputError(problems)


def _fixed_axis(corridor: CorridorInput, cell_m: float) -> Axis:
    """Return the fixed line, cut to the terminals, as axis; its direction turns over one cell at corners."""
    line = corridor.fixed_line
    assert line is not None
    along = [0.0, line.length]
    for k, point in enumerate((corridor.start, corridor.end)):
        if point is None:
            continue
        if line.distance(point) > cell_m / 2.0:
            text = f"A terminal lies {line.distance(point):.1f} m off the fixed alignment."
            raise InputError([_problem(corridor, text, "Put it on the line.", "terminals")])
        along[k] = line.project(point)
    piece = shapely.ops.substring(line, along[0], along[1])
    if not isinstance(piece, shapely.LineString):
        raise InputError(
            [_problem(corridor, "Start and end terminal coincide on the fixed alignment.", "Move one.")]
        )
    return _polyline_axis(corridor, piece, cell_m)


def _polyline_axis(corridor: CorridorInput, line: LineString, cell_m: float) -> Axis:
    """Return a polyline as axis: exact points, direction from the chord over one cell."""
    n_steps = max(2, int(np.ceil(line.length / (cell_m / 8.0))))
    corners = np.cumsum(np.hypot(*np.diff(shapely.get_coordinates(line), axis=0).T))[:-1]
    chainage = np.unique(np.concatenate([np.linspace(0.0, line.length, n_steps + 1), corners]))
    reach = min(cell_m / 2.0, line.length / 2.0)
    ahead = shapely.get_coordinates(line.interpolate(np.minimum(chainage + reach, line.length)))
    behind = shapely.get_coordinates(line.interpolate(np.maximum(chainage - reach, 0.0)))
    if np.hypot(*(ahead - behind).T).min() < 1e-3 * reach:
        raise InputError([_problem(corridor, "The fixed alignment doubles back.", "Straighten it.")])
    xy = shapely.get_coordinates(line.interpolate(chainage))
    return Axis(xy_m=xy, tangent=_unit(ahead - behind), chainage_m=chainage)


def _cut(
    axis: LineString, start: NDArray[np.float64], end: NDArray[np.float64], spacing_m: float
) -> NDArray[np.float64]:
    """Return points of the given axis between the terminals, its ends replaced by them."""
    along = [axis.project(shapely.Point(xy)) for xy in (start, end)]
    piece = shapely.ops.substring(axis, along[0], along[1])
    n_spans = max(1, round(piece.length / spacing_m))
    points = shapely.get_coordinates(piece.interpolate(np.linspace(0.0, piece.length, n_spans + 1)))
    points[0], points[-1] = start, end
    return points


def _smoothed_until_wide(
    corridor: CorridorInput, first: NDArray[np.float64], spacing_m: float, width_m: float
) -> Axis:
    """Smooth with growing strength until the radius exceeds the half-width everywhere."""
    outline = corridor.outline
    assert outline is not None
    filled = shapely.Polygon(outline.exterior)
    reported = None
    for step in _SMOOTHING_STEPS:
        smoothing_m = step * width_m / 2.0
        if corridor.axis is not None:
            points = smooth(first, smoothing_m, spacing_m)
        else:
            points = _settle(first, filled, smoothing_m, spacing_m, width_m)
        axis = spline_axis(points)
        worst = _tightest(axis, filled, spacing_m)
        if worst[1] > worst[2] and _stays_inside(axis, filled, spacing_m):
            return axis
        reported = reported or worst
    assert reported is not None
    text = (
        f"The corridor is too bent for its width at chainage {reported[0]:.0f} m: "
        f"radius {reported[1]:.0f} m, half-width {reported[2]:.0f} m."
    )
    raise InputError([_problem(corridor, text, "Make it narrower in the bend, or split it there.")])


def _settle(
    first: NDArray[np.float64], filled: Polygon, smoothing_m: float, spacing_m: float, width_m: float
) -> NDArray[np.float64]:
    """Move the line to the middle of its square sections, smooth and re-station it until it is still."""
    points = first
    for _ in range(_MAX_ROUNDS):
        middles = section_middles(filled, points, _polyline_tangents(points), first)
        target = points + _STEP_SHARE * (middles - points)
        moved = restation(smooth(target, smoothing_m, spacing_m), spacing_m)
        if len(moved) > _MOST_GROWTH * len(first) + 1:
            break  # the sections cross one another: only stronger smoothing can help
        if len(moved) == len(points) and np.abs(moved - points).max() < _STILL_SHARE * width_m:
            return moved
        points = moved
    return points


def _stays_inside(axis: Axis, filled: Polygon, spacing_m: float) -> bool:
    """Return whether smoothing has not pulled the line out of the corridor."""
    return bool(filled.buffer(spacing_m / 2.0).covers(shapely.LineString(axis.xy_m)))


def _tightest(axis: Axis, filled: Polygon, spacing_m: float) -> tuple[float, float, float]:
    """Return chainage, radius and inner half-width where radius / half-width is least [m]."""
    n_spans = max(2, round(axis.length_m / spacing_m))
    chainage = np.linspace(0.0, axis.length_m, n_spans + 1)
    xy, tangent = axis.at(chainage)
    turn = np.arctan2(_cross(tangent[:-1], tangent[1:]), (tangent[:-1] * tangent[1:]).sum(axis=1))
    left, right = section_extents(filled, xy, tangent)
    inner = np.where(turn > 0.0, np.maximum(left[:-1], left[1:]), np.maximum(right[:-1], right[1:]))
    with np.errstate(divide="ignore", over="ignore"):  # straight: an infinite radius
        radius = np.diff(chainage) / np.abs(turn)
    place = int(np.argmin(radius / np.maximum(inner, 1e-9)))
    return float(chainage[place]), float(radius[place]), float(inner[place])


def smooth(points: NDArray[np.float64], smoothing_m: float, spacing_m: float) -> NDArray[np.float64]:
    """Smooth a line of equally spaced points; its two ends stay where they are.

    Minimises the squared distance to `points` plus (smoothing / spacing)^4 times the squared second
    differences; bends much shorter than the smoothing length vanish, a straight line stays as it is.

    Parameters
    ----------
    points : ndarray of shape (n, 2)
    smoothing_m, spacing_m : float
        Smoothing length and spacing of the points [m].

    Returns
    -------
    ndarray of shape (n, 2)
    """
    n_inner = len(points) - 2
    if n_inner < 1:
        return points.copy()
    weight = (smoothing_m / spacing_m) ** 4
    bands = np.zeros((3, len(points)))  # upper form of 1 + weight D'D
    bands[2] = 1.0 + weight * _diagonal(len(points))
    bands[1, 1:] = weight * _first_off(len(points))
    bands[0, 2:] = weight
    right = points.copy()
    right[1] -= bands[1, 1] * points[0]
    right[-2] -= bands[1, -1] * points[-1]
    if n_inner > 1:
        right[2] -= weight * points[0]
        right[-3] -= weight * points[-1]
    n_bands = min(3, n_inner)
    solved = solveh_banded(bands[3 - n_bands :, 1:-1], right[1:-1])
    return np.vstack([points[:1], solved, points[-1:]])


def _diagonal(n: int) -> NDArray[np.float64]:
    """Return the main diagonal of D'D for second differences of n points."""
    diagonal = np.zeros(n)
    diagonal[:-2] += 1.0
    diagonal[1:-1] += 4.0
    diagonal[2:] += 1.0
    return diagonal


def _first_off(n: int) -> NDArray[np.float64]:
    """Return the first off-diagonal of D'D for second differences of n points."""
    off = np.zeros(n - 1)
    off[:-1] -= 2.0
    off[1:] -= 2.0
    return off


def restation(points: NDArray[np.float64], spacing_m: float) -> NDArray[np.float64]:
    """Return equally spaced points on the same polyline, at about the spacing given, ends kept."""
    chainage = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    n_spans = max(1, round(float(chainage[-1]) / spacing_m))
    moved = _interpolate(np.linspace(0.0, chainage[-1], n_spans + 1), chainage, points)
    moved[0], moved[-1] = points[0], points[-1]
    return moved


def spline_axis(points: NDArray[np.float64]) -> Axis:
    """Return the natural cubic spline through points as an axis with continuous direction."""
    chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    if len(points) == 2:
        tangent = _unit(np.diff(points, axis=0))
        return Axis(xy_m=points, tangent=np.vstack([tangent, tangent]), chainage_m=chord)
    spline = CubicSpline(chord, points, bc_type="natural")
    n_spans = len(points) - 1
    place = np.interp(
        np.arange(n_spans * _SAMPLES_PER_SPAN + 1) / _SAMPLES_PER_SPAN, np.arange(n_spans + 1), chord
    )
    xy = spline(place)
    chainage = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))])
    return Axis(xy_m=xy, tangent=_unit(spline(place, 1)), chainage_m=chainage)


def _polyline_tangents(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return unit directions at the points of a polyline, by central differences."""
    ahead = np.vstack([points[1:], points[-1:]])
    behind = np.vstack([points[:1], points[:-1]])
    return _unit(ahead - behind)


def _interpolate(
    at: NDArray[np.float64], chainage: NDArray[np.float64], values: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Interpolate two columns linearly."""
    return np.column_stack([np.interp(at, chainage, values[:, k]) for k in (0, 1)])


def _unit(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return vectors scaled to length 1."""
    scaled: NDArray[np.float64] = vectors / np.hypot(vectors[:, 0], vectors[:, 1])[:, None]
    return scaled


def _cross(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the third component of the cross product of plane vectors."""
    product: NDArray[np.float64] = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return product


def _problem(corridor: CorridorInput, problem: str, remedy: str, layer: str = "corridor") -> Problem:
    """Return a problem of this corridor."""
    return Problem(problem=problem, remedy=remedy, layer=layer, feature=corridor.corridor_id)
