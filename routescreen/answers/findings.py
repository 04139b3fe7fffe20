"""What was found in the inputs of a corridor, what is missing, and what a run will assume for it.

Room: ``answers``. Pure: what was read in, sentences out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shapely import Polygon

from routescreen.answers.show import parts_text
from routescreen.answers.told_parts import Part
from routescreen.answers.words import level, metres, number, plain, sentence, times, wrapped
from routescreen.schema import INPUT_LAYERS

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from routescreen.assumptions import Assumptions
    from routescreen.project import CorridorInput

__all__ = ["CorridorFacts", "Surface", "findings_json", "findings_text", "missing_of"]

MANY = 99.5  # percent: that much counts as all
MOST_CLASSES = 6


@dataclass(frozen=True, slots=True)
class Surface:
    """Pixel of a raster as it was read [m]."""

    pixel_width_m: float
    pixel_height_m: float


@dataclass(frozen=True, slots=True)
class CorridorFacts:
    """What was read and laid out for one corridor.

    Attributes
    ----------
    corridor : CorridorInput
    length_m : float
        Along the axis of the frame [m].
    width_m : tuple of float
        Least and greatest, to the frame's cell [m].
    area_m2 : float
        Of the polygon, 0 for a line [m2].
    bounds_m : tuple of float
        West, south, east, north [m].
    terrain, ground_cover : Surface or None
    level_m : tuple of float
        Lowest and highest terrain on the frame's nodes [m].
    cover_frac, soil_frac : mapping of str to float
        Share of the nodes by class, the largest first [-].
    known_soil_frac, known_water_frac, parcels_frac : float
        Share of the nodes in polygons that say soil, groundwater, a parcel [-].
    n_nodes : int
    seconds, memory_mb : float
        What a run is expected to take, the time at the least [s], [MB].
    warnings : tuple of str
    """

    corridor: CorridorInput
    length_m: float
    width_m: tuple[float, float]
    area_m2: float
    bounds_m: tuple[float, ...]
    terrain: Surface | None
    ground_cover: Surface | None
    level_m: tuple[float, float]
    cover_frac: Mapping[str, float]
    soil_frac: Mapping[str, float]
    known_soil_frac: float
    known_water_frac: float
    parcels_frac: float
    n_nodes: int
    seconds: float
    memory_mb: float
    warnings: tuple[str, ...]


def findings_text(facts: tuple[CorridorFacts, ...], a: Assumptions) -> str:
    """Return the findings as lines for people, with a line end."""
    lines: list[str] = []
    for fact in facts:
        lines += [*wrapped(_title(fact)), parts_text(_parts(fact, a)), ""]
    lines.append("The inputs can be used. Whether a plan is possible, and pins can be kept, the run tells.")
    return "\n".join(lines) + "\n"


def findings_json(facts: tuple[CorridorFacts, ...], a: Assumptions) -> list[dict[str, object]]:
    """Return the findings as objects for programs, one a corridor."""
    return [
        {
            "corridor_id": fact.corridor.corridor_id,
            "is_line": fact.corridor.outline is None,
            "crs": fact.corridor.provenance.get("crs"),
            "length_m": round(fact.length_m, 2),
            "width_least_m": fact.width_m[0],
            "width_most_m": fact.width_m[1],
            "area_m2": round(fact.area_m2, 1),
            "bounds_m": [round(value, 2) for value in fact.bounds_m],
            "layers": {role: {"features": n, "source": of} for role, n, of in _layers(fact)},
            "crossings_by_kind": _kinds(fact.corridor.crossings),
            "terrain_pixel_m": fact.terrain and [fact.terrain.pixel_width_m, fact.terrain.pixel_height_m],
            "ground_cover_pixel_m": fact.ground_cover
            and [fact.ground_cover.pixel_width_m, fact.ground_cover.pixel_height_m],
            "terrain_lowest_m": fact.level_m[0],
            "terrain_highest_m": fact.level_m[1],
            "cover_frac": dict(fact.cover_frac),
            "soil_frac": dict(fact.soil_frac),
            "known_soil_frac": fact.known_soil_frac,
            "known_groundwater_frac": fact.known_water_frac,
            "parcels_frac": fact.parcels_frac,
            "assumed": list(missing_of(fact, a)),
            "warnings": list(fact.warnings),
            "nodes": fact.n_nodes,
            "expected_seconds": round(fact.seconds, 1),
            "expected_memory_mb": round(fact.memory_mb, 1),
        }
        for fact in facts
    ]


def _title(fact: CorridorFacts) -> str:
    corridor = fact.corridor
    low, high = fact.width_m
    shape = (
        "a line that is kept to"
        if corridor.outline is None
        else f"{metres(low)} to {metres(high)} wide, {number(fact.area_m2 / 1e6, 2)} km2"
    )
    return (
        f"Corridor {corridor.corridor_id}: {number(fact.length_m / 1000.0, 2)} km long, {shape}, in "
        f"{corridor.provenance.get('crs', corridor.crs.name)}."
    )


def _parts(fact: CorridorFacts, a: Assumptions) -> tuple[Part, ...]:
    parts = [
        _found(fact),
        _ground(fact),
        _pins(fact.corridor.pins),
        Part("Missing, and what a run assumes for it", missing_of(fact, a) or ("Nothing is missing.",)),
        Part("Worth a look", tuple(map(sentence, fact.warnings))) if fact.warnings else None,
        Part("What a run will take", (_effort(fact),)),
    ]
    return tuple(part for part in parts if part is not None)


# --- What was found -------------------------------------------------------------------------------------


def _layers(fact: CorridorFacts) -> list[tuple[str, int, str]]:
    """Return each layer that was given: its name, features near the corridor, and where it was read."""
    corridor = fact.corridor
    found = []
    for layer in INPUT_LAYERS:
        role = layer.name
        file = corridor.provenance.get(f"input.{role}.file")
        if file is None and not (role == "crossings" and len(corridor.crossings)):
            continue
        of = corridor.provenance.get(f"input.{role}.layer")
        extract = corridor.provenance.get("input.crossings.extract") if role == "crossings" else None
        own = f"{file}|{of}" if file and of and of != role else file
        sources = [name for name in (own, extract) if name]
        found.append((role, _count(corridor, role), " and ".join(sources) or "OpenStreetMap extract"))
    return found


def _count(corridor: CorridorInput, role: str) -> int:
    if role == "corridor":
        return 1
    if role == "axis":
        return int(corridor.axis is not None)
    if role == "terminals":
        return int(corridor.start is not None) + int(corridor.end is not None)
    return len(getattr(corridor, role))


def _found(fact: CorridorFacts) -> Part:
    lines = [f"{role}: {times(n, 'feature')} near the corridor, from {of}." for role, n, of in _layers(fact)]
    lines += _holes(fact.corridor)
    kinds = [f"{plain(kind)} {n}" for kind, n in _kinds(fact.corridor.crossings).items()]
    if kinds:
        lines.append(sentence(f"Crossings by kind: {', '.join(kinds)}"))
    for name, surface in (("terrain", fact.terrain), ("ground_cover", fact.ground_cover)):
        if surface is not None:
            file = fact.corridor.provenance.get(f"input.{name}.file", "OpenStreetMap extract")
            pixel = f"{surface.pixel_width_m:.4g} m by {surface.pixel_height_m:.4g} m"
            whole = ", over the whole corridor" if name == "terrain" else ""
            lines.append(f"{name}: pixels of {pixel}, from {file}{whole}.")
    west, south, east, north = fact.bounds_m
    lines.append(
        f"It lies between {number(west)} and {number(east)} east, {number(south)} and {number(north)} north."
    )
    return Part("Found", tuple(lines))


def _holes(corridor: CorridorInput) -> list[str]:
    """Say what becomes of holes in the polygon: they may be meant, or slivers of a union."""
    if corridor.outline is None or not corridor.outline.interiors:
        return []
    areas_m2 = [Polygon(ring).area for ring in corridor.outline.interiors]
    holes = f"{times(len(areas_m2), 'hole')}, {number(sum(areas_m2))} m2 in all"
    kept_out = "they lie outside it, and the alignment keeps out of them, in open cut and in drives"
    return [f"The corridor has {holes}: {kept_out}."]


def _kinds(crossings: pd.DataFrame) -> dict[str, int]:
    counts = crossings["kind"].value_counts()
    return {str(kind): int(n) for kind, n in sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))}


def _ground(fact: CorridorFacts) -> Part:
    lines = []
    if fact.terrain is not None:
        lines.append(f"The ground lies between {level(fact.level_m[0])} and {level(fact.level_m[1])}.")
    lines.append(sentence(f"Ground cover, by the frame's nodes: {_by_share(fact.cover_frac)}"))
    lines.append(sentence(f"Soil, as a run takes it: {_by_share(fact.soil_frac)}"))
    return Part("Ground", tuple(lines))


def _by_share(shares: Mapping[str, float]) -> str:
    told = [f"{plain(name)} {_percent(share)}" for name, share in list(shares.items())[:MOST_CLASSES]]
    rest = sum(list(shares.values())[MOST_CLASSES:])
    return ", ".join([*told, f"others {_percent(rest)}"] if rest > 0.0 else told)


def _percent(share: float) -> str:
    return f"{number(100.0 * share, 1)} %" if share >= 0.001 else "under 0.1 %"


def _pins(pins: pd.DataFrame) -> Part | None:
    lines = []
    words = {"via": "the alignment passes here", "shaft": "a shaft stands here", "no_shaft": "no shaft here"}
    for role, radius_m, point in zip(pins["role"], pins["radius_m"], pins.geometry, strict=True):
        reach = f", within {metres(float(radius_m))}" if radius_m == radius_m else ""
        lines.append(f"{role}: {words.get(str(role), '')} ({point.x:.1f}, {point.y:.1f}){reach}.")
    return Part("Pins", tuple(lines)) if lines else None


def _effort(fact: CorridorFacts) -> str:
    span = (
        f"{number(fact.seconds)} s"
        if fact.seconds < 120.0
        else f"{number(fact.seconds / 60.0)} min"
        if fact.seconds < 7200.0
        else f"{number(fact.seconds / 3600.0)} h"
    )
    return (
        f"{number(fact.n_nodes)} nodes: some {number(fact.memory_mb / 1000.0, 1)} GB, and {span} at the "
        "least; telling how else each crossing could be passed has taken ten times as long "
        "(explain.crossing_ways = false leaves it out)."
    )


# --- What is missing ------------------------------------------------------------------------------------


def missing_of(fact: CorridorFacts, a: Assumptions) -> tuple[str, ...]:
    """Return a sentence for everything that is missing, with what a run assumes in its place."""
    given = {role for role, _, _ in _layers(fact)}
    lines = [
        *_missing_ground(fact, a),
        *_missing_layers(fact, given),
        *_missing_columns(fact.corridor.crossings, a),
    ]
    return tuple(lines)


def _missing_ground(fact: CorridorFacts, a: Assumptions) -> list[str]:
    lines = []
    if fact.terrain is None:
        lines.append(
            "No terrain: flat ground at level 0; everything that depends on depth is that of a plain."
        )
    if fact.ground_cover is None:
        lines.append(f"No ground cover: {plain(a.default_cover)} everywhere.")
    elif fact.cover_frac.get("unknown", 0.0) > 0.0:
        lines.append("Ground cover: not known everywhere; where it is not, the class unknown stands for it.")
    if 100.0 * fact.known_soil_frac < MANY:
        lines.append(_known("Soil", fact.known_soil_frac, plain(a.default_soil)))
    if 100.0 * fact.known_water_frac < MANY:
        depth = f"{metres(a.groundwater.default_depth_m)} below the ground"
        lines.append(_known("Groundwater", fact.known_water_frac, depth))
    if not fact.corridor.ground["rock_depth_m"].notna().any():
        lines.append("Rock: no depth is given; none is met.")
    return lines


def _known(what: str, share: float, instead: str) -> str:
    if share == 0.0:
        return f"{what}: not known; {instead} everywhere."
    return f"{what}: known on {_percent(share)} of the corridor; elsewhere {instead}."


def _missing_layers(fact: CorridorFacts, given: set[str]) -> list[str]:
    texts = {
        "axis": "No axis: it is derived from the corridor.",
        "terminals": "No terminals: the alignment runs from end to end of the axis.",
        "access": "No access roads: the crossings that are roads or tracks stand for them.",
        "parcels": "No parcels: the land that is taken is told by ground cover, without owners.",
        "investigations": "No boreholes: all ground counts as assumed or by record.",
        "flood_zones": "No flood zones: floods are not evaluated.",
    }
    if fact.corridor.access.empty:
        texts["access"] = "No access roads, and no crossings that could stand for them: they are 0 m long."
    lines = [text for role, text in texts.items() if role not in given]
    if "parcels" in given and 100.0 * fact.parcels_frac < MANY:
        lines.append(f"Parcels: {_percent(1.0 - fact.parcels_frac)} of the corridor lies in none.")
    return lines


def _missing_columns(crossings: pd.DataFrame, a: Assumptions) -> list[str]:
    """Say what features leave open that their kind's assumptions fill."""
    kinds = a.treatments
    services = crossings[[_is_service(a, str(kind)) for kind in crossings["kind"]]]
    waters = crossings[
        [str(kind) in kinds and kinds[str(kind)].water_depth_m > 0.0 for kind in crossings["kind"]]
    ]
    asked = (
        (services, "depth_m", "buried service", "the depth of its kind"),
        (services, "diameter_m", "buried service", "the diameter of its kind"),
        (waters, "water_depth_m", "water", "the depth of its kind"),
        (crossings, "owner", "crossing", "owner not known"),
    )
    return [
        _unsaid(int(table[column].isna().sum()), len(table), column, what, instead)
        for table, column, what, instead in asked
        if len(table) and table[column].isna().any()
    ]


def _is_service(a: Assumptions, kind: str) -> bool:
    return kind in a.treatments and a.treatments[kind].cover_reference == "service"


def _unsaid(n: int, of: int, column: str, what: str, instead: str) -> str:
    return f"{column}: not given for {number(n)} of {times(of, what)}: {instead}."
