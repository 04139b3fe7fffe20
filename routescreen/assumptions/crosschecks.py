"""What the groups of the assumptions ask of each other.

Room: assumptions. Pure: each check yields the problems it finds.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.assumptions.messages import value_text
from routescreen.errors import Problem

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from routescreen.assumptions.model import Assumptions


def cross_problems(
    a: Assumptions, file: str | None, default_codes: frozenset[str], rates: Mapping[str, object]
) -> list[Problem]:
    """Return everything that does not fit together.

    Parameters
    ----------
    a : Assumptions
    file : str or None
        Name of the project's file.
    default_codes : frozenset of str
        Bill items that have a rate by default.
    rates : mapping of str to object
        The rates as they were written, for messages.

    Returns
    -------
    list of Problem
    """
    problems = [problem for check in _CHECKS for problem in check(a, file)]
    return [*problems, *_unused_rates(a, file, default_codes, rates)]


def _strips_for_all_systems(a: Assumptions, file: str | None) -> Iterator[Problem]:
    for strip in ("working_strip", "protective_strip", "narrow_strip"):
        key = f"{strip}_by_n_systems_m"
        widths = getattr(a.trench, key)
        if len(widths) < a.link.n_systems:
            yield Problem(
                problem=f"No width for {a.link.n_systems} systems; allowed: a width for each number of them.",
                remedy=f"Add widths up to {a.link.n_systems} systems.",
                file=file,
                column=f"trench.{key}",
                value=str(list(widths)),
            )


def _pipes_are_listed(a: Assumptions, file: str | None) -> Iterator[Problem]:
    sizes = [size.outer_diameter_m for size in a.pipe.sizes]
    for key, diameter in _pipe_diameters(a):
        if not any(abs(diameter - size) < 1e-6 for size in sizes):
            yield Problem(
                problem=f"No pipe of that diameter is listed in pipe.sizes; allowed: {sizes}.",
                remedy="Choose a listed diameter or add the size with wall, mass and safe pull.",
                file=file,
                column=key,
                value=str(diameter),
            )


def _cables_fit_pipes(a: Assumptions, file: str | None) -> Iterator[Problem]:
    least = a.pipe.least_inside_cable_diameters * a.cable.outer_diameter_m
    for key, diameter in _pipe_diameters(a):
        size = next((s for s in a.pipe.sizes if abs(s.outer_diameter_m - diameter) < 1e-6), None)
        if size is not None and size.inside_diameter_m < least:
            yield Problem(
                problem=f"The pipe is {size.inside_diameter_m:.3f} m inside; allowed: at least {least:.3f} m "
                f"({a.pipe.least_inside_cable_diameters:g} cable diameters).",
                remedy="Choose a larger pipe or a thinner cable.",
                file=file,
                column=key,
                value=str(diameter),
            )


LEAST_OHM_M = 1.7e-8
"""No copper or aluminium resists less: annealed copper 1.7241e-8 at 20 degC (IEC 60028, from memory)."""


def _conductors_agree(a: Assumptions, file: str | None) -> Iterator[Problem]:
    """Section, resistance and pull of a conductor must be those of one conductor."""
    for key, cable in (("cable", a.cable), ("cable.metallic_return", a.cable.metallic_return)):
        if cable.conductor_ohm_m < LEAST_OHM_M:
            yield Problem(
                problem=f"Resistance x section is {cable.conductor_ohm_m:.3g} ohm m, less than copper has; "
                f"allowed: at least {LEAST_OHM_M:g} ohm m.",
                remedy="Give section and resistance of the same conductor: conductor_area_mm2 and "
                "resistance_20degC_ohm_per_m.",
                file=file,
                column=f"{key}.resistance_20degC_ohm_per_m",
                value=f"{cable.resistance_20degC_ohm_per_m:g}",
            )
        if cable.eye_limit_kN > cable.stress_limit_kN * (1.0 + 1e-9):
            yield Problem(
                problem=f"The pull is more than the conductor may take; allowed: at most "
                f"{cable.stress_limit_kN:g} kN, {cable.pull_stress_N_per_mm2:g} N/mm2 of "
                f"{cable.conductor_area_mm2:g} mm2.",
                remedy="Leave pull_limit_kN out or lower it; or state the maker's pull_stress_N_per_mm2.",
                file=file,
                column=f"{key}.pull_limit_kN",
                value=f"{cable.eye_limit_kN:g}",
            )


def _string_fits_drives(a: Assumptions, file: str | None) -> Iterator[Problem]:
    """Weight and strength of the jacking string hold for one diameter: that of the drives it pushes."""
    string_m = a.pipe.jacking_string.outer_diameter_m
    for name, method in a.enabled_methods.items():
        is_pushed = method.has_layout and method.geometry_kind == "shaft_to_shaft"
        if is_pushed and abs(method.driven_outer_diameter_m - string_m) > 1e-6:
            yield Problem(
                problem=f"Drive and jacking string differ; allowed: {string_m:g} m, the string's diameter.",
                remedy="Give pipe.jacking_string the values of that string, weight and capacity included.",
                file=file,
                column=f"methods.{name}.driven_outer_diameter_m",
                value=str(method.driven_outer_diameter_m),
            )


def _pipe_diameters(a: Assumptions) -> Iterator[tuple[str, float]]:
    yield "pipe.trench_outer_diameter_m", a.pipe.trench_outer_diameter_m
    for name, method in a.methods.items():
        yield f"methods.{name}.pipe_outer_diameter_m", method.pipe_outer_diameter_m


def _codes_have_rates(a: Assumptions, file: str | None) -> Iterator[Problem]:
    for key, code in _codes(a):
        if code not in a.rates:
            yield Problem(
                problem="No such bill item has a rate; allowed: the codes under [rates].",
                remedy=f"Correct the code or give {code} a rate under [rates].",
                file=file,
                column=key,
                value=f"'{code}'",
            )


def _codes(a: Assumptions) -> Iterator[tuple[str, str]]:
    lists = {
        **{
            f"treatments.{kind}.{key}": getattr(treatment, key)
            for kind, treatment in a.treatments.items()
            for key in ("trench_items", "drive_items", "agreement_items")
        },
        **{
            f"methods.{name}.{key}": getattr(method, key)
            for name, method in a.methods.items()
            for key in ("launch_items", "first_bore_items", "further_bore_items", "further_length_items")
        },
        "shaft.dry_items": a.shaft.dry_items,
        "shaft.wet_items": a.shaft.wet_items,
    }
    for key, codes in lists.items():
        yield from ((f"{key}[{index}]", code) for index, code in enumerate(codes))
    yield from _single_codes(a)


def _single_codes(a: Assumptions) -> Iterator[tuple[str, str]]:
    for name, method in a.methods.items():
        for key in ("rig_item", "bore_length_item", "spoil_item"):
            if (code := getattr(method, key)) is not None:
                yield f"methods.{name}.{key}", code
    for key in ("supply_item", "pull_item", "joint_item"):
        yield f"cable.{key}", getattr(a.cable, key)
        yield f"cable.metallic_return.{key}", getattr(a.cable.metallic_return, key)
    for key in ("ramp_item", "fill_item", "joint_bay_item", "test_item"):
        yield f"cable.{key}", getattr(a.cable, key)
    yield "trench.bedding_item", a.trench.bedding_item


def _unused_rates(
    a: Assumptions, file: str | None, default_codes: frozenset[str], rates: Mapping[str, object]
) -> Iterator[Problem]:
    used = default_codes | {code for _, code in _codes(a)}
    for code in a.rates:
        if code not in used:
            yield Problem(
                problem="The bill item is unknown and nothing names it; allowed: known codes, or new ones "
                "that a treatment or a method names.",
                remedy="Correct the code, or name it in an .._items list.",
                file=file,
                column=f"rates.{code}",
                value=value_text(rates.get(code)),
            )


def _soils_match(a: Assumptions, file: str | None) -> Iterator[Problem]:
    for name, method in a.methods.items():
        for soil in method.drivability:
            if soil not in a.soil:
                yield _unknown_name(f"methods.{name}.drivability", soil, "soil class", a.soil, file)
        for soil in a.soil:
            if soil not in method.drivability:
                yield Problem(
                    problem=f"The method says nothing about {soil}; allowed: an entry for every soil class.",
                    remedy='Add it (grade = "no" rules it out), or give the soil like = "<known soil>".',
                    file=file,
                    column=f"methods.{name}.drivability.{soil}",
                )


def _ground_defaults_known(a: Assumptions, file: str | None) -> Iterator[Problem]:
    known: tuple[tuple[str, str, str, Iterable[str]], ...] = (
        ("frame.default_soil", a.frame.default_soil, "soil class", a.soil),
        ("frame.default_rock_soil", a.frame.default_rock_soil, "soil class", a.soil),
        ("frame.default_cover", a.frame.default_cover, "cover class", a.cover),
        ("frame.cover_code_list", a.frame.cover_code_list, "code list", a.cover_codes),
    )
    for key, name, what, names in known:
        if name not in names:
            yield _unknown_name(key, name, what, names, file)


def _cover_codes_known(a: Assumptions, file: str | None) -> Iterator[Problem]:
    for list_name, codes in a.cover_codes.items():
        for code, name in codes.items():
            if name not in a.cover:
                yield _unknown_name(f"cover_codes.{list_name}.{code}", name, "cover class", a.cover, file)


def _osm_targets_known(a: Assumptions, file: str | None) -> Iterator[Problem]:
    for table in ("own_kinds", "kinds"):
        for index, rule in enumerate(getattr(a.osm, table)):
            if rule.kind not in a.treatments:
                yield _unknown_name(f"osm.{table}[{index}].kind", rule.kind, "kind", a.treatments, file)
    for table in ("own_cover", "cover"):
        for index, rule in enumerate(getattr(a.osm, table)):
            if rule.cover not in a.cover:
                yield _unknown_name(f"osm.{table}[{index}].cover", rule.cover, "cover class", a.cover, file)
    for index, kind in enumerate(a.osm.access_keys):
        if kind not in a.treatments:
            yield _unknown_name(f"osm.access_keys[{index}]", kind, "kind", a.treatments, file)


def _some_method_enabled(a: Assumptions, file: str | None) -> Iterator[Problem]:
    if not a.enabled_methods:
        yield Problem(
            problem="No method is enabled; allowed: at least one with is_enabled = true.",
            remedy='Enable a method; to forbid drives, set drive_under = "no" for the kinds concerned.',
            file=file,
            column="methods",
            value=", ".join(a.methods),
        )


def _unknown_name(key: str, name: str, what: str, names: Iterable[str], file: str | None) -> Problem:
    return Problem(
        problem=f"There is no {what} of that name; allowed: {', '.join(names)}.",
        remedy=f"Name a known {what} or add one.",
        file=file,
        column=key,
        value=f"'{name}'",
    )


_CHECKS: tuple[Callable[[Assumptions, str | None], Iterator[Problem]], ...] = (
    _strips_for_all_systems,
    _pipes_are_listed,
    _cables_fit_pipes,
    _conductors_agree,
    _string_fits_drives,
    _codes_have_rates,
    _soils_match,
    _ground_defaults_known,
    _cover_codes_known,
    _osm_targets_known,
    _some_method_enabled,
)
