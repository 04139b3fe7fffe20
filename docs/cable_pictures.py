"""Pictures of the pages on the cable's checks: how each formula behaves, and the demo's sections of cable.

Called by make_pictures.py. Needs matplotlib.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
from matplotlib.figure import Figure

from routescreen.assumptions import load_assumptions
from routescreen.drives.cable_make import current_shares, surround, undisturbed_degC
from routescreen.engineering.cable_pull import pull_both_ways_kN
from routescreen.engineering.crossing_heat import crossing_rise_K, equalising_length_m
from routescreen.engineering.field import cable_field_uT, compass_error_deg, return_cases_A
from routescreen.engineering.rating import HeatPath, group_rating
from routescreen.engineering.spacing_heat import never_less_below_m, spacing_table_m

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

BLUE, OCHRE, TEAL, CRIMSON, SLATE = "#0b3c5d", "#a8651b", "#1d6f72", "#9b1239", "#5b6168"
DEFAULTS = load_assumptions()
SAND = DEFAULTS.soil["sand_dense"]
SATURATED_RHO, MOIST_RHO = SAND.resistivity_saturated_Km_per_W, SAND.resistivity_moist_Km_per_W
DRY_RATIO = SAND.resistivity_dry_Km_per_W / MOIST_RHO


def _figure(n: int = 1, *, height: float = 3.6) -> tuple[Figure, list[Axes]]:
    figure = Figure(figsize=(9.0, height), facecolor="white", layout="constrained")
    axes = np.atleast_1d(figure.subplots(1, n)).tolist()
    for each in axes:
        each.set_axisbelow(True)
        each.grid(color="#dddddd", lw=0.6)
        each.tick_params(labelsize=8)
    return figure, axes


def _finish(axes: Axes, across: str, up: str, title: str) -> None:
    axes.set_xlabel(across, fontsize=8)
    axes.set_ylabel(up, fontsize=8)
    axes.set_title(title, fontsize=9)
    axes.legend(fontsize=7, frameon=False)


def pull_picture() -> Figure:
    """Return the pull along trench, ramp, bore, ramp and trench, from both ends and at both frictions."""
    figure, (axes,) = _figure()
    cable = DEFAULTS.cable
    parts = [(30, 10.0, 0.0, 0.0), (1, 0.0, 0.0, 30.0), (20, 10.0, 0.0, 0.0)]  # times, length, slope, bend
    parts += [(1, 0.0, 0.0, 28.46), (2, 12.42, -11.0, 0.0), (1, 0.0, 0.0, 28.46), (20, 10.0, 0.0, 0.0)]
    parts += [(1, 0.0, 0.0, 28.46), (2, 12.42, 11.0, 0.0), (1, 0.0, 0.0, 28.46), (20, 10.0, 0.0, 0.0)]
    rows = [row[1:] for row in parts for _ in range(row[0])]
    length, slope, bend = (np.array(column) for column in zip(*rows, strict=True))
    at_m = np.concatenate([[0.0], np.cumsum(length)])
    for name, friction, dash in (("expected", 0.25, "-"), ("high", 0.40, "--")):
        ways = pull_both_ways_kN(
            length,
            slope,
            bend,
            weight_kN_per_m=cable.mass_kg_per_m.expected * 9.81 / 1000.0,
            friction=friction,
            back_tension_kN=3.0,
        )
        for way, colour, end in zip(ways, (BLUE, OCHRE), ("left", "right"), strict=True):
            axes.plot(at_m, way, dash, color=colour, lw=1.4, label=f"drum at the {end}, {name} friction")
    axes.axhline(cable.eye_limit_kN, color=CRIMSON, lw=1.2, label="limit of the eye")
    axes.axvspan(500.0, 749.7, color="#cfe2f1", alpha=0.5, lw=0, label="drive with its ramps")
    axes.annotate(
        "bend of 30 deg", (300.0, 40.0), (120.0, 165.0), fontsize=7, arrowprops={"arrowstyle": "->"}
    )
    _finish(axes, "cable (m)", "pull (kN)", "Pull of a cable of 42 kg/m")
    return figure


def _path(ratio: float) -> HeatPath:
    around, a = surround(DEFAULTS, 0.5, 0.56), DEFAULTS
    return HeatPath(
        conductor_ohm_per_m=8.6148e-6,
        inside_K_m_per_W=around.inside_K_m_per_W,
        outer_diameter_m=around.outer_diameter_m,
        conductor_degC=a.cable.conductor_limit_degC,
        ground_degC=math.nan,
        rho_K_m_per_W=SATURATED_RHO if ratio == 1.0 else MOIST_RHO,
        drying_ratio=ratio,
        drying_rise_K=a.checks.rating.drying_rise_K,
    )


def rating_picture() -> Figure:
    """Return the rating of four bores by depth, for three spacings, in saturated and in drying ground."""
    figure, panels = _figure(2)
    depth = np.linspace(1.5, 20.0, 150)
    for axes, ratio, title in zip(panels, (1.0, DRY_RATIO), ("is saturated", "may dry out"), strict=True):
        for spacing_m, colour in ((2.0, OCHRE), (3.5, TEAL), (6.0, BLUE)):
            offsets = np.broadcast_to(spacing_m * np.array([-1.5, -0.5, 0.5, 1.5]), (len(depth), 4))
            depths = np.broadcast_to(depth[:, np.newaxis], offsets.shape)
            path = _path(ratio)
            ground = undisturbed_degC(DEFAULTS, depth)[:, np.newaxis]
            path = HeatPath(**{n: getattr(path, n) for n in HeatPath.__slots__} | {"ground_degC": ground})
            found = group_rating(depths, offsets, path, share=current_shares(DEFAULTS)).rating_A
            axes.plot(depth, found, color=colour, lw=1.5, label=f"{spacing_m:g} m apart")
        axes.axhline(DEFAULTS.link.current_A, color=CRIMSON, lw=1.0, label="the link's current")
        axes.set_ylim(1000.0, 2700.0)
        _finish(axes, "depth of the axes (m)", "rating (A)", f"Four bores, dense sand that {title}")
    return figure


def _four_bores_A(axis_m: float, column_m: Array, column_rho: float) -> Array:
    """Rate four bores 6 m apart in saturated dense sand below so much other ground."""
    path = replace(
        _path(1.0),
        ground_degC=float(undisturbed_degC(DEFAULTS, np.array([axis_m]))[0]),
        column_m=column_m[:, np.newaxis],
        column_rho_K_m_per_W=column_rho,
    )
    offsets = np.broadcast_to(6.0 * np.array([-1.5, -0.5, 0.5, 1.5]), (len(column_m), 4))
    return group_rating(
        np.full(offsets.shape, axis_m), offsets, path, share=current_shares(DEFAULTS)
    ).rating_A


def other_ground_picture() -> Figure:
    """Return the rating below ground that stays moist or dries out, and the rise where a source crosses."""
    figure, (left, right) = _figure(2)
    column = np.linspace(0.0, 7.0, 120)
    for rho, dash, name in ((MOIST_RHO, "-", "moist"), (SAND.resistivity_dry_Km_per_W, "--", "dried out")):
        left.plot(column, _four_bores_A(8.0, column, rho), dash, color=BLUE, lw=1.5, label=name)
    left.axhline(DEFAULTS.link.current_A, color=CRIMSON, lw=1.0, label="the link's current")
    _finish(
        left,
        "ground above the groundwater (m)",
        "rating (A)",
        "Four bores 8 m deep, dense sand saturated below",
    )
    angle = np.linspace(0.0, 90.0, 91)
    length_m = float(equalising_length_m(DEFAULTS.cable.resistance_20degC_ohm_per_m, 0.5763))
    for clear_m, colour in ((0.5, OCHRE), (1.0, TEAL), (2.0, BLUE)):
        given = {
            "source_depth_m": 1.54 + clear_m + 0.24,
            "heat_W_per_m": 60.0,
            "rho_K_m_per_W": MOIST_RHO,
            "angle_deg": angle,
        }
        rise = crossing_rise_K(1.54, **given, equalising_m=length_m)
        right.plot(angle, rise, color=colour, lw=1.5, label=f"{clear_m:g} m clear")
        ground = crossing_rise_K(1.54, **given, equalising_m=0.0)
        right.plot(angle, ground, color=colour, lw=0.9, ls="--")
    right.plot([], [], color=SLATE, lw=0.9, ls="--", label="the ground at the crossing")
    right.set_ylim(0.0, 22.0)
    _finish(right, "angle (deg)", "rise (K)", "60 W/m crossing below a trench, moist dense sand")
    return figure


def spacing_picture() -> Figure:
    """Return the spacing that heat asks for by depth, with the bound that never falls."""
    figure, (axes,) = _figure()
    depth = np.linspace(1.0, 20.0, 200)
    kinds = (
        ("dense sand, saturated", SATURATED_RHO, 1.0, BLUE),
        ("soft clay, saturated", 1.1, 1.0, TEAL),
        ("dense sand that may dry out", MOIST_RHO, DRY_RATIO, OCHRE),
    )
    for name, rho, ratio, colour in kinds:
        row = spacing_table_m(
            DEFAULTS.link.current_A,
            depth,
            rho_K_m_per_W=[rho],
            drying_ratio=[ratio],
            ground_degC=undisturbed_degC(DEFAULTS, depth),
            n_cables=4,
            path=_path(1.0),
            most_m=50.0,
        )[0]
        axes.plot(depth, row, color=colour, lw=1.6, label=name)
        axes.plot(depth, never_less_below_m(row), color=colour, lw=0.9, ls="--")
    axes.plot([], [], color=SLATE, lw=0.9, ls="--", label="bound that never falls with depth")
    axes.axhline(6.0, color=CRIMSON, lw=1.0, label="6 m of the two-pass method")
    axes.set_ylim(0.0, 14.0)
    _finish(axes, "depth of the axes (m)", "spacing needed (m)", "Four bores of 0.56 m at 1 905 A")
    return figure


def field_picture() -> Figure:
    """Return field and compass error across one trench system, for each return of the current."""
    figure, (left, right) = _figure(2)
    y = np.linspace(-15.0, 15.0, 601)
    names, currents = return_cases_A([1, 0, -1], [1, 1, 1], DEFAULTS.link.current_A)
    lies = {"cable_offset_m": [-0.5, 0.0, 0.5], "cable_height_m": [-1.54] * 3}
    for name, amperes, colour in zip(names, currents, (BLUE, OCHRE, TEAL), strict=True):
        words = name.replace("system 1, ", "")
        low = cable_field_uT(y, np.full(len(y), 0.2), current_A=amperes, **lies)
        left.plot(y, np.hypot(*low), color=colour, lw=1.5, label=words)
        high = cable_field_uT(y, np.full(len(y), 1.0), current_A=amperes, **lies)
        turned = compass_error_deg(high[0], bearing_deg=0.0, earth_horizontal_uT=18.0)
        right.plot(y, turned, color=colour, lw=1.5, label=words)
    _finish(left, "across the line (m)", "field 0.2 m above ground (uT)", "Poles 1 m apart, return between")
    _finish(right, "across the line (m)", "compass error 1 m above ground (deg)", "Line to the north")
    return figure


def sections_picture(results: Path) -> Figure:
    """Return the demo's sections of cable: length and drum, pull from the better end."""
    table = gpd.read_file(results, layer="cable_sections")
    table = table[table["cable"] == "pole"]
    figure, panels = _figure(2)
    middle = (table["from_chainage_m"] + table["to_chainage_m"]) / 2000.0
    wide = (table["to_chainage_m"] - table["from_chainage_m"]) / 1000.0 * 0.94
    panels[0].bar(middle, table["length_m"], wide, color=TEAL, label="length of cable")
    drum_m = DEFAULTS.cable.section_length_m
    panels[0].axhline(drum_m, color=CRIMSON, lw=1.2, label="what a drum of 60 t carries")
    panels[0].set_ylim(0.0, 1600.0)
    _finish(panels[0], "chainage (km)", "length (m)", "Sections of cable of the demo")
    for high, colour, name in (("high_", "#e3c7a4", "high friction"), ("", OCHRE, "expected friction")):
        pulls = [row[f"pull_from_{row['drum_at']}_{high}kN"] for _, row in table.iterrows()]
        panels[1].bar(middle, pulls, wide, color=colour, label=name)
    panels[1].axhline(DEFAULTS.cable.eye_limit_kN, color=CRIMSON, lw=1.2, label="limit of the eye")
    panels[1].set_ylim(top=1.35 * panels[1].get_ylim()[1])  # room for the names above the highest bar
    _finish(panels[1], "chainage (km)", "pull (kN)", "Pull with the drum at the better end")
    return figure


def cable_pictures(results: Path) -> dict[str, Callable[[], Figure]]:
    """Return the pictures by the names of their files."""
    return {
        "check_cable_pull": pull_picture,
        "check_cable_rating": rating_picture,
        "check_cable_other_places": other_ground_picture,
        "check_thermal_spacing": spacing_picture,
        "check_magnetic_field": field_picture,
        "check_joint_bays": lambda: sections_picture(results),
    }
