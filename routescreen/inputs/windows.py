"""Reads the part of a raster that lies round a corridor, north up, in the CRS of the run.

Room: ``inputs``; opens raster files for reading. Never reads a whole raster.
"""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import rasterio
from pyproj import CRS, Transformer
from rasterio.enums import MaskFlags, Resampling
from rasterio.vrt import WarpedVRT
from rasterio.windows import Window, from_bounds

from routescreen.inputs.reference import is_same, name_of, sound_crs

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from routescreen.inputs.problems import Findings
    from routescreen.inputs.sources import Place
    from routescreen.inputs.vectors import Bounds

# 40 million pixels are 320 MB as float64. A finer raster is read at a coarser pixel, which is said.
MOST_PIXELS = 40_000_000


@dataclass(frozen=True, slots=True)
class RasterWindow:
    """A window as it was read.

    Attributes
    ----------
    values : ndarray of shape (n_rows, n_columns)
        In the raster's own data type, row 0 northernmost.
    has_data : ndarray of bool, shape (n_rows, n_columns)
    is_covered : ndarray of bool, shape (n_rows, n_columns)
        Whether the pixel lies on the raster at all.
    transform : affine.Affine
        From (column, row) to x, y [m].
    """

    values: NDArray[Any]
    has_data: NDArray[np.bool_]
    is_covered: NDArray[np.bool_]
    transform: Any


@contextmanager
def opened(place: Place, findings: Findings) -> Iterator[Any]:
    """Open the raster of a place; closes it at the end."""
    options = place.file.open_options()
    if place.file.is_geopackage:
        options |= {"TABLE": str(place.layer)}
    with findings.listening(place.file.path), rasterio.open(place.file.read_path, **options) as dataset:
        yield dataset


def raster_crs(dataset: Any, place: Place, findings: Findings) -> CRS | None:
    """Return the CRS of a raster; None, with the fault noted, where it has none."""
    crs = sound_crs(CRS.from_wkt(dataset.crs.to_wkt())) if dataset.crs else None
    if crs is None:
        findings.add(
            "The raster has no coordinate reference system, so nobody knows where it lies.",
            "Assign the right one in a GIS and save the raster again.",
            file=place.file.path,
            layer=place.layer,
            is_crs=True,
        )
    return crs


def read_window(
    dataset: Any, own: CRS, crs: CRS, bounds: Bounds, place: Place, findings: Findings, *, is_smooth: bool
) -> RasterWindow:
    """Read the window round `bounds`.

    Parameters
    ----------
    dataset : rasterio dataset
    own, crs : CRS
        Of the raster, of the run.
    bounds : tuple of float
        West, south, east, north in `crs` [m].
    place : Place
    findings : Findings
    is_smooth : bool
        Whether values may be averaged (elevations) or not (codes).

    Returns
    -------
    RasterWindow
        Covers `bounds` wholly, with ``is_covered`` false beyond the raster.
    """
    width_m, height_m = _pixel_size(dataset, own, crs, bounds)
    n_pixels = (bounds[2] - bounds[0]) / width_m * (bounds[3] - bounds[1]) / height_m
    coarser = max(1.0, np.ceil(np.sqrt(n_pixels / MOST_PIXELS)))
    if coarser > 1.0:
        findings.warn(
            f"The raster {place.role} is finer than can be held for this corridor: read at pixels of "
            f"{width_m * coarser:.3g} m."
        )
    elif is_same(own, crs) and _is_north_up(dataset):
        return _read_aligned(dataset, bounds)
    if not is_same(own, crs):
        findings.warn(f"The raster {place.role} is resampled from {name_of(own)} to {name_of(crs)}.")
        findings.provenance[f"input.{place.role}.reprojected_to"] = name_of(crs)
    method = (
        (Resampling.average if coarser > 1.0 else Resampling.bilinear) if is_smooth else Resampling.nearest
    )
    return _read_warped(dataset, crs, bounds, (width_m * coarser, height_m * coarser), method)


def _is_north_up(dataset: Any) -> bool:
    step = dataset.transform
    return bool(step.b == 0.0 and step.d == 0.0 and step.a > 0.0 and step.e < 0.0)


