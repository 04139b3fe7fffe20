"""Quantities of open cut: all items of one metre of route.

Room: ``money``. May import ``assumptions``, ``drives``, ``engineering``, ``project``.
"""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import numpy as np

from routescreen.drives.open_cut import covers_of, soils_of, trench_section
from routescreen.drives.trench_spacing import bedding_zone_m
from routescreen.engineering.pipe import circle_m2
from routescreen.engineering.trench import is_kept_dry_by_sump, well_point_rows
from routescreen.money.items import rates_eur
from routescreen.money.quantities import (
    SURPLUS_ITEMS,
    Quantities,
    add_cables,
    add_pipes,
    add_temporary_land,
    empty_quantities,
    surplus_shares,
)
from routescreen.project import GroundSamples

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.drives.open_cut import Section

DIG_ITEMS = {"E1": "TR20", "E2": "TR21", "E3": "TR22", "E4": "TR23", "E5": "TR24", "E6": "TR25", "E7": "TR26"}
SHEET_PILE_EMBEDMENT_FRAC = 0.5  # of the trench depth; common practice, no source
_PRICED_AT_ONCE = 8192  # rows; keeps the table of quantities small on long corridors


def trench_per_m(samples: GroundSamples, is_narrow: NDArray[np.bool_], a: Assumptions) -> NDArray[np.float64]:
    """Measure one metre of route in open cut.

    Parameters
    ----------
    samples : GroundSamples
        What lies at n places.
    is_narrow : ndarray of bool, shape (n,)
        Whether the working strip is narrow there.
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n, n_items)
        Quantities per metre of route, all trenches and cables together, in the order of
        ``bill_items``.
    """
    q = empty_quantities(len(samples.ground_m), a)
    section = trench_section(samples, a)
    factor = covers_of(a, lambda cover: cover.trench_factor)[samples.cover_class]
    factor = factor * np.where(is_narrow, a.trench.narrow_factor, 1.0)
    top_m = section.depth_m - stripped_m(section, samples, is_narrow, a)
    _add_digging(q, section, samples, (factor, top_m), a)
    _add_filling(q, section, samples, (factor, top_m), a)
    for code, volume in zip(SURPLUS_ITEMS, surplus_m3_per_m(samples, a).T, strict=True):
        q.add(code, volume)
    _add_supports(q, section, samples, factor, a)
    _add_lines(q, factor, a)
    _add_strip(q, section, samples, is_narrow, a)
    return q.values


def stripped_m(
    section: Section, samples: GroundSamples, is_narrow: NDArray[np.bool_], a: Assumptions
) -> NDArray[np.float64]:
    """Depth down to which the topsoil is gone before the trenches are dug.

    What the strip's topsoil item has measured is neither dug nor filled a second time. Where only the
    trench is reinstated nothing is stripped; nor is it taken off the trenches where the width that is
    stripped would not reach over all of them.

    Parameters
    ----------
    section : Section
    samples : GroundSamples
    is_narrow : ndarray of bool, shape (n,)
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n,)
        [m]
    """
    width = _topsoil_width_m(samples, is_narrow, a)
    is_stripped = width >= a.link.n_trenches * section.top_width_m
    return np.where(is_stripped, min(a.trench.topsoil_m, section.depth_m), 0.0)


def _topsoil_width_m(
    samples: GroundSamples, is_narrow: NDArray[np.bool_], a: Assumptions
) -> NDArray[np.float64]:
    """Width of the strip that is stripped of topsoil [m]."""
    strip = np.where(is_narrow, a.narrow_strip_m, a.working_strip_m)
    over_trench = covers_of(a, lambda c: c.is_reinstated_over_trench_only)[samples.cover_class] > 0.0
    return np.where(over_trench, 0.0, strip * a.trench.topsoil_width_frac)


def trench_eur_per_m(
    samples: GroundSamples, is_narrow: NDArray[np.bool_], a: Assumptions
) -> NDArray[np.float64]:
    """Price one metre of route in open cut at many places, with little memory.

    Parameters
    ----------
    samples, is_narrow, a
        See `trench_per_m`.

    Returns
    -------
    ndarray of float64, shape (n,)
        `trench_per_m` at the expected rates [EUR/m].
    """
    rates = rates_eur(a)
    n = len(samples.ground_m)
    price = np.empty(n, dtype=np.float64)
    for start in range(0, n, _PRICED_AT_ONCE):
        rows = slice(start, start + _PRICED_AT_ONCE)
        price[rows] = trench_per_m(_part(samples, rows), is_narrow[rows], a) @ rates
    return price


def surplus_m3_per_m(samples: GroundSamples, a: Assumptions) -> NDArray[np.float64]:
    """Measure the soil that the bedding zones of all trenches displace, in place.

    Parameters
    ----------
    samples : GroundSamples
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n, 3)
        Clean, slightly loaded and loaded [m3/m].
    """
    section = trench_section(samples, a)
    shares = surplus_shares(list(a.soil.values()))
    zone = bedding_zone_m(a)
    surplus = np.zeros((len(samples.ground_m), 3))
    for is_rock, soil_class in ((False, samples.soil_class), (True, samples.rock_soil_class)):
        area = a.link.n_trenches * section.area_m2(0.0, zone, is_rock=is_rock)
        surplus += area[:, np.newaxis] * shares[:, soil_class].T
    return surplus


Dug = tuple["NDArray[np.float64]", "NDArray[np.float64]"]
"""Factor on the price [-], and height above the bottom from which a trench is dug [m]."""


