"""Pictures of how the checks of shafts behave, from the formulae and the default assumptions.

Drawn by make_pictures.py. Imports the package; needs matplotlib.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from routescreen.assumptions import load_assumptions
from routescreen.engineering.base_uplift import embedment_m
from routescreen.engineering.dewatering import pit_radius_m, radial_inflow_m3_per_s, reach_m
from routescreen.engineering.eyes import treated_block_m3, treated_length_m
from routescreen.engineering.flood import rim_height_m
from routescreen.engineering.ground_stress import ground_stress
from routescreen.engineering.shaft import uplift_deficit_kPa
from routescreen.engineering.thrust_wall import passive_stress_kPa, square_block_m

if TYPE_CHECKING:
    from matplotlib.axes import Axes

A = load_assumptions()
CHECKS = A.checks.shaft
# Dark to light: lines stay apart in grey print too; dashes tell them apart besides.
COLOURS = ("#0b3c5d", "#a8651b", "#3f86b5", "#7a7a7a")
DASHES = ("-", "--", "-.", ":")
LIMIT = "#b02a30"
BEHIND = {"boxstyle": "square,pad=0.1", "fc": "white", "ec": "none"}


def two_panels(*labels: tuple[str, str]) -> tuple[Figure, list[Axes]]:
    """Return a figure of panels side by side with their labels (x, y)."""
    figure = Figure(figsize=(10.0, 3.8), facecolor="white")
    panels = list(np.atleast_1d(figure.subplots(1, len(labels))))
    figure.subplots_adjust(left=0.07, right=0.985, top=0.95, bottom=0.14, wspace=0.22)
    for axes, (across, up) in zip(panels, labels, strict=True):
        axes.set_xlabel(across, fontsize=9)
        axes.set_ylabel(up, fontsize=9)
        axes.tick_params(labelsize=8)
        axes.grid(color="#dddddd", lw=0.6)
        axes.set_axisbelow(True)
    return figure, panels


def base_picture() -> Figure:
    """Plug and anchors against the head on the base; wall that stops the heave."""
    figure, (plug, wall) = two_panels(
        ("highest water above the base (m)", "uplift that is left (kPa)"),
        ("highest water above the base (m)", "wall below the base (m)"),
    )
    head = np.linspace(0.0, 14.0, 141)
    uplift = {
        "concrete_kN_per_m3": A.shaft.concrete_kN_per_m3,
        "water_kN_per_m3": A.groundwater.unit_weight_kN_per_m3,
        "weight_factor": A.shaft.uplift_weight_factor,
        "water_factor": CHECKS.water_factor,
    }
    for thick_m, colour, dash in zip((1.0, 2.0, 3.0, 4.0), COLOURS, DASHES, strict=True):
        left = uplift_deficit_kPa(head, 0.0, thick_m, **uplift)
        plug.plot(head, left, color=colour, ls=dash, lw=1.8, label=f"plug of {thick_m:g} m")
    most = CHECKS.anchor_kN / CHECKS.anchor_spacing_m**2
    plug.axhline(most, color=LIMIT, lw=1.2)
    plug.text(0.2, most + 2.0, "closest anchors; above: fails", color=LIMIT, fontsize=8)
    plug.plot(6.75, 9.81 * 8.75 - 43.2, "o", color="black", ms=5, zorder=5)
    plug.text(6.55, 44.0, "worked number", fontsize=8, ha="right", bbox=BEHIND)
    plug.set(xlim=(0.0, 14.0), ylim=(0.0, 120.0))
    plug.legend(fontsize=8, loc="lower right")
    factors = {"lifting_factor": CHECKS.heave_lifting_factor, "holding_factor": CHECKS.heave_holding_factor}
    for (name, soil), colour, dash in zip(
        _soils("sand_loose", "sand_dense", "gravel"), COLOURS, DASHES, strict=False
    ):
        needed = embedment_m(
            head, soil.gamma_sat_kN_per_m3, water_kN_per_m3=A.groundwater.unit_weight_kN_per_m3, **factors
        )
        wall.plot(head, needed, color=colour, ls=dash, lw=1.8, label=name)
    wall.axhline(CHECKS.wall_embedment_m, color=LIMIT, lw=1.2)
    wall.text(0.2, CHECKS.wall_embedment_m + 0.08, "wall as assumed; above: fails", color=LIMIT, fontsize=8)
    wall.set(xlim=(0.0, 14.0), ylim=(0.0, 4.0))
    wall.legend(fontsize=8, loc="lower right")
    return figure


def _soils(*names: str) -> list[tuple[str, object]]:
    return [(name.replace("_", " "), A.soil[name]) for name in names]


def wall_picture() -> Figure:
    """Side of the square block against the depth of the axis, dry and below water."""
    figure, panels = two_panels(
        ("depth of the axis (m)", "side of a square block (m)"),
        ("depth of the axis (m)", "side of a square block (m)"),
    )
    depth = np.linspace(1.5, 14.0, 126)
    rules = {"share": CHECKS.thrust_wall_mobilised_frac, "factor": CHECKS.thrust_wall_factor}
    for axes, name in zip(panels, ("sand_dense", "clay_soft"), strict=True):
        soil = A.soil[name]
        for thrust_kN, colour in zip((500.0, 1500.0, 2744.0), COLOURS, strict=False):
            for water_m, dash in ((100.0, "--"), (0.0, "-")):
                stress = ground_stress(depth, water_m, soil.gamma_kN_per_m3, soil.gamma_sat_kN_per_m3)
                side = square_block_m(
                    thrust_kN, passive_stress_kPa(stress.effective_kPa, soil.phi_deg), **rules
                )
                where = "water at ground" if water_m == 0.0 else "dry"
                axes.plot(depth, side, color=colour, ls=dash, lw=1.6, label=f"{thrust_kN:.0f} kN, {where}")
        axes.axhline(CHECKS.thrust_block_width_m, color=LIMIT, lw=1.2)
        axes.text(
            13.9,
            CHECKS.thrust_block_width_m + 0.1,
            "usual block",
            color=LIMIT,
            fontsize=8,
            ha="right",
            bbox=BEHIND,
        )
        axes.axhline(np.sqrt(6.0 * CHECKS.thrust_block_most_height_m), color=LIMIT, lw=1.2, ls=":")
        axes.text(
            13.9,
            np.sqrt(6.0 * CHECKS.thrust_block_most_height_m) + 0.1,
            "largest area, bores 6 m apart",
            color=LIMIT,
            fontsize=8,
            ha="right",
            bbox=BEHIND,
        )
        axes.set(xlim=(1.5, 14.0), ylim=(0.0, 10.0))
        axes.set_title(name.replace("_", " "), fontsize=9, loc="left")
    panels[0].legend(fontsize=7, loc="upper right", ncols=2)
    figure.subplots_adjust(top=0.92)
    return figure


def eye_picture() -> Figure:
    """Length of treated ground against the bore's diameter; its volume against the bores' distance."""
    figure, (length, volume) = two_panels(
        ("diameter of the bore (m)", "treated length (m)"),
        ("distance between bores (m)", "treated ground at one end (m3)"),
    )
    diameter = np.linspace(0.1, 3.0, 120)
    rule = {"least_m": CHECKS.eye_length_m, "diameters": CHECKS.eye_length_diameters}
    length.plot(
        diameter,
        treated_length_m(diameter, True, **rule),
        color=COLOURS[0],
        lw=1.8,
        label="invert below water",
    )
    length.plot(
        diameter, treated_length_m(diameter, False, **rule), color=COLOURS[1], ls="--", lw=1.8, label="above"
    )
    length.set(xlim=(0.0, 3.0), ylim=(-0.2, 10.0))
    length.legend(fontsize=8, loc="upper left")
    apart = np.linspace(0.6, 8.0, 149)
    for bore_m, colour, dash in zip((0.34, 0.56, 0.80), COLOURS, DASHES, strict=False):
        block = treated_block_m3(
            CHECKS.eye_length_m, bore_m, n_bores=4, spacing_m=apart, margin_m=CHECKS.eye_margin_m
        )
        volume.plot(apart, block, color=colour, ls=dash, lw=1.8, label=f"four bores of {bore_m:g} m")
    volume.text(4.0, 27.0, "one block while they meet,\nthen one a bore", fontsize=8)
    volume.set(xlim=(0.0, 8.0), ylim=(0.0, 110.0))
    volume.legend(fontsize=8, loc="lower right")
    return figure


def flood_picture() -> Figure:
    """Height of the rim against the flood; the protection zone against the distance."""
    figure, (rim, zone) = two_panels(
        ("flood above (+) or below (-) ground (m)", "rim above ground (m)"),
        ("shaft's wall to the dyke's edge (m)", "utilisation (-)"),
    )
    flood = np.linspace(-2.0, 2.5, 181)
    height = rim_height_m(0.0, flood, CHECKS.flood_rim_above_m)
    rim.plot(flood, height, color=COLOURS[0], lw=1.8)
    rim.axhline(CHECKS.flood_rim_most_m, color=LIMIT, lw=1.2)
    rim.text(
        -1.95,
        CHECKS.flood_rim_most_m + 0.06,
        "as high as a rim is built; above: fails",
        color=LIMIT,
        fontsize=8,
    )
    rim.text(-0.55, 0.05, "passes", fontsize=8, ha="right")
    rim.text(0.3, 0.9, "amber, item SH25", fontsize=8, ha="right")
    rim.set(xlim=(-2.0, 2.5), ylim=(-0.1, 3.2))
    away = np.linspace(1.0, 150.0, 300)
    for kind, colour, dash in zip(("dyke", "sea_dyke"), COLOURS, DASHES, strict=False):
        keep_m = A.treatments[kind].shaft_clearance_m
        zone.plot(
            away,
            keep_m / away,
            color=colour,
            ls=dash,
            lw=1.8,
            label=f"{kind.replace('_', ' ')}, {keep_m:g} m",
        )
    zone.axhline(1.0, color=LIMIT, lw=1.2)
    zone.text(149.0, 1.05, "above: fails", color=LIMIT, fontsize=8, ha="right")
    zone.set(xlim=(0.0, 150.0), ylim=(0.0, 3.0))
    zone.legend(fontsize=8, loc="upper right")
    return figure


def dewatering_picture() -> Figure:
    """Reach and inflow of a launch shaft that is kept dry by lowering the water, by soil."""
    figure, (reach, inflow) = two_panels(
        ("lowered by (m)", "reach (m)"), ("lowered by (m)", "inflow to 8 m by 21 m (l/s)")
    )
    drawdown = np.linspace(0.25, 10.0, 118)
    radius_m = float(pit_radius_m(8.0, 21.0))
    names = ("gravel", "sand_loose", "sand_dense", "silt")
    for (name, soil), colour, dash in zip(_soils(*names), COLOURS, DASHES, strict=True):
        k = soil.permeability_m_per_s
        far_m = reach_m(drawdown, k, CHECKS.drawdown_radius_factor)
        below_m = CHECKS.aquifer_below_base_m - CHECKS.lowered_below_base_m
        water = radial_inflow_m3_per_s(k, below_m + drawdown, below_m, radius_m + far_m, radius_m)
        label = f"{name}, k {k:g} m/s"
        reach.plot(drawdown, far_m, color=colour, ls=dash, lw=1.8, label=label)
        inflow.plot(drawdown, 1000.0 * water, color=colour, ls=dash, lw=1.8, label=label)
    treated = CHECKS.treated_water_m3_per_h / 3.6
    inflow.axhline(treated, color=LIMIT, lw=1.2)
    inflow.text(0.7, treated * 1.15, "one plant; above: amber", color=LIMIT, fontsize=8)
    for axes in (reach, inflow):
        axes.set_yscale("log")
        axes.set_xlim(0.0, 10.0)
    reach.set_ylim(0.5, 3000.0)
    inflow.set_ylim(0.01, 1000.0)
    reach.legend(fontsize=8, loc="lower right")
    return figure


PICTURES = {
    "shaft_base": base_picture,
    "thrust_wall": wall_picture,
    "eyes": eye_picture,
    "flood": flood_picture,
    "dewatering": dewatering_picture,
}
