"""Geometry as whole decimetres from one origin, for the page.

Room: ``report``. A line is a flat list x0, y0, dx, dy, dx, dy ..: small numbers make a small file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    Origin = tuple[float, float]

PER_M = 10.0  # decimetres: finer than anybody can see on a page


def coded(xy_m: NDArray[np.float64], origin_m: Origin) -> list[int]:
    """Return a chain of points as one list of whole numbers.

    Parameters
    ----------
    xy_m : ndarray of shape (n, 2)
    origin_m : tuple of float

    Returns
    -------
    list of int
        The first point from the origin, then each from the one before [dm].

    Examples
    --------
    >>> coded(np.array([[101.0, 200.0], [101.5, 199.0]]), (100.0, 200.0))
    [10, 0, 5, -10]
    """
    at = np.rint((np.asarray(xy_m, dtype=np.float64)[:, :2] - np.asarray(origin_m)) * PER_M).astype(np.int64)
    steps = np.diff(at, axis=0, prepend=np.zeros((1, 2), np.int64))
    return [int(value) for value in steps.ravel()]


def parts(shape: shapely.Geometry, origin_m: Origin) -> tuple[str, list[list[int]]]:
    """Return what a shape is, ``area``, ``line`` or ``point``, and its rings, chains or points.

    Raises
    ------
    ValueError
        If the shape mixes kinds.
    """
    pieces = shapely.get_parts(shape)
    kinds = {_kind(piece) for piece in pieces}
    if len(kinds) != 1:
        raise ValueError(f"a shape of {sorted(kinds)}: areas, lines and points must come apart")
    chains: list[list[int]] = []
    for piece in pieces:
        for ring in _chains(piece):
            chains.append(coded(shapely.get_coordinates(ring), origin_m))
    return kinds.pop(), chains


def simple_shapes(shapes: Iterable[shapely.Geometry]) -> list[tuple[int, shapely.Geometry]]:
    """Return each shape with its number; a collection comes apart into areas, lines and points."""
    found = []
    for number, shape in enumerate(shapes):
        pieces = np.asarray(shapely.get_parts(shape), dtype=np.object_)
        kinds = np.array([_kind(piece) for piece in pieces])
        for kind in dict.fromkeys(kinds.tolist()):
            found.append((number, shapely.geometrycollections(pieces[kinds == kind])))
    return found


def _kind(piece: shapely.Geometry) -> str:
    return {0: "point", 1: "line", 2: "line", 3: "area"}[int(shapely.get_type_id(piece))]


def _chains(piece: shapely.Geometry) -> list[shapely.Geometry]:
    if isinstance(piece, shapely.Polygon):
        return [piece.exterior, *piece.interiors]
    return [piece]
