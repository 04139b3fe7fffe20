"""Checks on the ground that the trenches take: no ground cover that bars them, none outside the corridor.

Room: ``audit``. Uses the audit's own modules and shapely. Judged by the band of all trenches, not by
their centre line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.band import Band, merged_length_m, place_on
from routescreen.audit.ground import boxes_of_classes, may_hold_classes
from routescreen.audit.report import TOLERANCE_M, Ledger, Limit, Place

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from routescreen.audit.scene import Scene


LEAST_TOLD_M = 0.05
"""Beside a terminal a corner of the band that reads 0.0 m is nothing to warn of [m]."""


def check_ground_of_trenches(scene: Scene, ledger: Ledger, bands: list[Band]) -> None:
    """Check the bands of a run of open cut against ground cover and the corridor's edge."""
    names = list(scene.assumptions.cover)
    barred = [i for i, name in enumerate(names) if not scene.assumptions.cover[name].trench_allowed]
    limit = Limit("trench_ground_cover", "m", "assumptions, [cover]", "record")
    what = "of trench on ground cover that allows none"
    _check(
        scene,
        ledger,
        bands,
        Barred(
            limit,
            what,
            lambda areas: may_hold_classes(scene.ground, areas, barred),
            lambda area: boxes_of_classes(scene.ground, area, barred),
        ),
    )
    if scene.inside is not None and scene.inp.fixed_line is None:
        limit = Limit("trench_in_corridor", "m", "input, layer corridor", "surveyed")
        inside = scene.inside[0]
        what = "of trench outside the corridor"
        _check(
            scene,
            ledger,
            bands,
            Barred(
                limit,
                what,
                lambda areas: ~shapely.contains_properly(inside, areas),
                lambda area: shapely.get_parts(shapely.difference(area, inside)),
            ),
        )


@dataclass(frozen=True, slots=True)
class Barred:
    """Ground that no trench may take: what is entered for it, and where it lies.

    `may_be_in` tells of many areas which may have any of it, `parts_in` returns what one area has.
    """

    limit: Limit
    what: str
    may_be_in: Callable[[NDArray[np.object_]], NDArray[np.bool_]]
    parts_in: Callable[[shapely.Geometry], NDArray[np.object_]]


def _check(scene: Scene, ledger: Ledger, bands: list[Band], barred: Barred) -> None:
    """Enter the length of band on barred ground; beside a terminal it is listed, not refused."""
    section = int(scene.route.section_of_piece[bands[0].piece])
    element = scene.section_id(section)
    limit, what = barred.limit, barred.what
    barred_m, place = _on_barred(scene, [(b, b.away_from_terminals) for b in bands], barred)
    whole_m, whole_place = _on_barred(scene, [(b, b.area) for b in bands], barred)
    if place is None and whole_place is not None and whole_m >= LEAST_TOLD_M:
        reason = f"{whole_m:.1f} m {what}, beside a terminal, which stands where it stands"
        ledger.amber(element, limit, whole_m, 0.0, whole_place, reason)
        return
    start_m = scene.route.bounds_of_section(section)[0]
    place = place or Place(start_m, section=section, xy_m=scene.route.point_at(start_m))
    ledger.at_most(element, limit, barred_m, 0.0, place, f"{barred_m:.1f} m {what}")


def _on_barred(
    scene: Scene,
    areas: list[tuple[Band, shapely.Geometry]],
    barred: Barred,
) -> tuple[float, Place | None]:
    """Return over what length bands touch barred ground [m], and the first place."""
    total_m, first = 0.0, None
    inner_of = shapely.buffer([area for _, area in areas], -TOLERANCE_M, join_style="mitre")
    for at in np.flatnonzero(~shapely.is_empty(inner_of) & barred.may_be_in(inner_of)):
        band, inner = areas[at][0], inner_of[at]
        touched = shapely.intersection(barred.parts_in(inner), inner)
        touched = touched[~shapely.is_empty(touched)]
        if len(touched) == 0:
            continue
        total_m += max(merged_length_m(scene, band, touched), 2.0 * TOLERANCE_M)
        if first is None:
            xy_m = shapely.get_coordinates(
                shapely.shortest_line(shapely.get_point(band.line, 0), touched[0])
            )[1]
            first = place_on(scene, band, (float(xy_m[0]), float(xy_m[1])))
    return total_m, first
