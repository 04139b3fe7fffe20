"""Arguments with which formulae are scaled in `test_dimensions`, where a draw by name would not do.

Values are chosen to lie in each formula's range and on both sides of its limits; no result is kept here.
"""

import math

import numpy as np

from routescreen.engineering.base_uplift import UpliftFactors
from routescreen.engineering.cavity import reduced_strength
from routescreen.engineering.directional_pull import drilled_path
from routescreen.engineering.friction import FrictionBand
from routescreen.engineering.ground_stress import ground_stress
from routescreen.engineering.heat import FluidFill
from routescreen.engineering.investigation import Stretches
from routescreen.engineering.pipelines import PipelineLimits
from routescreen.engineering.pressure_cases import DriveFluids
from routescreen.engineering.pressure_window import WindowFactors, WindowGround, pressure_window
from routescreen.engineering.rating import Bedding, GroupHeat, HeatPath
from routescreen.engineering.soil_heaps import StripSoil
from routescreen.engineering.window_search import WindowLoads

GROUND = WindowGround(-2.0, 18.0, 20.0, 33.0, 3.0, 15_000.0, math.nan, 0.5, 0.05)
FACTORS = WindowFactors(1.05, 1.5, 10.0, 10.0, 1.1, 1.4, 1.25, 0.9)
PATH = HeatPath(1e-5, 0.7, 0.56, 70.0, 11.0, 0.8, 2.5, 15.0)
STRETCHES = Stretches(np.array([110.0, 260.0]), np.array([150.0, 420.0]), np.array([60.0, 45.0]))

# Arguments that are records, by name.
RECORDS = {
    "ground": GROUND,
    "factors": FACTORS,
    "loads": WindowLoads(11.0, 4.0),
    "crown": ground_stress(3.5, -3.0, 18.0, 20.0),
    "axis": ground_stress(3.8, -3.0, 18.0, 20.0),
    "strength": reduced_strength(
        33.0, 3.0, 15_000.0, tan_phi_factor=1.1, cohesion_factor=1.4, modulus_factor=1.25
    ),
    "path": PATH,
    "stretches": STRETCHES,
}


def _ground_path(depth_m):
    """Way of the heat in ground that is the warmer the shallower; two kinds of ground."""
    ground_degC = 11.0 + 8.0 * np.exp(-depth_m / 2.5)
    rho_K_m_per_W = np.array([[0.8], [1.4]])
    return HeatPath(1e-5, 0.7, 0.56, 70.0, ground_degC, rho_K_m_per_W, 2.5, 15.0)


def _is_open_from(depth_m):
    """Two cases that open below a depth each, with a closed stretch in the first."""
    depth = depth_m * np.ones(2)
    return (depth > np.array([3.72, 6.23])) & ~((depth > 4.4) & (depth < np.array([5.31, 0.0])))


