"""Where open cut dips below what it crosses: how deep, how the pipes lie there, what they bear.

Room: ``drives``. May use ``assumptions``, ``engineering``, ``project`` and numpy.

The trench of a dip is that of `open_cut`, laid deeper. Where its cables would not bear the link's current as
they lie beside it, the first of these rungs that lets them is taken: the pipes further apart; flowable fill
higher above them as well; spread wide; spread wide with the fill. Where none does, the last stands and no dip
is to be made there.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np

from routescreen.assumptions.once import once_per_assumptions
from routescreen.drives.cable_make import SHALLOW_M, asked_A, is_rated
from routescreen.drives.open_cut import Section, covers_of, ground_heat, trench_section
from routescreen.drives.trench_spacing import bedding_zone_m, trench_rating_A
from routescreen.project import GroundSamples

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions

    Array = NDArray[np.float64]

RUNGS = ("under", "wider", "fill", "spread", "spread_fill", "none")
"""How the pipes lie in a dip, the cheapest first; ``none``: they don't bear the current in any way."""

NO_DIP_M = 1e-6  # less is no dip
LEAST_ANGLE_DEG = 30.0
_SAME_M = 1e-6


@dataclass(frozen=True, slots=True)
class Dip:
    """How deep the pipes must lie below something that open cut crosses.

    Attributes
    ----------
    below_ground_m : float
        Of the pipes' tops below the ground beside it, where the trench comes from [m].
    below_bed_m : float
        Of the pipes' tops below the ground or the bed right there [m].
    is_wet : bool
        Whether it is a bed with water on it all the year.
    """

    below_ground_m: float
    below_bed_m: float
    is_wet: bool

    def deeper_m(self, a: Assumptions) -> float:
        """Return how much lower the pipes lie than all along [m]."""
        return self.below_ground_m - a.trench.cover_to_pipe_m

    def bottom_m(self, a: Assumptions) -> float:
        """Return the depth of the trench's bottom below the ground beside it, bedding included [m]."""
        return self.below_ground_m + a.pipe.trench_outer_diameter_m + a.trench.bedding_below_m

    def is_too_deep(self, a: Assumptions) -> bool:
        """Tell whether its faces would need a proof."""
        return self.bottom_m(a) > a.trench.deepest_sloped_m


def deeper(one: Dip | None, other: Dip | None) -> Dip | None:
    """Return what serves two things that are crossed as one: the larger depths, wet only where both are."""
    if one is None or other is None:
        return one or other
    return Dip(
        max(one.below_ground_m, other.below_ground_m),
        max(one.below_bed_m, other.below_bed_m),
        one.is_wet and other.is_wet,
    )


def service_dip(top_m: float, diameter_m: float, clear_m: float, a: Assumptions) -> Dip | None:
    """Return the dip below a buried service.

    Parameters
    ----------
    top_m, diameter_m : float
        Depth of its top, its outer diameter [m].
    clear_m : float
        Clear height that is asked for between it and the pipes [m].
    a : Assumptions

    Returns
    -------
    Dip or None
        None where the pipes at their own depth keep clear of it, above or below.
    """
    if passes_over(top_m, clear_m, a) or a.trench.cover_to_pipe_m - top_m - diameter_m >= clear_m - NO_DIP_M:
        return None
    tops_m = top_m + diameter_m + clear_m
    return Dip(tops_m, tops_m, is_wet=False)


def passes_over(top_m: float, clear_m: float, a: Assumptions) -> bool:
    """Tell whether the trench at its own depth passes over a service.

    Parameters
    ----------
    top_m : float
        Depth of the service's top [m].
    clear_m : float
        Clear height that is asked for between it and the pipes [m].
    a : Assumptions

    Returns
    -------
    bool
        The pipes keep the clear height, and the trench's bottom doesn't come down to the service.
    """
    under_m = a.trench.cover_to_pipe_m + a.pipe.trench_outer_diameter_m
    return top_m - under_m >= clear_m - NO_DIP_M and top_m >= a.trench_depth_m - NO_DIP_M


def bed_dip(below_ground_m: float, below_bed_m: float, *, is_wet: bool, a: Assumptions) -> Dip | None:
    """Return the dip below the bed of a water.

    Parameters
    ----------
    below_ground_m : float
        Of the pipes below the ground beside it, or the water's level: the scoured bed's depth, and the cover
        that is asked for [m].
    below_bed_m : float
        Of the pipes below the bed of today: the cover that is asked for, and scour [m].
    is_wet : bool
        Whether water stands on it all the year.
    a : Assumptions

    Returns
    -------
    Dip or None
        None where the pipes at their own depth lie deep enough.
    """
    if below_ground_m <= a.trench.cover_to_pipe_m + NO_DIP_M:
        return None
    return Dip(below_ground_m, min(below_bed_m, below_ground_m), is_wet)


