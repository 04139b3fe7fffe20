"""Saying what is assumed: the full commented text, what differs from the defaults, every value by its key.

Room: assumptions. Pure but for the package's own default files.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import BaseModel

from routescreen.assumptions.base import Range
from routescreen.assumptions.loading import defaults_text, load_assumptions

if TYPE_CHECKING:
    from collections.abc import Iterator

    from routescreen.assumptions.model import Assumptions

Value = bool | int | float | str | tuple["Value", ...] | None


def assumptions_text() -> str:
    """Return the full commented file of the defaults; loaded again it gives the defaults."""
    return defaults_text()


NOT_USED_YET = (
    "ranges.",
    "programme.",
    "checks.thrust.stop_h",
    "checks.thrust.silo_",
    "checks.thrust.no_silo_",
    "grout.rate_m3_per_h",
    "grout.strength_MPa",
    "land.shadow_",
    "pipe.density_kg_per_m3",
    "pipe.standard_dimension_ratio",
    "pipe.jacking_string.n_uses",
    "search.n_ray_columns",
    "shaft.wall_cut_m",
)
"""How the keys begin that nothing is reckoned from in this version, but for those that begin as in
`USED_ALL_THE_SAME`."""

NAMES_NOT_USED_YET = (
    "bend_radius_laid_m",
    "crew_factor",
    "crew_per_shift",
    "diffusivity_m2_per_s",
    "is_flagged",
    "mobilisation_days",
)
"""What every cable, method, class of cover or soil says and nothing is reckoned from in this version."""

USED_ALL_THE_SAME = (
    *(
        f"programme.{key}"
        for key in (
            "block_frame_days",
            "days_per_week",
            "drive_days_per_year",
            "plug_cure_days",
            "pull_in_prepare_days",
            "second_shift_factor",
            "shaft_days",
            "shaft_m3_per_day",
            "shifts_per_day",
            "trench_m_per_day",
            "wet_trench_factor",
        )
    ),
    "programme.standing_h_per_drive",
    "programme.lot_length_km",
    "programme.lot_months",
    "programme.shift_h",
    "programme.tie_in_weld_h",
    "programme.quiet_from_h",
    "programme.quiet_to_h",
    "programme.seasons.",
)


def is_used(key: str) -> bool:
    """Return whether a value bears on any result of this version.

    >>> is_used("ranges.seed"), is_used("programme.lot_length_km"), is_used("trench.depth_m")
    (False, True, True)
    >>> is_used("methods.two_pass.mobilisation_days")
    False
    """
    if key.rpartition(".")[2] in NAMES_NOT_USED_YET:
        return False
    return key.startswith(USED_ALL_THE_SAME) or not key.startswith(NOT_USED_YET)


def flat_items(a: Assumptions) -> dict[str, Value]:
    """List every value by its key path, for the run record.

    Parameters
    ----------
    a : Assumptions

    Returns
    -------
    dict
        Key path such as ``treatments.road.half_width_m`` -> value; a range is the tuple (low, expected,
        high), a list a tuple, a list of tables counts from 0: ``osm.kinds[0].kind``. Keys that are not
        given are left out.
    """
    return dict(_walk("", a))


def only_different(a: Assumptions) -> list[tuple[str, Value, Value]]:
    """List what differs from the defaults.

    Parameters
    ----------
    a : Assumptions

    Returns
    -------
    list of (key path, default, value)
        In the order of the keys; None where one side has no such key.
    """
    defaults, values = flat_items(load_assumptions()), flat_items(a)
    keys = [*values, *(key for key in defaults if key not in values)]
    return [(key, defaults.get(key), values.get(key)) for key in keys if defaults.get(key) != values.get(key)]


def _walk(path: str, value: object) -> Iterator[tuple[str, Value]]:
    if isinstance(value, Range):
        yield path, (value.low, value.expected, value.high)
    elif isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield from _walk(_joined(path, name), getattr(value, name))
    elif isinstance(value, dict):
        for name, entry in value.items():
            yield from _walk(_joined(path, str(name)), entry)
    elif isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
        for index, entry in enumerate(value):
            yield from _walk(f"{path}[{index}]", entry)
    elif isinstance(value, bool | int | float | str | tuple):
        yield path, value


def _joined(path: str, name: str) -> str:
    return f"{path}.{name}" if path else name
