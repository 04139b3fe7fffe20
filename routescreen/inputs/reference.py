"""The one projected CRS of a run, and the way of every layer into it.

Room: ``inputs``. Touches no file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from pyproj import CRS, Proj, Transformer
from pyproj.exceptions import CRSError as PyprojCRSError
from pyproj.exceptions import ProjError

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray

    from routescreen.inputs.problems import Findings
    from routescreen.inputs.sources import Place

# A map scale off by more than this makes lengths, and so money, wrong by as much: the CRS does not fit.
# Web maps in "metres" are off by 70 % in Central Europe. Common practice, no source.
MOST_SCALE_ERROR = 0.005
# Beyond the area for which a CRS is declared it may still be good; this far beyond, the coordinates
# are not what they claim to be. Common practice, no source.
MOST_DEGREES_OUTSIDE = 3.0


def sound_crs(crs: CRS | None) -> CRS | None:
    """Return the horizontal part of a CRS; None where it places nothing on the Earth.

    Parameters
    ----------
    crs : CRS or None

    Returns
    -------
    CRS or None
    """
    if crs is None:
        return None
    if crs.is_compound:
        crs = crs.sub_crs_list[0]
    if not (crs.is_projected or crs.is_geographic) or "undefined" in crs.name.lower():
        return None
    return crs.to_2d() if len(crs.axis_info) > 2 else crs


def is_same(first: CRS, second: CRS) -> bool:
    """Say whether coordinates of both can stand side by side."""
    return first == second or first.equals(second, ignore_axis_order=True)


def layer_crs(frame: gpd.GeoDataFrame, place: Place, findings: Findings) -> CRS | None:
    """Return the CRS of a layer; None, with the fault noted, where it has none."""
    crs = sound_crs(frame.crs)
    if crs is None:
        findings.add(
            "The layer has no coordinate reference system, so nobody knows where it lies.",
            "Assign the right one in a GIS and save the layer again.",
            file=place.file.path,
            layer=place.layer,
            is_crs=True,
        )
    return crs


def choose_project_crs(frame: gpd.GeoDataFrame, place: Place, findings: Findings) -> CRS | None:
    """Choose the CRS of the run from the corridor's.

    A projected CRS in metres with a fitting scale is kept; anything else gives way to the UTM zone of
    the corridor, which is said.

    Parameters
    ----------
    frame : GeoDataFrame
        The corridor layer.
    place : Place
    findings : Findings

    Returns
    -------
    CRS or None
        None, with the fault noted, where none fits.
    """
    crs = layer_crs(frame, place, findings)
    if crs is None:
        return None
    lon_lat = _corners_lon_lat(frame, crs)
    if not _lies_where_valid(crs, lon_lat):
        _add_unfit(place, findings, f"The coordinates do not lie where {name_of(crs)} holds.", crs)
        return None
    reason = _unfitness(crs, lon_lat)
    if reason is None:
        return crs
    fitting = _utm(frame.set_crs(crs, allow_override=True), lon_lat)
    if fitting is None:
        _add_unfit(place, findings, f"No projected CRS fits the corridor: {name_of(crs)} {reason}.", crs)
        return None
    findings.warn(
        f"The corridor's CRS, {name_of(crs)}, {reason}: everything is reprojected to {name_of(fitting)}."
    )
    return fitting


def to_project(
    frame: gpd.GeoDataFrame, crs: CRS, place: Place, findings: Findings
) -> gpd.GeoDataFrame | None:
    """Bring a layer into the CRS of the run and say so where it was in another.

    Parameters
    ----------
    frame : GeoDataFrame
    crs : CRS
        The CRS of the run.
    place : Place
    findings : Findings

    Returns
    -------
    GeoDataFrame or None
        None, with the fault noted, where the layer has no CRS.
    """
    own = layer_crs(frame, place, findings)
    if own is None:
        return None
    findings.provenance[f"input.{place.role}.crs"] = name_of(own)
    frame = frame.set_crs(own, allow_override=True)
    if is_same(own, crs):
        return frame.set_crs(crs, allow_override=True)
    if place.role != "corridor":
        findings.warn(f"The layer {place.role} is reprojected from {name_of(own)} to {name_of(crs)}.")
    findings.provenance[f"input.{place.role}.reprojected_to"] = name_of(crs)
    return frame.to_crs(crs)


def bounds_between(
    bounds: tuple[float, float, float, float], from_crs: CRS, to_crs: CRS
) -> tuple[float, float, float, float]:
    """Transform a box and return the box round the result.

    Parameters
    ----------
    bounds : tuple of float
        West, south, east, north, in `from_crs`.
    from_crs, to_crs : CRS

    Returns
    -------
    tuple of float
        In `to_crs`, x before y.
    """
    if is_same(from_crs, to_crs):
        return bounds
    transformer = Transformer.from_crs(from_crs, to_crs, always_xy=True)
    west, south, east, north = transformer.transform_bounds(*bounds, densify_pts=21)
    return float(west), float(south), float(east), float(north)


def name_of(crs: CRS) -> str:
    """Name a CRS by its code, where it has one, and its name."""
    authority = crs.to_authority(min_confidence=90)
    return f"{crs.name} ({':'.join(authority)})" if authority else str(crs.name)


def _corners_lon_lat(frame: gpd.GeoDataFrame, crs: CRS) -> NDArray[np.float64]:
    """Longitude and latitude of the corners and the middle of the layer, shape (5, 2) [deg]."""
    west, south, east, north = frame.total_bounds
    x = np.array([west, east, east, west, (west + east) / 2])
    y = np.array([south, south, north, north, (south + north) / 2])
    geodetic = crs if crs.is_geographic else crs.geodetic_crs
    transformer = Transformer.from_crs(crs, geodetic, always_xy=True)
    return np.column_stack(transformer.transform(x, y))


def _lies_where_valid(crs: CRS, lon_lat: NDArray[np.float64]) -> bool:
    if not np.isfinite(lon_lat).all() or (np.abs(lon_lat[:, 1]) > 90).any():
        return False
    area = crs.area_of_use
    if area is None or area.west > area.east:  # unknown, or across the date line
        return True
    box = shapely.box(area.west, area.south, area.east, area.north)
    return bool((shapely.distance(box, shapely.points(lon_lat)) <= MOST_DEGREES_OUTSIDE).all())


def _unfitness(crs: CRS, lon_lat: NDArray[np.float64]) -> str | None:
    """Say why lengths in this CRS are not metres on the ground; None where they are."""
    if crs.is_geographic:
        return "is geographic (degrees, not metres)"
    units = {axis.unit_conversion_factor for axis in crs.axis_info}
    if units != {1.0}:
        return "is not in metres"
    error = _scale_error(crs, lon_lat)
    if error > MOST_SCALE_ERROR:
        return f"has lengths that are wrong by {error:.1%} there".replace("%", " %")
    return None


def _scale_error(crs: CRS, lon_lat: NDArray[np.float64]) -> float:
    try:
        factors = Proj(crs).get_factors(lon_lat[:, 0], lon_lat[:, 1])
    except (ProjError, PyprojCRSError):
        return 0.0
    scales = np.concatenate([np.atleast_1d(factors.meridional_scale), np.atleast_1d(factors.parallel_scale)])
    return float(np.nanmax(np.abs(scales - 1.0))) if np.isfinite(scales).any() else 0.0


def _utm(frame: gpd.GeoDataFrame, lon_lat: NDArray[np.float64]) -> CRS | None:
    try:
        crs = frame.estimate_utm_crs()
    except (RuntimeError, ValueError):
        return None
    return crs if _scale_error(crs, lon_lat) <= MOST_SCALE_ERROR else None


def _add_unfit(place: Place, findings: Findings, problem: str, crs: CRS) -> None:
    findings.add(
        problem,
        "Check which CRS the coordinates are really in, assign that one, or reproject the layer to a "
        "projected CRS in metres made for the place.",
        file=place.file.path,
        layer=place.layer,
        value=name_of(crs),
        is_crs=True,
    )
