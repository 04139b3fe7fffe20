"""What the laying out of pipe strings binds: what they lie across, and the trench that they lie on.

Room: ``audit``. True outlines of strips, features and working strips. Nothing of it is priced: bridges over
the strings, roads that are shut, services that are protected.
"""

from __future__ import annotations

from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class Laid:
    """One feature that a drive's strings lie on.

    Attributes
    ----------
    drive, section, feature : int
        Rows of the plan's drives, the route's sections and the features.
    area_m2 : float
        How much of it they lie on [m2].
    at_m : float
        Chainage nearest to its middle [m].
    """

    drive: int
    section: int
    feature: int
    area_m2: float
    at_m: float


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
    for laid in laid_across(scene, sites):
        yield _to_bear(scene, laid)
    for drive, area in _strips_by_drive(sites):
        yield from _on_open_cut(scene, drive, area)


def laid_across(scene: Scene, sites: Sites) -> Iterator[Laid]:
    """Yield each feature that strings lie on, drive by drive.

    Parameters
    ----------
    scene : Scene
    sites : Sites

    Yields
    ------
    Laid
    """
    route = shapely.LineString(scene.route.xy_m)
    for drive, area in _strips_by_drive(sites):
        for feature in scene.near(area, 0.0):
            common = shapely.intersection(area, scene.features.outline[feature])
            if common.area > TOUCH_M2:
                at_m = float(route.project(common.centroid))
                yield Laid(drive, _section_of(scene, drive), int(feature), float(common.area), at_m)


def _strips_by_drive(sites: Sites) -> Iterator[tuple[int, shapely.Geometry]]:
    for drive in sorted({drive for drive, _ in sites.strips}):
        yield drive, shapely.union_all([outline for owner, outline in sites.strips if owner == drive])


def _section_of(scene: Scene, drive: int) -> int:
    return int(scene.route.section_of_piece[scene.plan.drives[drive].from_vertex])


def _to_bear(scene: Scene, laid: Laid) -> Row:
    """Return what lies under strings, beside the alignment at the chainage nearest to it."""
    reason = (
        f"the strings of {scene.drive_id(laid.drive)} lie on {laid.area_m2:.0f} m2 of "
        f"{scene.label(laid.feature)}: its owner must agree, and {what_it_takes(scene, laid.feature)}; "
        "in no bill"
    )
    return constraint_row(
        (laid.section, laid.drive, -1),
        (laid.at_m, laid.at_m),
        constraint="strings_across",
        title="pipe strings laid out across it",
        reason=reason,
    )


def what_it_takes(scene: Scene, feature: int) -> str:
    """Say what a feature needs while strings lie across it."""
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