def _pixel_size(dataset: Any, own: CRS, crs: CRS, bounds: Bounds) -> tuple[float, float]:
    """Width and height of a pixel near the middle of the bounds, in the CRS of the run [m]."""
    step = dataset.transform
    if is_same(own, crs) and _is_north_up(dataset):
        return float(step.a), float(-step.e)
    middle = (bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2
    to_own = Transformer.from_crs(crs, own, always_xy=True)
    back = Transformer.from_crs(own, crs, always_xy=True)
    x, y = to_own.transform(*middle)
    across, up = back.transform(x + step.a, y + step.d), back.transform(x + step.b, y + step.e)
    here = back.transform(x, y)
    width = max(abs(across[0] - here[0]), abs(up[0] - here[0]))
    height = max(abs(across[1] - here[1]), abs(up[1] - here[1]))
    return float(width), float(height)


def _read_aligned(dataset: Any, bounds: Bounds) -> RasterWindow:
    window = from_bounds(*bounds, transform=dataset.transform)
    column, row = int(np.floor(window.col_off)), int(np.floor(window.row_off))
    n_columns = int(np.ceil(window.col_off + window.width)) - column
    n_rows = int(np.ceil(window.row_off + window.height)) - row
    first_column, last_column = max(column, 0), min(column + n_columns, dataset.width)
    first_row, last_row = max(row, 0), min(row + n_rows, dataset.height)
    values = np.zeros((n_rows, n_columns), dtype=dataset.dtypes[0])
    has_data = np.zeros((n_rows, n_columns), dtype=bool)
    is_covered = np.zeros((n_rows, n_columns), dtype=bool)
    if first_column < last_column and first_row < last_row:
        part = Window(first_column, first_row, last_column - first_column, last_row - first_row)
        inside = np.s_[first_row - row : last_row - row, first_column - column : last_column - column]
        values[inside] = dataset.read(1, window=part)
        has_data[inside] = _mask(dataset, part)
        is_covered[inside] = True
    transform = dataset.transform @ dataset.transform.translation(column, row)
    return RasterWindow(values, has_data, is_covered, transform)


def _read_warped(
    dataset: Any, crs: CRS, bounds: Bounds, pixel_m: tuple[float, float], method: Resampling
) -> RasterWindow:
    n_columns = int(np.ceil((bounds[2] - bounds[0]) / pixel_m[0]))
    n_rows = int(np.ceil((bounds[3] - bounds[1]) / pixel_m[1]))
    transform = rasterio.Affine(pixel_m[0], 0.0, bounds[0], 0.0, -pixel_m[1], bounds[3])
    needs_alpha = MaskFlags.all_valid in dataset.mask_flag_enums[0]
    with WarpedVRT(
        dataset,
        crs=crs.to_wkt(),
        transform=transform,
        width=n_columns,
        height=n_rows,
        resampling=method,
        add_alpha=needs_alpha,
    ) as warped:
        values = warped.read(1)
        has_data = _mask(warped, None)
    is_covered = _covered(dataset, crs, transform, values.shape)
    return RasterWindow(values, has_data & is_covered, is_covered, transform)


def _mask(dataset: Any, window: Window | None) -> NDArray[np.bool_]:
    mask = dataset.read_masks(1, window=window)
    return np.asarray(mask > 0)


def _covered(dataset: Any, crs: CRS, transform: Any, shape: tuple[int, int]) -> NDArray[np.bool_]:
    """Say for each pixel whether its middle lies on the raster, row by row to save memory."""
    own = CRS.from_wkt(dataset.crs.to_wkt())
    to_own = Transformer.from_crs(crs, own, always_xy=True)
    x = transform.c + transform.a * (np.arange(shape[1]) + 0.5)
    result = np.zeros(shape, dtype=bool)
    inverse = ~dataset.transform
    for row in range(shape[0]):
        y = np.full(shape[1], transform.f + transform.e * (row + 0.5))
        own_x, own_y = to_own.transform(x, y)
        column = inverse.a * own_x + inverse.b * own_y + inverse.c
        line = inverse.d * own_x + inverse.e * own_y + inverse.f
        result[row] = (column >= 0) & (column <= dataset.width) & (line >= 0) & (line <= dataset.height)
    return result
