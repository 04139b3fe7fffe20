"""Why the plan is as it is at one place: explanations in plain sentences from the result tables.

Room: ``answers``. Pure: tables in, sentences out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from routescreen.answers.told_parts import (
    Part,
    agreement_part,
    check_part,
    cost_part,
    crossing_name,
    crossing_part,
    hazard_part,
    of_any,
    profile_line,
    records,
    season_part,
    unknown_part,
    value_at,
    ways_part,
)
from routescreen.answers.words import (
    chainage,
    is_number,
    level,
    listed,
    metres,
    number,
    plain,
    sentence,
    times,
)

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping

    import pandas as pd

    from routescreen.answers.places import Place

    Tables = Mapping[str, pd.DataFrame]
    Row = Mapping[Hashable, Any]

__all__ = ["Explanation", "explain"]

NEAR_M = 50.0  # what lies nearer to a chainage is told with it


@dataclass(frozen=True, slots=True)
class Explanation:
    """What is told of one place.

    Attributes
    ----------
    place : Place
    title : str
        What is there, in a sentence.
    parts : tuple of Part
        Sentences under headings.
    rows : mapping of str to list of dict
        The rows of the result tables that they are made from, by layer.
    """

    place: Place
    title: str
    parts: tuple[Part, ...]
    rows: Mapping[str, list[dict[Hashable, Any]]]


def explain(tables: Tables, place: Place) -> Explanation:
    """Explain one place of a plan.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        The result tables of the corridor.
    place : Place

    Returns
    -------
    Explanation
    """
    scope = _scope(tables, place)
    about = place.element_id
    title, first = _TELLERS[place.kind](scope, place)
    total_eur = float(tables["alignment"]["total_eur"].iloc[0])
    paid = {"chainage": "The section", "section": "The section", "bay": "The section"}
    words = {"drive": "The drive's section, with the shafts billed there", "shaft": "The shaft"}
    what = paid.get(place.kind) or words.get(place.kind) or "What is measured at the crossing itself"
    is_crossing = place.kind == "crossing"
    meets = None if is_crossing else crossing_part(scope["crossing_schedule"], "Crossings here")
    ways = None if place.kind in ("shaft", "bay") else ways_part(scope["crossing_ways"], is_one=is_crossing)
    parts = [
        *first,
        meets,
        check_part(scope["checks"], about=about),
        cost_part(scope["bill"], total_eur, of=what),
        ways,
        _tolerance_part(scope, place),
        agreement_part(scope["agreements"]),
        hazard_part(scope["hazards"], about=about),
        season_part(scope["constraints"]),
        unknown_part(scope["checks"], about=about),
    ]
    rows = {name: records(table) for name, table in scope.items() if len(table) and name != "long_section"}
    return Explanation(place, title, tuple(part for part in parts if part is not None), rows)


# --- What belongs to a place ----------------------------------------------------------------------------


def _scope(tables: Tables, place: Place) -> dict[str, pd.DataFrame]:
    """Return the rows of the tables that belong to the place."""
    section_ids = _sections_of(tables, place)
    sections = of_any(tables["sections"], "section_id", section_ids)
    crossings = of_any(tables["crossing_schedule"], "section_id", section_ids)
    drives = of_any(tables["drives"], "section_id", section_ids)
    ends = {*drives["launch_shaft_id"], *drives["reception_shaft_id"]}
    shafts = of_any(tables["shafts"], "shaft_id", ends)
    if place.kind == "crossing":
        crossings = of_any(crossings, "crossing_id", [place.element_id])
    elif place.kind in ("shaft", "bay"):
        crossings = crossings.iloc[:0]
    elif place.kind == "chainage":
        crossings = _near(crossings, place.at_m)
        shafts = _near(tables["shafts"], place.at_m)
    if place.kind == "shaft":
        shafts = of_any(tables["shafts"], "shaft_id", [place.element_id])
    crossing_ids, shaft_ids = set(crossings["crossing_id"]), set(shafts["shaft_id"])
    drive_ids = set() if place.kind in ("crossing", "bay") else set(drives["drive_id"])
    own_shafts = shaft_ids if place.kind in ("shaft", "drive", "section") else set()
    own_drives = drive_ids if place.kind in ("drive", "section") else set()
    elements = crossing_ids | own_shafts | own_drives
    if place.kind in ("section", "drive", "chainage", "bay"):
        elements |= set(section_ids)
    if place.kind == "chainage":
        elements |= drive_ids
    checks = of_any(tables["checks"], "element_id", elements)
    if place.kind == "chainage":
        checks = _near(checks, place.at_m, "governing_chainage_m")
    hazards = tables["hazards"]
    hazards = hazards[
        hazards["drive_id"].isin(list(own_drives))
        | hazards["shaft_id"].isin(list(own_shafts))
        | hazards["section_id"].isin(list(section_ids))
    ]
    return {
        "sections": sections,
        "drives": drives,
        "shafts": shafts,
        "crossing_schedule": crossings,
        "joint_bays": _bays(tables, place, section_ids),
        "checks": checks,
        "bill": _bill(tables["bill"], place, section_ids),
        "crossing_ways": of_any(tables["crossing_ways"], "crossing_id", crossing_ids),
        "agreements": _agreements(tables["agreements"], crossing_ids, own_drives),
        "hazards": hazards,
        "constraints": _constraints(tables["constraints"], place, section_ids, own_shafts),
        "compounds": of_any(tables["compounds"], "shaft_id", own_shafts),
        "investigation_plan": of_any(tables["investigation_plan"], "shaft_id", own_shafts),
        "cable_curve": of_any(tables["cable_curve"], "section_id", section_ids),
        "long_section": tables["long_section"],
    }


def _sections_of(tables: Tables, place: Place) -> list[str]:
    """Return the sections that the place is in, or, for a shaft, that it serves."""
    if place.kind == "section":
        return [place.element_id]
    if place.kind == "shaft":
        drives = tables["drives"]
        is_end = (drives["launch_shaft_id"] == place.element_id) | (
            drives["reception_shaft_id"] == place.element_id
        )
        return [str(name) for name in drives.loc[is_end, "section_id"]]
    layers = {
        "drive": ("drives", "drive_id"),
        "crossing": ("crossing_schedule", "crossing_id"),
        "bay": ("joint_bays", "bay_id"),
    }
    if place.kind in layers:
        layer, column = layers[place.kind]
        table = tables[layer]
        return [str(name) for name in table.loc[table[column] == place.element_id, "section_id"]]
    sections = tables["sections"]
    ends_m = sections["to_chainage_m"].to_numpy(dtype=float)
    at = min(int(np.searchsorted(ends_m, place.at_m)), len(sections) - 1)
    return [str(sections["section_id"].iloc[at])]


def _near(table: pd.DataFrame, at_m: float, column: str = "chainage_m") -> pd.DataFrame:
    return table[(table[column] - at_m).abs() <= NEAR_M]


def _bays(tables: Tables, place: Place, section_ids: list[str]) -> pd.DataFrame:
    bays = tables["joint_bays"]
    if place.kind == "shaft":
        return of_any(bays, "shaft_id", [place.element_id])
    if place.kind == "bay":
        return of_any(bays, "bay_id", [place.element_id])
    if place.kind == "crossing":
        return bays.iloc[:0]
    found = of_any(bays, "section_id", section_ids)
    return _near(found, place.at_m) if place.kind == "chainage" else found


def _bill(bill: pd.DataFrame, place: Place, section_ids: list[str]) -> pd.DataFrame:
    if place.kind in ("shaft", "crossing"):
        return of_any(bill, "element_id", [place.element_id])
    return of_any(bill, "section_id", section_ids)


def _agreements(table: pd.DataFrame, crossing_ids: set[str], drive_ids: set[str]) -> pd.DataFrame:
    """Return what must be agreed for crossings, and for what the strings of drives are laid out across."""
    is_mine = table["crossing_id"].isin(list(crossing_ids))
    if "drive_id" in table:
        is_mine |= table["drive_id"].isin(list(drive_ids))
    return table[is_mine]


def _constraints(
    table: pd.DataFrame, place: Place, section_ids: list[str], shaft_ids: set[str]
) -> pd.DataFrame:
    if place.kind == "shaft":
        return of_any(table, "shaft_id", shaft_ids)
    mine = of_any(table, "section_id", section_ids)
    if place.kind in ("chainage", "crossing", "bay"):
        reach_m = NEAR_M if place.kind == "chainage" else 1.0
        return mine[
            (mine["from_chainage_m"] <= place.at_m + reach_m)
            & (mine["to_chainage_m"] >= place.at_m - reach_m)
        ]
    return mine


# --- What is there, and why -----------------------------------------------------------------------------

Told = tuple[str, list[Part | None]]


def _why(scope: Tables) -> Part:
    return Part("Why", tuple(sentence(str(reason)) for reason in scope["sections"]["reason"]))


def _tell_section(scope: Tables, place: Place) -> Told:
    row = records(scope["sections"])[0]
    if row["construction"] == "drive":
        title, parts = _tell_drive(scope, place)
        return f"{row['section_id']} is a drive. {title}", parts
    title = (
        f"{row['section_id']}: open cut from {chainage(row['from_chainage_m'])} to "
        f"{chainage(row['to_chainage_m'])}, {metres(row['length_m'])}, with "
        f"{times(len(scope['crossing_schedule']), 'crossing')}."
    )
    return title, [_why(scope), _cable(scope), _joints(scope)]


def _tell_drive(scope: Tables, place: Place) -> Told:  # noqa: ARG001 - as its neighbours
    row = records(scope["drives"])[0]
    shafts = {shaft["shaft_id"]: shaft for shaft in records(scope["shafts"])}
    launch, reception = (shafts[row[f"{end}_shaft_id"]] for end in ("launch", "reception"))
    apart = f", {metres(row['bore_spacing_m'])} apart" if is_number(row["bore_spacing_m"]) else ""
    bores = f"{times(int(row['bores']), 'bore')} of {metres(row['bore_diameter_m'])}{apart}"
    title = (
        f"{row['drive_id']}: {plain(row['method'])}, {metres(row['length_m'])}, from launch shaft "
        f"{launch['shaft_id']} at {chainage(launch['chainage_m'])} to reception shaft "
        f"{reception['shaft_id']} at {chainage(reception['chainage_m'])}; {bores}. "
        f"Status: {row['status'].replace('_', ' ')}."
    )
    return title, [_why(scope), _drive_levels(scope, row), _drive_forces(row), _cable(scope), _joints(scope)]


def _drive_levels(scope: Tables, row: Row) -> Part:
    z_m = shapely.get_coordinates(scope["drives"].geometry.iloc[0], include_z=True)[:, 2]
    ground_m = {
        shaft_id: shapely.get_z(point)
        for shaft_id, point in zip(scope["shafts"]["shaft_id"], scope["shafts"].geometry, strict=True)
    }
    ends = [
        f"{word} invert at {level(z)}, ground at {level(float(ground_m[row[f'{word}_shaft_id']]))}"
        for word, z in (("launch", float(z_m[0])), ("reception", float(z_m[-1])))
    ]
    profile = scope["long_section"]
    section = records(scope["sections"])[0]
    mine = profile[
        profile["chainage_m"].between(section["from_chainage_m"], section["to_chainage_m"])
        & (profile["construction"] == "drive")
    ]
    water_m = (mine["groundwater_m"] - mine["invert_m"]).max()
    lines = [
        sentence("; ".join(ends)),
        f"It {_slope(row['grade_percent'])} from the launch.",
        f"Least cover {metres(row['cover_min_m'])}"
        + (
            f" at {chainage(row['cover_min_chainage_m'])}." if is_number(row["cover_min_chainage_m"]) else "."
        ),
    ]
    if is_number(water_m):
        below = "above" if water_m > 0.0 else "below"
        lines.append(f"Groundwater stands at most {metres(abs(float(water_m)))} {below} the invert.")
    return Part("Levels and cover", tuple(lines))


def _slope(grade_percent: float) -> str:
    if round(grade_percent, 2) == 0.0:
        return "is level"
    return f"{'rises' if grade_percent > 0 else 'falls'} by {number(abs(grade_percent), 2)} %"


def _drive_forces(row: Row) -> Part | None:
    lines = []
    if is_number(row["thrust_kN"]):
        used = number(100.0 * row["thrust_utilisation"])
        lines.append(
            f"Thrust after a stop {number(row['thrust_kN'])} kN at expected friction, {used} % of what frame "
            "and string bear."
        )
    if is_number(row["pull_in_kN"]):
        used = number(100.0 * row["pull_in_utilisation"])
        lines.append(f"Pull on the pipe {number(row['pull_in_kN'])} kN, {used} % of what it bears.")
    if row["layout_pieces"]:
        lines.append(f"The pipe strings are laid out in {times(int(row['layout_pieces']), 'piece')}.")
    return Part("Forces", tuple(lines)) if lines else None


def _cable(scope: Tables) -> Part | None:
    curve = scope["cable_curve"]
    rated = curve[curve["rating_A"].notna()]
    if rated.empty:
        return None
    row = records(rated.loc[[rated["rating_A"].idxmin()]])[0]
    text = f"The cables carry least at {chainage(row['chainage_m'])}: {number(row['rating_A'])} A"
    hot = (
        f", conductor at {number(row['conductor_degC'], 1)} degC" if is_number(row["conductor_degC"]) else ""
    )
    deep = f", axis {metres(row['depth_m'])} deep" if is_number(row["depth_m"]) else ""
    return Part("Cable", (f"{text}{hot}{deep}.",))


def _joints(scope: Tables) -> Part | None:
    lines = [_bay_line(row) for row in records(scope["joint_bays"])]
    return Part("Joint bays", tuple(lines)) if lines else None


def _bay_line(row: Row) -> str:
    kinds = {
        "in_trench": "in the trench",
        "in_shaft": "in a shaft",
        "in_longer_shaft": "in a shaft that is made longer for it",
    }
    shaft = f" ({row['shaft_id']})" if row["shaft_id"] else ""
    cable = f"{metres(row['section_back_m'])} before and {metres(row['section_on_m'])} behind it"
    return (
        f"{row['bay_id']} at {chainage(row['chainage_m'])} in {row['section_id']}, "
        f"{kinds[row['kind']]}{shaft}; cable of {cable}."
    )


def _tell_shaft(scope: Tables, place: Place) -> Told:
    row = records(of_any(scope["shafts"], "shaft_id", [place.element_id]))[0]
    drives = [
        f"{drive['drive_id']} ({plain(drive['method'])}, {metres(drive['length_m'])})"
        for drive in records(scope["drives"])
    ]
    side = "right" if row["offset_m"] >= 0.0 else "left"
    title = (
        f"{row['shaft_id']}: {row['role'].replace('+', ' and ')} shaft of {listed(drives)} at "
        f"{chainage(row['chainage_m'])}, {metres(abs(row['offset_m']))} {side} of the axis."
    )
    ground_m = float(shapely.get_z(scope["shafts"].geometry.iloc[0]))
    base = level(ground_m - row["depth_m"])
    lines = [f"Ground at {level(ground_m)}, {metres(row['depth_m'])} deep, so its base is at {base}."]
    water_m = value_at(scope["long_section"], "groundwater_m", row["chainage_m"])
    if is_number(water_m):
        over = water_m - (ground_m - row["depth_m"])
        side = "above" if over > 0 else "below"
        lines.append(f"Groundwater at {level(water_m)}, {metres(abs(over))} {side} its base.")
    lines += [f"Its compound takes {number(c['area_m2'])} m2." for c in records(scope["compounds"])]
    looks = [
        f"{hole['borehole_id']}, {metres(hole['depth_m'])} deep: {sentence(hole['reason'])}"
        for hole in records(scope["investigation_plan"])
    ]
    why = Part("Why", tuple(_shaft_reasons(scope)))
    ground = Part("To be looked into", tuple(looks)) if looks else None
    return title, [why, Part("Levels", tuple(lines)), _joints(scope), ground]


def _shaft_reasons(scope: Tables) -> list[str]:
    return [
        f"It serves {drive['drive_id']}: {sentence(section['reason'])}"
        for drive, section in zip(records(scope["drives"]), records(scope["sections"]), strict=True)
    ]


def _tell_crossing(scope: Tables, place: Place) -> Told:
    row = records(scope["crossing_schedule"])[0]
    way = "in open cut" if row["treatment"] == "open_cut" else "under it by a drive"
    angle = f" at {number(row['angle_deg'])} deg" if is_number(row["angle_deg"]) else ""
    title = (
        f"{row['crossing_id']}: {crossing_name(row)} at {chainage(row['chainage_m'])}, met over "
        f"{metres(row['width_m'])}{angle}, passed {way} in {row['section_id']}."
    )
    lines = []
    if is_number(row["cover_m"]):
        lines.append(f"Cover {metres(row['cover_m'])}; {metres(row['required_cover_m'])} required.")
    if is_number(row["clearance_m"]):
        lines.append(f"Clear distance to it {metres(row['clearance_m'])}.")
    if row["treatment"] == "open_cut":
        lines.append(profile_line(scope["long_section"], place.at_m, records(scope["sections"])[0]))
    if row["remark"]:
        lines.append(sentence(f"To know before work: {row['remark']}"))
    if row["confidence"]:
        lines.append(f"Its inputs are {row['confidence']}.")
    return title, [_why(scope), Part("Levels and cover", tuple(lines))]


def _tell_chainage(scope: Tables, place: Place) -> Told:
    row = records(scope["sections"])[0]
    built = "open cut" if row["construction"] == "open_cut" else f"a drive ({plain(row['method'])})"
    title = (
        f"{place.element_id} lies in {row['section_id']}, {built} from {chainage(row['from_chainage_m'])} to "
        f"{chainage(row['to_chainage_m'])}."
    )
    lines = [profile_line(scope["long_section"], place.at_m, row)]
    curve = scope["cable_curve"]
    if len(curve):
        nearest = records(curve.iloc[[int((curve["chainage_m"] - place.at_m).abs().to_numpy().argmin())]])[0]
        if is_number(nearest["rating_A"]):
            lines.append(f"The cables can carry {number(nearest['rating_A'])} A there.")
    shafts = [
        f"Shaft {shaft['shaft_id']} stands at {chainage(shaft['chainage_m'])}."
        for shaft in records(scope["shafts"])
    ]
    return title, [_why(scope), Part("Levels and cover", tuple(lines + shafts)), _joints(scope)]


def _tell_bay(scope: Tables, place: Place) -> Told:
    row = records(scope["joint_bays"])[0]
    pulls = [number(row[f"pull_from_{end}_kN"]) for end in ("lower", "higher")]
    lines = (
        f"Level of the cables' axes {level(row['level_m'])}; ground cover {plain(row['cover'])}.",
        f"Cable before it pulled up to it: {pulls[0]} kN; behind it pulled back to it: {pulls[1]} kN.",
    )
    return _bay_line(row), [Part("There", lines), _profile_part(scope, place)]


def _profile_part(scope: Tables, place: Place) -> Part:
    row = records(scope["sections"])[0]
    return Part("Levels and cover", (profile_line(scope["long_section"], place.at_m, row),))


def _tolerance_part(scope: Tables, place: Place) -> Part | None:
    """Return how far a shaft may move; nothing where that wasn't reckoned."""
    if place.kind != "shaft":
        return None
    row = records(of_any(scope["shafts"], "shaft_id", [place.element_id]))[0]
    ways = ("along_back", "along_on", "left", "right")
    if not all(is_number(row[f"move_{way}_m"]) for way in ways):
        return None
    told = ", ".join(f"{metres(row[f'move_{way}_m'])} {way.replace('_', ' ')}" for way in ways)
    return Part("How far it may move", (sentence(f"For the tolerance in the run record: {told}"),))


_TELLERS = {
    "section": _tell_section,
    "drive": _tell_drive,
    "shaft": _tell_shaft,
    "crossing": _tell_crossing,
    "chainage": _tell_chainage,
    "bay": _tell_bay,
}
