"""The bill of the plan measured on its exact geometry, section by section.

Room: ``audit``. May use ``money.measure``: the formulae of the bill. Every length, class, soil and
depth that goes into them is measured here, on the true lines, rasters and polygons.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.dip_rules import crossing_dip
from routescreen.audit.route import cells_between
from routescreen.audit.shaft_checks import is_launch, needed_depths_m
from routescreen.audit.trench_checks import trench_cells
from routescreen.drives.course import lowest_crown_m
from routescreen.drives.methods import ROLE_NONE, enabled_methods, role_of
from routescreen.money import measure

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.audit.crossings import Meeting
    from routescreen.audit.scene import Scene
    from routescreen.drives.dip import Dip

SAME_M = 1e-9  # a bottom at the water's level isn't below it, however the level is rounded


def section_quantities(scene: Scene) -> NDArray[np.float64]:
    """Measure all items that the search carries.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    ndarray of shape (n_sections, n_items)
        In item units, in the order of the bill's items. A shaft belongs to its drive's section, the
        lower-chainage one if it serves two.
    """
    rows = []
    for section in range(scene.route.n_sections):
        drive = int(scene.route.drive_of_piece[scene.route.pieces_of_section(section)[0]])
        works = _trench(scene, section) if drive < 0 else _drive(scene, drive)
        rows.append(works + _crossings(scene, section))
    quantities = np.array(rows)
    for index in range(len(scene.plan.shafts)):
        quantities[_section_of_shaft(scene, index)] += _shaft(scene, index)
    return quantities


def _trench(scene: Scene, section: int) -> NDArray[np.float64]:
    xy_m, width_m, piece = trench_cells(scene, section)
    samples = scene.ground.samples(xy_m, with_surroundings=False)
    per_m = measure.trench_per_m(samples, scene.route.is_narrow[piece], scene.assumptions)
    return np.asarray(width_m @ per_m)


def _drive(scene: Scene, index: int) -> NDArray[np.float64]:
    """Measure a drive: its metres by soil and cover, and what it needs as a whole."""
    drive, line = scene.plan.drives[index], scene.lines[index]
    assumptions = scene.assumptions
    middle_m, width_m = cells_between(0.0, line.plan_length_m, scene.step_m)
    xy_m = line.lower_xy_m + middle_m[:, None] * line.direction
    samples = scene.ground.samples(xy_m, with_surroundings=False)
    axis_depth_m = samples.ground_m - line.crown_m(middle_m) + line.radius_m
    soil = np.where(axis_depth_m > samples.rock_depth_m, samples.rock_soil_class, samples.soil_class)
    stretch = line.true_length_m / line.plan_length_m
    per_m = measure.drive_per_m(drive.method, soil, samples.cover_class, assumptions)
    ends = (drive.lower_shaft, drive.upper_shaft)
    launch, reception = ends if drive.is_launched_at_lower else ends[::-1]
    reception_xy_m = np.array([scene.plan.shafts[reception].xy_m])
    fixed = measure.drive_fixed(
        drive.method,
        np.array([line.true_length_m]),
        np.array([_looked_at_m(scene, launch, index)]),
        np.array([_looked_at_m(scene, reception, index)]),
        scene.ground.cover_class(reception_xy_m),
        assumptions,
        n_pieces=drive.n_layout_pieces,
    )
    n_wet = sum(_is_wet(scene, shaft, index) for shaft in (launch, reception))
    pumping = measure.drive_pumping(drive.method, soil, stretch * width_m, n_wet, assumptions)
    return np.asarray(stretch * (width_m @ per_m) + fixed[0] + pumping)


def _is_wet(scene: Scene, shaft: int, drive: int) -> bool:
    """Return whether a shaft as deep as one drive asks for lies below the groundwater as given."""
    at = scene.ground.samples(np.array([scene.plan.shafts[shaft].xy_m]))
    record = scene.plan.drives[drive]
    if record.curve is None:
        depth_m = _own_depth_m(scene, shaft, drive)
    else:
        step_m = scene.assumptions.shaft.depth_step_m
        depth_m = float(np.ceil(scene.geometry(record).least_depth_m / step_m - SAME_M) * step_m)
    return bool(depth_m > at.groundwater_depth_m[0] + SAME_M)


def drive_quantities(scene: Scene, index: int) -> NDArray[np.float64]:
    """Measure one drive without its shafts and what it passes under, shape (n_items,)."""
    return _drive(scene, index)


def _crossings(scene: Scene, section: int) -> NDArray[np.float64]:
    """Measure the crossings of a section: once a run of trench, once a drive whatever it meets twice."""
    drive = int(scene.route.drive_of_piece[scene.route.pieces_of_section(section)[0]])
    if drive >= 0:
        return _under(scene, drive)
    total = np.zeros(len(measure.bill_items(scene.assumptions)))
    for meeting in scene.meetings:
        kind = str(scene.features.kind[meeting.features[0]])
        if meeting.section == section and kind in scene.assumptions.treatments:
            dip = crossing_dip(scene, meeting.crossing)
            total += measure.crossing_trench(kind, scene.assumptions, dip)
            total += _inside_crossing(scene, kind, meeting, None if dip is None else dip.dip)
    return total


def _under(scene: Scene, drive: int) -> NDArray[np.float64]:
    """Measure the crossings that any bore of a drive, or the line between them, passes under."""
    met = [meeting for meeting in scene.meetings if meeting.drive == drive]
    kind_of = {meeting.crossing: str(scene.features.kind[meeting.features[0]]) for meeting in met}
    total = np.zeros(len(measure.bill_items(scene.assumptions)))
    for kind in kind_of.values():
        if kind in scene.assumptions.treatments:
            total += measure.crossing_drive(kind, scene.assumptions)
    return total


def _inside_crossing(scene: Scene, kind: str, meeting: Meeting, dip: Dip | None) -> NDArray[np.float64]:
    """Measure what the metres of open cut inside a crossing add."""
    middle_m, width_m = cells_between(meeting.from_m, meeting.to_m, scene.step_m)
    xy_m = np.array([scene.route.point_at(float(at_m)) for at_m in middle_m]).reshape(-1, 2)
    piece = np.searchsorted(scene.route.chainage_m, middle_m, side="right") - 1
    is_narrow = scene.route.is_narrow[np.clip(piece, 0, scene.route.n_pieces - 1)]
    samples = scene.ground.samples(xy_m, with_surroundings=False)
    per_m = measure.crossing_trench_per_m(kind, samples, is_narrow, scene.assumptions, dip)
    return np.asarray(width_m @ per_m)


def _looked_at_m(scene: Scene, shaft: int, drive: int) -> float:
    """Return how deep the ground is looked at: to a shaft, an arc below it or a drilled bore [m]."""
    record, line = scene.plan.drives[drive], scene.lines[drive]
    if record.curve is None and record.arc_radius_m is None:
        return _own_depth_m(scene, shaft, drive)
    lowest_m = lowest_crown_m(record, line.plan_length_m) - 2.0 * line.radius_m
    below_m = scene.plan.shafts[shaft].ground_m - lowest_m
    return below_m if record.curve is not None else max(below_m, _own_depth_m(scene, shaft, drive))


def _own_depth_m(scene: Scene, shaft: int, drive: int) -> float:
    """Return the depth that one drive asks of its shaft, rounded up to the depth step [m]."""
    step_m = scene.assumptions.shaft.depth_step_m
    least_m = scene.geometry(scene.plan.drives[drive]).least_depth_m
    need_m = max(needed_depths_m(scene, shaft)[drive], least_m)
    return float(np.ceil(need_m / step_m - 1e-6) * step_m)


def _role(scene: Scene, shaft: int, drive: int | None) -> int:
    if drive is None:
        return ROLE_NONE
    method_index = enabled_methods(scene.assumptions).index(scene.plan.drives[drive].method)
    return role_of(method_index, not is_launch(scene, scene.plan.shafts[shaft], drive))


def shaft_hole(scene: Scene, index: int, *, is_wet: bool | None = None) -> NDArray[np.float64]:
    """Measure a shaft without its site.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the shaft.
    is_wet : bool, optional
        Whether it is built below groundwater, with a tight wall and a plug; by default as the plan is priced.

    Returns
    -------
    ndarray of shape (n_items,)
    """
    shaft = scene.plan.shafts[index]
    at = scene.ground.samples(np.array([shaft.xy_m]))
    roles = (_role(scene, index, shaft.incoming), _role(scene, index, shaft.outgoing))
    wet = shaft.depth_m > at.groundwater_depth_m if is_wet is None else np.array([is_wet])
    highest_depth_m = at.groundwater_depth_m - scene.assumptions.groundwater.highest_rise_m
    ground = measure.ShaftGround(at.soil_class, at.rock_soil_class, at.rock_depth_m, at.groundwater_depth_m)
    quantities = measure.shaft_in_ground(
        *roles,
        ground,
        wet,
        shaft.depth_m,
        scene.assumptions,
        is_reached=wet | (shaft.depth_m > highest_depth_m + SAME_M),
    )
    return np.asarray(quantities[0], dtype=np.float64)


def fill_if_asked(scene: Scene, index: int) -> NDArray[np.float64]:
    """Measure the conducting fill that a shaft would take, whether it is bought or not.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the shaft.

    Returns
    -------
    ndarray of shape (n_items,)
        With the soil that it displaces, all of it as the soil at the ground.
    """
    shaft = scene.plan.shafts[index]
    at = scene.ground.samples(np.array([shaft.xy_m]))
    roles = (_role(scene, index, shaft.incoming), _role(scene, index, shaft.outgoing))
    quantities = measure.conducting_fill(*roles, at.soil_class, shaft.depth_m, scene.assumptions)
    return np.asarray(quantities[0], dtype=np.float64)


def ramp_works(scene: Scene, index: int) -> measure.RampWorks:
    """Measure the ramps that the bill counts for a shaft.

    Parameters
    ----------
    scene : Scene
    index : int
        Of the shaft.
    """
    shaft = scene.plan.shafts[index]
    at = scene.ground.samples(np.array([shaft.xy_m]))
    roles = (_role(scene, index, shaft.incoming), _role(scene, index, shaft.outgoing))
    ground = measure.ShaftGround(at.soil_class, at.rock_soil_class, at.rock_depth_m, at.groundwater_depth_m)
    return measure.ramp_works_of(*roles, ground, shaft.depth_m, scene.assumptions)[0]


def _shaft(scene: Scene, index: int) -> NDArray[np.float64]:
    """Measure a shaft and its site."""
    shaft = scene.plan.shafts[index]
    at = scene.ground.samples(np.array([shaft.xy_m]))
    roles = (_role(scene, index, shaft.incoming), _role(scene, index, shaft.outgoing))
    site = measure.shaft_site(*roles, at.access_distance_m, at.cover_class, scene.assumptions)
    return np.asarray(shaft_hole(scene, index) + site[0])


def _section_of_shaft(scene: Scene, index: int) -> int:
    shaft = scene.plan.shafts[index]
    drive = shaft.incoming if shaft.incoming is not None else shaft.outgoing
    piece = scene.plan.drives[drive].from_vertex if drive is not None else 0
    return int(scene.route.section_of_piece[piece])


def works_quantities(scene: Scene, section: int) -> NDArray[np.float64]:
    """Measure one open cut or drive with its crossings, without shafts, shape (n_items,)."""
    drive = int(scene.route.drive_of_piece[scene.route.pieces_of_section(section)[0]])
    works = _trench(scene, section) if drive < 0 else _drive(scene, drive)
    return np.asarray(works + _crossings(scene, section))


def shaft_quantities(scene: Scene, index: int) -> NDArray[np.float64]:
    """Measure one shaft with its site, shape (n_items,)."""
    return _shaft(scene, index)
