"""Everything that lies round the corridors as vectors: layers, and what an extract adds to them.

Room: ``inputs``; reads through ``vectors`` and ``osm``.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd
import shapely

from routescreen.counted import counted
from routescreen.inputs.osm import OsmFeatures, osm_crossings, read_osm
from routescreen.inputs.problems import few
from routescreen.inputs.reference import to_project
from routescreen.inputs.sources import Place, find_layer, is_osm
from routescreen.inputs.vectors import empty_layer, finish, read_layer, read_raw
from routescreen.schema import INPUTS_BY_NAME

if TYPE_CHECKING:
    from collections.abc import Mapping

    import geopandas as gpd
    from pyproj import CRS
    from shapely.geometry.base import BaseGeometry

    from routescreen.assumptions import Assumptions
    from routescreen.inputs.files import Files, OpenFile
    from routescreen.inputs.problems import Findings
    from routescreen.inputs.sources import Sources

# Roads that carry plant are looked for this far round the corridor. Common practice, no source.
ACCESS_REACH_M = 2_000.0
_PLAIN_LAYERS = ("axis", "terminals", "ground", "parcels", "investigations", "flood_zones", "pins")


@dataclass(frozen=True, slots=True)
class Reading:
    """What every step of one reading shares."""

    sources: Sources
    assumptions: Assumptions
    files: Files
    findings: Findings
    scratch: Path


@dataclass(frozen=True, slots=True)
class Scenery:
    """What was read round all corridors.

    Attributes
    ----------
    tables : mapping of str to GeoDataFrame
        By input layer, all layers present, indexed by the features' labels.
    places : mapping of str to Place
        Where the layers that exist were read from.
    extracts : mapping of Path to tuple of OpenFile and OsmFeatures
        OpenStreetMap extracts that were read.
    """

    tables: Mapping[str, gpd.GeoDataFrame]
    places: Mapping[str, Place]
    extracts: Mapping[Path, tuple[OpenFile, OsmFeatures]]


def allowed_words(role: str, a: Assumptions) -> dict[str, tuple[str, ...]]:
    """Return the words that the assumptions allow in the columns of a layer."""
    if role == "crossings":
        return {"kind": a.kind_names}
    return {"soil": a.soil_names, "rock_soil": a.soil_names} if role in ("ground", "investigations") else {}


def read_scenery(reading: Reading, *, crs: CRS, region: BaseGeometry) -> Scenery:
    """Read all vector layers near `region` [m] and check them.

    Parameters
    ----------
    reading : Reading
    crs : CRS
        Of the run.
    region : Polygon or MultiPolygon
        The corridors and their surroundings [m].

    Returns
    -------
    Scenery
    """
    tables: dict[str, gpd.GeoDataFrame] = {}
    places: dict[str, Place] = {}
    for role in _PLAIN_LAYERS:
        tables[role] = _read_plain(reading, role, places, crs=crs, region=region)
    _check_boreholes(tables["investigations"], places.get("investigations"), reading.findings)
    wide = region.buffer(ACCESS_REACH_M)
    extracts = _read_extracts(reading, crs=crs, wide=wide)
    tables["crossings"], roads = _read_crossings(reading, extracts, crs=crs, region=region, wide=wide)
    place = find_layer(reading.sources, "access", reading.files, reading.findings)
    if place is None:
        tables["access"] = _access_from(roads, reading, crs)
    else:
        layer = INPUTS_BY_NAME["access"]
        tables["access"] = read_layer(place, layer, reading.findings, crs=crs, region=wide, words={})
    return Scenery(tables, places, extracts)


def _read_plain(
    reading: Reading, role: str, places: dict[str, Place], *, crs: CRS, region: BaseGeometry
) -> gpd.GeoDataFrame:
    layer = INPUTS_BY_NAME[role]
    place = find_layer(reading.sources, role, reading.files, reading.findings)
    if place is None:
        return empty_layer(layer, crs)
    places[role] = place
    # Axis, terminals and pins are wishes: one that lies far off is a fault to be named, not left out.
    is_wish = role in ("axis", "terminals", "pins")
    reach = None if is_wish else region
    return read_layer(
        place, layer, reading.findings, crs=crs, region=reach, words=allowed_words(role, reading.assumptions)
    )


def _read_extracts(
    reading: Reading, *, crs: CRS, wide: BaseGeometry
) -> dict[Path, tuple[OpenFile, OsmFeatures]]:
    sources = reading.sources
    named = (sources.osm, sources.crossings, sources.ground_cover)
    wanted = [Path(source) for source in named if source is not None and is_osm(source)]
    if sources.osm is not None and not is_osm(sources.osm):
        reading.findings.add(
            "This is not an OpenStreetMap extract by its name.",
            "Give an .osm.pbf or .osm file; unpack .bz2 first.",
            file=str(sources.osm),
        )
    extracts = {}
    for path in dict.fromkeys(wanted):
        file = reading.files.open(path)
        features = None
        if file is not None:
            features = read_osm(
                file,
                reading.assumptions,
                reading.findings,
                bounds=wide.bounds,
                crs=crs,
                scratch=reading.scratch,
            )
        if file is not None and features is not None:
            extracts[path] = (file, features)
    return extracts


def _read_crossings(
    reading: Reading,
    extracts: Mapping[Path, tuple[OpenFile, OsmFeatures]],
    *,
    crs: CRS,
    region: BaseGeometry,
    wide: BaseGeometry,
) -> tuple[gpd.GeoDataFrame, list[gpd.GeoDataFrame]]:
    """Return the crossings near the region, and those from further round in which roads may be."""
    tables, roads = [], []
    layer, sources = INPUTS_BY_NAME["crossings"], reading.sources
    for path in dict.fromkeys(
        Path(name) for name in (sources.osm, sources.crossings) if is_osm(name) and name
    ):
        if path in extracts:
            found = osm_crossings(extracts[path][1], reading.assumptions, layer, crs)
            tables.append(found[found.geometry.intersects(region)])
            roads.append(found)
    if not is_osm(sources.crossings):
        near, far = _read_crossing_layer(reading, crs=crs, region=region, wide=wide)
        tables.append(near)
        roads.append(far)
    near = _joined(tables, empty_layer(layer, crs))
    if near.empty and not reading.findings.problems:
        reading.findings.warn("There are no crossings: nothing lies in the way of the plan.")
    elif sources.osm is not None and Path(sources.osm) in extracts:
        reading.findings.provenance["input.crossings.extract"] = Path(sources.osm).name
    return near, roads


def _read_crossing_layer(
    reading: Reading, *, crs: CRS, region: BaseGeometry, wide: BaseGeometry
) -> tuple[gpd.GeoDataFrame, gpd.GeoDataFrame]:
    layer, findings = INPUTS_BY_NAME["crossings"], reading.findings
    nothing = empty_layer(layer, crs)
    place = find_layer(reading.sources, "crossings", reading.files, findings)
    if place is None:
        _note_no_crossings(reading)
        return nothing, nothing
    raw = read_raw(place, layer, findings, near=(wide.bounds, crs))
    frame = None if raw is None else to_project(raw, crs, place, findings)
    if frame is None:
        return nothing, nothing
    words = allowed_words("crossings", reading.assumptions)
    near = finish(frame, layer, place, findings, region=region, words=words)
    near["feature_id"] = near.index
    return near, frame if "kind" in frame.columns else nothing


def _note_no_crossings(reading: Reading) -> None:
    sources = reading.sources
    if sources.osm is None and sources.crossings is None and reading.files.open(sources.gpkg) is not None:
        reading.findings.add(
            "The GeoPackage has no layer 'crossings'.",
            "Add it (it may be empty), or name another source (--crossings) or an OpenStreetMap extract "
            "(--osm).",
            file=sources.gpkg,
            layer="crossings",
        )


def _joined(tables: list[gpd.GeoDataFrame], nothing: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    filled = [table for table in tables if len(table)]
    if not filled:
        return nothing
    return filled[0] if len(filled) == 1 else pd.concat(filled)


def _access_from(frames: list[gpd.GeoDataFrame], reading: Reading, crs: CRS) -> gpd.GeoDataFrame:
    """Take the roads among the crossings as those that carry plant, areas by their rims."""
    kinds = reading.assumptions.osm.access_keys
    lines = [frame[["geometry"]][frame["kind"].isin(kinds)] for frame in map(_plain_geometry, frames)]
    nothing = empty_layer(INPUTS_BY_NAME["access"], crs)
    roads = _joined(lines, nothing)
    named = ", ".join(kinds)
    if len(roads):
        reading.findings.warn(
            f"There is no layer of access roads: {counted(len(roads), 'crossing')} of the kinds {named} "
            f"{'stands' if len(roads) == 1 else 'stand'} for them, up to {ACCESS_REACH_M / 1000.0:g} km from "
            "the corridor."
        )
    else:
        reading.findings.warn(
            f"There is no layer of access roads, and no crossings of the kinds {named} that could stand "
            "for them."
        )
    is_area = shapely.get_dimensions(roads.geometry.to_numpy()) == 2
    shapes = roads.geometry.to_numpy().copy()
    shapes[is_area] = shapely.boundary(shapes[is_area])
    return roads.set_geometry(shapes, crs=crs)


def _plain_geometry(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    return frame if frame.geometry.name == "geometry" else frame.rename_geometry("geometry")


def _check_boreholes(table: gpd.GeoDataFrame, place: Place | None, findings: Findings) -> None:
    upside_down = table[table["base_m"] <= table["top_m"]]
    if place is None or upside_down.empty:
        return
    findings.add(
        "The base of a soil layer is not below its top.",
        "Give depths below ground: base_m greater than top_m.",
        file=place.file.path,
        layer=place.layer,
        feature=few(list(upside_down.index)),
        column="base_m",
    )
