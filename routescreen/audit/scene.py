"""Everything that the audit looks at, gathered once: plan, input, what it measured of both.

Room: ``audit``. May use ``plan``, ``project``, ``assumptions``, ``drives.methods`` and shapely.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from routescreen.audit.bores import DriveLine, drive_line
from routescreen.audit.covers import CoverRules
from routescreen.audit.crossings import Meeting, find_meetings
from routescreen.audit.features import Features, resolve_features
from routescreen.audit.ground import TrueGround, true_ground
from routescreen.audit.report import TOLERANCE_M, Place
from routescreen.audit.route import Route, measure_route
from routescreen.audit.surroundings import Surroundings
from routescreen.audit.tracks import tracks_of
from routescreen.drives.methods import MethodGeometry, method_geometry

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.plan import Drive, Plan
    from routescreen.project import CorridorInput


@dataclass(frozen=True, slots=True)
class Scene:
    """The plan, the input and what follows from each alone.

    `axis` is the line against which the direction of drives is measured, None where none is known;
    `inside` is the corridor's outline grown by the tolerance, and by twice of it, None without an outline;
    `surroundings` is the ground of which the input was read; `tree` holds the outlines of the features;
    `lines` has one entry a drive, `meetings` one a stretch of the alignment or of any bore inside a crossing,
    in order of chainage.
    """

    plan: Plan
    inp: CorridorInput
    assumptions: Assumptions
    axis: shapely.LineString | None
    inside: tuple[shapely.Geometry, shapely.Geometry] | None
    surroundings: Surroundings
    route: Route
    ground: TrueGround
    features: Features
    tree: shapely.STRtree
    geometries: dict[str, MethodGeometry]
    lines: tuple[DriveLine, ...]
    meetings: tuple[Meeting, ...]

    @property
    def step_m(self) -> float:
        """Distance between the points of a profile [m]."""
        return self.assumptions.audit.profile_step_m

    def geometry(self, drive: Drive) -> MethodGeometry:
        """Return the geometry of a drive's method."""
        return self.geometries[drive.method]

    def drive_id(self, index: int) -> str:
        """Return the name of a drive in the results."""
        return f"{self.plan.corridor_id}-D{index + 1:03d}"

    def shaft_id(self, index: int) -> str:
        """Return the name of a shaft in the results."""
        return f"{self.plan.corridor_id}-H{index + 1:03d}"

    def section_id(self, index: int) -> str:
        """Return the name of a section in the results."""
        return f"{self.plan.corridor_id}-S{index + 1:03d}"

    def crossing_id(self, index: int) -> str:
        """Return the name of a crossing in the results: of the meeting with that number."""
        return f"{self.plan.corridor_id}-C{index + 1:03d}"

    def near(self, geometry: shapely.Geometry, distance_m: float) -> NDArray[np.int64]:
        """Return the features whose outline lies within a distance of a geometry."""
        if len(self.features) == 0:
            return np.zeros(0, dtype=np.int64)
        found = self.tree.query(geometry, predicate="dwithin", distance=distance_m)
        return np.sort(found).astype(np.int64)

    def feature_place(self, feature: int, place: Place) -> Place:
        """Return a place with the name of a feature added."""
        return replace(place, feature_id=str(self.features.feature_id[feature]))

    def label(self, feature: int) -> str:
        """Return how a feature is called in sentences: its kind, its name if it has one, its id."""
        name = self.features.name[feature]
        called = f" {name}" if name else ""
        return f"{words(self.features.kind[feature])}{called} ({self.features.feature_id[feature]})"

    def method_title(self, drive: Drive) -> str:
        """Return what a drive's method is called in sentences."""
        return self.assumptions.methods[drive.method].title


def words(name: str) -> str:
    """Return a name of the assumptions as it is written in sentences."""
    return str(name).replace("_", " ")


def set_scene(
    plan: Plan, inp: CorridorInput, assumptions: Assumptions, *, axis: shapely.LineString | None
) -> Scene:
    """Measure the plan and resolve the input.

    Parameters
    ----------
    plan : Plan
    inp : CorridorInput
    assumptions : Assumptions
    axis : LineString or None
        Line against which drives' directions are measured; else the input's own axis or fixed line.

    Returns
    -------
    Scene
    """
    route = measure_route(plan)
    features = resolve_features(inp.crossings, assumptions)
    geometries = {d.method: method_geometry(assumptions, d.method) for d in plan.drives}
    lines = tuple(drive_line(plan, d, route, geometries[d.method]) for d in plan.drives)
    frame = assumptions.frame
    meetings = find_meetings(
        route,
        tracks_of(route, lines),
        features,
        gap_m=frame.merge_gap_m,
        window_m=frame.tangent_window_m,
    )
    return Scene(
        plan=plan,
        inp=inp,
        assumptions=assumptions,
        axis=axis or inp.axis or inp.fixed_line,
        inside=_grown(inp.outline),
        surroundings=Surroundings(inp, assumptions),
        route=route,
        ground=true_ground(inp, assumptions),
        features=features,
        tree=shapely.STRtree(features.outline),
        geometries=geometries,
        lines=lines,
        meetings=tuple(meetings),
    )


def _grown(outline: shapely.Geometry | None) -> tuple[shapely.Geometry, shapely.Geometry] | None:
    """Return the outline grown by the tolerance and by twice of it: grown once, since it may be long."""
    if outline is None:
        return None
    grown = shapely.buffer(outline, TOLERANCE_M), shapely.buffer(outline, 2.0 * TOLERANCE_M)
    for area in grown:
        shapely.prepare(area)
    return grown


def cover_rules(scene: Scene, drive: Drive) -> CoverRules:
    """Return what the cover under features depends on for one drive."""
    geometry = scene.geometry(drive)
    return CoverRules(
        method_cover_m=geometry.cover_m,
        deviation_frac=geometry.deviation_frac,
        base_search_m=scene.assumptions.frame.base_search_m,
        terrain_is_bed=scene.inp.terrain_is_bed,
        step_m=scene.step_m,
    )


def meeting_place(scene: Scene, meeting: Meeting) -> Place:
    """Return the place of a crossing: the middle of the stretch inside it, on the alignment."""
    return Place(
        meeting.middle_m,
        drive=meeting.drive,
        section=meeting.section,
        xy_m=scene.route.point_at(meeting.middle_m),
    )


def widest_m(values_m: NDArray[np.float64]) -> float:
    """Return the largest value, 0 of none [m]."""
    return float(np.max(values_m)) if len(values_m) else 0.0
