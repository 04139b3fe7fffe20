"""Dimensions of the formulae: base units scaled by random factors scale each result by the right power.

The units of arguments and results are read from the ends of their names; a result that is a dataclass is
read field by field. Public functions of the room are discovered, so that a new one is scaled too or must
be entered below with a reason.
"""

import importlib
import inspect
import math
import pkgutil
import re
from dataclasses import fields, is_dataclass, replace

import numpy as np
import pytest

import routescreen.engineering as room
from routescreen.engineering.cavity import reduced_strength
from routescreen.engineering.ground_stress import ground_stress
from routescreen.engineering.pressure_window import WindowFactors, WindowGround
from routescreen.engineering.rating import HeatPath
from routescreen.engineering.window_search import WindowLoads

# Powers of force, length, time, temperature, current, voltage, mass.
BASE = {
    "kN": (1, 0, 0, 0, 0, 0, 0),
    "kPa": (1, -2, 0, 0, 0, 0, 0),
    "MPa": (1, -2, 0, 0, 0, 0, 0),
    "m": (0, 1, 0, 0, 0, 0, 0),
    "m2": (0, 2, 0, 0, 0, 0, 0),
    "m3": (0, 3, 0, 0, 0, 0, 0),
    "mm": (0, 1, 0, 0, 0, 0, 0),
    "mm2": (0, 2, 0, 0, 0, 0, 0),
    "N": (1, 0, 0, 0, 0, 0, 0),
    "s": (0, 0, 1, 0, 0, 0, 0),
    "h": (0, 0, 1, 0, 0, 0, 0),
    "min": (0, 0, 1, 0, 0, 0, 0),
    "K": (0, 0, 0, 1, 0, 0, 0),
    "degC": (0, 0, 0, 1, 0, 0, 0),
    "A": (0, 0, 0, 0, 1, 0, 0),
    "ohm": (0, 0, 0, 0, -1, 1, 0),
    "W": (0, 0, 0, 0, 1, 1, 0),
    "kg": (0, 0, 0, 0, 0, 0, 1),
    "t": (0, 0, 0, 0, 0, 0, 1),
}
NAMED = "|".join(sorted(BASE, key=len, reverse=True))
TAIL = re.compile(rf"(?:^|_)((?:{NAMED})(?:_(?:{NAMED}))*(?:_per_(?:{NAMED}))*|per_(?:{NAMED}))$")
N_DRAWS = 30
# Formulae bound to units, each with what binds it.
BOUND = {
    "dewatering.reach_m": "Sichardt's reach, bound to metres and seconds",
    "dewatering.well_yield_m3_per_s": "Sichardt's yield, bound to metres and seconds",
    "directional_pull.small_bore_pull_kN": "rule in feet and pounds: a turn for each 500 ft",
    "directional_pull.guide_pull_kN": "rule in inches, feet and pounds",
    "heat.conductor_ohm_per_m": "temperature counted from 20 degC, a point and not a difference",
    "heat.fluid_fill_K_m_per_W": "constants in millimetres and degrees Celsius",
    "settlement.clay_trough_width_m": "fit with a constant in metres",
    "settlement.sand_trough_width_m": "fit with a constant in metres",
    "slurry.settling_velocity_m_per_s": "holds the acceleration of gravity",
    "slurry.head_loss_m": "holds the acceleration of gravity",
    "slurry.circuit_loss_kPa": "takes densities relative to water's, returns a tuple",
    "slurry.slurry_flow_m3_per_s": "tonnes of water a cubic metre and seconds an hour are built in",
    "trench.drain_width_m": "table of a standard in metres",
    "trench.pipe_width_m": "table of a standard in metres",
    "trench.bottom_width_m": "table of a standard in metres",
    "trench.narrow_width_m": "table of a standard in metres",
    "field.cable_field_uT": "holds the magnetic constant",
}
# Dates, registers, conditions, angles of lines: nothing with a dimension comes in or goes out.
UNDIMENSIONED = (
    "agreements.agreements_register",
    "agreements.latest_application",
    "hazards.condition_holds",
    "hazards.rule_applies",
    "hazards.hazard_register",
    "hazards.quantities_needed",
    "seasons.is_in_season",
    "seasons.is_in_night",
    "seasons.is_open",
    "seasons.open_hours",
    "seasons.task_end",
    "seasons.unbroken_start",
    "pipelines.crossing_angle_deg",
    "pressure_cases.governing_case",
)
# Not scaled yet: they take records, lists or tuples for which no case is written here. A gap, no exception.
NO_CASE_YET = (
    "cable_pull.pull_both_ways_kN",
    "cable_pull.pull_kN",
    "approach.approach_cut_m3",
    "cable_pull.pull_reach",
    "base_uplift.plug_thickness_m",
    "bedding_rating.bedded_rating",
    "base_uplift.uplift_utilisation",
    "directional_pull.drilled_pull",
    "drum_sections.place_joints",
    "field.return_cases_A",
    "friction.is_in_band",
    "ground_heat.value_at_depth",
    "ground_stress.has_silo_relief",
    "investigation.most_gap_m",
    "investigation.spacing_utilisation",
    "investigation.borehole_chainages_m",
    "investigation.is_inside",
    "investigation.beside_line_m",
    "obstruction.obstruction_utilisation",
    "pipelines.distance_to_line_m",
    "pipelines.pipeline_flags",
    "pressure_cases.case_pressures_kPa",
    "rated_depth.rated_depth_m",
    "rating.hottest_position",
    "rating_solved.fluid_filled_rating",
    "rating_solved.spacing_needed_m",
    "shaft.plan_size_m",
    "shaft.is_apart",
    "slurry.friction_factor",
    "soil_heaps.heap_cone_m",
    "soil_heaps.working_strip",
    "spacing_heat.never_less_below_m",
    "spacing_heat.spacing_at_m",
    "spacing_heat.spacing_table_m",
    "spoil.spoil_balance",
    "spoil.haul_road",
    "trench.stepped_width_m",
    "window_search.last_opening_m",
    "window_search.least_cover_m",
)
EXEMPT = (
    BOUND | dict.fromkeys(UNDIMENSIONED, "no dimension") | dict.fromkeys(NO_CASE_YET, "no case written yet")
)
# Arguments that are records, by name.
RECORDS = {
    "ground": WindowGround(-2.0, 18.0, 20.0, 33.0, 3.0, 15_000.0, math.nan, 0.5, 0.05),
    "factors": WindowFactors(1.05, 1.5, 10.0, 10.0, 1.1, 1.4, 1.25, 0.9),
    "loads": WindowLoads(11.0, 4.0),
    "crown": ground_stress(3.5, -3.0, 18.0, 20.0),
    "axis": ground_stress(3.8, -3.0, 18.0, 20.0),
    "strength": reduced_strength(
        33.0, 3.0, 15_000.0, tan_phi_factor=1.1, cohesion_factor=1.4, modulus_factor=1.25
    ),
    "path": HeatPath(1e-5, 0.7, 0.56, 70.0, 11.0, 0.8, 2.5, 15.0),
}
# Arguments of single functions: groups of cables, and what keeps a case in the formula's range.
GIVEN = {
    "rating.group_rating": {
        "depth_m": np.array([4.0, 4.5, 4.2]),
        "offset_m": np.array([-3.0, 0.0, 4.0]),
        "other_rise_K": 2.0,
        "share": 1.0,
        "bedding": None,
    },
    "heat.group_log": {"depth_m": np.array([4.0, 4.5]), "offset_m": np.array([-3.0, 2.0])},
    "settlement.bores_settlement_mm": {"bore_offset_m": np.array([-3.0, 2.0])},
    "cavity.cavity_pressure_kPa": {"stress_kPa": 35.0, "bore_radius_m": 0.28, "plastic_m": 1.9},
    "cavity.strain_bound_m": {"stress_kPa": 35.0, "bore_radius_m": 0.28, "strain_frac": 0.05},
    "spoil.end_area_m3": {
        "chainage_m": np.array([0.0, 10.0, 25.0]),
        "area_m2": np.array([3.0, 4.0, 2.0]),
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
    "shaft.depth_in_bands_m": {"depth_m": 9.0, "band_base_m": np.array([5.0, 10.0])},
}


def public_functions():
    """Functions of the room by module and name; of compiled ones their Python."""
    found = {}
    for info in pkgutil.iter_modules(room.__path__):
        module = importlib.import_module(f"{room.__name__}.{info.name}")
        for name, value in vars(module).items():
            function = getattr(value, "py_func", value)
            is_own = inspect.isfunction(function) and function.__module__ == module.__name__
            if is_own and not name.startswith("_"):
                found[f"{info.name}.{name}"] = function
    return found


FUNCTIONS = public_functions()
SCALED = [name for name in FUNCTIONS if name not in EXEMPT]


def dimension(name):
    """Powers of the base units that a name ends in; none without a unit."""
    match = TAIL.search(name)
    powers = np.zeros(7)
    if match is None:
        return powers
    sign = 1
    for token in match.group(1).split("_"):
        if token == "per":
            sign = -1
        else:
            powers += sign * np.array(BASE[token])
    return powers


def drawn(name, rng):
    """A value that suits an argument's name, so that formulae stay in their range."""
    if name.startswith("n_") or name.endswith("_pieces"):
        return 3
    if name.startswith(("is_", "has_")):
        return True
    if name.endswith("_deg"):
        return rng.uniform(20.0, 35.0)
    size = 20.0 if re.search(r"outer_head|^length_m|^capacity|_diameters?$", name) else 1.0
    size = 0.2 if re.search(r"inner|inside|frac|share|poisson|^pull_kN", name) else size
    return size * rng.uniform(1.0, 3.0)


def scaled_value(name, value, scale):
    """A value in the other base units, records field by field."""
    if is_dataclass(value):
        parts = {f.name: scaled_value(f.name, getattr(value, f.name), scale) for f in fields(value)}
        return replace(value, **parts)
    powers = dimension(name)
    return value * math.prod(scale**powers) if value is not None and np.any(powers) else value


def parts_of(result, name):
    """Numbers of a result with the names that tell their units."""
    if is_dataclass(result):
        for field in fields(result):
            yield from parts_of(getattr(result, field.name), field.name)
    elif isinstance(result, tuple):
        raise TypeError(f"{name} returns a tuple, whose units no name tells")
    else:
        yield name, np.asarray(result, dtype=np.float64)


def breaks_scaling(function, monkeypatch, *, key="", seed=0):
    """Return a remark where a scaled result is off, or where no draw gave anything to compare."""
    rng, n_compared = np.random.default_rng(seed), 0
    names = list(inspect.signature(function).parameters)
    fixed = {"poisson": 0.3} | RECORDS | GIVEN.get(key, {})
    for _ in range(N_DRAWS):
        scale = rng.uniform(0.5, 2.0, 7)
        given = {name: fixed[name] if name in fixed else drawn(name, rng) for name in names}
        scaled = {name: scaled_value(name, value, scale) for name, value in given.items()}
        try:
            base = list(parts_of(function(**given), function.__name__))
        except ValueError:
            continue
        with monkeypatch.context() as patch:
            for info in pkgutil.iter_modules(room.__path__):
                module = importlib.import_module(f"{room.__name__}.{info.name}")
                if hasattr(module, "WATER_KN_PER_M3"):
                    weight = module.WATER_KN_PER_M3 * math.prod(scale ** dimension("x_kN_per_m3"))
                    patch.setattr(module, "WATER_KN_PER_M3", weight)
            after = list(parts_of(function(**scaled), function.__name__))
        for (name, first), (_, second) in zip(base, after, strict=True):
            expected = first * math.prod(scale ** dimension(name))
            if not np.allclose(second, expected, rtol=1e-9, atol=0.0, equal_nan=True):
                return f"{name} is {second}, not {expected}"
            n_compared += int(np.any(np.isfinite(first) & (first != 0.0)))
    return None if n_compared else "nothing to compare: no draw gave a number other than 0"


@pytest.mark.parametrize("name", SCALED)
def test_result_scales_with_its_unit(name, monkeypatch):
    assert breaks_scaling(FUNCTIONS[name], monkeypatch, key=name) is None


def test_every_exception_is_of_a_function_that_is_there():
    assert set(EXEMPT) <= set(FUNCTIONS)
    assert all(EXEMPT.values())


def test_a_missing_square_is_found(monkeypatch):
    def thrust_kN(face_kPa, cut_diameter_m, friction_kN):
        return face_kPa * math.pi * cut_diameter_m / 4.0 + friction_kN

    assert "thrust_kN is" in breaks_scaling(thrust_kN, monkeypatch)
