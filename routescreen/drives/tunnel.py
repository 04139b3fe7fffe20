"""The protection pipes of all cables in one enterable bore: where they stand in it.

Room: ``drives``. May import ``assumptions`` and the methods.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions


@dataclass(frozen=True, slots=True)
class PipeRing:
    """Pipes on saddles round the axis of a tunnel, neighbours all equally far apart.

    Attributes
    ----------
    offset_m, height_m : ndarray of shape (k,)
        Axes of the pipes, to the right of the tunnel's axis looking up-chainage and above it [m].
    outer_diameter_m : float
        Outer diameter of the tunnel's own pipe [m].
    inside_diameter_m : float
        Room inside it [m]; NaN where it isn't known.
    needed_m : float
        Diameter of the circle round all pipes [m].
    """

    offset_m: NDArray[np.float64]
    height_m: NDArray[np.float64]
    outer_diameter_m: float
    inside_diameter_m: float
    needed_m: float


def pipe_ring(a: Assumptions, name: str) -> PipeRing | None:
    """Place the pipes of all cables in the bore of a method; None where each cable has a bore of its own.

    Parameters
    ----------
    a : Assumptions
    name : str
        A key of ``assumptions.methods``.

    Returns
    -------
    PipeRing or None
        With the least spacing of the method between the axes of neighbouring pipes. The first pipe
        stands left of the top, a single one in the axis.
    """
    way, n = a.methods[name], a.link.n_cables
    if way.bores_per != "link":
        return None
    radius_m = 0.0 if n < 2 else way.least_spacing_m / (2.0 * np.sin(np.pi / n))
    turn = np.pi / n + 2.0 * np.pi * np.arange(n) / n
    return PipeRing(
        offset_m=-radius_m * np.sin(turn),
        height_m=radius_m * np.cos(turn),
        outer_diameter_m=way.driven_outer_diameter_m,
        inside_diameter_m=np.nan if way.inside_diameter_m is None else way.inside_diameter_m,
        needed_m=2.0 * radius_m + way.pipe_outer_diameter_m,
    )
