"""Dimensions of the formulae: base units scaled by random factors scale each result by the right power.

The units of arguments and results are read from the ends of their names; records, lists and dictionaries are
read part by part, tuples that are returned by the names in `dimension_cases.ITEMS`. Public functions of the
room are discovered, so that a new one is scaled too or must be entered below with a reason.
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
from routescreen.engineering.pressure_window import WindowFactors
from tests.engineering.dimension_cases import GIVEN, ITEMS, RECORDS

# Powers of force, length, time, temperature, current, voltage, mass, flux density.
BASE = {
    "kN": (1, 0, 0, 0, 0, 0, 0, 0),
    "kPa": (1, -2, 0, 0, 0, 0, 0, 0),
    "MPa": (1, -2, 0, 0, 0, 0, 0, 0),
    "m": (0, 1, 0, 0, 0, 0, 0, 0),
    "m2": (0, 2, 0, 0, 0, 0, 0, 0),
    "m3": (0, 3, 0, 0, 0, 0, 0, 0),
    "mm": (0, 1, 0, 0, 0, 0, 0, 0),
    "mm2": (0, 2, 0, 0, 0, 0, 0, 0),
    "N": (1, 0, 0, 0, 0, 0, 0, 0),
    "s": (0, 0, 1, 0, 0, 0, 0, 0),
    "h": (0, 0, 1, 0, 0, 0, 0, 0),
    "day": (0, 0, 1, 0, 0, 0, 0, 0),
    "min": (0, 0, 1, 0, 0, 0, 0, 0),
    "K": (0, 0, 0, 1, 0, 0, 0, 0),
    "degC": (0, 0, 0, 1, 0, 0, 0, 0),
    "A": (0, 0, 0, 0, 1, 0, 0, 0),
    "ohm": (0, 0, 0, 0, -1, 1, 0, 0),
    "W": (0, 0, 0, 0, 1, 1, 0, 0),
    "kg": (0, 0, 0, 0, 0, 0, 1, 0),
    "t": (0, 0, 0, 0, 0, 0, 1, 0),
    "uT": (0, 0, 0, 0, 0, 0, 0, 1),
}
NAMED = "|".join(sorted(BASE, key=len, reverse=True))
TAIL = re.compile(rf"(?:^|_)((?:{NAMED})(?:_(?:{NAMED}))*(?:_per_(?:{NAMED}))*|per_(?:{NAMED}))$")
N_DRAWS = 30
N_BASE = 8
# Formulae bound to units, each with what binds it.
BOUND = {
    "dewatering.reach_m": "Sichardt's reach, bound to metres and seconds",
    "dewatering.well_yield_m3_per_s": "Sichardt's yield, bound to metres and seconds",
    "directional_pull.small_bore_pull_kN": "rule in feet and pounds: a turn for each 500 ft",
    "directional_pull.guide_pull_kN": "rule in inches, feet and pounds",
    "heat.conductor_ohm_per_m": "temperature counted from 20 degC, a point and not a difference",
    "settlement.clay_trough_width_m": "fit with a constant in metres",
    "settlement.sand_trough_width_m": "fit with a constant in metres",
    "slurry.circuit_loss_kPa": "takes densities relative to water's: tonnes a cubic metre are built in",
    "slurry.slurry_flow_m3_per_s": "tonnes of water a cubic metre and seconds an hour are built in",
    "trench.drain_width_m": "table of a standard in metres",
    "trench.pipe_width_m": "table of a standard in metres",
    "trench.bottom_width_m": "table of a standard in metres",
    "trench.narrow_width_m": "table of a standard in metres",
}
# Dates, registers, conditions, angles, ratios: nothing with a dimension comes in or goes out.
UNDIMENSIONED = (
    "cable_pull.bend_factor",
    "collapse.ovality_reduction",
    "ground_stress.active_coefficient",
    "ground_stress.at_rest_coefficient",
    "slurry.mixture_density",
    "slurry.volume_share",
    "thrust.bend_factor",
    "thrust_wall.passive_coefficient",
    "trench.cotangent",
    "values.positive",
    "values.not_negative",
    "values.friction_angle_rad",
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
# Compiled forms of formulae that are scaled in their other form, to which a test holds them.
TWICE = dict.fromkeys(
    [f"grout_limit.crown_{name}_kPa" for name in ("water", "effective", "limit")],
    "takes a named tuple; held to pressure_window's arrays, which are scaled, in test_grout.py",
)
EXEMPT = BOUND | TWICE | dict.fromkeys(UNDIMENSIONED, "no dimension")
# Formulae in which one base unit is built in: the others are scaled, this one is held.
HELD = {
    "heat.fluid_fill_K_m_per_W": (1, "a constant of the standard's form counts in millimetres"),
    "rating_solved.fluid_filled_rating": (1, "see heat.fluid_fill_K_m_per_W"),
}
# Answers beside numbers that are the same in every draw, since no numbers come with the other one.
ONE_ANSWER = ("is_feasible",)
ONE_ANSWER_OF: tuple[tuple[str, str], ...] = ()
# Constants of nature in the modules, scaled with the units, each under a name that tells its own.
CONSTANTS = {
    "WATER_KN_PER_M3": "water_kN_per_m3",
    "G_M_PER_S2": "g_m_per_s_per_s",
    "_UT_M_PER_A": "field_uT_m_per_A",
    "LORENZ_W_OHM_PER_K2": "lorenz_W_ohm_per_K_per_K",
    "ROOM_K": "room_K",
}
# Arguments that may have any unit, as long as they share it, or whose names are the unit.
SHARED = dict.fromkeys(
    ("destabilising", "stabilising", "resistance", "lifting", "holding", "demand", "capacity"), "any_kPa"
) | {"days": "spread_day"}
# Fields whose names don't tell their unit, under ones that do.
FIELDS = {"FluidFill.u": "u_K_m_per_W", "FluidFill.y": "y_per_K"}


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
    match = TAIL.search(SHARED.get(name, name))
    powers = np.zeros(N_BASE)
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


def field_parts(record):
    """Return fields of a record with the names that tell their units, by the fields' own names."""
    kind = type(record).__name__
    for field in fields(record):
        yield field.name, FIELDS.get(f"{kind}.{field.name}", field.name), getattr(record, field.name)


