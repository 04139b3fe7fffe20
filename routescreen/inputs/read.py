"""Reads everything for one run and hands it over by corridor, or says all that is wrong with it.

Room: ``inputs``; the door of the room. Files are opened for reading only.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import shapely

from routescreen.inputs.belongings import Claims, axis_of, check_claims, check_pins, terminals_of
from routescreen.inputs.columns import check_columns
from routescreen.inputs.corridors import DEFAULT_ID, Candidate, build_candidates
from routescreen.inputs.files import Files
from routescreen.inputs.geometries import keep_fitting, repair
from routescreen.inputs.problems import Findings
from routescreen.inputs.reference import choose_project_crs, name_of, to_project
from routescreen.inputs.scenery import Reading, Scenery, read_scenery
from routescreen.inputs.sources import Sources, find_layer, find_raster, is_osm, split_layer
from routescreen.inputs.surfaces import read_surfaces
from routescreen.inputs.texts import scratch_folder
from routescreen.inputs.vectors import read_raw
from routescreen.project import CorridorInput
from routescreen.schema import INPUT_LAYERS, INPUT_RASTERS, INPUTS_BY_NAME

if TYPE_CHECKING:
    from pyproj import CRS
    from shapely.geometry.base import BaseGeometry

    from routescreen.assumptions import Assumptions


@dataclass(frozen=True, slots=True)
class _Corridors:
    """The corridor layer as read: what is sound, and where the whole of it lies."""

    candidates: tuple[Candidate, ...]
    ids: tuple[str, ...]
    crs: CRS
    extent: BaseGeometry


def read_inputs(sources: Sources, assumptions: Assumptions) -> tuple[CorridorInput, ...]:
    """Read all that there is for each corridor of the GeoPackage.

    Parameters
    ----------
    sources : Sources
        Where the input is.
    assumptions : Assumptions
        Gives kinds, soils, cover classes, code lists, tag tables and margins.

    Returns
    -------
    tuple of CorridorInput
        One a corridor id, in the order of the layer; all in one projected CRS in metres.

    Raises
    ------
    InputError
        When anything can't be used: one error that lists every problem found.
    CRSError
        When coordinate reference systems are all that is wrong.
    """
    findings = Findings()
    with scratch_folder() as scratch:
        reading = Reading(sources, assumptions, Files(findings, scratch), findings, scratch)
        corridors = _read_corridors(reading)
        if corridors is None:
            _look_for_the_rest(reading)
            findings.raise_if_any()
            return ()
        inputs = _read_around(reading, corridors)
    findings.raise_if_any()
    return inputs


def _read_corridors(reading: Reading) -> _Corridors | None:
    """Read the corridor layer; None where nothing else can be placed without it."""
    findings, layer = reading.findings, INPUTS_BY_NAME["corridor"]
    place = find_layer(reading.sources, "corridor", reading.files, findings)
    main = reading.files.open(reading.sources.gpkg)
    if place is None:
        if main is not None:
            findings.add(
                "The GeoPackage has no layer 'corridor'.",
                "Give the GeoPackage that holds the corridor, and the extract with --osm."
                if is_osm(reading.sources.gpkg)
                else f"Name the layer with the corridor so; it has: {', '.join(main.layers) or 'no layers'}.",
                file=reading.sources.gpkg,
                layer="corridor",
            )
        return None
    frame = read_raw(place, layer, findings)
    crs = choose_project_crs(frame, place, findings) if frame is not None and len(frame) else None
    if frame is None or crs is None:
        if frame is not None and frame.empty and not findings.problems:
            build_candidates(frame, place, findings)
        return None
    findings.provenance["crs"] = name_of(crs)
    placed = to_project(frame, crs, place, findings)
    if placed is None:
        return None
    extent = shapely.box(*placed.total_bounds)
    sound = repair(keep_fitting(placed, layer, place, findings), place, findings, is_repairable=False)
    table = check_columns(sound, layer, place, findings, {})
    ids = tuple(dict.fromkeys(str(name) for name in table["corridor_id"].fillna(DEFAULT_ID)))
    candidates = build_candidates(table, place, findings) if len(table) else ()
    return _Corridors(candidates, ids, crs, extent)


def _look_for_the_rest(reading: Reading) -> None:
    """Name the faults of the other files even where the corridor can't be read."""
    for layer in INPUT_LAYERS:
        find_layer(reading.sources, layer.name, reading.files, reading.findings)
    for role in ("terrain", "ground_cover"):
        find_raster(reading.sources, role, reading.files)
    if reading.sources.osm is not None:
        reading.files.open(Path(reading.sources.osm))


