"""The cross-section of the open cut in the ground that it is dug in: faces, widths, spacing of the pipes.

Room: ``drives``. May use ``assumptions``, ``engineering``, ``project`` and numpy.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from routescreen.assumptions.once import once_per_assumptions
from routescreen.drives.trench_spacing import TrenchHeat, bearing_spacing_m, bedding_zone_m
from routescreen.engineering.ground_heat import ground_resistivity
from routescreen.engineering.trench import area_below_m2, band_width_m, cotangent, top_width_m
from routescreen.project import GroundSamples

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray

    from routescreen.assumptions import Assumptions, CoverClass, Soil

    Array = NDArray[np.float64]

_MOST_KEPT = 2_000  # kinds of places whose spacing is kept
_NO_WATER_M = 1e9  # groundwater so deep that all ground may dry out


@dataclass(frozen=True, slots=True)
class Section:
    """Cross-section of one trench at n places; every array has shape (n,).

    `depth_m`, the spacing of the pipes' axes and the widths [m]; `rock_height_m` is the height of the rock
    head above the bottom, 0 where the trench stays above the rock; cotangents are the faces' run per metre of
    height [-].
    """

    depth_m: float
    pipe_spacing_m: NDArray[np.float64]
    bottom_width_m: NDArray[np.float64]
    top_width_m: NDArray[np.float64]
    rock_height_m: NDArray[np.float64]
    rock_cotangent: NDArray[np.float64]
    soil_cotangent: NDArray[np.float64]
    is_braced: NDArray[np.bool_]

    def area_m2(self, low_m: ArrayLike, high_m: ArrayLike, *, is_rock: bool) -> NDArray[np.float64]:
        """Area of soil or of rock between two heights above the bottom [m2]."""
        clip: Callable[[ArrayLike], NDArray[np.float64]] = (
            (lambda h: np.minimum(h, self.rock_height_m))
            if is_rock
            else (lambda h: np.maximum(h, self.rock_height_m))
        )
        return np.maximum(self._below(clip(high_m)) - self._below(clip(low_m)), 0.0)

    def bedding_width_m(self, zone_m: float) -> NDArray[np.float64]:
        """Mean width up to a height above the bottom [m]."""
        area = self.area_m2(0.0, zone_m, is_rock=False) + self.area_m2(0.0, zone_m, is_rock=True)
        return np.asarray(area / zone_m)

    def _below(self, height_m: NDArray[np.float64]) -> NDArray[np.float64]:
        return area_below_m2(
            height_m,
            bottom_width_m=self.bottom_width_m,
            break_height_m=self.rock_height_m,
            lower_cotangent=self.rock_cotangent,
            upper_cotangent=self.soil_cotangent,
        )


def trench_section(samples: GroundSamples, a: Assumptions) -> Section:
    """Lay out the cross-section of one trench.

    The faces are sloped as the soil allows; below the rock head as the rock allows. They are
    braced upright where only the trench itself is reinstated, or where sloped trenches with their
    edge strips would meet. The pipes lie as far apart as `bearing_spacing_m` asks for in that very section.

    Parameters
    ----------
    samples : GroundSamples
    a : Assumptions

    Returns
    -------
    Section
    """
    slope = soils_of(a, lambda soil: soil.slope_deg)
    sloped = _section_of(samples, a, slope[samples.soil_class], slope[samples.rock_soil_class])
    meets = (a.link.n_trenches > 1) & (
        sloped.top_width_m + 2.0 * a.trench.edge_strip_m > a.link.trench_spacing_m
    )
    in_road = covers_of(a, lambda cover: cover.is_reinstated_over_trench_only)[samples.cover_class] > 0.0
    is_braced = meets | in_road
    soil_slope = np.where(is_braced, 90.0, slope[samples.soil_class])
    rock_slope = np.where(is_braced, 90.0, slope[samples.rock_soil_class])
    return _section_of(samples, a, soil_slope, rock_slope, is_braced)


def _section_of(
    samples: GroundSamples,
    a: Assumptions,
    soil_slope_deg: Array,
    rock_slope_deg: Array,
    is_braced: NDArray[np.bool_] | None = None,
) -> Section:
    rock = np.maximum(a.trench_depth_m - samples.rock_depth_m, 0.0)
    braced = np.zeros(len(rock), dtype=np.bool_) if is_braced is None else is_braced
    faces_deg = np.where(braced, 90.0, np.where(rock > 0.0, rock_slope_deg, soil_slope_deg))
    cut = _Cut(rock, faces_deg, cotangent(rock_slope_deg), cotangent(soil_slope_deg), braced)
    return cut.with_pipes(_spacing_m(samples, cut, a), a)


@dataclass(frozen=True, slots=True)
class _Cut:
    """Faces of the trench before its width is known; every array has shape (n,)."""

    rock_height_m: Array
    faces_deg: Array
    rock_cotangent: Array
    soil_cotangent: Array
    is_braced: NDArray[np.bool_]

    def with_pipes(self, spacing_m: Array, a: Assumptions) -> Section:
        """Return the section with its pipes so far apart."""
        width = a.trench_bottom_width_m(self.faces_deg, spacing_m)
        top = top_width_m(
            a.trench_depth_m,
            bottom_width_m=width,
            break_height_m=self.rock_height_m,
            lower_cotangent=self.rock_cotangent,
            upper_cotangent=self.soil_cotangent,
        )
        return Section(
            a.trench_depth_m,
            spacing_m,
            width,
            top,
            self.rock_height_m,
            self.rock_cotangent,
            self.soil_cotangent,
            self.is_braced,
        )

    def repeated(self, rows: NDArray[np.int64]) -> _Cut:
        """Return rows of it."""
        return _Cut(
            self.rock_height_m[rows],
            self.faces_deg[rows],
            self.rock_cotangent[rows],
            self.soil_cotangent[rows],
            self.is_braced[rows],
        )


def _spacing_m(samples: GroundSamples, cut: _Cut, a: Assumptions) -> Array:
    """Choose the spacing of the pipes, once for all places that are alike."""
    if len(samples.soil_class) == 0:
        return np.zeros(0)
    heat, zone_m = ground_heat(samples, a), bedding_zone_m(a)
    columns = (
        *(getattr(heat, column.name) for column in fields(heat)),
        cut.rock_height_m,
        cut.faces_deg,
        cut.rock_cotangent,
        cut.soil_cotangent,
    )
    first, of_place = _alike(*columns)
    kinds = np.stack([column[first] for column in columns], axis=1)
    choose = _kept_m if len(first) <= _MOST_KEPT else _chosen_m
    return choose(kinds, cut.is_braced[first], zone_m, a)[of_place]


@once_per_assumptions
def _kept_spacings(a: Assumptions) -> dict[bytes, float]:  # noqa: ARG001
    """Return the spacings found so far by kind of place: bill, audit and proofs ask for the same few."""
    return {}


def _kept_m(kinds: Array, is_braced: NDArray[np.bool_], zone_m: float, a: Assumptions) -> Array:
    """Return the spacing of each kind of place, worked out where it has not been asked for yet."""
    kept, keys = _kept_spacings(a), [kind.tobytes() for kind in kinds]
    spacing_m = np.array([kept.get(key, np.nan) for key in keys])
    missing = np.flatnonzero(np.isnan(spacing_m))
    if len(missing):
        if len(kept) > _MOST_KEPT:
            kept.clear()
        spacing_m[missing] = _chosen_m(kinds[missing], is_braced[missing], zone_m, a)
        kept.update((keys[k], float(spacing_m[k])) for k in missing)
    return spacing_m


def _chosen_m(kinds: Array, is_braced: NDArray[np.bool_], zone_m: float, a: Assumptions) -> Array:
    """Choose the spacing of each kind of place: the columns of `kinds` are what `_spacing_m` tells apart."""
    n_heat = len(fields(TrenchHeat))
    heat = TrenchHeat(*kinds.T[:n_heat])
    rock_height_m, faces_deg, rock_cotangent, soil_cotangent = kinds.T[n_heat:]
    cut = _Cut(rock_height_m, faces_deg, rock_cotangent, soil_cotangent, is_braced)

    def bedding_width_m(spacing_m: Array, rows: NDArray[np.bool_]) -> Array:
        which = np.flatnonzero(rows)
        each = cut.repeated(np.repeat(which, len(spacing_m)))
        section = each.with_pipes(np.tile(spacing_m, len(which)), a)
        return section.bedding_width_m(zone_m).reshape(len(which), len(spacing_m))

    return bearing_spacing_m(heat, bedding_width_m, a)


def _alike(*values: Array) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Group places whose values are all equal: the first place of each group, and the group of each place.

    Column by column, which sorts numbers: rows of a table sort many times slower.
    """
    code = np.zeros(len(values[0]), np.int64)
    if len(code) == 1:
        return code, code
    for column in values:
        if np.all(column == column[0]):
            continue
        number = np.unique(column, return_inverse=True)[1]
        code = np.unique(code * (int(number.max()) + 1) + number, return_inverse=True)[1]
    _, first, of_place = np.unique(code, return_index=True, return_inverse=True)
    return first, of_place