def _add_digging(q: Quantities, section: Section, samples: GroundSamples, dug: Dug, a: Assumptions) -> None:
    """Excavation by class below the topsoil that was stripped, deeper slices at their factors."""
    factor, top_m = dug
    codes = np.array([q.items.index[DIG_ITEMS[soil.dig_class]] for soil in a.soil.values()])
    bases = [*a.trench.slice_base_m[:-1], np.inf]  # what lies deeper than the last slice counts in it
    tops = [0.0, *a.trench.slice_base_m[:-1]]
    for is_rock, soil_class in ((False, samples.soil_class), (True, samples.rock_soil_class)):
        area = np.zeros(len(factor))
        for top, base, weight in zip(tops, bases, a.trench.slice_factors, strict=True):
            low = max(section.depth_m - base, 0.0)
            high = np.minimum(max(section.depth_m - top, 0.0), top_m)
            area += weight * section.area_m2(low, high, is_rock=is_rock)
        q.add_by_index(codes[soil_class], a.link.n_trenches * factor * area)


def _add_filling(q: Quantities, section: Section, samples: GroundSamples, dug: Dug, a: Assumptions) -> None:
    """Bedding, and backfill up to the topsoil by the factor of the soil that goes back."""
    factor, top_m = dug
    zone = bedding_zone_m(a)
    backfill_factor = soils_of(a, lambda soil: soil.backfill_factor)
    bedding = np.full(len(factor), -a.n_pipes_per_trench * circle_m2(a.pipe.trench_outer_diameter_m))
    backfill = np.zeros(len(factor))
    for is_rock, soil_class in ((False, samples.soil_class), (True, samples.rock_soil_class)):
        bedding += section.area_m2(0.0, zone, is_rock=is_rock)
        above = section.area_m2(zone, top_m, is_rock=is_rock)
        backfill += above * backfill_factor[soil_class]
    q.add(a.trench.bedding_item, a.link.n_trenches * factor * bedding)
    q.add("TR52", a.link.n_trenches * factor * backfill)


def _add_supports(
    q: Quantities, section: Section, samples: GroundSamples, factor: NDArray[np.float64], a: Assumptions
) -> None:
    """Bracing of both faces above the rock, and dewatering by the soil at the bottom."""
    n_trenches = a.link.n_trenches * factor
    is_wet = samples.groundwater_depth_m < section.depth_m
    height = np.where(section.is_braced, section.depth_m - section.rock_height_m, 0.0)
    needs_support = height > a.trench.vertical_limit_m
    faces = 2.0 * np.where(needs_support, height, 0.0)
    q.add("TR30", n_trenches * np.where(is_wet, 0.0, faces))
    embedment = 2.0 * SHEET_PILE_EMBEDMENT_FRAC * section.depth_m * (needs_support & is_wet)
    q.add("TR31", n_trenches * (np.where(is_wet, faces, 0.0) + embedment))
    at_bottom = np.where(section.rock_height_m > 0.0, samples.rock_soil_class, samples.soil_class)
    permeability = soils_of(a, lambda soil: soil.permeability_m_per_s)[at_bottom]
    head = section.depth_m - samples.groundwater_depth_m
    by_sump = is_kept_dry_by_sump(
        head,
        permeability,
        sump_head_m=a.trench.sump_head_m,
        least_m_per_s=a.trench.well_point_least_k_m_per_s,
    )
    rows = well_point_rows(
        head,
        permeability,
        sump_head_m=a.trench.sump_head_m,
        least_m_per_s=a.trench.well_point_least_k_m_per_s,
        most_m_per_s=a.trench.well_point_most_k_m_per_s,
    )
    q.add("TR40", n_trenches * by_sump)
    q.add("TR41", n_trenches * rows)


def _add_lines(q: Quantities, factor: NDArray[np.float64], a: Assumptions) -> None:
    """Pipes and cables and what lies over them."""
    n_pipes = a.link.n_trenches * a.n_pipes_per_trench
    q.add("TR90", n_pipes * factor)
    q.add("TR91", a.link.n_trenches)
    add_pipes(q, a.pipe.trench_outer_diameter_m, n_pipes, a)
    add_cables(q, a)


def _add_strip(
    q: Quantities,
    section: Section,
    samples: GroundSamples,
    is_narrow: NDArray[np.bool_],
    a: Assumptions,
) -> None:
    """Add what is measured by the working strip, and the land."""
    cover = samples.cover_class
    strip = np.where(is_narrow, a.narrow_strip_m, a.working_strip_m)
    over_trench = covers_of(a, lambda c: c.is_reinstated_over_trench_only)[cover] > 0.0
    edges = a.link.n_trenches * (section.top_width_m + a.trench.reinstate_beside_trench_m)
    q.add_by_cover("TR70", cover, np.where(over_trench, np.minimum(edges, strip), strip))
    q.add("TR10", _topsoil_width_m(samples, is_narrow, a) * a.trench.topsoil_m)
    q.add("TR80", a.trench.haul_road_width_m * covers_of(a, lambda c: c.has_haul_road)[cover])
    q.add_each(("TR81", "TR82", "GI13", "UX11", "AR10", "SV10", "TE10"), 1.0)
    add_temporary_land(q, cover, strip, a)
    q.add_by_cover("LA11", cover, a.protective_strip_m)


def _part(samples: GroundSamples, rows: slice) -> GroundSamples:
    return GroundSamples(*(getattr(samples, field.name)[rows] for field in fields(samples)))
