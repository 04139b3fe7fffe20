"""The ramps of a dip of open cut: how deep they lie part by part, how the pipes lie there.

Room: ``drives``. May use ``assumptions``, ``engineering``, ``project`` and numpy.

A ramp lies in the ground beside what is crossed: below a bed it is deeper in it than the dip itself, and it
dries out as the ground does. Somewhere between the trench's depth and the dip's the cables may be warmest. So
each part of it has the rungs of the dip itself to take, all of them one spacing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.assumptions.once import once_per_assumptions
from routescreen.drives.dip import RUNGS, Dip, assumptions_in_dip, dip_way, ground_rung, ground_samples
from routescreen.drives.open_cut import trench_section
from routescreen.drives.ramp import laid_run_m, ramp_radius_m
from routescreen.engineering.ramp import crossed_m, swing_length_m

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions
    from routescreen.drives.dip import DipWay, Ground

RAMP_PIECES = 8  # equal parts of a ramp, each as deep as at its middle


@dataclass(frozen=True, slots=True)
class DipRamp:
    """One ramp of a dip in one kind of ground.

    Attributes
    ----------
    parts : tuple of Dip
        From the trench's depth down, each as deep as at its middle.
    ways : tuple of DipWay
        How the pipes would lie in each of them by itself.
    spacing_m : float
        Of the axes of the pipes of one trench: the widest that a part or the dip asks for [m].
    run_m, length_m : float
        In plan, and of the outermost pipe along the slope [m].
    """

    parts: tuple[Dip, ...]
    ways: tuple[DipWay, ...]
    spacing_m: float
    run_m: float
    length_m: float

    @property
    def is_warm(self) -> bool:
        """Whether the cables don't bear the current in some part of it in any way."""
        return any(RUNGS[way.rung] == "none" for way in self.ways)

    def built(self, a: Assumptions) -> list[Assumptions]:
        """Return the assumptions as they are for the trench in each part."""
        return [
            assumptions_in_dip(a, part, self.spacing_m, self.spacing_m, has_fill=way.has_fill)
            for part, way in zip(self.parts, self.ways, strict=True)
        ]


@once_per_assumptions
def dip_ramp(a: Assumptions, dip: Dip, ground: Ground) -> DipRamp:
    """Lay out a ramp of a dip in one kind of ground, under plain ground cover.

    Parameters
    ----------
    a : Assumptions
    dip : Dip
    ground : Ground

    Returns
    -------
    DipRamp
        Its shape is that of a ramp that only sinks: the way aside makes it longer, which the arcs alone
        don't show.
    """
    parts = tuple(Dip(top_m, top_m, is_wet=False) for top_m in ramp_tops_m(dip, a))
    ways = tuple(dip_way(a, part, ground, is_braced=False) for part in parts)
    spacing_m = max(way.spacing_m for way in (*ways, dip_way(a, dip, ground, is_braced=False)))
    beside_m = float(trench_section(ground_samples((ground,), a), a).pipe_spacing_m[0])
    aside_m = 0.5 * (a.n_pipes_per_trench - 1) * (spacing_m - beside_m)
    rise_m = dip.deeper_m(a)
    run_m = float(laid_run_m(rise_m, aside_m, a))
    length_m = float(swing_length_m(float(np.hypot(rise_m, aside_m)), run_m, ramp_radius_m(a)))
    return DipRamp(parts, ways, spacing_m, run_m, length_m)


def ramp_tops_m(dip: Dip, a: Assumptions) -> list[float]:
    """Return how deep the pipes' tops lie at the middles of the parts of a ramp, from the trench down.

    Parameters
    ----------
    dip : Dip
    a : Assumptions

    Returns
    -------
    list of float
        Below the ground beside the dip [m].
    """
    rise_m = dip.deeper_m(a)
    own_m = float(laid_run_m(rise_m, 0.0, a))
    at_m = own_m * (np.arange(RAMP_PIECES) + 0.5) / RAMP_PIECES
    sunk_m = np.ravel(crossed_m(at_m, rise_m, own_m, ramp_radius_m(a)))
    return [a.trench.cover_to_pipe_m + float(each) for each in sunk_m]


def is_barred(dip: Dip, ground: Ground, a: Assumptions) -> bool:
    """Tell whether no dip is to be made in one kind of ground: too deep, or too warm in any way.

    Parameters
    ----------
    dip : Dip
    ground : Ground
        Of the dip, and of its ramps.
    a : Assumptions

    Returns
    -------
    bool
    """
    if dip.is_too_deep(a) or RUNGS[ground_rung(a, dip, ground)] == "none":
        return True
    return a.search.rating_steers and dip_ramp(a, dip, ground).is_warm