def scaled_function(function, scale):
    """Return a function of one argument as it is in the other base units."""
    (name,) = inspect.signature(function).parameters

    def in_other_units(value):
        return scaled_value(function.__name__, function(scaled_value(name, value, 1.0 / scale)), scale)

    return in_other_units


def scaled_value(name, value, scale):
    """Return a value in the other base units, records and collections part by part."""
    if is_dataclass(value):
        parts = {own: scaled_value(told, part, scale) for own, told, part in field_parts(value)}
        return replace(value, **parts)
    if isinstance(value, dict):
        return {key: scaled_value(key, part, scale) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return type(value)(scaled_value(name, part, scale) for part in value)
    if callable(value):
        return scaled_function(value, scale)
    powers = dimension(name)
    return value * math.prod(scale**powers) if value is not None and np.any(powers) else value


def named_parts(result, name, items):
    """Return parts of a record or a collection with the names that tell their units; none of a value."""
    if is_dataclass(result):
        return [(told, part) for _, told, part in field_parts(result)]
    if isinstance(result, dict):
        return list(result.items())
    if isinstance(result, list):
        return [(name, part) for part in result]
    if isinstance(result, tuple) and items:
        return list(zip(items, result, strict=True))
    if isinstance(result, tuple) and not all(isinstance(part, str) for part in result):
        raise TypeError(f"{name} returns a tuple, whose units no name tells")
    return None


def parts_of(result, name, items=()):
    """Yield values of a result, however deep they lie, with the names that tell their units."""
    parts = named_parts(result, name, items)
    if parts is not None:
        for told, part in parts:
            yield from parts_of(part, told)
    elif result is not None:
        yield name, np.asarray(result)


def scaled_constants(monkeypatch, scale):
    """Put constants of nature into the other base units."""
    for info in pkgutil.iter_modules(room.__path__):
        module = importlib.import_module(f"{room.__name__}.{info.name}")
        for constant, name in CONSTANTS.items():
            if hasattr(module, constant):
                monkeypatch.setattr(module, constant, scaled_value(name, getattr(module, constant), scale))


def difference(name, first, second, scale):
    """Return a remark where a part of a result isn't what the units make of it."""
    if first.dtype.kind not in "fiu":
        return None if np.array_equal(first, second) else f"{name} is {second}, not {first}"
    expected = first * math.prod(scale ** dimension(name))
    is_same = first.shape == second.shape and np.allclose(
        second, expected, rtol=1e-9, atol=0.0, equal_nan=True
    )
    return None if is_same else f"{name} is {second}, not {expected}"


def says_something(seen):
    """Whether the values of a result could have been off: numbers other than 0, or both answers."""
    values = np.concatenate(seen)
    if values.dtype.kind == "b":
        return bool(np.any(values) and not np.all(values))
    return values.dtype.kind not in "fiu" or bool(np.any(np.isfinite(values) & (values != 0)))


def drawn_arguments(names, rng, key):
    """Arguments of one draw: given ones, the rest by their names."""
    fixed = {"poisson": 0.3} | RECORDS | GIVEN.get(key, {})
    return {name: fixed[name] if name in fixed else drawn(name, rng) for name in names}


def has_dimension(names, rng, key):
    """Whether any argument changes with the units; a function that is handed over does."""
    given = drawn_arguments(names, rng, key)
    told = [name for part, value in given.items() for name, _ in parts_of(value, part)]
    return any(np.any(dimension(name)) for name in told) or any(map(callable, given.values()))


def breaks_scaling(function, monkeypatch, *, key="", items=(), seed=0):
    """Return a remark where a scaled result is off, or where no draw gave anything to compare."""
    rng, seen = np.random.default_rng(seed), {}
    names = list(inspect.signature(function).parameters)
    if not has_dimension(names, rng, key):
        return "nothing to scale: no argument has a dimension"
    for _ in range(N_DRAWS):
        scale = rng.uniform(0.5, 2.0, N_BASE)
        if key in HELD:
            scale[HELD[key][0]] = 1.0
        given = drawn_arguments(names, rng, key)
        scaled = {name: scaled_value(name, value, scale) for name, value in given.items()}
        try:
            base = list(parts_of(function(**given), function.__name__, items))
        except ValueError:
            continue
        with monkeypatch.context() as patch:
            scaled_constants(patch, scale)
            after = list(parts_of(function(**scaled), function.__name__, items))
        for (name, first), (_, second) in zip(base, after, strict=True):
            remark = difference(name, first, second, scale)
            if remark:
                return remark
            seen.setdefault(name, []).append(first.ravel())
    empty = sorted(
        name
        for name, values in seen.items()
        if name not in ONE_ANSWER and (key, name) not in ONE_ANSWER_OF and not says_something(values)
    )
    return f"nothing to compare: always 0, unknown or the same answer: {empty}" if empty or not seen else None


@pytest.mark.parametrize("name", SCALED)
def test_result_scales_with_its_unit(name, monkeypatch):
    remark = breaks_scaling(FUNCTIONS[name], monkeypatch, key=name, items=ITEMS.get(name, ()))
    assert remark is None


def test_every_exception_is_of_a_function_that_is_there():
    assert set(EXEMPT) <= set(FUNCTIONS)
    assert all(EXEMPT.values())
    assert set(GIVEN) | set(ITEMS) | set(HELD) <= set(SCALED)


def test_a_missing_square_is_found(monkeypatch):
    def thrust_kN(face_kPa, cut_diameter_m, friction_kN):
        return face_kPa * math.pi * cut_diameter_m / 4.0 + friction_kN

    assert "thrust_kN is" in breaks_scaling(thrust_kN, monkeypatch)


def test_a_missing_square_is_found_in_a_tuple(monkeypatch):
    def heap_cone_m(loose_m3):
        return np.sqrt(loose_m3), np.cbrt(loose_m3)

    remark = breaks_scaling(heap_cone_m, monkeypatch, items=("height_m", "diameter_m"))
    assert remark.startswith("height_m is")


def test_a_tuple_whose_units_no_name_tells_is_refused(monkeypatch):
    def heap_cone_m(loose_m3):
        return np.cbrt(loose_m3), np.cbrt(loose_m3)

    with pytest.raises(TypeError, match="whose units no name tells"):
        breaks_scaling(heap_cone_m, monkeypatch)


def test_a_wrong_field_is_found_in_a_record(monkeypatch):
    def margins(factors):
        return replace(factors, grout_margin_kPa=factors.water_factor)

    assert breaks_scaling(margins, monkeypatch).startswith("grout_margin_kPa is")


def test_a_wrong_part_is_found_in_a_dictionary_and_in_a_list(monkeypatch):
    def parts(depth_m, gap_m):
        return {"depth_m": depth_m, "gaps_m": [gap_m, gap_m**2]}

    assert breaks_scaling(parts, monkeypatch).startswith("gaps_m is")


def test_a_function_that_is_handed_over_is_scaled():
    def stress_kPa(depth_m):
        return WindowFactors(1.0, 1.0, 20.0 * depth_m, 0.0, 1.0, 1.0, 1.0, 1.0)

    scale = np.array([3.0, 2.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0])
    # 3 kN/m2 is 60 kPa at 3 m; in units in which that depth is 6 and a pressure counts 3/4 of it, 45.
    assert scaled_function(stress_kPa, scale)(6.0).control_kPa == pytest.approx(45.0)


def test_an_answer_that_is_always_the_same_says_nothing(monkeypatch):
    def is_deep(depth_m):
        return depth_m > 0.0

    assert breaks_scaling(is_deep, monkeypatch).startswith("nothing to compare")


def test_a_limit_of_the_wrong_unit_is_found(monkeypatch):
    def is_deep(depth_m):
        return depth_m > 1.7

    assert breaks_scaling(is_deep, monkeypatch).startswith("is_deep is")


def test_a_formula_without_dimensions_is_no_test_of_them(monkeypatch):
    def share(part, whole_frac):
        return part / whole_frac

    assert breaks_scaling(share, monkeypatch).startswith("nothing to scale")
