"""Reads a vector layer near the corridor and hands it over checked, in the CRS of the run.

Room: ``inputs``; opens vector files for reading.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pandas as pd
import pyogrio
import shapely
from pyproj import CRS

from routescreen.counted import counted
from routescreen.inputs.columns import as_text, check_columns, likely
from routescreen.inputs.geometries import cut_huge, drop_empty, drop_heights, keep_fitting, repair
from routescreen.inputs.problems import listed
from routescreen.inputs.reference import bounds_between, sound_crs, to_project

if TYPE_CHECKING:
    from collections.abc import Mapping

    from shapely.geometry.base import BaseGeometry

    from routescreen.inputs.problems import Findings
    from routescreen.inputs.sources import Place
    from routescreen.schema import Layer

Bounds = tuple[float, float, float, float]

# Arcs become chords of one degree: at a radius of 500 m they miss the arc by 0.02 m.
_ARC_STEP_DEG = 1.0
_CURVED_TYPES = ("CIRCULARSTRING", "COMPOUNDCURVE", "CURVEPOLYGON", "MULTICURVE", "MULTISURFACE")
# Files other than GeoPackages are read whole up to this size, so that features without a place are seen.
_MOST_READ_WHOLE = 500_000
# A shapefile keeps no more of a column's name.
_CUT_LENGTH = 10


def read_raw(
    place: Place, layer: Layer, findings: Findings, *, near: tuple[Bounds, CRS] | None = None
) -> gpd.GeoDataFrame | None:
    """Read a layer as it stands, indexed by the label of each feature.

    Parameters
    ----------
    place : Place
    layer : Layer
        What the schema declares; other columns are left out, which is said.
    findings : Findings
    near : tuple of bounds and CRS, optional
        Read only what touches this box.

    Returns
    -------
    GeoDataFrame or None
        In the layer's own CRS; None, with the fault noted, where it can't be read.
    """
    try:
        with findings.listening(place.file.path):
            info = _info(place)
            if info["geometry_type"] is None:
                _note_no_geometry(place, findings)
                return None
            _say_unknown_columns(info, layer, place, findings)
            frame = _read(place, layer, info, near)
            _say_arcs(place, info, near, findings)
    except (RuntimeError, ValueError, shapely.errors.ShapelyError) as error:
        findings.add(
            f"The layer can't be read ({_first_line(error)}).",
            "Open it in a GIS; if it is damaged, export it again.",
            file=place.file.path,
            layer=place.layer,
        )
        return None
    _note_provenance(info, place, findings)
    return drop_heights(drop_empty(_labelled(frame, place), place, findings), place, findings)


def finish(
    frame: gpd.GeoDataFrame,
    layer: Layer,
    place: Place,
    findings: Findings,
    *,
    region: BaseGeometry | None,
    words: Mapping[str, tuple[str, ...]],
) -> gpd.GeoDataFrame:
    """Check geometries and columns of a layer that is in the CRS of the run.

    Parameters
    ----------
    frame : GeoDataFrame
    layer : Layer
    place : Place
    findings : Findings
    region : Polygon, MultiPolygon or None
        What doesn't touch it is left out [m]; None keeps all.
    words : mapping
        Words that the assumptions allow, by column.

    Returns
    -------
    GeoDataFrame
        The schema's columns and the geometry, indexed by label.
    """
    if region is not None:
        frame = frame[frame.geometry.intersects(shapely.box(*region.bounds))]
    frame = repair(keep_fitting(frame, layer, place, findings), place, findings)
    if region is not None:
        frame = cut_huge(frame[frame.geometry.intersects(region)], region.bounds, place, findings)
        if frame.empty and not findings.problems:
            _say_none_near(place, findings)
    return check_columns(frame, layer, place, findings, words)


def read_layer(
    place: Place,
    layer: Layer,
    findings: Findings,
    *,
    crs: CRS,
    region: BaseGeometry | None,
    words: Mapping[str, tuple[str, ...]],
) -> gpd.GeoDataFrame:
    """Read, reproject and check one layer, near `region` where given; empty where it can't be used."""
    frame = read_raw(place, layer, findings, near=None if region is None else (region.bounds, crs))
    if frame is not None:
        frame = to_project(frame, crs, place, findings)
    if frame is None:
        return empty_layer(layer, crs)
    return finish(frame, layer, place, findings, region=region, words=words)


def empty_layer(layer: Layer, crs: CRS) -> gpd.GeoDataFrame:
    """Return the layer without features."""
    columns = {
        column.name: pd.Series([], dtype=object if column.type == "text" else "float64")
        for column in layer.columns
    }
    return gpd.GeoDataFrame(columns, geometry=gpd.GeoSeries([], crs=crs), crs=crs)


def _info(place: Place) -> dict[str, Any]:
    info: dict[str, Any] = pyogrio.read_info(
        place.file.read_path, layer=place.layer, force_feature_count=True, **place.file.open_options()
    )
    return info


def _read(
    place: Place, layer: Layer, info: dict[str, Any], near: tuple[Bounds, CRS] | None
) -> gpd.GeoDataFrame:
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": _ARC_STEP_DEG})
    try:
        return _read_near(place, layer, info, near)
    finally:
        pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": None})


