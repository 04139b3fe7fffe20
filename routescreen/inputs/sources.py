"""Where the input is: the paths that the user named, and what is found in and beside the GeoPackage.

Room: ``inputs``. Looks for files, opens none but through ``files``.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from routescreen.inputs.problems import listed

if TYPE_CHECKING:
    from routescreen.inputs.files import Files, OpenFile
    from routescreen.inputs.problems import Findings

OSM_SUFFIXES = (".osm", ".pbf")


@dataclass(frozen=True, slots=True)
class Sources:
    """What to read; everything but `gpkg` overrides what is found in or beside it.

    Attributes
    ----------
    gpkg : Path
        The GeoPackage with the layer `corridor` and whatever else it holds.
    crossings, ground, access, parcels, axis, terminals, investigations, flood_zones, pins : str, Path, None
        Another source of that layer: a path, or ``path|layer``. `crossings` may be an OpenStreetMap
        extract.
    ground_cover, terrain : str, Path or None
        Raster files; `ground_cover` may be an OpenStreetMap extract.
    osm : str, Path or None
        An OpenStreetMap extract for the ground cover and for crossings beside those of the layer.
    is_flat : bool
        Go without terrain, on flat ground.
    terrain_is_bed : bool
        Over water the terrain is the bed, not the water level.
    cover_codes : str
        Name of the code list of the ground cover, such as ``esa`` or ``clc``; empty for the
        assumptions' own choice.
    """

    gpkg: Path
    crossings: str | Path | None = None
    ground: str | Path | None = None
    access: str | Path | None = None
    parcels: str | Path | None = None
    axis: str | Path | None = None
    terminals: str | Path | None = None
    investigations: str | Path | None = None
    flood_zones: str | Path | None = None
    pins: str | Path | None = None
    ground_cover: str | Path | None = None
    terrain: str | Path | None = None
    osm: str | Path | None = None
    is_flat: bool = False
    terrain_is_bed: bool = False
    cover_codes: str = ""

    def option(self, role: str) -> str | Path | None:
        """Return what was named for that layer or raster; None where nothing was."""
        named: str | Path | None = None if role == "corridor" else getattr(self, role)
        return named


@dataclass(frozen=True, slots=True)
class Place:
    """A layer or a raster in a file.

    Attributes
    ----------
    role : str
        What it is read as: a layer or raster of the schema.
    file : OpenFile
    layer : str or None
        Its name in the file; None for a raster file with a single raster.
    """

    role: str
    file: OpenFile
    layer: str | None


def is_osm(named: str | Path | None) -> bool:
    """Say whether the name is that of an OpenStreetMap extract.

    >>> is_osm("town.osm.pbf"), is_osm("town.gpkg|roads"), is_osm(None)
    (True, False, False)
    """
    return named is not None and str(named).lower().endswith(OSM_SUFFIXES)


def split_layer(named: str | Path) -> tuple[Path, str | None]:
    """Take ``path|layer`` apart.

    >>> split_layer("services.gpkg|gas")[1], split_layer("services.gpkg")[1]
    ('gas', None)
    """
    path, bar, layer = str(named).partition("|")
    return Path(path), layer if bar and layer else None


def find_layer(sources: Sources, role: str, files: Files, findings: Findings) -> Place | None:
    """Find the file and layer of a vector layer; None where there is none or it has a fault."""
    named = sources.option(role)
    if named is not None:
        return _named_layer(named, role, files, findings)
    main = files.open(sources.gpkg)
    if main is not None and role in main.layers:
        return Place(role, main, role)
    return None


def _named_layer(named: str | Path, role: str, files: Files, findings: Findings) -> Place | None:
    path, layer = split_layer(named)
    file = files.open(path)
    if file is None:
        return None
    if layer is None:
        layer = file.layers[0] if len(file.layers) == 1 else role
    if layer not in file.layers:
        findings.add(
            f"The file has no layer {layer!r}.",
            f"Name one of its layers as '{path.name}|layer': {listed(file.layers) or 'it has none'}.",
            file=path,
            layer=layer,
        )
        return None
    return Place(role, file, layer)


def find_raster(sources: Sources, role: str, files: Files) -> Place | None:
    """Find a raster: the named one, else a table in the GeoPackage, else a ``.tif`` beside it."""
    named = sources.option(role)
    if named is not None:
        return _named_raster(named, role, files)
    main = files.open(sources.gpkg)
    if main is not None and role in main.raster_tables:
        return Place(role, main, role)
    beside = sources.gpkg.with_name(f"{role}.tif")
    if not beside.exists():
        return None
    file = files.open(beside)
    return None if file is None else Place(role, file, None)


def _named_raster(named: str | Path, role: str, files: Files) -> Place | None:
    path, table = split_layer(named)
    file = files.open(path)
    if file is None:
        return None
    if file.is_geopackage and table is None:
        table = file.raster_tables[0] if len(file.raster_tables) == 1 else role
    return Place(role, file, table)
