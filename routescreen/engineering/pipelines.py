"""Steel pipelines beside the link: parallels and crossings that ask for a study of interference.

Room: ``engineering``. Pure arrays in SI units. It flags, it does not judge: stray and induced currents are
not computed (EN 50162 and ISO/DIS 24695 by title only).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.values import not_negative

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]
    Flags = NDArray[np.bool_]


def crossing_angle_deg(first_xy: ArrayLike, second_xy: ArrayLike) -> Array:
    """Angle between two directions in plan, 0 parallel, 90 square [deg].

    Parameters
    ----------
    first_xy, second_xy : array_like of shape (..., 2)
        Directions of the link and of the pipeline where they cross; their lengths don't count.

    Returns
    -------
    ndarray of float64, shape (...)
        NaN where one has no length.
    """
    first, second = np.asarray(first_xy, dtype=np.float64), np.asarray(second_xy, dtype=np.float64)
    cross = first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]
    dot = first[..., 0] * second[..., 0] + first[..., 1] * second[..., 1]
    has_length = np.any(first != 0.0, axis=-1) & np.any(second != 0.0, axis=-1)
    return np.where(has_length, np.degrees(np.arctan2(np.abs(cross), np.abs(dot))), np.nan)


def distance_to_line_m(point_xy_m: ArrayLike, line_xy_m: ArrayLike) -> Array:
    """Distance in plan of points from a line with corners [m].

    Parameters
    ----------
    point_xy_m : array_like of shape (n, 2)
        E.g. of the link, a few metres apart [m].
    line_xy_m : array_like of shape (n_points, 2)
        Corners of the pipeline, two or more [m].

    Returns
    -------
    ndarray of float64, shape (n,)
    """
    points, line = np.asarray(point_xy_m, dtype=np.float64), np.asarray(line_xy_m, dtype=np.float64)
    if line.ndim != 2 or line.shape[0] < 2:
        raise ValueError("the line must have two or more points")
    start, leg = line[:-1], np.diff(line, axis=0)
    away = points[:, np.newaxis, :] - start
    square = np.sum(leg**2, axis=1)
    along = np.divide(
        np.sum(away * leg, axis=2), square, out=np.zeros((len(points), len(leg))), where=square > 0.0
    )
    nearest = away - np.clip(along, 0.0, 1.0)[..., np.newaxis] * leg
    return np.asarray(np.min(np.hypot(nearest[..., 0], nearest[..., 1]), axis=1))


def parallel_length_m(step_m: ArrayLike, distance_m: ArrayLike, limit_m: float) -> float:
    """Length of the link that lies near a pipeline [m].

    Parameters
    ----------
    step_m : array_like of shape (n,)
        Length of link that each point stands for [m].
    distance_m : array_like of shape (n,)
        Of the point from the pipeline, see `distance_to_line_m` [m].
    limit_m : float
        300 (common practice, no source) [m].
    """
    near = not_negative("the distance", distance_m) < limit_m
    return float(np.sum(np.where(near, not_negative("the steps", step_m), 0.0)))


@dataclass(frozen=True, slots=True)
class PipelineLimits:
    """Below what a pipeline asks for a study of interference (common practice, no source).

    Attributes
    ----------
    parallel_m : float
        Distance of a parallel, 300 [m].
    clear_m : float
        Clear distance at a crossing, outside to outside, 2.0 [m].
    angle_deg : float
        Crossing angle, 60 [deg].
    """

    parallel_m: float
    clear_m: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class PipelineFlags:
    """What is too near, by pipeline.

    Attributes
    ----------
    is_near, is_low, is_flat : ndarray of bool
        Parallel nearer, crossing with less clearance, crossing at a smaller angle than allowed.
    """

    is_near: Flags
    is_low: Flags
    is_flat: Flags

    @property
    def needs_study(self) -> Flags:
        """Whether any of the three holds."""
        return np.asarray(self.is_near | self.is_low | self.is_flat)


def pipeline_flags(
    distance_m: ArrayLike,
    clear_m: ArrayLike,
    angle_deg: ArrayLike,
    *,
    is_crossed: ArrayLike,
    limits: PipelineLimits,
) -> PipelineFlags:
    """Compare pipelines with the limits.

    Parameters
    ----------
    distance_m : array_like
        Least distance in plan of a stretch that does not cross; NaN counts as near [m].
    clear_m, angle_deg : array_like
        Clear distance and angle at a crossing, unused elsewhere; NaN counts as too little [m], [deg].
    is_crossed : array_like of bool
    limits : PipelineLimits
    """
    crossed = np.asarray(is_crossed, dtype=bool)
    near = ~crossed & ~(np.asarray(distance_m, dtype=np.float64) >= limits.parallel_m)
    low = crossed & ~(np.asarray(clear_m, dtype=np.float64) >= limits.clear_m)
    flat = crossed & ~(np.asarray(angle_deg, dtype=np.float64) >= limits.angle_deg)
    return PipelineFlags(*np.broadcast_arrays(near, low, flat))
