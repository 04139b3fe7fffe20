"""Geometries of a layer made fit, or named as unfit: empty, mixed, curved, with heights, invalid, huge.

Room: ``inputs``. Touches no file. Nothing is repaired in silence, and nothing is repaired where the
repair could move or lose a part of a feature.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiLineString, MultiPoint, MultiPolygon

from routescreen.inputs.problems import few, listed

if TYPE_CHECKING:
    import geopandas as gpd
    import pandas as pd
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from routescreen.inputs.problems import Findings
    from routescreen.inputs.sources import Place
    from routescreen.schema import Layer

# A repair that moves a feature's extent by more than this is not harmless.
REPAIR_TOLERANCE_M = 0.01
# Beyond this a single feature (a coast line, a country) is cut to the corridor's surroundings.
MOST_VERTICES = 100_000
# In these layers a feature without a place is a crossing missed or a wish ignored; elsewhere it is left out.
MUST_HAVE_PLACE = ("corridor", "axis", "terminals", "crossings", "pins")


def drop_heights(frame: gpd.GeoDataFrame, place: Place, findings: Findings) -> gpd.GeoDataFrame:
    """Drop Z and M, which no input layer needs, and say so."""
    shapes = frame.geometry.to_numpy()
    has_more = shapely.has_z(shapes) | shapely.has_m(shapes)
    if not has_more.any():
        return frame
    findings.warn(
        f"The layer {place.role} has heights or measures (Z, M) in its geometry: they are not used."
    )
    return frame.set_geometry(shapely.force_2d(shapes), crs=frame.crs)


def drop_empty(frame: gpd.GeoDataFrame, place: Place, findings: Findings) -> gpd.GeoDataFrame:
    """Take out features without geometry or with coordinates that are no numbers, naming each."""
    shapes = frame.geometry.to_numpy()
    is_empty = shapely.is_missing(shapes) | shapely.is_empty(shapes)
    is_finite = _has_finite_coordinates(shapes)
    if is_empty.any():
        _note_empty(frame.index[is_empty], place, findings)
    if not is_finite.all():
        findings.add(
            "Coordinates are not numbers (NaN or infinite).",
            "Draw the feature again or delete it.",
            file=place.file.path,
            layer=place.layer,
            feature=few(list(frame.index[~is_finite])),
        )
    return _rows(frame, ~is_empty & is_finite)


def _note_empty(labels: pd.Index[str], place: Place, findings: Findings) -> None:
    named = few(list(labels))
    if place.role not in MUST_HAVE_PLACE:
        findings.warn(f"The layer {place.role} has features without geometry, left out: {named}.")
        return
    findings.add(
        "The geometry is empty, so nobody knows where the feature lies.",
        "Draw the geometry or delete the feature.",
        file=place.file.path,
        layer=place.layer,
        feature=named,
    )


def keep_fitting(frame: gpd.GeoDataFrame, layer: Layer, place: Place, findings: Findings) -> gpd.GeoDataFrame:
    """Keep the geometry types that the layer may have; name the others.

    Collections whose members are all of one type count as that type.
    """
    frame = frame.set_geometry([_uniform(shape) for shape in frame.geometry], crs=frame.crs)
    types = np.array([base_type(shape) for shape in frame.geometry], dtype=object)
    is_fit = np.isin(types, layer.geometry)
    for unfit in sorted(set(types[~is_fit])):
        is_mixed = unfit == "GeometryCollection"
        findings.add(
            "The geometry mixes points, lines and areas."
            if is_mixed
            else f"A {unfit} can't stand in this layer.",
            "Split it into features of one type each."
            if is_mixed
            else f"Give {listed(layer.geometry)}; convert the feature or move it to another layer.",
            file=place.file.path,
            layer=place.layer,
            feature=few(list(frame.index[types == unfit])),
            value=unfit,
        )
    return frame[is_fit]


def repair(
    frame: gpd.GeoDataFrame, place: Place, findings: Findings, *, is_repairable: bool = True
) -> gpd.GeoDataFrame:
    """Repair invalid geometries where that is harmless and say so; name those where it is not.

    Parameters
    ----------
    frame : GeoDataFrame
        In the CRS of the run.
    place : Place
    findings : Findings
    is_repairable : bool
        False where any repair would be a guess, as for the corridor.

    Returns
    -------
    GeoDataFrame
        The features with valid geometry.
    """
    shapes = frame.geometry.to_numpy().copy()
    is_bad = ~shapely.is_valid(shapes) | _has_no_extent(shapes)
    if not is_bad.any():
        return frame
    mended = np.zeros(len(shapes), dtype=bool)
    for row in np.flatnonzero(is_bad).tolist() if is_repairable else ():
        fixed = _repaired(shapes[row])
        if fixed is not None:
            shapes[row], mended[row] = fixed, True
    if mended.any():
        findings.warn(
            f"The layer {place.role} had invalid geometries, repaired: {few(list(frame.index[mended]))}."
        )
    for row in np.flatnonzero(is_bad & ~mended).tolist():
        _note_invalid(shapes[row], str(frame.index[row]), place, findings)
    return frame.set_geometry(shapes, crs=frame.crs)[~is_bad | mended]


def cut_huge(
    frame: gpd.GeoDataFrame, bounds: tuple[float, float, float, float], place: Place, findings: Findings
) -> gpd.GeoDataFrame:
    """Cut features with very many vertices to the box `bounds` (west, south, east, north) [m]."""
    shapes = frame.geometry.to_numpy().copy()
    is_huge = shapely.get_num_coordinates(shapes) > MOST_VERTICES
    if not is_huge.any():
        return frame
    shapes[is_huge] = shapely.intersection(shapes[is_huge], shapely.box(*bounds))
    findings.warn(
        f"The layer {place.role} has features of over {MOST_VERTICES} vertices, cut to the surroundings "
        f"of the corridor: {few(list(frame.index[is_huge]))}."
    )
    return frame.set_geometry(shapes, crs=frame.crs)[~shapely.is_empty(shapes)]


def _rows(frame: gpd.GeoDataFrame, is_kept: NDArray[np.bool_]) -> gpd.GeoDataFrame:
    rows: gpd.GeoDataFrame = frame[is_kept]
    return rows


def base_type(shape: BaseGeometry) -> str:
    """Return the type without "Multi".

    >>> base_type(shapely.MultiPoint([(0, 0)]))
    'Point'
    """
    return str(shape.geom_type).removeprefix("Multi").replace("LinearRing", "LineString")


def _has_finite_coordinates(shapes: NDArray[np.object_]) -> NDArray[np.bool_]:
    coordinates, owners = shapely.get_coordinates(shapes, return_index=True)
    is_finite = np.ones(len(shapes), dtype=bool)
    is_finite[owners[~np.isfinite(coordinates).all(axis=1)]] = False
    return is_finite


def _has_no_extent(shapes: NDArray[np.object_]) -> NDArray[np.bool_]:
    dimension = shapely.get_dimensions(shapes)
    is_point_like = (dimension == 1) & (shapely.length(shapes) == 0.0)
    is_line_like = (dimension == 2) & (shapely.area(shapes) == 0.0)
    return np.asarray(is_point_like | is_line_like)


def _uniform(shape: BaseGeometry) -> BaseGeometry:
    if shape.geom_type != "GeometryCollection":
        return shape
    parts = shapely.get_parts(shape)
    types = {base_type(part) for part in parts}
    if len(types) != 1 or "GeometryCollection" in types:
        return shape
    flat = list(shapely.get_parts(parts))
    if types == {"Point"}:
        return MultiPoint(flat)
    return MultiLineString(flat) if types == {"LineString"} else MultiPolygon(flat)


def _repaired(shape: BaseGeometry) -> BaseGeometry | None:
    """Return a valid form of the same type and extent; None where there is none."""
    fixed = _uniform(shapely.make_valid(shape, method="structure", keep_collapsed=False))
    if fixed.is_empty or base_type(fixed) != base_type(shape) or not fixed.is_valid:
        return None
    moved_m = np.abs(np.subtract(shapely.bounds(fixed), shapely.bounds(shape)))
    return fixed if moved_m.max() <= REPAIR_TOLERANCE_M else None


def _note_invalid(shape: BaseGeometry, label: str, place: Place, findings: Findings) -> None:
    reason = shapely.is_valid_reason(shape)
    reason = "it has no extent" if reason == "Valid Geometry" else reason
    findings.add(
        f"The geometry is invalid and can't be repaired without a guess: {reason}.",
        "Correct it in a GIS (check geometries) and save the layer again.",
        file=place.file.path,
        layer=place.layer,
        feature=label,
    )
