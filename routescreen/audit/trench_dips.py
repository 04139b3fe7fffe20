"""Where the trench dips below what it crosses, and the ramps on which the pipes go down and come up again.

Room: ``audit``. May use ``drives`` (the ramps), ``engineering`` and its neighbours. The plan lays the pipes
at one depth all along; a dip is what the checks of the crossings ask for, no part of the bill.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.report import TOLERANCE_M
from routescreen.audit.trench_crossing_proofs import dip_bottom_m, dip_top_m
from routescreen.drives.ramp import laid_run_m, ramp_radius_m
from routescreen.engineering.ramp import swing_angle_deg

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

_NO_DIP_M = 1e-6


@dataclass(frozen=True, slots=True)
class Dip:
    """One dip of the trench.

    Attributes
    ----------
    from_m, to_m : float
        Chainages between which the pipes lie at its full depth [m].
    below_m : float
        How far below their depth all along [m].
    run_m : float
        Plan length of the ramp at either end [m].
    bend_deg, radius_m : float
        Of the two bends of each ramp, four in all [deg], [m].
    crossings : tuple of int
        Whose stretches it lies under.
    """

    from_m: float
    to_m: float
    below_m: float
    run_m: float
    bend_deg: float
    radius_m: float
    crossings: tuple[int, ...]

    @property
    def knots_m(self) -> tuple[float, float, float, float]:
        """Chainages of its four bends [m]."""
        return self.from_m - self.run_m, self.from_m, self.to_m, self.to_m + self.run_m

    def room_m(self, start_m: float, end_m: float) -> float:
        """Return the lesser length beside its full depth within some bounds, for its ramps [m]."""
        return min(self.from_m - start_m, end_m - self.to_m)

    def fits(self, start_m: float, end_m: float) -> bool:
        """Whether it lies with its ramps between two chainages."""
        return self.run_m <= self.room_m(start_m, end_m) + TOLERANCE_M

    def depth_m(self, chainage_m: Array) -> Array:
        """Return how far the pipes lie below their depth all along, its ramps straight [m]."""
        return np.interp(chainage_m, self.knots_m, [0.0, self.below_m, self.below_m, 0.0])


def section_dips(scene: Scene, section: int) -> list[Dip]:
    """Return the dips of an open cut in order; where ramps would overlap they are one, the deepest.

    Parameters
    ----------
    scene : Scene
    section : int

    Returns
    -------
    list of Dip
    """
    a = scene.assumptions
    asked = []
    for index, meeting in enumerate(scene.meetings):
        if meeting.drive >= 0 or meeting.section != section:
            continue
        tops_m = [dip_top_m(scene, index, feature) for feature in meeting.features]
        top_m = float(np.nanmax([-math.inf, *tops_m]))
        below_m = top_m - a.trench.cover_to_pipe_m
        if below_m > _NO_DIP_M and dip_bottom_m(top_m, a) <= a.trench.deepest_sloped_m:
            asked.append(laid_dip(a, (meeting.from_m, meeting.to_m), below_m, (index,)))
    return _joined(a, sorted(asked, key=lambda dip: dip.from_m))


def laid_dip(
    a: Assumptions, stretch_m: tuple[float, float], below_m: float, crossings: tuple[int, ...]
) -> Dip:
    """Lay out one dip: on either side an arc, a straight where one is needed, and the counter-arc."""
    run_m, radius_m = float(laid_run_m(below_m, 0.0, a)), ramp_radius_m(a)
    angle_deg = float(swing_angle_deg(below_m, run_m, radius_m))
    return Dip(*stretch_m, below_m, run_m, angle_deg, radius_m, crossings)


def _joined(a: Assumptions, dips: list[Dip]) -> list[Dip]:
    """Join dips between which the pipes would not come up to their depth again."""
    done: list[Dip] = []
    for dip in dips:
        here = dip
        while done and done[-1].knots_m[3] > here.knots_m[0]:
            before = done.pop()
            stretch_m = min(before.from_m, here.from_m), max(before.to_m, here.to_m)
            below_m = max(before.below_m, here.below_m)
            here = laid_dip(a, stretch_m, below_m, before.crossings + here.crossings)
        done.append(here)
    return done
