"""Register of hazards of a finished plan: what may go wrong at each drive, shaft and open cut, and why.

Room: ``audit``. The rules stand in ``engineering.hazard_rules``; here they meet the plan's quantities.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from routescreen.audit.hazard_facts import Found, drive_facts, highest_grout_kPa, shaft_facts
from routescreen.audit.hazard_open_cut import open_cut_facts, ramp_facts
from routescreen.audit.report import Limit, Place
from routescreen.counted import counted
from routescreen.engineering.hazard_rules import HAZARD_RULES
from routescreen.engineering.hazards import condition_holds, hazard_register

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routescreen.audit.land_use import Sites
    from routescreen.audit.report import Check, Ledger
    from routescreen.audit.scene import Scene
    from routescreen.engineering.hazards import Condition, HazardRule

    Facts = dict[str, float]

PLACES = ("section_index", "drive_index", "shaft_index")
# What is said where a condition holds, with the quantity; and what a quantity is called where it isn't known.
WORDS = {
    "flood_above_rim_m": ("no rim keeps the 100-year flood out", "flood zones and their levels"),
    "is_in_flood_zone": ("it stands in a flood zone of 100 years", "flood zones and their levels"),
    "is_in_dyke_zone": ("it stands in a dyke's protection zone", "dykes"),
    "has_peat": ("peat there", "soil"),
    "has_made_ground": ("made ground there", "soil"),
    "landfill_distance_m": ("landfill or contaminated ground {:.0f} m off", "landfills"),
    "gas_pipeline_distance_m": ("gas main {:.0f} m off", "gas mains"),
    "depth_m": ("{:.2f} m deep", "depth"),
    "has_obstacles": ("soil on the way holds stones, boulders or timber of no known size", "soil on the way"),
    "obstruction_utilisation": ("largest grain {:.2f} times what the machine takes", "largest grain"),
    "event_probability": ("an obstruction is met with a chance of {:.2f}", "obstructions"),
    "unreachable_m": ("{:.0f} m lie where no rescue shaft may stand, and nobody can enter", "what is above"),
    "head_above_base_m": ("highest water {:.2f} m above the base", "groundwater"),
    "uplift_utilisation": ("uplift is {:.2f} times what holds the base", "uplift of the base"),
    "heave_utilisation": ("seepage is {:.2f} times what the base bears", "heave of the base"),
    "head_above_invert_m": ("highest water {:.2f} m above the lowest invert", "groundwater"),
    "thrust_wall_utilisation": ("thrust is {:.2f} times what the wall bears", "thrust wall"),
    "pressure_utilisation": ("pressure is {:.2f} times what the ground holds", "pressure window"),
    "cover_left_m": ("{:.2f} m of cover left over what is required", "cover"),
    "has_old_boreholes": ("an old borehole stands near the bores", "old boreholes near the bores"),
    "settlement_utilisation": ("settlement is {:.2f} times the limit", "settlement"),
    "n_services": ("services on the way or within 5 m, by record: {:.0f}", "services"),
    "service_distance_m": ("the nearest {:.1f} m off in plan", "services"),
    "has_high_pressure_pipeline": ("gas or product pipeline within 30 m", "pipelines"),
    "grout_pressure_kPa": ("grout at up to {:.0f} kPa in the bore", "pressure of the grout"),
    "power_line_distance_m": ("power line {:.0f} m off in plan", "power lines"),
    "has_power_cable": ("power cable within 5 m, by record", "power cables"),
    "ramp_depth_m": ("ramps dug {:.1f} m deep at the shaft", "depth of the ramps"),
    "ramp_head_m": ("highest water {:.1f} m above the bottom of the ramps", "groundwater"),
    "trench_depth_m": ("trench {:.2f} m deep", "depth of the trench"),
    "head_above_trench_m": ("highest water up to {:.2f} m above its bottom", "groundwater"),
    "n_services_crossed": ("services crossed, by record: {:.0f}", "services"),
    "n_ways_crossed": ("roads, tracks, paths and rails crossed: {:.0f}", "roads"),
}


def list_hazards(
    scene: Scene, ledger: Ledger, sites: Sites, curves: pd.DataFrame, audited: Sequence[Check] = ()
) -> pd.DataFrame:
    """Fill the register, and enter how many rows of it wait for a signature.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        What was found so far; takes the findings.
    sites : Sites
    curves : DataFrame
        The numbers along the drives.
    audited : sequence of Check
        What the audit checked besides.

    Returns
    -------
    DataFrame
        The columns of the layer ``hazards``, with `section_index`, `drive_index` and `shaft_index`.
    """
    found, grout = Found([*ledger.checks, *audited]), highest_grout_kPa(curves)
    rows = []
    for index in range(len(scene.plan.drives)):
        rows += _rows("drive", (-1, index, -1), drive_facts(scene, found, grout, index))
    for index in range(len(scene.plan.shafts)):
        rows += _rows(
            "shaft",
            (-1, -1, index),
            shaft_facts(scene, found, grout, sites, index) | ramp_facts(scene, index),
        )
    for section in range(scene.route.n_sections):
        if not scene.route.is_drive[scene.route.pieces_of_section(section)[0]]:
            rows += _rows("open_cut", (section, -1, -1), open_cut_facts(scene, section))
    table = pd.DataFrame(
        rows,
        columns=[*PLACES, "hazard", "state", "cause", "guard", "who_signs"],
    )
    _enter(scene, ledger, table)
    return table


def _rows(objects: str, where: tuple[int, int, int], facts: Facts) -> list[dict[str, object]]:
    """Return the rules that apply to one drive, shaft or open cut, and those that nobody can decide."""
    register = hazard_register(HAZARD_RULES, objects, facts)  # type: ignore[arg-type]
    rows: list[dict[str, object]] = []
    for rule, applies in zip(register.rules, register.applies, strict=True):
        if float(applies) == 0.0:
            continue
        is_known = not math.isnan(float(applies))
        rows.append(
            {
                **dict(zip(PLACES, where, strict=True)),
                "hazard": rule.hazard,
                "state": "applies" if is_known else "not_evaluated",
                "cause": cause(rule, facts) if is_known else unknown(rule, facts),
                "guard": rule.what_to_do,
                "who_signs": rule.who_signs,
            }
        )
    return rows


def _conditions(rule: HazardRule) -> tuple[Condition, ...]:
    return (*rule.all_of, *rule.any_of)


def cause(rule: HazardRule, facts: Facts) -> str:
    """Say which conditions of a rule hold, with their numbers."""
    held = [c for c in _conditions(rule) if float(condition_holds(c, facts)) == 1.0]
    return "; ".join(dict.fromkeys(WORDS[c.quantity][0].format(facts[c.quantity]) for c in held))


def unknown(rule: HazardRule, facts: Facts) -> str:
    """Say what decides a rule and isn't known."""
    open_ones = [c for c in _conditions(rule) if math.isnan(float(condition_holds(c, facts)))]
    return "not known: " + ", ".join(dict.fromkeys(WORDS[c.quantity][1] for c in open_ones))


def _enter(scene: Scene, ledger: Ledger, table: pd.DataFrame) -> None:
    """Enter what waits for a signature: nothing is passed by a list."""
    limit = Limit("hazards_signed", "rows", "register of hazards; common practice, no source")
    n_open = int(np.sum(table["state"] == "not_evaluated"))
    wait = "waits" if len(table) == 1 else "wait"
    reason = (
        f"{counted(len(table), 'row')} of the register of hazards {wait} for the signatures named there; of "
        f"{n_open} it isn't known whether they apply"
    )
    ledger.not_evaluated(scene.plan.corridor_id, limit, Place(), reason)
