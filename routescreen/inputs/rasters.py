"""Terrain and ground cover of a corridor from rasters, with every gap named.

Room: ``inputs``; reads through ``windows``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import rasterio
from rasterio.features import geometry_mask

from routescreen.counted import counted
from routescreen.inputs.corridors import named
from routescreen.inputs.problems import listed, percent
from routescreen.inputs.reference import name_of
from routescreen.inputs.windows import RasterWindow, opened, raster_crs, read_window
from routescreen.project import RasterGrid
from routescreen.schema import INPUT_RASTERS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray
    from pyproj import CRS
    from shapely.geometry.base import BaseGeometry

    from routescreen.inputs.problems import Findings
    from routescreen.inputs.sources import Place

_LIMITS = {raster.name: (raster.minimum, raster.maximum) for raster in INPUT_RASTERS}
_MOST_CODES_NAMED = 30
# A terrain of wider pixels than this many cells of the frame is said to be coarse; the hundredth leaves room
# for pixels that grew on the way to another CRS. Common practice, no source.
_COARSE_CELLS = 2.02


def read_terrain(
    place: Place,
    findings: Findings,
    *,
    crs: CRS,
    corridor: BaseGeometry,
    region: BaseGeometry,
    of: str,
    cell_m: float,
) -> RasterGrid | None:
    """Read the terrain round one corridor.

    Parameters
    ----------
    place : Place
    findings : Findings
    crs : CRS
        Of the run.
    corridor : Polygon
        Where every pixel must have an elevation [m].
    region : Polygon
        What is read: the corridor and its surroundings [m].
    of : str
        The corridor's id, for messages.
    cell_m : float
        Length of the frame's cells [m]: of a much coarser terrain it is said.

    Returns
    -------
    RasterGrid or None
        Elevations [m], NaN where there are none; None, with the fault noted, where it can't be read.
    """
    window = _read(place, findings, crs=crs, region=region, is_smooth=True)
    if window is None:
        return None
    _say_coarse(window, findings, cell_m)
    inside = _inside(corridor, window)
    elevation = np.where(window.has_data, window.values, np.nan).astype(np.float64)
    low, high = _LIMITS["terrain"]
    is_absurd = window.has_data & ~((elevation >= low) & (elevation <= high))
    if (is_absurd & inside).any():
        _note_absurd(elevation[is_absurd & inside], place, findings)
    _note_uncovered(window, inside, place, findings, of)
    _note_holes(window, inside, place, findings, of)
    elevation[is_absurd] = np.nan
    return _grid(_edge_filled(elevation, corridor, window), window)


def read_ground_cover(
    place: Place,
    findings: Findings,
    *,
    crs: CRS,
    corridor: BaseGeometry,
    region: BaseGeometry,
    of: str,
    classes: Mapping[int, int],
    unknown: int,
) -> RasterGrid | None:
    """Read the ground cover round one corridor as indices of cover classes.

    Parameters
    ----------
    place, findings, crs, corridor, region, of
        As for `read_terrain`.
    classes : mapping of int to int
        Class index by code.
    unknown : int
        Class index where there is no data.

    Returns
    -------
    RasterGrid or None
        Class indices, int16; None, with the fault noted, where it can't be read.
    """
    window = _read(place, findings, crs=crs, region=region, is_smooth=False)
    if window is None:
        return None
    inside = _inside(corridor, window)
    _note_uncovered(window, inside, place, findings, of)
    codes, n_each = np.unique(window.values[window.has_data & inside], return_counts=True)
    strange = [
        (code, n) for code, n in zip(codes.tolist(), n_each.tolist(), strict=True) if code not in classes
    ]
    if strange:
        _note_unknown_codes(strange, classes, place, findings)
        return None
    _say_unclassified(window, inside, findings, of)
    return _grid(_classified(window, classes, unknown), window)


def _read(
    place: Place, findings: Findings, *, crs: CRS, region: BaseGeometry, is_smooth: bool
) -> RasterWindow | None:
    try:
        with opened(place, findings) as dataset:
            own = raster_crs(dataset, place, findings)
            if own is None or not _is_usable(dataset, place, findings):
                return None
            _note_provenance(dataset, own, place, findings)
            window = read_window(dataset, own, crs, region.bounds, place, findings, is_smooth=is_smooth)
            return _scaled(window, dataset) if is_smooth else window
    except (rasterio.errors.RasterioError, OSError, ValueError, RuntimeError) as error:
        findings.add(
            f"The raster can't be read ({str(error).splitlines()[0]}).",
            "Open it in a GIS; if it is damaged, export it again.",
            file=place.file.path,
            layer=place.layer,
        )
        return None


def _is_usable(dataset: Any, place: Place, findings: Findings) -> bool:
    unit = str(dataset.units[0] or "m").lower()
    if place.role == "terrain" and unit not in ("m", "metre", "meter", "metres", "meters"):
        findings.add(
            "The elevations are not in metres.",
            "Convert the raster to metres.",
            file=place.file.path,
            layer=place.layer,
            value=unit,
        )
        return False
    is_image = dataset.count > 1 and not place.file.is_geopackage
    if is_image:
        findings.warn(f"The raster {place.role} has {dataset.count} bands: the first is used.")
    return True


def _scaled(window: RasterWindow, dataset: Any) -> RasterWindow:
    scale, offset = dataset.scales[0], dataset.offsets[0]
    if (scale, offset) == (1.0, 0.0):
        return window
    values = window.values.astype(np.float64) * scale + offset
    return RasterWindow(values, window.has_data, window.is_covered, window.transform)


def _inside(corridor: BaseGeometry, window: RasterWindow) -> NDArray[np.bool_]:
    """Pixels whose middle lies in the corridor; all that it touches where it is narrower than a pixel."""
    for all_touched in (False, True):
        outside = geometry_mask(
            [corridor], out_shape=window.values.shape, transform=window.transform, all_touched=all_touched
        )
        if not outside.all():
            break
    return np.asarray(~outside)


def _classified(window: RasterWindow, classes: Mapping[int, int], unknown: int) -> NDArray[np.int16]:
    codes = np.array(sorted(classes), dtype=np.int64)
    indices = np.array([classes[int(code)] for code in codes], dtype=np.int16)
    values = np.where(window.has_data, window.values, codes[0]).astype(np.int64)
    position = np.clip(np.searchsorted(codes, values), 0, len(codes) - 1)
    is_known = window.has_data & (codes[position] == values)
    return np.where(is_known, indices[position], np.int16(unknown)).astype(np.int16)


def _edge_filled(
    elevation: NDArray[np.float64], corridor: BaseGeometry, window: RasterWindow
) -> NDArray[np.float64]:
    """Give empty pixels that touch the corridor's edge the mean of their neighbours.

    A raster that was cut to the corridor ends there, and interpolation at the edge needs one pixel more.
    """
    margin_m = 1.5 * max(window.transform.a, -window.transform.e)
    outside = geometry_mask(
        [corridor.buffer(margin_m)], out_shape=elevation.shape, transform=window.transform, all_touched=True
    )
    rows, columns = np.nonzero(np.isnan(elevation) & ~outside)
    if len(rows) == 0:
        return elevation
    padded = np.pad(elevation, 1, constant_values=np.nan)
    around = [padded[rows + 1 + i, columns + 1 + j] for i in (-1, 0, 1) for j in (-1, 0, 1)]
    known = np.isfinite(around)
    n_known = known.sum(axis=0)
    total = np.where(known, around, 0.0).sum(axis=0)
    filled = elevation.copy()
    filled[rows, columns] = np.divide(total, n_known, out=np.full(len(rows), np.nan), where=n_known > 0)
    return filled


def _grid(values: NDArray[Any], window: RasterWindow) -> RasterGrid:
    step = window.transform
    return RasterGrid(
        values=values,
        west_m=float(step.c),
        north_m=float(step.f),
        pixel_width_m=float(step.a),
        pixel_height_m=float(-step.e),
    )


def where_is(missing: NDArray[np.bool_], window: RasterWindow) -> str:
    """Name the box round the missing pixels in coordinates of the run."""
    rows, columns = np.nonzero(missing)
    step = window.transform
    west, east = step.c + step.a * columns.min(), step.c + step.a * (columns.max() + 1)
    north, south = step.f + step.e * rows.min(), step.f + step.e * (rows.max() + 1)
    return f"x {west:.0f} to {east:.0f} m, y {south:.0f} to {north:.0f} m"


def _note_uncovered(
    window: RasterWindow, inside: NDArray[np.bool_], place: Place, findings: Findings, of: str
) -> None:
    missing = inside & ~window.is_covered
    if not missing.any():
        return
    share = float(missing.sum() / inside.sum())
    findings.add(
        f"The raster does not cover {named(of)}: {percent(share)} of it lies beyond the raster, "
        f"within {where_is(missing, window)}.",
        "Give a raster that covers the whole corridor.",
        file=place.file.path,
        layer=place.layer,
        value=percent(share),
    )


def _note_holes(
    window: RasterWindow, inside: NDArray[np.bool_], place: Place, findings: Findings, of: str
) -> None:
    missing = inside & window.is_covered & ~window.has_data
    if not missing.any():
        return
    share = float(missing.sum() / inside.sum())
    findings.add(
        f"The terrain has no data in {percent(share)} of {named(of)}, within {where_is(missing, window)}.",
        "Fill the gaps from another source, or leave them out of the corridor.",
        file=place.file.path,
        layer=place.layer,
        value=percent(share),
    )


def _say_coarse(window: RasterWindow, findings: Findings, cell_m: float) -> None:
    widest_m = max(float(window.transform.a), float(-window.transform.e))
    if widest_m > _COARSE_CELLS * cell_m:
        findings.warn(
            f"The terrain has pixels of {widest_m:.0f} m, and the frame cells of {cell_m:g} m: banks, "
            "ditches and embankments are not seen in it, and depths, covers and grades are as rough."
        )


def _say_unclassified(window: RasterWindow, inside: NDArray[np.bool_], findings: Findings, of: str) -> None:
    missing = inside & window.is_covered & ~window.has_data
    if missing.any():
        share = float(missing.sum() / inside.sum())
        findings.warn(
            f"The ground cover has no data in {percent(share)} of {named(of)}, within "
            f"{where_is(missing, window)}: taken as unknown."
        )


def _note_absurd(values: NDArray[np.float64], place: Place, findings: Findings) -> None:
    low, high = _LIMITS["terrain"]
    finite = values[np.isfinite(values)]
    named = f"{finite.min():g} to {finite.max():g}" if len(finite) else "infinite"
    findings.add(
        f"Elevations are absurd in {counted(len(values), 'pixel')} of the corridor: "
        f"outside {low:g} to {high:g} m.",
        "Declare the value for missing data (nodata) in the raster, or correct it; heights are in metres.",
        file=place.file.path,
        layer=place.layer,
        value=named,
    )


def _note_unknown_codes(
    strange: list[tuple[float, int]], classes: Mapping[int, int], place: Place, findings: Findings
) -> None:
    shown = [f"{code:g} ({counted(n, 'pixel')})" for code, n in strange[:_MOST_CODES_NAMED]]
    rest = len(strange) - _MOST_CODES_NAMED
    lossy = (
        " If the raster once had only known codes, this table was stored as lossy pictures: use PNG tiles "
        "(TILE_FORMAT=PNG) or a .tif."
        if place.file.is_geopackage
        else ""
    )
    findings.add(
        f"The ground cover has {counted(len(strange), 'code')} that the code list does not know.",
        "Choose the code list that fits, or add the codes to it in the assumptions; it knows "
        f"{listed(str(code) for code in sorted(classes))}.{lossy}",
        file=place.file.path,
        layer=place.layer,
        column="code",
        value=listed(shown) + (f" and {rest} more" if rest > 0 else ""),
    )


def _note_provenance(dataset: Any, own: CRS, place: Place, findings: Findings) -> None:
    role = place.role
    findings.provenance[f"input.{role}.file"] = place.file.path.name
    findings.provenance[f"input.{role}.driver"] = str(dataset.driver)
    findings.provenance[f"input.{role}.crs"] = name_of(own)
    if place.layer is not None:
        findings.provenance[f"input.{role}.layer"] = place.layer
