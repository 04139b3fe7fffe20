"""What the joints' plan gives: checks, the layer of bays, the table of cable sections.

Room: ``audit``. Pure tables; the plan itself is made by its neighbour ``cable_joints``.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from shapely import Point

from routescreen.audit.cable_joints import (
    Joints,
    SectionPull,
    cable_kinds,
    common_side,
    drum_mass_t,
    exceeds_at_high,
    is_amber,
    longest_section_m,
    plan_joints,
    section_pull,
)
from routescreen.audit.cable_pulls import DOWN, EXPECTED, HIGH, HOLDS, SOURCE, UP, enter_pull
from routescreen.audit.cable_way import IN_SHAFT
from routescreen.audit.joint_shaft_proofs import larger_shaft
from routescreen.audit.joint_sites import shaft_plans_m
from routescreen.audit.report import Limit, Place
from routescreen.counted import counted, grouped

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from routescreen.assumptions.works import CableType
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

    Array = NDArray[np.float64]

DRUM_AT = ("lower", "higher")
PASSES = f"{SOURCE}; exact pass along the alignment"
CAPSTAN = f"{SOURCE}; capstan law, sliding friction"
NO_LEVEL = "the level of the ground isn't known all along"
NO_PLAN = "no joints were found that make sections which drum, pull and side wall allow"


def prove_joints(scene: Scene, ledger: Ledger) -> tuple[int | None, dict[str, pd.DataFrame]]:
    """Place the joints, enter what they and the sections between them bear, lay out both tables.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger

    Returns
    -------
    n_bays : int or None
        Bays of one system; None where there is no plan.
    tables : dict of str to DataFrame
        The layers ``joint_bays`` and ``cable_sections``, with indices in place of names.
    """
    joints = plan_joints(scene)
    if joints is None or not joints.plan.is_feasible:
        _tell_missing(scene, ledger, joints)
        return None, {}
    found = _sections(scene, joints)
    _prove_plan(scene, ledger, joints, found)
    for number in range(len(joints.ends) - 2):
        _prove_room(scene, ledger, joints, number)
    for cable, suffix in cable_kinds(scene.assumptions):
        _prove_open_cut(scene, ledger, joints, found[suffix], cable, suffix)
    tables = {"joint_bays": _bays(scene, joints, found), "cable_sections": _table(scene, joints, found)}
    return len(joints.plan.nodes), tables


def _sections(scene: Scene, joints: Joints) -> dict[str, list[SectionPull]]:
    """Return what each kind of cable bears in each section, all pulled from the same end."""
    numbers = range(len(joints.ends) - 1)
    sides = [common_side(joints, number, scene.assumptions) for number in numbers]
    return {
        suffix: [section_pull(joints, number, cable, sides[number]) for number in numbers]
        for cable, suffix in cable_kinds(scene.assumptions)
    }


def _limit(a_check: str, suffix: str, unit: str) -> Limit:
    return Limit(f"{a_check}{suffix}", unit, CAPSTAN)


def _tell_missing(scene: Scene, ledger: Ledger, joints: Joints | None) -> None:
    """Enter that there is no plan, and that no pull in open cut is known."""
    limit, element = Limit("joint_plan", "m", PASSES), scene.plan.corridor_id
    why = NO_LEVEL if joints is None else NO_PLAN
    if joints is None:
        ledger.not_evaluated(element, limit, Place(), why)
    else:
        far_m = joints.plan.farthest_m
        reason = (
            f"{why}; from the start they reach chainage {far_m:.0f} m (a drum carries "
            f"{longest_section_m(scene.assumptions):.0f} m)"
        )
        place = Place(far_m, xy_m=scene.route.point_at(far_m))
        ledger.finding(element, limit, scene.route.length_m, far_m, place, reason)
    for section in _open_cuts(scene):
        for _, suffix in cable_kinds(scene.assumptions):
            for check, unit in (("cable_pull", "kN"), ("side_wall", "kN/m")):
                place = Place(section=section)
                ledger.not_evaluated(scene.section_id(section), _limit(check, suffix, unit), place, why)


def _open_cuts(scene: Scene) -> list[int]:
    route = scene.route
    sections = range(route.n_sections)
    return [s for s in sections if not route.is_drive[route.pieces_of_section(s)[0]]]


def _prove_plan(scene: Scene, ledger: Ledger, joints: Joints, found: dict[str, list[SectionPull]]) -> None:
    """Enter how far the sections get: all the way, with how many bays, and what friction they stand.

    Amber where one of them bears more at high friction than it may.
    """
    route_m, plan = scene.route.length_m, joints.plan
    n, n_short = len(plan.nodes), int(np.sum(joints.sites.is_short[plan.nodes]))
    high = {
        True: "they can be pulled at high friction as well",
        False: "at high friction "
        + (
            f"{counted(joints.n_at_high, 'bay')} would be needed"
            if joints.n_at_high >= 0
            else "no joints are enough"
        ),
    }[joints.friction == HIGH]
    n_shafts = int(np.sum(joints.way.nodes.kind[plan.nodes] == IN_SHAFT))
    short = f", {n_short} of them too short for a bay" if n_short else ""
    where = "a shaft" if n_shafts == 1 else "shafts"
    reason = (
        f"{counted(n, 'bay')} a system, {n_shafts} of them in {where}{short}; sections of "
        f"{plan.section_m.min():.0f} to {plan.section_m.max():.0f} m "
        f"(a drum carries {longest_section_m(scene.assumptions):.0f} m); {high}"
    )
    over, place = _over_at_high(scene, joints, found)
    limit = Limit("joint_plan", "m", PASSES)
    enter = ledger.amber if over else ledger.finding
    enter(scene.plan.corridor_id, limit, route_m, route_m, place, f"{reason}{over}")


def _over_at_high(scene: Scene, joints: Joints, found: dict[str, list[SectionPull]]) -> tuple[str, Place]:
    """Return which sections bear too much at high friction, and where the worst of them bears most."""
    numbers: set[int] = set()
    worst = (0.0, "", math.nan)
    ends_m = joints.way.nodes.chainage_m[joints.ends]
    for cable, suffix in cable_kinds(scene.assumptions):
        for number, part in enumerate(found[suffix]):
            if not exceeds_at_high(part, cable):
                continue
            numbers.add(number)
            for check, unit, most in _limits(cable):
                value, where_m = (each[part.side, HIGH] for each in _values(part, check))
                if value / most > worst[0]:
                    worst = (value / most, f"{value:.1f} {unit} of {most:g}", float(where_m))
    if not numbers:
        return "", Place()
    spans = ", ".join(f"{ends_m[n]:.0f} to {ends_m[n + 1]:.0f} m" for n in sorted(numbers))
    words = f"; too much is borne then from {spans}, most of all {worst[1]} at {worst[2]:.0f} m"
    return words, Place(worst[2], xy_m=scene.route.point_at(worst[2]))


def _limits(cable: CableType) -> tuple[tuple[str, str, float], ...]:
    return ("cable_pull", "kN", cable.eye_limit_kN), ("side_wall", "kN/m", cable.side_wall_kN_per_m)


def _prove_room(scene: Scene, ledger: Ledger, joints: Joints, number: int) -> None:
    """Warn of a joint in a shaft that is too short or too narrow for a bay; judge it at its true size."""
    node = int(joints.plan.nodes[number])
    shaft = int(joints.way.nodes.shaft[node])
    if not joints.sites.is_short[node]:
        return
    a, at_m = scene.assumptions, float(joints.way.nodes.chainage_m[node])
    length_m, width_m = a.cable.joint_bay_length_m, a.cable.joint_bay_width_m * a.link.n_systems
    has_m = max(size_m[0] for size_m in shaft_plans_m(scene, shaft))
    place, element = Place(at_m, shaft=shaft, xy_m=scene.route.point_at(at_m)), scene.shaft_id(shaft)
    larger = larger_shaft(scene, shaft, place)
    costs = "what that costs isn't known" if np.isnan(larger.eur) else f"about {grouped(larger.eur)} EUR"
    stands = "where it breaks no limit of shafts" if not larger.failed else "where it breaks limits of shafts"
    reason = (
        f"a joint is needed in this shaft; its bays need {length_m:g} m by {width_m:g} m, the shaft is "
        f"{has_m:g} m long at most: make it {larger.length_m:g} m by {larger.width_m:g} m, {larger.side}, "
        f"{stands}; {costs}, not in the bill, anchors and eyes left out"
    )
    limit = Limit("joint_bay_room", "m", "assumptions, [cable], [methods]; price by the bill's own items")
    ledger.amber(element, limit, length_m, has_m, place, reason)
    ledger.unpriced(larger.eur)  # NaN, where it isn't known, is no more than 0
    for check in larger.failed:
        limit = Limit(f"joint_{check.check}", check.unit, check.source, check.confidence)
        reason = f"made {larger.length_m:g} m long for its joint, {larger.side}: {check.reason}"
        ledger.finding(element, limit, check.demand, check.capacity, place, reason)


def _prove_open_cut(
    scene: Scene,
    ledger: Ledger,
    joints: Joints,
    found: list[SectionPull],
    cable: CableType,
    suffix: str,
) -> None:
    """Enter for each open cut the cable section through it that uses most of its limits."""
    ends_m = joints.way.nodes.chainage_m[joints.ends]
    reserve = scene.assumptions.cable.pull_reserve_frac
    for section in _open_cuts(scene):
        from_m, to_m = scene.route.bounds_of_section(section)
        mine = np.flatnonzero((ends_m[:-1] < to_m - 1e-6) & (ends_m[1:] > from_m + 1e-6))
        for check, unit, most in _limits(cable):
            number = max(mine.tolist(), key=lambda n: _largest(found[n], check))
            side, (value, where_m) = found[number].side, _values(found[number], check)
            reason = _pull_reason(ends_m, number, value, side, unit)
            at_m = float(where_m[side, EXPECTED])
            place = Place(at_m, section=section, xy_m=scene.route.point_at(at_m))
            limit, element = _limit(check, suffix, unit), scene.section_id(section)
            values = (float(value[side, EXPECTED]), most)
            status = enter_pull(ledger, element, limit, values, reserve, place, reason)
            if status in HOLDS and value[side, HIGH] > most:
                limit = _limit(f"{check}_high_friction", suffix, unit)
                ledger.amber(element, limit, float(value[side, HIGH]), most, place, reason)


def _largest(found: SectionPull, check: str) -> float:
    return float(_values(found, check)[0][found.side, EXPECTED])


def _values(found: SectionPull, check: str) -> tuple[Array, Array]:
    return (found.pull_kN, found.pull_m) if check == "cable_pull" else (found.wall_kN_per_m, found.wall_m)


def _pull_reason(ends_m: Array, number: int, value: Array, side: int, unit: str) -> str:
    other, span = 1 - side, f"{ends_m[number]:.0f} to {ends_m[number + 1]:.0f} m"
    return (
        f"cable section from {span}, drum at the {DRUM_AT[side]} chainage: "
        f"{value[side, EXPECTED]:.2f} {unit} at expected friction, {value[side, HIGH]:.2f} at high; "
        f"drum at the {DRUM_AT[other]}: {value[other, EXPECTED]:.2f} and {value[other, HIGH]:.2f}"
    )


def _bays(scene: Scene, joints: Joints, found: dict[str, list[SectionPull]]) -> pd.DataFrame:
    """Lay out the bays; pulls are those of the pole cable at expected friction."""
    nodes, at, covers = joints.way.nodes, joints.plan.nodes, list(scene.assumptions.cover)
    poles = found[""]
    walls = np.array([part.wall_kN_per_m[part.side, EXPECTED] for part in poles])
    points = [scene.route.point_at(float(nodes.chainage_m[node])) for node in at]
    return pd.DataFrame(
        {
            "bay_index": np.arange(len(at)),
            "chainage_m": nodes.chainage_m[at],
            "level_m": nodes.level_m[at],
            "kind": np.where(joints.sites.is_short[at], "in_longer_shaft", nodes.kind[at]),
            "section_index": nodes.section[at],
            "shaft_index": nodes.shaft[at],
            "cable_length_m": nodes.cable_m[at],
            "section_back_m": joints.plan.section_m[:-1],
            "section_on_m": joints.plan.section_m[1:],
            "pull_from_lower_kN": [part.pull_kN[UP, EXPECTED] for part in poles[:-1]],
            "pull_from_higher_kN": [part.pull_kN[DOWN, EXPECTED] for part in poles[1:]],
            "side_wall_kN_per_m": np.maximum(walls[:-1], walls[1:]),
            "cover": [covers[joints.sites.cover[node]] for node in at],
            "geometry": [Point(*xy, z) for xy, z in zip(points, nodes.level_m[at], strict=True)],
        }
    )


def _table(scene: Scene, joints: Joints, found: dict[str, list[SectionPull]]) -> pd.DataFrame:
    """Lay out one row a cable section and kind of cable."""
    ends_m = joints.way.nodes.chainage_m[joints.ends]
    reserve = scene.assumptions.cable.pull_reserve_frac
    rows: list[dict[str, object]] = []
    for cable, suffix in cable_kinds(scene.assumptions):
        for number, part in enumerate(found[suffix]):
            length_m = float(joints.plan.section_m[number])
            row: dict[str, object] = {
                "cable_section_index": len(rows),
                "cable": "return" if suffix else "pole",
                "from_chainage_m": ends_m[number],
                "to_chainage_m": ends_m[number + 1],
                "length_m": length_m,
                "drum_t": drum_mass_t(cable, length_m),
                "drum_at": DRUM_AT[part.side],
            }
            for name, value, unit in (
                ("pull", part.pull_kN, "kN"),
                ("side_wall", part.wall_kN_per_m, "kN_per_m"),
            ):
                for side in (UP, DOWN):
                    row[f"{name}_from_{DRUM_AT[side]}_{unit}"] = value[side, EXPECTED]
                    row[f"{name}_from_{DRUM_AT[side]}_high_{unit}"] = value[side, HIGH]
            row |= {
                "governed_by": part.rule,
                "governing_chainage_m": part.governing_m,
                "status": "amber" if is_amber(part, cable, reserve) else "pass",
            }
            rows.append(row)
    return pd.DataFrame(rows)
