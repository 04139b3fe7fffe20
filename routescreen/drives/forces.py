"""What a method's drives bear and what resists them: thrust and pull-in, from the assumptions.

Room: ``drives``. May import ``engineering`` and ``assumptions``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from routescreen.engineering.pipe import safe_pull_kN
from routescreen.engineering.pull_in import annulus_drag_kN, floating_weight_kN_per_m

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions, Method
    from routescreen.assumptions.works import PipeSize

G_KN_PER_KG = 9.81e-3


@dataclass(frozen=True, slots=True)
class DriveForces:
    """Forces on the drives of one method.

    Attributes
    ----------
    has_string : bool
        Whether a string is pushed from a launch shaft; not of a drilled bore, through which a pipe is pulled.
    is_known : bool
        Whether the thrust is modelled: not of one bore for all cables without a word on its stations.
    string_diameter_m, cut_diameter_m : float
        Outside of the string, which the ground rubs, and of the cut [m].
    has_face_pressure : bool
        Whether the face is held by a fluid; an open face asks for no thrust of its own here.
    control_kPa : float
        By how much the face pressure may be off [kPa].
    string_kN_per_m : float
        Weight of the string [kN/m]; 0 where it is not known.
    frame_kN, string_kN : float
        What the frame may give, its factor taken off, and what the string bears along its axis [kN].
    frame_run_m, station_run_m : float
        Length of string that the frame pushes itself before intermediate stations help, and that each of
        them pushes [m]; inf and 0 without stations.
    station_kN : float
        What a station may give, its factor taken off, at most what the string bears [kN]; inf without any.
    has_pull_in : bool
        Whether a pipe string is pulled in as the driven string is drawn back.
    pipe_in_bore_kN_per_m, pipe_outside_kN_per_m : float
        Friction of the ballasted pipe in the grout and on its rollers [kN/m].
    pipe_drag_kN, safe_pull_kN : float
        Drag in the annulus, and what the pipe bears [kN].
    pipe_kN_per_m, uplift_kN_per_m : float
        Weight of the empty pipe, and net uplift of the ballasted one in what fills the bore [kN/m].
    """

    has_string: bool
    is_known: bool
    string_diameter_m: float
    cut_diameter_m: float
    has_face_pressure: bool
    control_kPa: float
    string_kN_per_m: float
    frame_kN: float
    string_kN: float
    frame_run_m: float
    station_run_m: float
    station_kN: float
    has_pull_in: bool
    pipe_in_bore_kN_per_m: float
    pipe_outside_kN_per_m: float
    pipe_drag_kN: float
    safe_pull_kN: float
    pipe_kN_per_m: float
    uplift_kN_per_m: float

    @property
    def capacity_kN(self) -> float:
        """The lesser of what frame and string bear [kN]."""
        return min(self.frame_kN, self.string_kN)


def drive_forces(a: Assumptions, name: str) -> DriveForces:
    """Return the forces on the drives of a method.

    Parameters
    ----------
    a : Assumptions
    name : str
        Name of the method.

    Returns
    -------
    DriveForces
        At the expected values; friction depends on the soil and is left to the caller.
    """
    way, checks, string = a.methods[name], a.checks.pull_in, a.pipe.jacking_string
    outer_m = way.pipe_outer_diameter_m
    size = a.pipe.size(outer_m) if way.has_layout else None
    pipe_kN_per_m = G_KN_PER_KG * size.mass_kg_per_m if size else 0.0
    inside_m = outer_m - 2e-3 * size.wall_mm if size else 0.0
    is_drilled = way.geometry_kind == "surface_to_surface"
    fluid = way.mud_kN_per_m3 if is_drilled else None  # else the grout replaces the slurry
    floating = floating_weight_kN_per_m(
        pipe_kN_per_m, inside_m, outer_m, fluid or a.grout.unit_weight_kN_per_m3.expected
    )
    return DriveForces(
        has_string=not is_drilled,
        is_known=way.bores_per == "cable" or way.stations_after_m is not None,
        string_diameter_m=way.driven_outer_diameter_m,
        cut_diameter_m=way.bore_diameter_m,
        has_face_pressure=way.face != "open",
        control_kPa=way.face_control_kPa,
        string_kN_per_m=string.weight_kN_per_m if way.has_layout else way.string_weight_kN_per_m or 0.0,
        frame_kN=way.thrust_capacity_kN.expected / way.thrust_factor,
        string_kN=_string_kN(a, way),
        frame_run_m=float("inf") if way.stations_after_m is None else way.stations_after_m,
        station_run_m=way.station_spacing_m or 0.0,
        station_kN=_station_kN(a, way),
        has_pull_in=way.has_layout,
        pipe_in_bore_kN_per_m=checks.grout_friction * abs(floating),
        pipe_outside_kN_per_m=checks.roller_friction * pipe_kN_per_m,
        pipe_drag_kN=annulus_drag_kN(checks.annulus_drag_kPa, way.bore_diameter_m, outer_m),
        safe_pull_kN=_safe_pull_kN(a, size) if size else float("inf"),
        pipe_kN_per_m=pipe_kN_per_m,
        uplift_kN_per_m=-floating,
    )


def _string_kN(a: Assumptions, way: Method) -> float:
    """Return what the driven string bears along its axis [kN]; inf where no limit is known."""
    if way.geometry_kind == "surface_to_surface":
        return float("inf")  # rods of the rig
    if way.has_layout:
        return a.pipe.jacking_string.axial_capacity_kN.expected
    return float("inf") if way.string_capacity_kN is None else way.string_capacity_kN.expected


def _station_kN(a: Assumptions, way: Method) -> float:
    """Return what an intermediate station may give [kN]; inf without stations."""
    if way.station_capacity_kN is None:
        return float("inf")
    return min(way.station_capacity_kN.expected / way.thrust_factor, _string_kN(a, way))


def _safe_pull_kN(a: Assumptions, size: PipeSize) -> float:
    """Return the lesser of the size's own safe pull and what the safe stress gives on its wall [kN]."""
    ratio = 1000.0 * size.outer_diameter_m / size.wall_mm
    return min(
        size.safe_pull_kN, float(safe_pull_kN(size.outer_diameter_m, ratio, a.pipe.safe_pull_stress_MPa))
    )
