"""Room on the working strip: trenches, three heaps of soil, haul road, along an open cut.

Room: ``audit``. The trench's section is the bill's; the heaps are those of ``engineering.soil_heaps``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.trench_checks import trench_cells
from routescreen.drives.open_cut import Section, trench_section
from routescreen.engineering.soil_heaps import SoilHeap, soil_heap
from routescreen.engineering.trench import drain_width_m, pipe_room_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.audit.scene import Scene
    from routescreen.project import GroundSamples

    Array = NDArray[np.float64]

N_GAPS = 6  # between heaps, haul road and both edges of the strip


@dataclass(frozen=True, slots=True)
class StripRoom:
    """Points along an open cut; every array has shape (n,).

    Attributes
    ----------
    chainage_m, step_m : ndarray
        Of the middle of each piece; length of the piece [m].
    soil : ndarray of int64
        Class of the soil at the ground.
    section : Section
        Of one trench, as the bill has it.
    band_m : ndarray
        Width of all trenches at the ground [m].
    subsoil_m2, parent_m2 : ndarray
        Area dug of each, all trenches, in place [m2].
    topsoil, subsoil, parent : SoilHeap
    needed_m, strip_m : ndarray
        Width asked for, and of the strip [m].
    is_narrow : ndarray of bool
    width_rule : str
    bulking : float
        Loose over in place, mean along the open cut [-].
    n_trenches : int
    """

    chainage_m: Array
    step_m: Array
    soil: NDArray[np.int64]
    section: Section
    band_m: Array
    subsoil_m2: Array
    parent_m2: Array
    topsoil: SoilHeap
    subsoil: SoilHeap
    parent: SoilHeap
    needed_m: Array
    strip_m: Array
    is_narrow: NDArray[np.bool_]
    width_rule: str
    bulking: float
    n_trenches: int

    @property
    def short_m(self) -> float:
        """Length over which the narrowed strip holds less than is asked for [m]."""
        return float(self.step_m[self.is_narrow & (self.needed_m > self.strip_m)].sum())

    def worst(self, *, is_narrow: bool) -> int:
        """Return the point with most asked for by what there is, -1 where the strip is nowhere so."""
        used = np.where(self.is_narrow == is_narrow, self.needed_m / self.strip_m, -np.inf)
        return int(np.argmax(used)) if np.any(self.is_narrow == is_narrow) else -1

    def columns(self) -> dict[str, object]:
        """Return what stands in the table of earthworks."""
        at = int(np.argmax(self.needed_m / self.strip_m))
        return {
            "width_rule": self.width_rule,
            "bottom_width_m": float(self.section.bottom_width_m.max()),
            "top_width_m": float(self.section.top_width_m.max()),
            "subsoil_m3": float(self.step_m @ self.subsoil_m2),
            "parent_m3": float(self.step_m @ self.parent_m2),
            "topsoil_heap_m": float(self.topsoil.height_m[at]),
            "subsoil_heap_m": float(self.subsoil.height_m[at]),
            "parent_heap_m": float(self.parent.height_m[at]),
            "strip_needed_m": float(self.needed_m[at]),
            "strip_m": float(self.strip_m[at]),
            "strip_chainage_m": float(self.chainage_m[at]),
        }


def strip_room(scene: Scene, section: int) -> StripRoom:
    """Work out what the working strip of an open cut must hold.

    Parameters
    ----------
    scene : Scene
    section : int

    Returns
    -------
    StripRoom

    Notes
    -----
    Width asked for: trenches at the ground + 2 x edge strip + haul road + six gaps + three heaps. The
    topsoil is what the bill strips there; all that is dug below it is heaped, what is hauled away later too.
    """
    a, route = scene.assumptions, scene.route
    xy_m, step_m, piece = trench_cells(scene, section)
    samples = scene.ground.samples(xy_m, with_surroundings=False)
    is_narrow = route.is_narrow[piece]
    strip = np.where(is_narrow, a.narrow_strip_m, a.working_strip_m)
    cut = trench_section(samples, a)
    subsoil, parent = _dug_m2(cut, a)
    bulking = np.array([soil.bulking for soil in a.soil.values()])[samples.soil_class]
    heaps = _heaps(a, _topsoil_m2(samples, strip, a) * bulking, subsoil * bulking, parent * bulking)
    band = (a.link.n_trenches - 1) * a.link.trench_spacing_m + cut.top_width_m
    has_road = np.array([cover.has_haul_road for cover in a.cover.values()])[samples.cover_class]
    needed = band + 2.0 * a.trench.edge_strip_m + a.trench.haul_road_width_m * has_road
    needed = needed + N_GAPS * a.checks.soil.gap_m + sum(heap.width_m for heap in heaps)
    return StripRoom(
        chainage_m=route.chainage_along(piece, xy_m),
        step_m=step_m,
        soil=samples.soil_class.astype(np.int64),
        section=cut,
        band_m=np.asarray(band),
        subsoil_m2=subsoil,
        parent_m2=parent,
        topsoil=heaps[0],
        subsoil=heaps[1],
        parent=heaps[2],
        needed_m=np.asarray(needed),
        strip_m=strip,
        is_narrow=is_narrow,
        width_rule=width_rule(cut, a),
        bulking=float(step_m @ bulking / step_m.sum()),
        n_trenches=a.link.n_trenches,
    )


def _topsoil_m2(samples: GroundSamples, strip_m: Array, a: Assumptions) -> Array:
    """Return the topsoil that the bill strips per metre, in place; none where only the trench is opened."""
    is_paved = np.array([c.is_reinstated_over_trench_only for c in a.cover.values()])[samples.cover_class]
    return np.where(is_paved, 0.0, strip_m * a.trench.topsoil_width_frac * a.trench.topsoil_m)


def _dug_m2(cut: Section, a: Assumptions) -> tuple[Array, Array]:
    """Return the areas of subsoil and parent material of all trenches, below the topsoil, in place."""
    top = max(cut.depth_m - a.trench.topsoil_m, 0.0)
    base = min(max(cut.depth_m - a.checks.soil.subsoil_to_m, 0.0), top)
    areas = [
        sum(cut.area_m2(low, high, is_rock=is_rock) for is_rock in (False, True))
        for low, high in ((base, top), (0.0, base))
    ]
    return np.asarray(a.link.n_trenches * areas[0]), np.asarray(a.link.n_trenches * areas[1])


def _heaps(a: Assumptions, topsoil_m2: Array, subsoil_m2: Array, parent_m2: Array) -> list[SoilHeap]:
    given = a.checks.soil
    heights = (given.topsoil_heap_m, given.subsoil_heap_m, given.subsoil_heap_m)
    return [
        soil_heap(area, most_height_m=height, slope_deg=given.heap_slope_deg)
        for area, height in zip((topsoil_m2, subsoil_m2, parent_m2), heights, strict=True)
    ]


def width_rule(cut: Section, a: Assumptions) -> str:
    """Say which rule gives the largest bottom width of the open cut.

    Parameters
    ----------
    cut : Section
    a : Assumptions

    Returns
    -------
    str
    """
    outer_m, at = a.pipe.trench_outer_diameter_m, int(np.argmax(cut.bottom_width_m))
    width_m = float(cut.bottom_width_m[at])
    room_m = float(
        pipe_room_m(
            outer_m,
            n_pipes=a.n_pipes_per_trench,
            spacing_m=float(cut.pipe_spacing_m[at]),
            margin_m=a.trench.side_margin_m,
        )
    )
    slope_deg = 90.0 if cut.is_braced[at] else 45.0
    by_pipe_m = float(drain_width_m(outer_m, cut.depth_m, slope_deg=slope_deg))
    if width_m <= room_m + 1e-9:
        return f"{a.n_pipes_per_trench} pipes side by side with bedding, {room_m:.2f} m (common practice)"
    if width_m <= by_pipe_m + 1e-9:
        return f"EN 1610 by depth and diameter, {width_m:.2f} m"
    return f"DIN 4124, room to work by depth, {width_m:.2f} m"
