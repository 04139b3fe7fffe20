"""The profile along the finished alignment.

Room: between ``search`` and ``audit``. Pure numbers from the plan's geometry and the ground under it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from routescreen.corridor.frame import to_chainage_offset
from routescreen.drives.course import crown_levels_m, is_cover_asked
from routescreen.drives.methods import method_geometry
from routescreen.drives.open_cut import trench_section
from routescreen.drives.ramp import RampLine, dig_below_axis_m, ramp_line
from routescreen.drives.ramp_spread import RampGround, spread_at
from routescreen.plan import section_runs, vertex_chainage_m
from routescreen.screened import LongSection

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from routescreen.assumptions import Assumptions
    from routescreen.corridor.burn import Burnt
    from routescreen.corridor.frame import Frame
    from routescreen.corridor.ground import GroundSampler
    from routescreen.drives.methods import MethodGeometry
    from routescreen.plan import Drive, Plan, SectionRun, Shaft

STEP_M = 5.0  # between the points of the profile


@dataclass(frozen=True, slots=True)
class DriveCells:
    """The frame that a drive was planned on, and what is burnt on its cells."""

    frame: Frame
    burnt: Burnt


class TrenchDip(Protocol):
    """Where pipes in open cut lie deeper than all along, to pass below what the trench crosses."""

    @property
    def knots_m(self) -> tuple[float, ...]:
        """Chainages of its bends [m]."""

    def depth_m(self, chainage_m: NDArray[np.float64], /) -> NDArray[np.float64]:
        """Return how far the pipes lie below their depth all along [m]."""


def long_section(
    plan: Plan,
    sampler: GroundSampler,
    cells: Sequence[DriveCells],
    assumptions: Assumptions,
    dips: Sequence[TrenchDip] = (),
) -> LongSection:
    """Measure ground, invert, cover and groundwater every few metres along the alignment.

    `cells` are those that each drive was planned on, `dips` those of the open cut.

    In open cut the invert is the trench's bottom and the cover that over the pipes, in dips and on the
    ramps beside shafts too, where the deepest cable counts for the one and the highest for the other; in a
    drive the bore's, and the required cover is from the ground to the highest level that everything in
    the frame's cell allows its crown. At the end of a section both of its levels are given, one point
    for each construction.

    Returns
    -------
    LongSection
    """
    vertex_m = vertex_chainage_m(plan)
    parts = []
    runs = section_runs(plan)
    for number, run in enumerate(runs):
        own_dips = dips if run.drive is None else ()
        at_m = _stations(vertex_m[run.from_vertex : run.to_vertex + 1], own_dips)
        xy_m = _points(plan, vertex_m, at_m)
        samples = sampler.sample(xy_m, with_surroundings=False)
        water_m = samples.ground_m - samples.groundwater_depth_m
        if run.drive is None:
            required = np.full(len(at_m), assumptions.trench.cover_to_pipe_m)
            ramps = _ramps(plan, runs, number, sampler, assumptions)
            cover, depth_m = _open_cut_m(at_m, ramps, dips, assumptions)
            invert = samples.ground_m - depth_m
        else:
            drive = plan.drives[run.drive]
            geometry = method_geometry(assumptions, drive.method)
            crown = crown_levels_m(drive, float(at_m[-1] - at_m[0]), at_m - at_m[0])
            cover, invert = samples.ground_m - crown, crown - geometry.bore_diameter_m
            deviation_m = geometry.deviation_frac * (at_m[-1] - at_m[0])
            ceiling = _ceiling_m(cells[run.drive], drive.method, xy_m, deviation_m)
            own_m = _own_cover_m(drive, geometry, at_m)
            required = np.maximum(samples.ground_m - ceiling, own_m)
        is_drive = np.full(len(at_m), run.drive is not None)
        parts.append((at_m, samples.ground_m, invert, cover, required, water_m, is_drive))
    columns = [np.concatenate(column) for column in zip(*parts, strict=True)]
    return LongSection(*columns)


def _ramps(
    plan: Plan,
    runs: tuple[SectionRun, ...],
    number: int,
    sampler: GroundSampler,
    assumptions: Assumptions,
) -> list[tuple[float, RampLine]]:
    """Return the ramps in a run of open cut, each with the chainage at which it leaves its shaft [m]."""
    vertex_m, run = vertex_chainage_m(plan), runs[number]
    found = []
    for beside, is_upper in ((number - 1, True), (number + 1, False)):
        if not 0 <= beside < len(runs) or (index := runs[beside].drive) is None:
            continue
        drive = plan.drives[index]
        shaft = plan.shafts[drive.upper_shaft if is_upper else drive.lower_shaft]
        crown_m = drive.upper_crown_m if is_upper else drive.lower_crown_m
        bottom_m = shaft.ground_m - crown_m + method_geometry(assumptions, drive.method).bore_diameter_m / 2.0
        shaft_m = float(vertex_m[run.from_vertex if is_upper else run.to_vertex])
        # its run doesn't hang on the pipes' spacing where it ends
        spread = spread_at(assumptions, drive.method, bottom_m, _ground_at(sampler, shaft))
        first = ramp_line(assumptions, drive.method, bottom_m, assumptions.trench.pipe_spacing_m, spread)
        foot_m = np.array([shaft_m + (first.run_m if is_upper else -first.run_m)])
        cut = trench_section(sampler.sample(_points(plan, vertex_m, foot_m)), assumptions)
        line = ramp_line(assumptions, drive.method, bottom_m, float(cut.pipe_spacing_m[0]), spread)
        found.append((shaft_m, line))
    return found


def _ground_at(sampler: GroundSampler, shaft: Shaft) -> RampGround:
    """Return the ground at a shaft, by which its ramps are laid out."""
    at = sampler.sample(np.array([shaft.xy_m]))
    return RampGround(
        int(at.soil_class[0]),
        int(at.rock_soil_class[0]),
        float(at.rock_depth_m[0]),
        float(at.groundwater_depth_m[0]),
    )


def _open_cut_m(
    at_m: NDArray[np.float64],
    ramps: list[tuple[float, RampLine]],
    dips: Sequence[TrenchDip],
    assumptions: Assumptions,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return cover over the pipes and depth of the bottom at chainages of a run of open cut [m]."""
    lower_m = np.zeros(len(at_m))
    for dip in dips:
        lower_m = np.maximum(lower_m, dip.depth_m(at_m))
    cover_m = assumptions.trench.cover_to_pipe_m + lower_m
    depth_m = assumptions.trench_depth_m + lower_m
    for shaft_m, line in ramps:
        along_m = np.abs(at_m - shaft_m)
        on_it = along_m < line.run_m
        axis_m = line.depth_m(along_m[on_it])
        over_m = axis_m.min(axis=1) - assumptions.pipe.trench_outer_diameter_m / 2.0
        under_m = axis_m.max(axis=1) + dig_below_axis_m(assumptions)
        cover_m[on_it] = np.maximum(cover_m[on_it], over_m)
        depth_m[on_it] = np.maximum(depth_m[on_it], under_m)
    return cover_m, depth_m


