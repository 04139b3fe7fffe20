"""What the laying out of pipe strings binds: what they lie across, and the trench that they lie on.

Room: ``audit``. True outlines of strips, features and working strips. Nothing of it is priced: bridges over
the strings, roads that are shut, services that are protected.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.band import bands_of_section, merged_length_m
from routescreen.audit.constraint_rows import constraint_row

if TYPE_CHECKING:
    from collections.abc import Iterator

    from routescreen.audit.constraint_rows import Row
    from routescreen.audit.land_use import Sites
    from routescreen.audit.scene import Scene

TOUCH_M2 = 0.1  # land that a strip only grazes, by the rounding of outlines
WAYS = ("motorway", "main_road", "road", "track", "path", "railway", "tram")
WHAT_IT_TAKES = {
    "way": "it is shut, or led over the strings, for as long as they lie there",
    "bed": "water must flow on below the strings",
    "service": "it must bear rollers and plant, or be protected",
    "": "it must bear them for as long as they lie there",
}


def strip_constraints(scene: Scene, sites: Sites) -> Iterator[Row]:
    """Yield what each drive's strings are laid out across, and the open cut that they lie on.

    Parameters
    ----------
    scene : Scene
    sites : Sites

    Yields
    ------
    dict
        See `constraint_rows.constraint_row`.
    """
    for drive in sorted({drive for drive, _ in sites.strips}):
        area = shapely.union_all([outline for owner, outline in sites.strips if owner == drive])
        yield from _laid_across(scene, drive, area)
        yield from _on_open_cut(scene, drive, area)


def _section_of(scene: Scene, drive: int) -> int:
    return int(scene.route.section_of_piece[scene.plan.drives[drive].from_vertex])


def _laid_across(scene: Scene, drive: int, area: shapely.Geometry) -> Iterator[Row]:
    """Yield each feature that strings lie on, beside the alignment at the chainage nearest to it."""
    route = shapely.LineString(scene.route.xy_m)
    where = (_section_of(scene, drive), drive, -1)
    for feature in scene.near(area, 0.0):
        common = shapely.intersection(area, scene.features.outline[feature])
        if common.area <= TOUCH_M2:
            continue
        at_m = float(route.project(common.centroid))
        reason = (
            f"the strings of {scene.drive_id(drive)} lie on {common.area:.0f} m2 of "
            f"{scene.label(int(feature))}: its owner must agree, and {_what_it_takes(scene, int(feature))}; "
            "in no bill"
        )
        yield constraint_row(
            where,
            (at_m, at_m),
            constraint="strings_across",
            title="pipe strings laid out across it",
            reason=reason,
        )


def _what_it_takes(scene: Scene, feature: int) -> str:
    if scene.features.kind[feature] in WAYS:
        return WHAT_IT_TAKES["way"]
    return WHAT_IT_TAKES.get(str(scene.features.cover_reference[feature]), WHAT_IT_TAKES[""])


def _on_open_cut(scene: Scene, drive: int, area: shapely.Geometry) -> Iterator[Row]:
    """Yield each run of open cut on whose working strip strings lie."""
    route = scene.route
    for section in range(route.n_sections):
        if route.is_drive[route.pieces_of_section(section)[0]]:
            continue
        length_m, at_m = 0.0, []
        for band in bands_of_section(scene, section):
            common = shapely.intersection(area, band.strip)
            if common.area <= TOUCH_M2:
                continue
            length_m += merged_length_m(scene, band, np.array([area], dtype=np.object_))
            corners = shapely.get_coordinates(common)
            at_m += route.chainage_along(np.full(len(corners), band.piece), corners).tolist()
        if not at_m:
            continue
        from_m, to_m = route.bounds_of_section(section)
        reason = (
            f"the strings of {scene.drive_id(drive)} lie on {length_m:.0f} m of its working strip: there it "
            "can't be dug before they are pulled in"
        )
        yield constraint_row(
            (section, drive, -1),
            (max(min(at_m), from_m), min(max(at_m), to_m)),
            constraint="dug_after_pull_in",
            title="trench dug after the pull-in",
            length_m=length_m,
            reason=reason,
        )