@once_per_assumptions
def assumptions_in_dip(
    a: Assumptions, dip: Dip, spacing_m: float, most_m: float, *, has_fill: bool
) -> Assumptions:
    """Return the assumptions as they are for the trench in a dip.

    Parameters
    ----------
    a : Assumptions
    dip : Dip
    spacing_m, most_m : float
        Least and largest distance of the pipes' axes [m].
    has_fill : bool
        Whether flowable fill reaches up to `trench.dip_fill_above_m` above the pipes.

    Returns
    -------
    Assumptions
        The trench as deep below the bed; under a bed that is wet all the year ground that can't dry out, and
        the water's temperature at the bed.
    """
    trench: dict[str, object] = {
        "cover_to_pipe_m": dip.below_bed_m,
        "pipe_spacing_m": spacing_m,
        "pipe_spacing_most_m": max(most_m, spacing_m),
    }
    if has_fill:
        trench |= {
            "bedding_above_m": max(a.trench.bedding_above_m, min(a.trench.dip_fill_above_m, dip.below_bed_m)),
            "bedding_item": "TR51",
            "bedding_resistivity_Km_per_W": a.trench.dip_fill_resistivity_Km_per_W,
        }
    changed: dict[str, object] = {"trench": a.trench.model_copy(update=trench)}
    if dip.is_wet:
        given = a.checks.rating
        warmer_K = max(given.bed_water_degC - given.ground_deep_degC, 0.0)
        shallow_degC = given.ground_deep_degC + warmer_K * float(np.exp(-SHALLOW_M / given.damping_depth_m))
        rating = given.model_copy(update={"ground_shallow_degC": shallow_degC})
        changed["checks"] = a.checks.model_copy(update={"rating": rating})
        changed["groundwater"] = a.groundwater.model_copy(update={"lowest_fall_m": 0.0})
    return a.model_copy(update=changed)


def samples_in_dip(samples: GroundSamples, dip: Dip) -> GroundSamples:
    """Return the ground at places as it is below the bed: under water saturated up to it."""
    if not dip.is_wet:
        return samples
    return replace(samples, groundwater_depth_m=np.minimum(samples.groundwater_depth_m, 0.0))


Ground = tuple[int, float, float, int]
"""Soil class, depth of the groundwater and of the rock head [m], soil class of the rock."""


@dataclass(frozen=True, slots=True)
class DipWay:
    """How the pipes lie in a dip in one kind of ground.

    Attributes
    ----------
    rung : int
        Place in `RUNGS`.
    spacing_m : float
        Of the axes of the pipes of one trench [m].
    has_fill : bool
        Whether flowable fill lies higher above them.
    rating_A : float
        What the cables may carry, NaN where not evaluated [A].
    """

    rung: int
    spacing_m: float
    has_fill: bool
    rating_A: float


@dataclass(frozen=True, slots=True)
class DipParts:
    """Some of n places in a dip that are built alike.

    Attributes
    ----------
    rows : ndarray of int64
        Which of the places.
    way : DipWay
    samples : GroundSamples
        As `samples_in_dip`, of these rows.
    assumptions : Assumptions
        As `assumptions_in_dip`: their trench has the pipes as they lie.
    """

    rows: NDArray[np.int64]
    way: DipWay
    samples: GroundSamples
    assumptions: Assumptions

    @property
    def section(self) -> Section:
        """The cross-section of one trench at these rows."""
        return trench_section(self.samples, self.assumptions)


def lay_dip(samples: GroundSamples, dip: Dip, a: Assumptions) -> list[DipParts]:
    """Choose how the pipes lie in a dip.

    Parameters
    ----------
    samples : GroundSamples
        What lies at n places.
    dip : Dip
    a : Assumptions

    Returns
    -------
    list of DipParts
        Each place in one of them. The pipes never lie closer than beside the dip. Cables that the formulae
        don't cover lie as beside it.
    """
    columns = (
        samples.soil_class,
        samples.groundwater_depth_m,
        samples.rock_depth_m,
        samples.rock_soil_class,
        covers_of(a, lambda cover: cover.is_reinstated_over_trench_only)[samples.cover_class],
    )
    table = np.stack([np.asarray(column, dtype=np.float64) for column in columns], axis=1)
    kinds, of_place = np.unique(table, axis=0, return_inverse=True)
    ways = [
        dip_way(a, dip, (int(soil), water_m, rock_m, int(rock_soil)), is_braced=is_braced > 0.0)
        for soil, water_m, rock_m, rock_soil, is_braced in kinds.tolist()
    ]
    found, below = [], samples_in_dip(samples, dip)
    for way in dict.fromkeys(ways):
        rows = np.flatnonzero(np.array([each == way for each in ways])[of_place.ravel()])
        there = assumptions_in_dip(a, dip, way.spacing_m, way.spacing_m, has_fill=way.has_fill)
        taken = GroundSamples(*(getattr(below, field.name)[rows] for field in fields(below)))
        found.append(DipParts(rows, way, taken, there))
    return found


