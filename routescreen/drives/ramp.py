"""The ramps on which the cables climb from the bores to the trench, and draw together or apart on the way.

Room: ``drives``. May use ``assumptions``, ``engineering`` and numpy.

Where the cables leave the shaft they lie as far apart as the bores, in the trench as its pipes do. Each cable
rises and moves aside in one S-bend, in a plane of its own: both begin at the shaft and both must be done at
the trench, so one after the other they would need twice the run and twice the bends. Where that draws them
together too deep in ground that may dry out, they first move apart and come up to where it begins, and draw
together from there: two S-bends (``drives.ramp_spread`` says where and how far apart). All ramps of a shaft
end where the longest does, which is laid out for the largest way aside at any spacing that the pipes of the
trench may take: the search then prices the ramp that is built, wherever it ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.methods import method_geometry
from routescreen.drives.trench_spacing import spacings_m
from routescreen.engineering.ramp import (
    bend_radius_m,
    crossed_m,
    ramp_run_m,
    swing_angle_deg,
    swing_length_m,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.assumptions.works import CableType

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RampLeg:
    """One S-bend of all k cables of a shaft, from left to right.

    Attributes
    ----------
    bottom_m : float
        Depth of the cables' axes at its deep end [m].
    rise_m, radius_m, run_m : float
        Height to be climbed, radius of all bends, plan length [m].
    from_m, shift_m : ndarray of shape (k,)
        Places across the line at its deep end, to the right above 0; the way aside from there [m].
    """

    bottom_m: float
    rise_m: float
    radius_m: float
    run_m: float
    from_m: Array
    shift_m: Array

    @property
    def across_m(self) -> Array:
        """Way of each cable across the run, up and aside, shape (k,) [m]."""
        return np.hypot(self.rise_m, self.shift_m)

    @property
    def bend_deg(self) -> Array:
        """Angle of both bends of each cable, shape (k,) [deg]."""
        return swing_angle_deg(self.across_m, self.run_m, self.radius_m)

    @property
    def length_m(self) -> Array:
        """Length of each cable, shape (k,) [m]."""
        return swing_length_m(self.across_m, self.run_m, self.radius_m)

    def share(self, along_m: Array) -> Array:
        """Return the share of its way up and aside that each cable has behind it, shape (n, k) [-].

        Parameters
        ----------
        along_m : ndarray of shape (n,)
            Plan distance from the deep end [m].
        """
        across = self.across_m
        crossed = crossed_m(along_m[:, np.newaxis], across, self.run_m, self.radius_m)
        return np.asarray(crossed / np.where(across > 0.0, across, 1.0))


@dataclass(frozen=True, slots=True)
class RampLine:
    """The ramps of all k cables of one shaft: one S-bend, or two with the cables held apart between them.

    Attributes
    ----------
    legs : tuple of RampLeg
        From the shaft on.
    """

    legs: tuple[RampLeg, ...]

    @property
    def bottom_m(self) -> float:
        """Depth of the cables' axes at the shaft [m]."""
        return self.legs[0].bottom_m

    @property
    def radius_m(self) -> float:
        """Radius of all bends [m]."""
        return self.legs[0].radius_m

    @property
    def run_m(self) -> float:
        """Plan length [m]."""
        return sum(leg.run_m for leg in self.legs)

    @property
    def rise_m(self) -> float:
        """Height to be climbed [m]."""
        return sum(leg.rise_m for leg in self.legs)

    @property
    def length_m(self) -> Array:
        """Length of each cable, shape (k,) [m]."""
        return np.asarray(np.sum([leg.length_m for leg in self.legs], axis=0))

    def depth_m(self, along_m: Array) -> Array:
        """Return the depth of the cables' axes at distances from the shaft, shape (n, k) [m]."""
        depth, start_m = np.asarray(self.bottom_m), 0.0
        for leg in self.legs:
            depth = depth - leg.rise_m * leg.share(along_m - start_m)
            start_m += leg.run_m
        return np.asarray(depth)

    def offset_m(self, along_m: Array) -> Array:
        """Return the places of the cables across the line at distances from the shaft, shape (n, k) [m]."""
        offset, start_m = self.legs[0].from_m, 0.0
        for leg in self.legs:
            offset = offset + leg.shift_m * leg.share(along_m - start_m)
            start_m += leg.run_m
        return np.asarray(offset)


@dataclass(frozen=True, slots=True)
class Spread:
    """How the cables of a ramp are held apart.

    Attributes
    ----------
    hold_m : float
        Depth of the axes where they lie furthest apart; from there they draw together [m].
    spacing_m : float
        Between neighbours there [m].
    more_m : float
        How much longer the ramp is for that than one S-bend [m].
    """

    hold_m: float
    spacing_m: float
    more_m: float


def ramp_line(
    a: Assumptions, method: str, bottom_m: float, pipe_spacing_m: float, spread: Spread | None = None
) -> RampLine:
    """Lay out the ramps at one end of a drive.

    Parameters
    ----------
    a : Assumptions
    method : str
        Of the drive.
    bottom_m : float
        Depth of the axes of the bores at the shaft [m].
    pipe_spacing_m : float
        Between the axes of the pipes of one trench, where the ramps end [m].
    spread : Spread, optional
        How far apart the cables are held on the way; by default they draw together from the shaft on.

    Returns
    -------
    RampLine
    """
    top_m, radius_m = trench_axis_m(a), ramp_radius_m(a)
    bottom_m = max(bottom_m, top_m)
    at_shaft_m = shaft_offsets_m(a, method)
    in_trench_m = trench_offsets_m(a, np.array([pipe_spacing_m]))[0]
    run_m = float(laid_run_m(bottom_m - top_m, most_shift_m(a, method), a))
    if spread is None:
        leg = RampLeg(bottom_m, bottom_m - top_m, radius_m, run_m, at_shaft_m, in_trench_m - at_shaft_m)
        return RampLine((leg,))
    hold_m = min(max(spread.hold_m, top_m), bottom_m)
    held_m = held_offsets_m(a, spread.spacing_m)
    apart_m, together_m = held_m - at_shaft_m, in_trench_m - held_m
    last_m = float(laid_run_m(hold_m - top_m, most_way_aside_m(a, held_m), a))
    # as long as it is paid for: what the second bend leaves is the first one's, which is the gentler for it
    least_m = float(laid_run_m(bottom_m - hold_m, np.abs(apart_m).max(), a))
    first_m = max(run_m + spread.more_m - last_m, least_m)
    return RampLine(
        (
            RampLeg(bottom_m, bottom_m - hold_m, radius_m, first_m, at_shaft_m, apart_m),
            RampLeg(hold_m, hold_m - top_m, radius_m, last_m, held_m, together_m),
        )
    )


