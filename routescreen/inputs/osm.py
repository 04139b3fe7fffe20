"""Crossings straight from an OpenStreetMap extract, by the tag tables of the assumptions.

Room: ``inputs``; opens the extract for reading. Tags decide, never the reader's layers: a closed way
is tried as an area and, unless it is tagged as one, as a line along its ring.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files as package_files
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import shapely
from pyproj import CRS

from routescreen.counted import counted
from routescreen.inputs.corridors import named
from routescreen.inputs.problems import percent
from routescreen.inputs.reference import bounds_between
from routescreen.inputs.vectors import empty_layer

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from routescreen.assumptions import Assumptions
    from routescreen.assumptions.running import TagRule
    from routescreen.inputs.files import OpenFile
    from routescreen.inputs.problems import Findings
    from routescreen.inputs.vectors import Bounds
    from routescreen.schema import Layer

_LON_LAT = CRS.from_epsg(4326)
# GDAL layer, geometry in the tag tables.
_LAYERS = (("points", "point"), ("lines", "line"), ("multipolygons", "polygon"))
LICENCE = "(c) OpenStreetMap contributors, Open Database Licence 1.0"


@dataclass(frozen=True, slots=True)
class OsmFeatures:
    """Tagged features near the corridor, in the CRS of the run, cut to the box that was asked for.

    Attributes
    ----------
    tags : DataFrame
        One row a feature, one column a tag key, None where the tag is missing; indexed by
        ``node/1``, ``way/1`` or ``relation/1``.
    shapes : ndarray of shapely geometries, shape (n,)
    geometry : ndarray of str, shape (n,)
        ``point``, ``line`` or ``polygon``: under what the tag tables know it.
    area_m2 : ndarray of float64, shape (n,)
        Area before the cut [m2].
    """

    tags: pd.DataFrame
    shapes: NDArray[np.object_]
    geometry: NDArray[np.str_]
    area_m2: NDArray[np.float64]


def read_osm(
    file: OpenFile, a: Assumptions, findings: Findings, *, bounds: Bounds, crs: CRS, scratch: Path
) -> OsmFeatures | None:
    """Read every feature that has a tag the assumptions look at.

    Parameters
    ----------
    file : OpenFile
        An ``.osm.pbf`` or ``.osm`` extract.
    a : Assumptions
    findings : Findings
    bounds : tuple of float
        West, south, east, north in `crs` [m].
    crs : CRS
        Of the run.
    scratch : Path
        Folder for the reader's configuration.

    Returns
    -------
    OsmFeatures or None
        None, with the fault noted, where the extract can't be read or has nothing there.
    """
    config = _write_config(a, scratch)
    try:
        with findings.listening(file.path):
            frames = [_read_layer(file, layer, config, bounds, crs) for layer, _ in _LAYERS]
    except (RuntimeError, ValueError, shapely.errors.ShapelyError) as error:
        findings.add(
            f"The OpenStreetMap extract can't be read ({str(error).splitlines()[0]}).",
            "Fetch it again, as .osm.pbf or .osm.",
            file=file.path,
        )
        return None
    if not any(len(frame) for frame in frames):
        findings.add(
            f"The OpenStreetMap extract holds nothing near the corridor, which lies around "
            f"{_degrees(bounds, crs)}.",
            "If that is the right place, fetch the extract of its region; if not, the corridor's layer has "
            "been given a wrong coordinate reference system: assign the right one in a GIS.",
            file=file.path,
        )
        return None
    findings.provenance[f"input.{file.path.name}.licence"] = LICENCE
    return _gathered(frames, a, findings, bounds=bounds, file=file)


def _degrees(bounds: Bounds, crs: CRS) -> str:
    """Return where the middle of an area lies, so that its reader can find it on a map."""
    west, south, east, north = bounds
    middle = shapely.Point((west + east) / 2.0, (south + north) / 2.0)
    longitude, latitude, _, _ = gpd.GeoSeries([middle], crs=crs).to_crs(4326).total_bounds
    return (
        f"{abs(longitude):.2f} degrees {'east' if longitude >= 0.0 else 'west'}, "
        f"{abs(latitude):.2f} degrees {'north' if latitude >= 0.0 else 'south'}"
    )


def osm_crossings(features: OsmFeatures, a: Assumptions, layer: Layer, crs: CRS) -> gpd.GeoDataFrame:
    """Turn tagged features into the layer `crossings`, those without a kind left out.

    Parameters
    ----------
    features : OsmFeatures
    a : Assumptions
    layer : Layer
        The schema of `crossings`.
    crs : CRS

    Returns
    -------
    GeoDataFrame
        The schema's columns, indexed by the feature's id.
    """
    rules = a.osm.kind_rules
    rule = first_fit(features, rules)
    has_kind = rule >= 0
    if not has_kind.any():
        return empty_layer(layer, crs)
    tags = features.tags[has_kind]
    table = empty_layer(layer, crs).drop(columns="geometry").reindex(tags.index)
    table["kind"] = [rules[i].kind for i in rule[has_kind]]
    table["feature_id"] = tags.index
    table["name"] = _first_tag(tags, a.osm.name_keys)
    table["owner"] = _first_tag(tags, a.osm.owner_keys)
    return gpd.GeoDataFrame(table, geometry=features.shapes[has_kind], crs=crs)


def first_fit(features: OsmFeatures, rules: Sequence[TagRule]) -> NDArray[np.int64]:
    """Return for each feature the number of the first rule that fits, -1 where none does.

    Parameters
    ----------
    features : OsmFeatures
    rules : sequence of TagRule
        In the order in which they are tried.

    Returns
    -------
    ndarray of int64, shape (n,)
    """
    keys = sorted({key for rule in rules for key in rule.keys} & set(features.tags.columns))
    table = features.tags[keys].assign(geometry_=features.geometry)
    group, combinations = pd.factorize(pd.MultiIndex.from_frame(table.fillna("")))
    fits = np.full(len(combinations), -1, dtype=np.int64)
    for row, values in enumerate(combinations):
        tags = {key: str(value) for key, value in zip(keys, values[:-1], strict=True) if value != ""}
        fits[row] = next((i for i, rule in enumerate(rules) if rule.fits(tags, values[-1])), -1)
    return fits[group]


def _write_config(a: Assumptions, scratch: Path) -> Path:
    keys = sorted({*a.osm.tag_keys, "area"})
    area_keys = sorted(
        {rule.key for rule in (*a.osm.kind_rules, *a.osm.cover_rules) if "polygon" in rule.geometry}
    )
    template = package_files("routescreen.inputs").joinpath("osmconf.ini").read_text(encoding="utf-8")
    path = scratch / "osmconf.ini"
    path.write_text(template.format(keys=",".join(keys), area_keys=",".join(area_keys)), encoding="utf-8")
    return path


def _read_layer(file: OpenFile, layer: str, config: Path, bounds: Bounds, crs: CRS) -> gpd.GeoDataFrame:
    # Without this option ways that only look closed become areas of the wrong shape.
    pyogrio.set_gdal_config_options({"OGR_GEOMETRY_ACCEPT_UNCLOSED_RING": "NO"})
    try:
        frame: gpd.GeoDataFrame = pyogrio.read_dataframe(
            file.read_path,
            layer=layer,
            bbox=bounds_between(bounds, crs, _LON_LAT),
            on_invalid="ignore",
            CONFIG_FILE=str(config),
        )
    finally:
        pyogrio.set_gdal_config_options({"OGR_GEOMETRY_ACCEPT_UNCLOSED_RING": None})
    frame = frame[~(frame.geometry.isna() | frame.geometry.is_empty)]
    return frame.set_axis(_ids(frame, layer), axis="index").to_crs(crs)


def _ids(frame: gpd.GeoDataFrame, layer: str) -> pd.Index:
    if layer == "multipolygons":
        return pd.Index(
            [
                f"relation/{relation}" if pd.isna(way) else f"way/{way}"
                for relation, way in zip(frame["osm_id"], frame["osm_way_id"], strict=True)
            ],
            dtype=object,
        )
    word = "node" if layer == "points" else "way"
    return pd.Index([f"{word}/{number}" for number in frame["osm_id"]], dtype=object)


def _gathered(
    frames: list[gpd.GeoDataFrame], a: Assumptions, findings: Findings, *, bounds: Bounds, file: OpenFile
) -> OsmFeatures:
    """Put the three layers together, with the rings of closed ways as lines beside their areas."""
    frames = [frame.assign(geometry_=name) for frame, (_, name) in zip(frames, _LAYERS, strict=True)]
    areas = frames[2]
    rings = areas[areas.index.str.startswith("way/") & (areas["area"] != "yes")]
    rings = rings.set_geometry(rings.geometry.boundary).assign(geometry_="line")
    table = pd.concat([frames[0], frames[1], rings, areas])
    shapes, n_lost = _valid(table.geometry.to_numpy())
    if n_lost:
        findings.warn(f"{file.path.name}: left out for want of a sound outline: {counted(n_lost, 'area')}.")
    area_m2 = shapely.area(shapes)
    shapes = shapely.intersection(shapes, shapely.box(*bounds))
    keep = ~(shapely.is_missing(shapes) | shapely.is_empty(shapes))
    keys = [key for key in a.osm.tag_keys if key in table.columns]
    return OsmFeatures(
        tags=pd.DataFrame(table[keys])[keep],
        shapes=shapes[keep],
        geometry=table["geometry_"].to_numpy().astype(str)[keep],
        area_m2=area_m2[keep],
    )


def _valid(shapes: NDArray[np.object_]) -> tuple[NDArray[np.object_], int]:
    """Mend what is invalid; areas that vanish become None and are counted."""
    result = shapes.copy()
    is_bad = ~shapely.is_valid(shapes)
    result[is_bad] = shapely.make_valid(shapes[is_bad], method="structure", keep_collapsed=False)
    is_lost = shapely.is_empty(result)
    result[is_lost] = None
    return result, int(is_lost.sum())


def _first_tag(tags: pd.DataFrame, keys: Sequence[str]) -> pd.Series:
    result = pd.Series([None] * len(tags), index=tags.index, dtype=object)
    for key in keys:
        if key in tags.columns:
            result = result.where(result.notna(), tags[key].astype(object))
    return result.where(result.notna(), None)


def say_reach(
    features: OsmFeatures, corridor: BaseGeometry, of: str, file: OpenFile, findings: Findings
) -> None:
    """Warn where the extract seems to end within the corridor, so that crossings may be missing."""
    hull = shapely.convex_hull(shapely.geometrycollections(list(features.shapes)))
    beyond = shapely.difference(corridor, hull)
    share = float(shapely.area(beyond) / shapely.area(corridor))
    if share > 0.0:
        west, south, east, north = shapely.bounds(beyond)
        findings.warn(
            f"{file.path.name} holds nothing around {percent(share)} of {named(of)}, within "
            f"x {west:.0f} to {east:.0f} m, y {south:.0f} to {north:.0f} m: crossings there may be missing."
        )