def _read_near(
    place: Place, layer: Layer, info: dict[str, Any], near: tuple[Bounds, CRS] | None
) -> gpd.GeoDataFrame:
    bbox = _own_box(info, near)
    is_small_other = not place.file.is_geopackage and info["features"] <= _MOST_READ_WHOLE
    if bbox is None or is_small_other:
        return _features(place, layer, info)
    frame = _features(place, layer, info, bbox=bbox)
    if not place.file.is_geopackage:
        return frame
    column = _geometry_column(info)
    placeless = _features(place, layer, info, where=f"{column} IS NULL OR ST_IsEmpty({column})")
    return pd.concat([frame, placeless]) if len(placeless) else frame


def _own_box(info: dict[str, Any], near: tuple[Bounds, CRS] | None) -> Bounds | None:
    """Bring the box into the layer's CRS; None where there is no box or no CRS."""
    own = sound_crs(CRS.from_user_input(info["crs"])) if info["crs"] else None
    return None if near is None or own is None else bounds_between(near[0], near[1], own)


def _geometry_column(info: dict[str, Any]) -> str:
    name = str(info["geometry_name"]).replace('"', '""')
    return f'"{name}"'


def _features(
    place: Place,
    layer: Layer | None,
    info: dict[str, Any],
    *,
    bbox: Bounds | None = None,
    where: str | None = None,
) -> gpd.GeoDataFrame:
    frame: gpd.GeoDataFrame = pyogrio.read_dataframe(
        place.file.read_path,
        layer=place.layer,
        columns=[name for name in layer.column_names if name in info["fields"]] if layer else [],
        bbox=bbox,
        where=where,
        fid_as_index=True,
        on_invalid="ignore",
        **place.file.open_options(),
    )
    return frame


def _labelled(frame: gpd.GeoDataFrame, place: Place) -> gpd.GeoDataFrame:
    """Index the features by their own id, else by ``layer/fid``."""
    labels = [f"{place.layer}/{fid}" for fid in frame.index]
    if "feature_id" in frame.columns:
        own = as_text(frame["feature_id"])
        labels = [label if value is None else value for label, value in zip(labels, own, strict=True)]
    return frame.set_axis(pd.Index(labels, dtype=object), axis="index")


def _say_arcs(
    place: Place, info: dict[str, Any], near: tuple[Bounds, CRS] | None, findings: Findings
) -> None:
    """Say that arcs were read as chords; what other files hold comes as chords from their drivers."""
    if not place.file.is_geopackage:
        return
    types = ", ".join(f"'{name}'" for name in _CURVED_TYPES)
    where = f"ST_GeometryType({_geometry_column(info)}) IN ({types})"
    if len(_features(place, None, info, bbox=_own_box(info, near), where=where)):
        findings.warn(f"The layer {place.role} has arcs: read as chords of {_ARC_STEP_DEG:g} degree.")


def _say_none_near(place: Place, findings: Findings) -> None:
    """Say that a layer lies elsewhere: with a wrong CRS none of what must be crossed would be seen."""
    n_features = _info(place)["features"]
    if n_features:
        findings.warn(
            f"Of {counted(n_features, 'feature')} of the layer {place.role} none lies near the corridor: see "
            "whether its coordinate reference system is the right one."
        )


def _say_unknown_columns(info: dict[str, Any], layer: Layer, place: Place, findings: Findings) -> None:
    unknown = [str(name) for name in info["fields"] if name not in layer.column_names]
    for name in unknown:
        meant = _meant(name, layer)
        if meant is not None and meant not in info["fields"]:
            is_whole = len(meant) == len(name)
            how = "written with capitals" if is_whole else f"cut off after {_CUT_LENGTH} characters"
            remedy = "Rename it to" if is_whole else "Use a format that keeps long names, and call it"
            findings.add(
                f"The column's name is {how}, so that it is not known.",
                f"{remedy} {meant!r}.",
                file=place.file.path,
                layer=place.layer,
                column=name,
            )
    if unknown:
        missing = [column for column in layer.column_names if column not in info["fields"]]
        guesses = {name: likely(name, missing) for name in unknown}
        told = [f"{name} (perhaps {' or '.join(g)} is meant)" if g else name for name, g in guesses.items()]
        findings.warn(f"The layer {place.role} has columns that are not used: {listed(told)}.")


def _meant(name: str, layer: Layer) -> str | None:
    """Return the column that is spelt so but for capitals, or that begins so where the name is cut off."""
    plain = name.lower()
    is_cut = len(plain) == _CUT_LENGTH
    known = [
        column for column in layer.column_names if column == plain or (is_cut and column.startswith(plain))
    ]
    return known[0] if len(known) == 1 else None


def _note_no_geometry(place: Place, findings: Findings) -> None:
    findings.add(
        "The table has no geometry.",
        "Give a layer with points, lines or areas.",
        file=place.file.path,
        layer=place.layer,
    )


def _note_provenance(info: dict[str, Any], place: Place, findings: Findings) -> None:
    findings.provenance[f"input.{place.role}.file"] = place.file.path.name
    findings.provenance[f"input.{place.role}.layer"] = str(place.layer)
    findings.provenance[f"input.{place.role}.driver"] = str(info["driver"])


def _first_line(error: Exception) -> str:
    return str(error).splitlines()[0] if str(error) else type(error).__name__