def laid_run_m(rise_m: ArrayLike, shift_m: ArrayLike, a: Assumptions) -> Array:
    """Return the plan length of ramps.

    Parameters
    ----------
    rise_m, shift_m : array_like
        Height to be climbed, what is below 0 counts as 0, and the largest way aside [m].
    a : Assumptions

    Returns
    -------
    ndarray
        [m].
    """
    across_m = np.hypot(np.maximum(rise_m, 0.0), shift_m)
    return ramp_run_m(across_m, ramp_radius_m(a), a.cable.ramp_angle_deg)


def ramp_radius_m(a: Assumptions) -> float:
    """Return the radius of the ramps, the same for all methods.

    Parameters
    ----------
    a : Assumptions

    Returns
    -------
    float
        Where the assumptions give one, that one. Else the largest of the bend that each kind of cable stands
        while it is pulled, of the cold bend of the pipe that lies in the ramp, and of what the side wall asks
        for at the largest pull that the cable's eye stands: the cable comes from the last joint, not from the
        drive's other end, and may have used up the eye wherever the ramp lies [m].
    """
    if a.cable.ramp_radius_m is not None:
        return a.cable.ramp_radius_m
    kinds: list[CableType] = [a.cable]
    if a.link.returns_per_system:
        kinds.append(a.cable.metallic_return)
    by_cable = [
        bend_radius_m(
            least_bend_m=cable.bend_radius_pulled_m,
            pull_kN=cable.eye_limit_kN,
            side_wall_kN_per_m=cable.side_wall_kN_per_m,
        )
        for cable in kinds
    ]
    return max(*by_cable, pipe_bend_m(a))


def pipe_bend_m(a: Assumptions) -> float:
    """Return the least radius to which the pipe of ramp and trench may be bent cold [m]."""
    return a.pipe.cold_bend_diameters * a.pipe.trench_outer_diameter_m


def trench_axis_m(a: Assumptions) -> float:
    """Return the depth of the cables' axes in open cut [m]."""
    return a.trench.cover_to_pipe_m + a.pipe.trench_outer_diameter_m / 2.0


def dig_below_axis_m(a: Assumptions) -> float:
    """Return how far below the cables' axes the dig for pipes and their bedding reaches [m]."""
    return a.pipe.trench_outer_diameter_m / 2.0 + a.trench.bedding_below_m


def trench_offsets_m(a: Assumptions, spacing_m: Array) -> Array:
    """Return the places of the cables across the open cut, from left to right, shape (n, k) [m].

    Parameters
    ----------
    a : Assumptions
    spacing_m : ndarray of shape (n,)
        Between the axes of the pipes of one trench [m].
    """
    pipes, trenches = a.n_pipes_per_trench, a.link.n_trenches
    within = (np.arange(pipes) - (pipes - 1) / 2.0) * spacing_m[:, np.newaxis]
    between = (np.arange(trenches) - (trenches - 1) / 2.0) * a.link.trench_spacing_m
    return np.asarray((between[:, np.newaxis] + within[:, np.newaxis, :]).reshape(len(spacing_m), -1))


def shaft_offsets_m(a: Assumptions, method: str) -> Array:
    """Return the places across the line at which the cables leave a shaft, left to right, shape (k,) [m].

    Those of the bores; pipes of one tunnel are fanned out in the shaft as far as it is wide.
    """
    way, shape, n = a.methods[method], method_geometry(a, method), a.link.n_cables
    if way.bores_per == "cable" or n < 2:
        return np.asarray((np.arange(shape.n_bores) - (shape.n_bores - 1) / 2.0) * shape.spacing_m)
    width_m = shape.reception_plan_m[1] - way.pipe_outer_diameter_m
    return np.asarray((np.arange(n) / (n - 1) - 0.5) * width_m)


def most_shift_m(a: Assumptions, method: str) -> float:
    """Return the largest way aside of any cable between a shaft and the trench.

    Parameters
    ----------
    a : Assumptions
    method : str
        Of the drive.

    Returns
    -------
    float
        At the least and at the largest spacing that the pipes of the trench may take: between them no way is
        longer [m].
    """
    return most_way_aside_m(a, shaft_offsets_m(a, method))


def most_way_aside_m(a: Assumptions, offset_m: Array) -> float:
    """Return the largest way aside of any cable from places across the line to the trench, as above [m]."""
    in_trench_m = trench_offsets_m(a, spacings_m(a)[[0, -1]])
    return float(np.abs(in_trench_m - offset_m).max())


def held_offsets_m(a: Assumptions, spacing_m: float) -> Array:
    """Return the places across the line of cables held equally far apart, shape (k,) [m]."""
    k = a.link.n_cables
    return np.asarray((np.arange(k) - (k - 1) / 2.0) * spacing_m)