def _ceiling_m(
    cells: DriveCells, method: str, xy_m: NDArray[np.float64], deviation_m: float
) -> NDArray[np.float64]:
    """Return the highest level allowed to the crown in the cells that points lie in [m]."""
    frame, burnt = cells.frame, cells.burnt
    along_m, offset_m = to_chainage_offset(frame, xy_m)
    column = np.clip(np.rint(along_m / frame.column_spacing_m), 0, frame.node_xy_m.shape[0] - 1)
    row = np.clip(np.rint((offset_m - frame.offset0_m) / frame.cell_m), 0, frame.node_xy_m.shape[1] - 1)
    cell = (burnt.method_names.index(method), column.astype(np.int64), row.astype(np.int64))
    return np.asarray(np.minimum(burnt.ceiling_m[cell], burnt.service_ceiling_m[cell] - deviation_m))


def _stations(vertex_m: NDArray[np.float64], dips: Sequence[TrenchDip]) -> NDArray[np.float64]:
    """Return chainages every few metres, at each vertex and where a dip bends."""
    count = max(1, int(np.ceil((vertex_m[-1] - vertex_m[0]) / STEP_M)))
    bends_m = np.array([at for dip in dips for at in dip.knots_m if vertex_m[0] < at < vertex_m[-1]])
    evenly_m = np.linspace(vertex_m[0], vertex_m[-1], count + 1)
    return np.unique(np.concatenate([evenly_m, vertex_m, bends_m]))


def _points(plan: Plan, vertex_m: NDArray[np.float64], at_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the points of the alignment at chainages."""
    columns = [np.interp(at_m, vertex_m, plan.alignment_xy_m[:, axis]) for axis in (0, 1)]
    return np.stack(columns, axis=1)


def _own_cover_m(drive: Drive, geometry: MethodGeometry, at_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the cover that a method itself asks at chainages; near the pits of a drilled bore none [m]."""
    if drive.curve is None:
        return np.full(len(at_m), geometry.cover_m)
    is_asked = is_cover_asked(drive, float(at_m[-1] - at_m[0]), geometry.cover_m, at_m - at_m[0])
    return np.where(is_asked, geometry.cover_m, 0.0)
