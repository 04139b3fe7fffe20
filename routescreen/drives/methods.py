"""The catalogue of trenchless methods as numbers: sizes, spacing and limits of each.

Room: ``drives``. May import ``assumptions`` only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions, Method

ROLE_NONE = 0


@dataclass(frozen=True, slots=True)
class MethodGeometry:
    """The geometry that one method needs, the same for each of its drives.

    Attributes
    ----------
    name : str
        Name in the assumptions.
    n_bores : int
        Parallel bores of a drive.
    bore_diameter_m, pipe_diameter_m : float
        Diameter of the bore and outer diameter of the pipe in it [m].
    spacing_m : float
        Distance between the axes of neighbouring bores [m].
    half_width_m : float
        From the centre line of the drive to the outer edge of its outermost bore, in plan [m].
    cover_m : float
        Cover over the crown that the method needs anywhere [m].
    launch_plan_m, reception_plan_m : tuple of float
        Inside size of the shaft, (length along the drive, width across) [m].
    least_length_m, longest_m : float
        Limits of the true drive length whatever the soil; an arc is no longer than it may turn [m].
    grade_min_frac, grade_max_frac : float
        Limits of the slope from launch to reception, rising positive [-].
    least_depth_m, most_depth_m : float
        Limits of the shaft depth [m].
    deviation_frac : float
        Deviation of the bore as a share of its length [-].
    head_limit_m : float
        Highest groundwater level above the bore's axis [m]; inf where there is no limit.
    entry_rad, exit_rad : float
        Angles of a drilled bore to the horizontal at its launch and its reception; 0 for methods that drive
        straight from shaft to shaft [rad].
    bend_radius_m : float
        Of a drilled bore between its straights and its level part [m].
    arc_radius_m : float
        Of a drive that runs on one arc from shaft to shaft, deeper between them; 0 of a straight one [m].
    """

    name: str
    n_bores: int
    bore_diameter_m: float
    pipe_diameter_m: float
    spacing_m: float
    half_width_m: float
    cover_m: float
    launch_plan_m: tuple[float, float]
    reception_plan_m: tuple[float, float]
    least_length_m: float
    longest_m: float
    grade_min_frac: float
    grade_max_frac: float
    least_depth_m: float
    most_depth_m: float
    deviation_frac: float
    head_limit_m: float
    entry_rad: float = 0.0
    exit_rad: float = 0.0
    bend_radius_m: float = 0.0
    arc_radius_m: float = 0.0

    @property
    def is_drilled(self) -> bool:
        """Whether it drills from pit to pit, in a curve, instead of driving straight from shaft to shaft."""
        return self.entry_rad > 0.0

    @property
    def arc_per_m(self) -> float:
        """1/(2 R) of an arc, 0 of a straight drive [1/m]."""
        return 0.5 / self.arc_radius_m if self.arc_radius_m > 0.0 else 0.0


def enabled_methods(assumptions: Assumptions) -> tuple[str, ...]:
    """Return the names of the enabled methods, in the order of the catalogue."""
    return tuple(name for name, method in assumptions.methods.items() if method.is_enabled)


def method_geometry(assumptions: Assumptions, name: str) -> MethodGeometry:
    """Reckon the geometry of one method for the link's number of cables.

    The bores stand at the larger of the thermal need, the least spacing, the pipe and the bore side
    by side with twice the deviation at the method's longest drive, and a multiple of the bore
    (common practice, no source). Taking the longest drive keeps one spacing for all drives of a
    method, on the safe side for the shorter ones.

    Parameters
    ----------
    assumptions : Assumptions
    name : str
        A key of ``assumptions.methods``.

    Returns
    -------
    MethodGeometry
    """
    method = assumptions.methods[name]
    n_bores = assumptions.link.n_cables if method.bores_per == "cable" else 1
    pipe = method.pipe_outer_diameter_m
    bore = method.bore_diameter_m
    spacing = max(
        method.thermal_spacing_m,
        method.least_spacing_m,
        pipe + bore + 2.0 * method.deviation_frac * method.longest_m,
        method.spacing_diameters * bore,
    )
    width = (n_bores - 1) * spacing + method.width_margin_m
    head, angles = method.head_above_axis_fail_m, method.surface_angles
    return MethodGeometry(
        name=name,
        n_bores=n_bores,
        bore_diameter_m=bore,
        pipe_diameter_m=pipe,
        spacing_m=spacing,
        half_width_m=(n_bores - 1) * spacing / 2.0 + bore / 2.0,
        cover_m=method.cover_m,
        launch_plan_m=(method.launch_length_m, width),
        reception_plan_m=(method.reception_length_m, width),
        least_length_m=method.least_length_m,
        longest_m=min(method.longest_m, _arc_reach_m(method)),
        grade_min_frac=method.grade_min_percent / 100.0,
        grade_max_frac=method.grade_max_percent / 100.0,
        least_depth_m=method.least_shaft_depth_m,
        most_depth_m=method.most_shaft_depth_m,
        deviation_frac=method.deviation_frac,
        head_limit_m=math.inf if head is None else head,
        entry_rad=0.0 if angles is None else math.radians(angles.entry_deg.expected),
        exit_rad=0.0 if angles is None else math.radians(angles.exit_deg.expected),
        bend_radius_m=method.least_radius_m or 0.0,
        arc_radius_m=method.arc_radius_m or 0.0,
    )


def _arc_reach_m(method: Method) -> float:
    """Return the true length of an arc with both ends at their limits of grade [m]; inf if straight."""
    if method.arc_radius_m is None:
        return math.inf
    lowest, highest = method.grade_min_percent / 100.0, method.grade_max_percent / 100.0
    return method.arc_radius_m * (highest - lowest) * math.hypot(1.0, max(abs(lowest), abs(highest)))


def role_of(method_index: int, is_reception: bool) -> int:
    """Return the shaft role of a drive's end: 1 + 2 x method + (0 launch, 1 reception)."""
    return 1 + 2 * method_index + int(is_reception)