def _read_around(reading: Reading, corridors: _Corridors) -> tuple[CorridorInput, ...]:
    _say_unknown_layers(reading)
    margin_m = reading.assumptions.frame.works_margin_m
    tolerance_m = reading.assumptions.frame.fixed_alignment_tolerance_m
    areas = {candidate.corridor_id: candidate.area(tolerance_m) for candidate in corridors.candidates}
    whole = shapely.union_all(list(areas.values())) if areas else corridors.extent
    scenery = read_scenery(reading, crs=corridors.crs, region=whole.buffer(margin_m))
    claims = {
        role: Claims(scenery.tables[role], scenery.places[role], corridors.ids)
        for role in ("axis", "terminals", "pins")
        if role in scenery.places
    }
    for claim in claims.values():
        check_claims(claim, reading.findings)
    return tuple(
        _one_corridor(reading, corridors.crs, candidate, areas[candidate.corridor_id], scenery, claims)
        for candidate in corridors.candidates
    )


def _say_unknown_layers(reading: Reading) -> None:
    """Say which layers of the GeoPackage are not read: one with a slip in its name would be missed."""
    main = reading.files.open(reading.sources.gpkg)
    if main is None:
        return
    known = {layer.name for layer in INPUT_LAYERS} | {raster.name for raster in INPUT_RASTERS}
    named = [split_layer(name)[1] for role in known if (name := reading.sources.option(role)) is not None]
    unknown = [name for name in (*main.layers, *main.raster_tables) if name not in {*known, *named}]
    if unknown:
        reading.findings.warn(f"{main.path.name} has layers that are not used: {', '.join(unknown)}.")


def _one_corridor(
    reading: Reading,
    crs: CRS,
    candidate: Candidate,
    area: BaseGeometry,
    scenery: Scenery,
    claims: dict[str, Claims],
) -> CorridorInput:
    findings, tolerance_m = reading.findings, reading.assumptions.frame.fixed_alignment_tolerance_m
    region = area.buffer(reading.assumptions.frame.works_margin_m)
    terrain, cover = read_surfaces(
        reading, scenery, crs=crs, corridor=area, region=region, of=candidate.corridor_id
    )
    axis = axis_of(candidate, claims["axis"], findings) if "axis" in claims else None
    start, end = (
        terminals_of(candidate, claims["terminals"], findings, tolerance_m=tolerance_m)
        if "terminals" in claims
        else (None, None)
    )
    if "pins" in claims:
        check_pins(candidate, claims["pins"], findings, tolerance_m=tolerance_m)
        pins = claims["pins"].of(candidate.corridor_id).reset_index(drop=True)
    else:
        pins = scenery.tables["pins"]
    return CorridorInput(
        corridor_id=candidate.corridor_id,
        crs=crs,
        outline=candidate.outline,
        fixed_line=candidate.fixed_line,
        axis=axis,
        start=start,
        end=end,
        crossings=_clipped(_near(scenery.tables["crossings"], region), region),
        ground=_near(scenery.tables["ground"], region),
        access=scenery.tables["access"].reset_index(drop=True),
        parcels=_near(scenery.tables["parcels"], region),
        investigations=_near(scenery.tables["investigations"], region),
        pins=pins,
        flood_zones=_near(scenery.tables["flood_zones"], region) if "flood_zones" in scenery.places else None,
        terrain=terrain,
        ground_cover=cover,
        terrain_is_bed=reading.sources.terrain_is_bed,
        warnings=tuple(findings.warnings),
        provenance=dict(findings.provenance),
    )


def _near(table: gpd.GeoDataFrame, region: BaseGeometry) -> gpd.GeoDataFrame:
    return table[table.geometry.intersects(region)].reset_index(drop=True)


def _clipped(table: gpd.GeoDataFrame, region: BaseGeometry) -> gpd.GeoDataFrame:
    """Return features cut off at the edge of a region.

    What they have in common far away must not make one crossing of two. Lines stay lines and areas
    areas, of several parts where need be: where an area only touches the region, nothing is left of it.
    """
    geometry = table.geometry.to_numpy().copy()
    shapely.prepare(region)
    for k in np.flatnonzero(~shapely.covers(region, geometry)):
        geometry[k] = _of_dimension(
            shapely.intersection(geometry[k], region), int(shapely.get_dimensions(geometry[k]))
        )
    clipped = table.set_geometry(gpd.GeoSeries(geometry, index=table.index, crs=table.crs))
    return clipped[~shapely.is_empty(geometry)].reset_index(drop=True)


def _of_dimension(geometry: BaseGeometry, dimension: int) -> BaseGeometry:
    """Return the parts of a geometry that are points (0), lines (1) or areas (2)."""
    parts = shapely.get_parts(geometry)
    kept = parts[shapely.get_dimensions(parts) == dimension]
    return kept[0] if len(kept) == 1 else shapely.union_all(kept)