@once_per_assumptions
def dip_way(a: Assumptions, dip: Dip, ground: Ground, *, is_braced: bool) -> DipWay:
    """Choose how the pipes lie in a dip in one kind of ground.

    Parameters
    ----------
    a : Assumptions
    dip : Dip
    ground : Ground
    is_braced : bool
        Whether it lies under cover that is reinstated over the trench only.

    Returns
    -------
    DipWay
    """
    of_cover = covers_of(a, lambda cover: cover.is_reinstated_over_trench_only) > 0.0
    cover = int(np.argmax(of_cover)) if is_braced else plain_cover(a)
    samples = replace(ground_samples((ground,), a), cover_class=np.array([cover], np.int16))
    beside_m = float(trench_section(samples, a).pipe_spacing_m[0])
    below = samples_in_dip(samples, dip)
    if not (a.search.rating_steers and is_rated(a)):
        return _way(below, assumptions_in_dip(a, dip, beside_m, beside_m, has_fill=False), 0, has_fill=False)
    way = None
    for rung, most_m, has_fill in _ladder(beside_m, a):
        there = assumptions_in_dip(a, dip, beside_m, most_m, has_fill=has_fill)
        way = _way(below, there, rung, has_fill=has_fill)
        if not way.rating_A < asked_A(a):
            is_as_beside = not has_fill and way.spacing_m <= beside_m + _SAME_M
            return replace(way, rung=0) if is_as_beside else way
    assert way is not None
    return replace(way, rung=RUNGS.index("none"))


def _ladder(spacing_m: float, a: Assumptions) -> list[tuple[int, float, bool]]:
    """Return the rungs: number, largest spacing of the pipes [m], whether there is more fill."""
    most_m = max(a.trench.pipe_spacing_most_m, spacing_m)
    wide_m = max(a.trench.dip_spacing_most_m, most_m)
    ways = [("wider", most_m, False), ("fill", most_m, True)]
    if a.n_pipes_per_trench > 1:
        ways += [("spread", wide_m, False), ("spread_fill", wide_m, True)]
    return [(RUNGS.index(name), most, has_fill) for name, most, has_fill in ways]


def _way(below: GroundSamples, there: Assumptions, rung: int, *, has_fill: bool) -> DipWay:
    """Return how the pipes lie by the trench's own rule, and what they bear so."""
    section = trench_section(below, there)
    rating_A = np.nan
    if is_rated(there):
        heat, width_m = ground_heat(below, there), section.bedding_width_m(bedding_zone_m(there))
        rating_A = float(trench_rating_A(section.pipe_spacing_m, heat, width_m[:, np.newaxis], there)[0, 0])
    return DipWay(rung, float(section.pipe_spacing_m[0]), has_fill, rating_A)


@dataclass(frozen=True, slots=True)
class CrossingDip:
    """The dip below one crossing, with what its ramps are dug in.

    Attributes
    ----------
    dip : Dip
    stretch_m : float
        Length at full depth that is priced with the ramps, once a run, beyond that inside the crossing [m].
    grounds : tuple of Ground
        Kinds of ground along it, each once, in order.
    may_be_warm : bool
        Whether it may be cut open where the cables don't bear the current, as there is no plan else.
    """

    dip: Dip
    stretch_m: float
    grounds: tuple[Ground, ...]
    may_be_warm: bool = False


def service_stretch_m(diameter_m: float, clear_m: float, width_m: float, least_angle_deg: float) -> float:
    """Return how long the pipes lie at full depth beside what counts as a buried service's own width.

    Parameters
    ----------
    diameter_m : float
        Of the service [m].
    clear_m : float
        Kept beside it as below it [m].
    width_m : float
        What it counts as in plan, inside of which the metres are counted [m].
    least_angle_deg : float
        At which it may be passed; below 30 degrees counts as 30 [deg].

    Returns
    -------
    float
        0 where it counts as that wide; however slantwise it is passed [m].
    """
    beside_m = max(diameter_m + 2.0 * clear_m - width_m, 0.0)
    return beside_m / float(np.sin(np.radians(max(least_angle_deg, LEAST_ANGLE_DEG))))


def plain_cover(a: Assumptions) -> int:
    """Return the first class of ground cover that asks for nothing special of a trench."""
    plain = [
        k
        for k, cover in enumerate(a.cover.values())
        if cover.trench_factor == 1.0 and not cover.is_reinstated_over_trench_only
    ]
    return plain[0] if plain else 0


def ground_samples(grounds: tuple[Ground, ...], a: Assumptions) -> GroundSamples:
    """Return kinds of ground as samples, below the first class of ground cover that asks for nothing special.

    Parameters
    ----------
    grounds : tuple of Ground
    a : Assumptions

    Returns
    -------
    GroundSamples
    """
    soil, water_m, rock_m, rock_soil = np.array(grounds, dtype=np.float64).reshape(-1, 4).T
    nothing = np.zeros(len(soil))
    return GroundSamples(
        ground_m=nothing,
        cover_class=np.full(len(soil), plain_cover(a), np.int16),
        soil_class=soil.astype(np.int16),
        groundwater_depth_m=water_m,
        rock_depth_m=rock_m,
        rock_soil_class=rock_soil.astype(np.int16),
        access_distance_m=nothing,
        near_building=nothing > 0.0,
    )


def ground_rung(a: Assumptions, dip: Dip, ground: Ground) -> int:
    """Return how the pipes lie in a dip in one kind of ground below plain cover, a place in `RUNGS`."""
    return dip_way(a, dip, ground, is_braced=False).rung
