"""The straight lines in plan that the works follow: the alignment's pieces and every bore of its drives.

Room: ``audit``. Geometry only; may use shapely and the audit's own ``route`` and ``bores``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.audit.bores import DriveLine
    from routescreen.audit.route import Route

ALIGNMENT = -1


@dataclass(frozen=True, slots=True)
class Tracks:
    """Straight lines in plan; every array has shape (n,).

    Attributes
    ----------
    line : ndarray of object
    piece : ndarray of int64
        Piece of the alignment that the line is, or runs beside.
    bore : ndarray of int64
        Number of the bore within its drive, `ALIGNMENT` for the alignment itself.
    """

    line: NDArray[np.object_]
    piece: NDArray[np.int64]
    bore: NDArray[np.int64]

    def swath(self, piece: int) -> shapely.Geometry:
        """Return the ground between the outermost lines of a piece."""
        lines = shapely.MultiLineString(list(self.line[self.piece == piece]))
        return lines.convex_hull


def tracks_of(route: Route, drives: Sequence[DriveLine]) -> Tracks:
    """Lay out the lines of a plan.

    Parameters
    ----------
    route : Route
    drives : sequence of DriveLine
        In the plan's order; none gives the alignment alone.

    Returns
    -------
    Tracks
        The pieces of the alignment first.
    """
    lines = [route.segments()]
    pieces = [np.arange(route.n_pieces, dtype=np.int64)]
    bores = [np.full(route.n_pieces, ALIGNMENT, dtype=np.int64)]
    for index, drive in enumerate(drives):
        of_drive = np.flatnonzero(route.drive_of_piece == index)
        if len(of_drive) == 0:
            continue
        n = len(drive.offsets_m)
        lines.append(drive.bore_lines())
        pieces.append(np.full(n, of_drive[0], dtype=np.int64))
        bores.append(np.arange(n, dtype=np.int64))
    return Tracks(np.concatenate(lines), np.concatenate(pieces), np.concatenate(bores))