def ground_heat(samples: GroundSamples, a: Assumptions) -> TrenchHeat:
    """Return what the ground round the pipes does to heat.

    Parameters
    ----------
    samples : GroundSamples
    a : Assumptions

    Returns
    -------
    TrenchHeat
        With the axis in rock the larger resistivity of rock and soil; able to dry out where the pipes' crowns
        lie above the lowest groundwater, else saturated below ground that may dry out.
    """
    axis_m = a.trench.cover_to_pipe_m + a.pipe.trench_outer_diameter_m / 2.0
    at_axis = np.where(axis_m > samples.rock_depth_m, samples.rock_soil_class, samples.soil_class)
    saturated, moist, dry = (
        np.maximum(values[at_axis], values[samples.soil_class])
        for values in (
            soils_of(a, lambda soil: soil.resistivity_saturated_Km_per_W),
            soils_of(a, lambda soil: soil.resistivity_moist_Km_per_W),
            soils_of(a, lambda soil: soil.resistivity_dry_Km_per_W),
        )
    )
    found = ground_resistivity(
        a.trench.cover_to_pipe_m,
        samples.groundwater_depth_m + a.groundwater.lowest_fall_m,
        saturated_K_m_per_W=saturated,
        moist_K_m_per_W=moist,
        dry_K_m_per_W=dry,
    )
    over = (np.where(found.column_m > 0.0, rho, 0.0) for rho in (moist, dry))
    return TrenchHeat(found.rho_K_m_per_W, found.drying_ratio, found.column_m, *over)