CHAINS = {
    "length_m": np.array([40.0, 0.0, 60.0, 0.0, 30.0, 0.0, 80.0]),
    "slope_deg": np.array([5.0, 0.0, -3.0, 0.0, 2.0, 0.0, 1.0]),
    "bend_deg": np.array([0.0, 20.0, 0.0, 35.0, 0.0, 15.0, 0.0]),
    "friction": 0.3,
}
UPLIFT = {
    "factors": UpliftFactors(24.0, 9.81, 0.9, 1.0),
    "head_m": np.array([0.0, 6.0, 11.0]),
    "held_kPa": 7.0,
}
GROUP = {
    "depth_m": np.array([2.0, 2.0, 2.1]),
    "offset_m": np.array([-1.2, 0.0, 1.4]),
    "other_rise_K": 2.0,
    "share": 1.0,
}
APART = Bedding([0, 1, 2], np.array([2.0, 2.0, 2.1]), 0.8, 0.9, 0.6)
TOGETHER = Bedding([0, 0, 0], 2.05, 3.3, 1.2, 0.6)
# Arguments of single functions: groups of cables, and what keeps a case in the formula's range.
GIVEN = {
    "approach.approach_cut_m3": {
        "depth_m": np.array([0.0, 2.0, 5.0]),
        "bend_radius_m": 300.0,
        "spacing_m": 4.0,
        "width_m": 1.2,
        "slope_cotangent": np.array([0.0, 0.6, 1.0]),
    },
    "base_uplift.plug_thickness_m": UPLIFT,
    "base_uplift.uplift_utilisation": UPLIFT,
    "bedding_rating.bedded_rating": GROUP | {"together": TOGETHER, "apart": APART},
    "cable_pull.pull_both_ways_kN": CHAINS,
    "cable_pull.pull_kN": CHAINS,
    "cable_pull.pull_reach": CHAINS
    | {
        "radius_m": 12.0,
        "weight_kN_per_m": 0.4,
        "back_tension_kN": 1.5,
        "limit_kN": 28.0,
        "side_wall_limit_kN_per_m": 1.4,
    },
    "cavity.cavity_pressure_kPa": {"stress_kPa": 35.0, "bore_radius_m": 0.28, "plastic_m": 1.9},
    "cavity.strain_bound_m": {"stress_kPa": 35.0, "bore_radius_m": 0.28, "strain_frac": 0.05},
    "dig.neighbour_spacing_m": {"place_m": np.array([[0.0, 9.0, 1.0], [0.0, 3.0, 4.0]])},
    "dig.side_by_side_m2": {
        "height_m": np.array([0.5, 2.0, 5.0]),
        "place_m": np.array([[0.0, 1.0, 9.0], [0.0, 3.0, 4.0], [0.0, 2.5, 6.0]]),
        "width_m": 1.2,
        "slope_cotangent": np.array([0.0, 0.6, 1.0]),
    },
    "dig_slope.standing_height_m": {"slope_deg": np.array([50.0, 75.0, 90.0]), "phi_deg": 25.0},
    "dig_slope.standing_slope_deg": {"height_m": np.array([2.0, 5.0]), "phi_deg": 25.0},
    "directional_pull.drilled_pull": {
        "path": drilled_path(400.0, np.array([6.0, 9.0]), 0.2, 0.25, 20.0),
        "ground_friction": 0.4,
        "bore_friction": 0.25,
    },
    "drum_sections.place_joints": {
        "node_m": np.array([0.0, 310.0, 480.0, 760.0, 1000.0, 1190.0, 1530.0, 1800.0]),
        "weight": np.array([0.0, 5.0, 2.0, 9.0, 4.0, 3.0, 8.0, 0.0]),
        "most_m": 720.0,
        "forward_reach": np.array([2, 3, 4, 6, 6, 7, 7, 7]),
        "backward_reach": None,
    },
    "field.cable_field_uT": {
        "offset_m": np.array([-4.0, 0.5, 6.0]),
        "height_m": np.array([0.0, 1.0, 2.0]),
        "cable_offset_m": np.array([-1.0, 1.2]),
        "cable_height_m": np.array([-1.5, -1.6]),
        "current_A": np.array([1800.0, -1800.0]),
    },
    "field.return_cases_A": {
        "polarity": np.array([1, -1, 0, 1, -1]),
        "system": np.array([1, 1, 1, 2, 2]),
    },
    "flood.is_rim_low": {
        "rim_m": np.linspace(1.0, 9.0, 33),
        "flood_level_m": 4.1,
        "freeboard_m": 0.55,
    },
    "friction.is_in_band": {
        "tau_kPa": np.linspace(0.5, 9.0, 35),
        "band": FrictionBand(2.0, 5.0, "made for this test"),
    },
    "grout_head.grout_head": {
        "crown_level_m": np.array([22.0, 20.5, 23.5]),
        "least_kPa": np.array([60.0, 75.0, 74.0]),
        "limit_kPa": np.array([300.0, 280.0, 160.0]),
        "wished_kPa": np.array([90.0, 100.0, 120.0]),
    },
    "grout_head.least_stages": {
        "crown_level_m": np.array([30.0, 20.0, 30.0]),
        "least_kPa": 10.0,
        "limit_kPa": np.array([50.0, 110.0, 50.0]),
    },
    "ground_heat.soil_rise_K": {
        "depth_m": np.array([4.0, 4.5]),
        "offset_m": np.array([-3.0, 2.0]),
        "source_depth_m": np.array([2.0]),
        "source_offset_m": np.array([9.0]),
        "heat_W_per_m": np.array([20.0]),
        "ratio": 1.0,
        "drying_rise_K": math.inf,
    },
    "ground_heat.value_at_depth": {
        "depth_m": np.linspace(0.5, 12.0, 47),
        "base_m": np.array([2.0, 5.0, 9.0]),
        "values": np.array([0.8, 1.1, 0.6]),
    },
    "ground_stress.has_silo_relief": {
        "cover_m": np.linspace(0.5, 8.0, 31),
        "diameter_m": 1.6,
        "is_under_rail": np.arange(31) % 5 == 0,
        "least_diameters": 2.0,
    },
    "heat.fluid_fill_K_m_per_W": {
        "cable_diameter_m": np.array([0.02, 0.09, 0.2]),
        "mean_degC": 55.0,
        "fill": FluidFill(1.87, 0.312, 0.0037),
    },
    "heat.group_log": {"depth_m": np.array([4.0, 4.5]), "offset_m": np.array([-3.0, 2.0])},
    "layered_heat.column_log": {
        "depth_m": np.array([4.0, 4.5]),
        "offset_m": np.array([-3.0, 2.0]),
        "column_m": np.array([2.5, 2.0]),
        "share": np.array([0.2, 0.4]),
    },
    "layered_heat.boundary_log": {
        "across_m": np.array([4.0, 0.5]),
        "over_m": np.array([1.0, 2.0]),
        "column_m": np.array([2.5, 2.0]),
        "share": np.array([0.2, 0.4]),
    },
    "layered_heat.boundary_peak_log": {
        "depth_m": np.array([4.0, 4.5]),
        "offset_m": np.array([-3.0, 2.0]),
        "outer_diameter_m": 0.3,
        "column_m": np.array([2.5, 2.0]),
        "share": np.array([0.2, 0.4]),
        "relative_heat": np.array([1.0, 0.5]),
    },
    "investigation.beside_line_m": {
        "borehole_m": np.array([0.0, 35.0, 80.0, 120.0]),
        "line_xy_m": np.array([[10.0, 5.0], [60.0, 40.0], [90.0, 120.0]]),
    },
    "investigation.borehole_chainages_m": {
        "shaft_m": np.array([0.0, 300.0, 500.0]),
        "spacing_m": 80.0,
        "clear_m": 6.0,
    },
    "investigation.is_inside": {"borehole_m": np.linspace(0.0, 500.0, 51)},
    "investigation.most_gap_m": {
        "from_m": np.arange(0.0, 480.0, 20.0),
        "to_m": np.arange(20.0, 500.0, 20.0),
        "spacing_m": 100.0,
    },
    "investigation.spacing_utilisation": {
        "borehole_m": np.array([0.0, 70.0, 155.0, 250.0, 300.0, 430.0]),
        "spacing_m": 100.0,
    },
    "obstruction.obstruction_utilisation": {
        "grain_m": np.array([0.1, 0.3, 0.5, math.nan, 0.6, 0.4]),
        "has_obstacles": np.array([False, False, False, False, True, False]),
        "bore_diameter_m": np.array([0.8, 1.1, 1.0, 1.0, 0.9, 1.6]),
        "grain_share": 1.0 / 3.0,
        "enterable_m": 1.2,
    },
    "pipelines.distance_to_line_m": {
        "point_xy_m": np.array([[0.0, 0.0], [30.0, 12.0], [95.0, 70.0]]),
        "line_xy_m": np.array([[5.0, 20.0], [50.0, 25.0], [80.0, 90.0]]),
    },
    "pipelines.pipeline_flags": {
        "distance_m": np.linspace(50.0, 700.0, 40),
        "clear_m": np.linspace(0.4, 5.0, 40),
        "angle_deg": np.linspace(20.0, 90.0, 40),
        "is_crossed": np.arange(40) % 2 == 0,
        "limits": PipelineLimits(300.0, 2.0, 60.0),
    },
    "pressure_cases.case_pressures_kPa": {
        "window": pressure_window(np.array([5.0, 7.0]), 1.2, GROUND, FACTORS),
        "crown_level_m": np.array([-5.0, -7.0]),
        "diameter_m": 1.2,
        "fluids": DriveFluids(11.0, 13.0, 10.0, 1.5, 0.5, 20.0),
    },
    "rated_depth.rated_depth_m": {
        "current_A": 1400.0,
        "offset_m": np.array([-2.0, 2.0]),
        "path_at": _ground_path,
        "least_m": 1.0,
        "most_m": 20.0,
        "share": 1.0,
        "n_steps": 30,
        "tolerance_m": 1e-3,
    },
    "rating.group_rating": {
        "depth_m": np.array([4.0, 4.5, 4.2]),
        "offset_m": np.array([-3.0, 0.0, 4.0]),
        "other_rise_K": 2.0,
        "share": 1.0,
        "bedding": None,
    },
    "rating.group_heat": {
        "depth_m": np.array([4.0, 4.5, 4.2]),
        "offset_m": np.array([-3.0, 0.0, 4.0]),
        "share": 1.0,
        "bedding": APART,
    },
    "rating.heated_rating": {
        "heat": GroupHeat(np.ones(3), np.full(3, 0.7), np.array([4.1, 4.7, 4.2])),
        "other_rise_K": 2.0,
    },
    "rating.hottest_position": {
        "chainage_m": np.array([0.0, 120.0, 300.0]),
        "rating_A": np.array([math.nan, 1700.0, 1900.0]),
    },
    "rating_solved.fluid_filled_rating": GROUP
    | {
        "cable_diameter_m": 0.15,
        "cable_K_m_per_W": 0.45,
        "fill": FluidFill(1.87, 0.312, 0.0037),
        "bedding": None,
    },
    "rating_solved.spacing_needed_m": {
        "current_A": np.array([1200.0, 1500.0, 1600.0, 4000.0]),
        "depth_m": 4.0,
        "least_m": 0.6,
        "most_m": 60.0,
        "share": 1.0,
        "other_rise_K": 0.0,
    },
    "settlement.bores_settlement_mm": {"bore_offset_m": np.array([-3.0, 2.0])},
    "shaft.depth_in_bands_m": {"depth_m": 9.0, "band_base_m": np.array([5.0, 10.0])},
    "shaft.is_apart": {"spacing_m": np.linspace(2.0, 14.0, 49), "edge_m": 4.0, "wall_m": 0.6, "gap_m": 1.0},
    "shaft.plan_size_m": {
        "lengths_m": np.array([[8.0, 0.0], [6.0, 7.0]]),
        "widths_m": np.array([[4.0, 0.0], [5.0, 3.5]]),
    },
    "slurry.friction_factor": {
        "velocity_m_per_s": np.array([0.01, 1.0, 3.0]),
        "pipe_diameter_m": 0.15,
        "roughness_m": 5e-5,
        "viscosity_m2_per_s": 1e-6,
    },
    "soil_heaps.working_strip": {
        "soil": StripSoil(0.3, 0.8, np.array([0.0, 1.5, 12.0]), np.array([2.0, 0.0, 9.0]), 1.25),
        "edge_strip_m": 0.6,
        "road_m": 6.0,
        "gap_m": 1.0,
        "topsoil_height_m": 2.0,
        "subsoil_height_m": 3.0,
    },
    "spacing_heat.never_less_below_m": {"needed_m": np.array([[2.0, 1.5, 3.0], [1.0, 1.2, 1.1]])},
    "spacing_heat.spacing_at_m": {
        "depth_m": np.linspace(0.5, 9.5, 37),
        "table_depth_m": np.array([1.0, 2.5, 5.0, 8.0]),
        "needed_m": np.array([0.6, 1.4, 2.2, 3.9]),
    },
    "spacing_heat.spacing_table_m": {
        "current_A": 1500.0,
        "depth_m": np.array([1.5, 4.0, 9.0]),
        "rho_K_m_per_W": np.array([0.6, 0.8, 2.0]),
        "drying_ratio": np.array([1.0, 2.5, 2.5]),
        "ground_degC": np.array([16.0, 13.0, 11.0]),
        "most_m": 60.0,
        "share": 1.0,
    },
    "spoil.end_area_m3": {
        "chainage_m": np.array([0.0, 10.0, 25.0]),
        "area_m2": np.array([3.0, 4.0, 2.0]),
    },
    "spoil.haul_road": {"length_m": np.array([120.0, 80.0]), "is_paved": np.array([False, True])},
    "spoil.spoil_balance": {
        "dug_m3": np.array([100.0, 60.0]),
        "fill_m3": np.array([40.0, 90.0]),
        "usable_frac": 0.7,
        "swell": 0.3,
        "shrinkage": 0.1,
    },
    "trench.stepped_width_m": {
        "depth_m": np.linspace(0.5, 6.0, 45),
        "to_depth_m": np.array([1.75, 4.0]),
        "width_m": np.array([0.6, 0.8]),
        "deepest_width_m": 1.0,
    },
    "uplift.flotation": {"cover_m": np.array([-0.5, 0.0, 1.8])},
    "window_search.last_opening_m": {
        "is_open": _is_open_from,
        "from_m": 1.0,
        "to_m": 9.0,
        "tolerance_m": 1e-3,
        "n_steps": 30,
    },
    "window_search.least_cover_m": {
        "diameter_m": np.array([0.8, 1.4]),
        "from_m": 0.5,
        "to_m": 30.0,
        "tolerance_m": 1e-3,
        "n_steps": 30,
    },
}
# Names of what a function returns as a tuple: the ends tell the units.
ITEMS = {
    "cable_pull.pull_both_ways_kN": ("forward_kN", "backward_kN"),
    "field.cable_field_uT": ("right_uT", "up_uT"),
    "field.return_cases_A": ("names", "currents_A"),
    "rating.hottest_position": ("chainage_m", "rating_A"),
    "shaft.plan_size_m": ("length_m", "width_m"),
    "soil_heaps.heap_cone_m": ("height_m", "diameter_m"),
    "spoil.haul_road": ("area_m2", "stone_m3"),
}
