"""The project file that opens the results in a desktop GIS: grouped, styled, headed, at the right place.

Room: ``results``. Imports ``schema`` and its neighbours ``layer_tree``, ``styles``, ``symbols``. The file is
XML and names the GeoPackage beside it by a relative path, so that the results folder can be moved.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import geopandas as gpd

from routescreen.results.layer_tree import GROUPS, RELATIONS, Group, title_of
from routescreen.results.styles import qml_texts
from routescreen.schema import CAUTION, LAYERS_BY_NAME, Layer

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd
    from pyproj import CRS

_DOCTYPE = "<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>\n"
_GEOMETRIES = {"Point": "Point", "LineString": "Line", "Polygon": "Polygon"}
_CHECKED = {True: "Qt::Checked", False: "Qt::Unchecked"}
# Of the style's root, what a project keeps on the layer itself.
_LAYER_ATTRIBUTES = ("labelsEnabled", "hasScaleBasedVisibilityFlag", "minScale", "maxScale")
_MARGIN_FRAC = 0.05


def project_text(ready: Mapping[str, pd.DataFrame], crs: CRS, geopackage: str) -> str:
    """Return the project of the result layers.

    Parameters
    ----------
    ready : mapping of str to DataFrame
        Tables that conform to the schema, by name; spatial ones as GeoDataFrame.
    crs : CRS
        Projected coordinate reference system of every spatial layer.
    geopackage : str
        Name of the GeoPackage, which stands in the same folder.

    Returns
    -------
    str
        A complete XML document.
    """
    names = ", ".join(ready["alignment"]["corridor_id"])
    corridors = "".join(sign for sign in names if sign.isprintable())  # XML has no control characters
    root = ET.Element("qgis", version="3.22.0", projectname=f"routescreen: {corridors}")
    _text(root, "title", f"routescreen: {corridors}")
    system = ET.SubElement(root, "projectCrs")
    _reference_system(system, crs)
    _tree(root, ready, geopackage)
    _canvas(root, ready, crs)
    layers = ET.SubElement(root, "projectlayers")
    qml = qml_texts()
    for name in ready:
        _layer(layers, LAYERS_BY_NAME[name], qml[name], crs, geopackage)
    _relations(root, ready)
    _properties(root)
    _metadata(root, corridors)
    return _DOCTYPE + ET.tostring(root, encoding="unicode") + "\n"


def _text(parent: ET.Element, tag: str, text: str, **attributes: str) -> ET.Element:
    child = ET.SubElement(parent, tag, attributes)
    child.text = text
    return child


def _reference_system(parent: ET.Element, crs: CRS) -> None:
    system = ET.SubElement(parent, "spatialrefsys")
    _text(system, "wkt", crs.to_wkt("WKT2_2019"))
    authority = crs.to_authority()
    if authority is not None:
        _text(system, "authid", ":".join(authority))


def _id(layer: str) -> str:
    return f"routescreen_{layer}"


def _source(layer: str, geopackage: str) -> str:
    return f"./{geopackage}|layername={layer}"


def _tree(root: ET.Element, ready: Mapping[str, pd.DataFrame], geopackage: str) -> None:
    """Write the groups; a group of which no layer was written is left out."""
    tree = ET.SubElement(root, "layer-tree-group")
    for group in GROUPS:
        names = [name for name in group.layers if name in ready]
        if names:
            _group(tree, group, names, geopackage)


def _group(tree: ET.Element, group: Group, names: list[str], geopackage: str) -> None:
    checked = _CHECKED[group.is_shown]
    branch = ET.SubElement(
        tree, "layer-tree-group", name=group.title, checked=checked, expanded=str(int(group.is_open))
    )
    for name in names:
        ET.SubElement(
            branch,
            "layer-tree-layer",
            id=_id(name),
            name=title_of(name),
            source=_source(name, geopackage),
            providerKey="ogr",
            checked=_CHECKED[True],
            expanded="0",
        )


def _canvas(root: ET.Element, ready: Mapping[str, pd.DataFrame], crs: CRS) -> None:
    """Write what the map shows first: the alignments with a margin."""
    alignments = ready["alignment"]
    assert isinstance(alignments, gpd.GeoDataFrame)
    west, south, east, north = (float(value) for value in alignments.total_bounds)
    margin = _MARGIN_FRAC * max(east - west, north - south)
    canvas = ET.SubElement(root, "mapcanvas", name="theMapCanvas")
    _text(canvas, "units", "meters")
    extent = ET.SubElement(canvas, "extent")
    bounds = {"xmin": west - margin, "ymin": south - margin, "xmax": east + margin, "ymax": north + margin}
    for tag, value in bounds.items():
        _text(extent, tag, f"{value:.2f}")
    _text(canvas, "rotation", "0")
    _reference_system(ET.SubElement(canvas, "destinationsrs"), crs)
    settings = ET.SubElement(root, "ProjectViewSettings", UseProjectScales="0")
    whole = {tag: f"{value:.2f}" for tag, value in bounds.items()}
    _reference_system(ET.SubElement(settings, "DefaultViewExtent", whole), crs)


def _layer(parent: ET.Element, layer: Layer, qml: str, crs: CRS, geopackage: str) -> None:
    style = ET.fromstring(qml.split("\n", 1)[1])
    kind = layer.geometry[0].split()[0] if layer.is_spatial else ""
    element = ET.SubElement(parent, "maplayer", type="vector", geometry=_GEOMETRIES.get(kind, "No geometry"))
    element.attrib |= {key: style.get(key, "") for key in _LAYER_ATTRIBUTES if key in style.attrib}
    element.set("readOnly", "1")  # results are measured: what is drawn over them would be believed
    _text(element, "id", _id(layer.name))
    _text(element, "datasource", _source(layer.name, geopackage))
    _text(element, "layername", title_of(layer.name))
    _text(element, "abstract", layer.meaning)
    if layer.is_spatial:
        _reference_system(ET.SubElement(element, "srs"), crs)
    _text(element, "provider", "ogr", encoding="UTF-8")
    element.extend(style)


def _relations(root: ET.Element, ready: Mapping[str, pd.DataFrame]) -> None:
    """Join tables to the features they are about, so that a feature's form shows their rows."""
    relations = ET.SubElement(root, "relations")
    for relation in RELATIONS:
        if relation.table in ready and relation.layer in ready:
            joined = ET.SubElement(
                relations,
                "relation",
                id=f"{relation.table}_of_{relation.layer}",
                name=title_of(relation.table),
                referencingLayer=_id(relation.table),
                referencedLayer=_id(relation.layer),
                strength="Association",
            )
            ET.SubElement(
                joined,
                "fieldRef",
                referencingField=relation.table_column,
                referencedField=relation.layer_column,
            )


def _properties(root: ET.Element) -> None:
    properties = ET.SubElement(root, "properties")
    paths = ET.SubElement(properties, "Paths")
    _text(paths, "Absolute", "false", type="bool")
    system = ET.SubElement(properties, "SpatialRefSys")
    _text(system, "ProjectionsEnabled", "1", type="int")  # else the project's own system is not read
    measure = ET.SubElement(properties, "Measurement")
    _text(measure, "DistanceUnits", "meters", type="QString")
    _text(measure, "AreaUnits", "m2", type="QString")


def _metadata(root: ET.Element, corridors: str) -> None:
    metadata = ET.SubElement(root, "projectMetadata")
    _text(metadata, "type", "dataset")
    _text(metadata, "title", f"routescreen: {corridors}")
    _text(metadata, "abstract", CAUTION)