def widest_band_m(soil_class: ArrayLike, rock_class: ArrayLike, a: Assumptions) -> float:
    """Return the width of the band that holds all trenches, bottom edge to bottom edge, in any of some soils.

    Parameters
    ----------
    soil_class, rock_class : array_like of int
        Classes of the soils that may be dug in, and of the rock within the trench's depth.
    a : Assumptions

    Returns
    -------
    float
        With faces sloped or braced, in ground that may dry out [m].
    """
    soils, rocks = np.unique(soil_class), np.unique(np.append(rock_class, -1))
    soil, rock, is_braced = (index.ravel() for index in np.meshgrid(soils, rocks, (False, True)))
    nothing = np.zeros(len(soil))
    samples = GroundSamples(
        ground_m=nothing,
        cover_class=nothing.astype(np.int16),
        soil_class=soil.astype(np.int16),
        rock_soil_class=np.where(rock >= 0, rock, soil).astype(np.int16),
        groundwater_depth_m=nothing + _NO_WATER_M,
        rock_depth_m=np.where(rock >= 0, 0.0, np.inf),
        access_distance_m=nothing,
        near_building=nothing > 0.0,
    )
    slope = soils_of(a, lambda each: each.slope_deg)
    in_soil, in_rock = (
        np.where(is_braced, 90.0, slope[of]) for of in (samples.soil_class, samples.rock_soil_class)
    )
    section = _section_of(samples, a, in_soil, in_rock, is_braced)
    return band_width_m(
        float(section.bottom_width_m.max()),
        n_trenches=a.link.n_trenches,
        spacing_m=a.link.trench_spacing_m,
    )


def soils_of(a: Assumptions, value: Callable[[Soil], float]) -> Array:
    """Return a value of each soil class, in their order."""
    return np.array([value(soil) for soil in a.soil.values()], dtype=np.float64)


def covers_of(a: Assumptions, value: Callable[[CoverClass], float]) -> Array:
    """Return a value of each cover class, in their order."""
    return np.array([value(cover) for cover in a.cover.values()], dtype=np.float64)
