"""Terrain and ground cover of one corridor, from whatever source there is.

Room: ``inputs``; reads through ``rasters`` and ``osm_cover``.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from routescreen.inputs.osm import say_reach
from routescreen.inputs.osm_cover import osm_cover
from routescreen.inputs.problems import listed
from routescreen.inputs.rasters import read_ground_cover, read_terrain
from routescreen.inputs.sources import find_raster, is_osm

if TYPE_CHECKING:
    from pyproj import CRS
    from shapely.geometry.base import BaseGeometry

    from routescreen.inputs.scenery import Reading, Scenery
    from routescreen.project import RasterGrid


def read_surfaces(
    reading: Reading,
    scenery: Scenery,
    *,
    crs: CRS,
    corridor: BaseGeometry,
    region: BaseGeometry,
    of: str,
) -> tuple[RasterGrid | None, RasterGrid | None]:
    """Read terrain and ground cover round one corridor.

    Parameters
    ----------
    reading : Reading
    scenery : Scenery
    crs : CRS
        Of the run.
    corridor, region : Polygon
        The corridor, and what is read round it [m].
    of : str
        The corridor's id, for messages.

    Returns
    -------
    terrain, ground_cover : RasterGrid or None
        None where there is none, which is said, or with the fault noted.
    """
    for file, features in scenery.extracts.values():
        say_reach(features, corridor, of, file, reading.findings)
    terrain = _terrain(reading, crs=crs, corridor=corridor, region=region, of=of)
    cover = _cover(reading, scenery, crs=crs, corridor=corridor, region=region, of=of)
    return terrain, cover


def _terrain(
    reading: Reading, *, crs: CRS, corridor: BaseGeometry, region: BaseGeometry, of: str
) -> RasterGrid | None:
    sources, findings = reading.sources, reading.findings
    if sources.is_flat:
        if sources.terrain is not None:
            findings.add(
                "Flat ground and a terrain are asked for at once.",
                "Leave out --flat or --terrain.",
                file=str(sources.terrain),
            )
        findings.warn("Flat ground is assumed: depths, covers, grades and their cost are those of a plain.")
        return None
    place = find_raster(sources, "terrain", reading.files)
    if place is not None:
        cell_m = reading.assumptions.frame.cell_m
        return read_terrain(place, findings, crs=crs, corridor=corridor, region=region, of=of, cell_m=cell_m)
    if sources.terrain is None and reading.files.open(sources.gpkg) is not None:
        findings.add(
            "There is no terrain.",
            f"Put a terrain.tif beside {sources.gpkg.name}, add a raster table 'terrain' to it, name a "
            "raster (--terrain), or ask for flat ground (--flat).",
            file=sources.gpkg,
            layer="terrain",
        )
    return None


def _cover(
    reading: Reading,
    scenery: Scenery,
    *,
    crs: CRS,
    corridor: BaseGeometry,
    region: BaseGeometry,
    of: str,
) -> RasterGrid | None:
    sources, findings = reading.sources, reading.findings
    named = sources.ground_cover
    extract = named if is_osm(named) else (sources.osm if named is None else None)
    if extract is not None:
        return _cover_from_extract(reading, scenery, Path(extract), corridor=corridor, region=region, of=of)
    place = find_raster(sources, "ground_cover", reading.files)
    if place is None:
        if named is None:
            findings.warn("There is no ground cover: all ground is taken as unknown.")
        return None
    classes = _classes(reading)
    if classes is None:
        return None
    unknown = reading.assumptions.cover_names.index("unknown")
    return read_ground_cover(
        place, findings, crs=crs, corridor=corridor, region=region, of=of, classes=classes, unknown=unknown
    )


def _cover_from_extract(
    reading: Reading,
    scenery: Scenery,
    path: Path,
    *,
    corridor: BaseGeometry,
    region: BaseGeometry,
    of: str,
) -> RasterGrid | None:
    if reading.sources.ground_cover is None and find_raster(reading.sources, "ground_cover", reading.files):
        reading.findings.warn(
            "The raster ground_cover is not used, since an OpenStreetMap extract was named."
        )
    if path not in scenery.extracts:
        return None
    _, features = scenery.extracts[path]
    return osm_cover(
        features, reading.assumptions, reading.findings, corridor=corridor, bounds=region.bounds, of=of
    )


def _classes(reading: Reading) -> dict[int, int] | None:
    """Return the class index of each code; None, with the fault noted, where the list is not known."""
    a = reading.assumptions
    name = reading.sources.cover_codes or a.frame.cover_code_list
    if name not in a.cover_codes:
        reading.findings.add(
            "There is no such list of ground-cover codes.",
            f"Use one of: {listed(a.cover_codes)}.",
            column="cover_codes",
            value=name,
        )
        return None
    index = {cover: number for number, cover in enumerate(a.cover_names)}
    return {code: index[cover] for code, cover in a.cover_codes[name].items()}
