"""The finished alignment measured from its vertices alone: chainages, headings, sections, stations.

Room: ``audit``. Reads ``plan`` (pure data) and numpy; knows no frame, no feature and no raster.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.plan import Plan


@dataclass(frozen=True, slots=True)
class Route:
    """The alignment with what follows from its vertices.

    Attributes
    ----------
    xy_m : ndarray of shape (n, 2)
        Vertices [m].
    chainage_m : ndarray of shape (n,)
        Distance of each vertex from the start, in plan [m].
    direction : ndarray of shape (n - 1, 2)
        Unit heading of each piece; (0, 0) for a piece without length [-].
    is_drive, is_narrow : ndarray of bool, shape (n - 1,)
        As in the plan.
    drive_of_piece : ndarray of int64, shape (n - 1,)
        Index of the drive that the piece is, -1 in open cut.
    section_of_piece : ndarray of int64, shape (n - 1,)
        A drive is one section; so is each unbroken run of open cut.
    n_sections : int
    """

    xy_m: NDArray[np.float64]
    chainage_m: NDArray[np.float64]
    direction: NDArray[np.float64]
    is_drive: NDArray[np.bool_]
    is_narrow: NDArray[np.bool_]
    drive_of_piece: NDArray[np.int64]
    section_of_piece: NDArray[np.int64]
    n_sections: int

    @property
    def length_m(self) -> float:
        """Length of the alignment in plan [m]."""
        return float(self.chainage_m[-1])

    @property
    def n_pieces(self) -> int:
        """Number of straight pieces."""
        return len(self.is_drive)

    def segments(self, pieces: NDArray[np.int64] | None = None) -> NDArray[np.object_]:
        """Return some pieces as LineStrings, or all of them, an array of shape (n - 1,)."""
        of = np.arange(self.n_pieces) if pieces is None else pieces
        ends = np.stack([self.xy_m[of], self.xy_m[of + 1]], axis=1)
        return np.asarray(shapely.linestrings(ends), dtype=np.object_)

    def pieces_of_section(self, section: int) -> NDArray[np.int64]:
        """Return the pieces of one section, in order."""
        return np.flatnonzero(self.section_of_piece == section).astype(np.int64)

    def bounds_of_section(self, section: int) -> tuple[float, float]:
        """Return the chainage at which a section begins and ends [m]."""
        pieces = self.pieces_of_section(section)
        return float(self.chainage_m[pieces[0]]), float(self.chainage_m[pieces[-1] + 1])

    def span_of_cells(
        self, section: int, middle_m: NDArray[np.float64], step_m: NDArray[np.float64]
    ) -> tuple[float, float]:
        """Return the chainage from the first to the last cell of a stretch of a section [m].

        Parameters
        ----------
        section : int
        middle_m : ndarray of shape (k,)
            Chainage of the cells' middles, in order [m].
        step_m : ndarray of shape (k,)
            Their lengths [m].

        Notes
        -----
        Coordinates of six or seven digits put the edge of an outer cell up to some 1e-9 m outside its
        section, at the start below 0, which is no chainage; so the section's bounds hold.
        """
        from_m, to_m = self.bounds_of_section(section)
        return (
            max(from_m, float(middle_m[0] - step_m[0] / 2.0)),
            min(to_m, float(middle_m[-1] + step_m[-1] / 2.0)),
        )

    def chainage_along(self, piece: NDArray[np.int64], xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the chainage of points that lie on the given pieces [m].

        Parameters
        ----------
        piece : ndarray of shape (k,)
        xy_m : ndarray of shape (k, 2)
        """
        along = np.einsum("ij,ij->i", xy_m - self.xy_m[piece], self.direction[piece])
        length_m = np.diff(self.chainage_m)[piece]
        return np.asarray(self.chainage_m[piece] + np.clip(along, 0.0, length_m), dtype=np.float64)

    def line(self) -> shapely.LineString:
        """Return the whole alignment as one line."""
        return shapely.LineString(self.xy_m)

    def point_at(self, chainage_m: float) -> tuple[float, float]:
        """Return the point of the alignment at a chainage [m]."""
        x = float(np.interp(chainage_m, self.chainage_m, self.xy_m[:, 0]))
        y = float(np.interp(chainage_m, self.chainage_m, self.xy_m[:, 1]))
        return x, y


def measure_route(plan: Plan) -> Route:
    """Measure the plan's alignment.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    Route
    """
    xy_m = np.asarray(plan.alignment_xy_m, dtype=np.float64)
    step = np.diff(xy_m, axis=0)
    length_m = np.hypot(step[:, 0], step[:, 1])
    safe_m = np.where(length_m > 0.0, length_m, 1.0)
    is_drive = np.asarray(plan.is_drive, dtype=np.bool_)
    drive_of_piece = np.full(len(is_drive), -1, dtype=np.int64)
    for index, drive in enumerate(plan.drives):
        if 0 <= drive.from_vertex < len(is_drive):
            drive_of_piece[drive.from_vertex] = index
    section = _sections(is_drive)
    return Route(
        xy_m=xy_m,
        chainage_m=np.concatenate([[0.0], np.cumsum(length_m)]),
        direction=step / safe_m[:, None],
        is_drive=is_drive,
        is_narrow=np.asarray(plan.is_narrow, dtype=np.bool_),
        drive_of_piece=drive_of_piece,
        section_of_piece=section,
        n_sections=int(section[-1]) + 1 if len(section) else 0,
    )


def _sections(is_drive: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return the section of each piece: a new one at each drive and at each open cut after a drive."""
    starts = np.ones(len(is_drive), dtype=np.bool_)
    starts[1:] = is_drive[1:] | is_drive[:-1]
    return np.cumsum(starts).astype(np.int64) - 1


def stations(length_m: float, step_m: float) -> NDArray[np.float64]:
    """Return distances 0, step, 2 step, ... and the exact end.

    Parameters
    ----------
    length_m, step_m : float
        Length to cover and distance between stations [m].

    Returns
    -------
    ndarray of shape (k,)
        Strictly rising, first 0, last `length_m` [m].

    Examples
    --------
    >>> stations(2.5, 1.0).tolist()
    [0.0, 1.0, 2.0, 2.5]
    >>> stations(2.0, 1.0).tolist()
    [0.0, 1.0, 2.0]
    """
    inner = np.arange(0.0, length_m, step_m)
    return np.append(inner[inner < length_m - 1e-9], length_m)


def cells_between(
    from_m: float, to_m: float, step_m: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Cut a stretch into pieces of one step, the last one shorter.

    Returns
    -------
    middle_m, width_m : ndarray of shape (k,)
        Chainage of the middle of each piece and its length; the lengths add up to the stretch [m].

    Examples
    --------
    >>> [values.tolist() for values in cells_between(10.0, 12.5, 1.0)]
    [[10.5, 11.5, 12.25], [1.0, 1.0, 0.5]]
    """
    edges = from_m + stations(to_m - from_m, step_m)
    return (edges[:-1] + edges[1:]) / 2.0, np.diff(edges)
