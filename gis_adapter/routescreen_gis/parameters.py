"""The inputs of both algorithms, declared once, and the arguments of the command that follow from them."""

import pathlib
import tempfile

from qgis.core import (
    QgsProcessing,
    QgsProcessingException,
    QgsProcessingParameterBoolean,
    QgsProcessingParameterDefinition,
    QgsProcessingParameterFile,
    QgsProcessingParameterRasterLayer,
    QgsProcessingParameterString,
    QgsProcessingParameterVectorLayer,
)

from routescreen_gis.sources import geopackage_of, raster_argument, vector_argument

# Layers by the names of the command's options, with what the dialogue says of them.
LAYERS = {"crossings": "Crossings: everything to be crossed or kept away from, with a column kind"}
RARE_LAYERS = {
    "axis": "Axis: direction and start of the chainage",
    "terminals": "Terminals: start and end",
    "ground": "Ground: soil and groundwater",
    "access": "Access: roads that can carry plant",
    "parcels": "Parcels",
    "investigations": "Investigations: boreholes",
    "flood_zones": "Flood zones",
    "pins": "Pins: what is agreed already (shaft, no shaft, via)",
}
RASTERS = {"terrain": "Terrain [m]", "ground_cover": "Ground cover (codes)"}

HELP = (
    "<p>The <b>corridor</b> is a polygon, or a line for an alignment that is fixed already, in metres (a "
    "projected coordinate system). If it stands as layer <i>corridor</i> in a GeoPackage, everything else in "
    "or beside that file is found by itself (<i>terrain.tif</i>, <i>crossings</i> and so on), and the other "
    "inputs only override.</p>"
    "<p>All features of a layer are taken, whatever is selected; filters and edits that are not saved yet "
    "count.</p>"
)


def source_parameters():
    """Return the parameters that say where the input is."""
    return [
        QgsProcessingParameterVectorLayer(
            "corridor", "Corridor", [QgsProcessing.TypeVectorPolygon, QgsProcessing.TypeVectorLine]
        ),
        *(_layer(name, text) for name, text in LAYERS.items()),
        *(QgsProcessingParameterRasterLayer(name, text, optional=True) for name, text in RASTERS.items()),
        QgsProcessingParameterFile(
            "osm",
            "OpenStreetMap extract for crossings and ground cover",
            optional=True,
            fileFilter="OpenStreetMap (*.osm.pbf *.osm)",
        ),
        QgsProcessingParameterBoolean("flat", "Go without terrain, on flat ground", False),
        QgsProcessingParameterFile(
            "assumptions",
            "Assumptions: what differs from the defaults",
            optional=True,
            fileFilter="TOML (*.toml)",
        ),
        *(_rare(_layer(name, text)) for name, text in RARE_LAYERS.items()),
        _rare(QgsProcessingParameterBoolean("terrain_is_bed", "Over water the terrain is the bed", False)),
        _rare(
            QgsProcessingParameterString(
                "cover_codes", "Code list of the ground cover: esa or clc", optional=True
            )
        ),
    ]


def _layer(name, text):
    return QgsProcessingParameterVectorLayer(name, text, [QgsProcessing.TypeVectorAnyGeometry], optional=True)


def _rare(parameter):
    parameter.setFlags(parameter.flags() | QgsProcessingParameterDefinition.FlagAdvanced)
    return parameter


def source_arguments(algorithm, parameters, context):
    """Return the GeoPackage and the options that follow from the parameters.

    Called where layers may be touched, before the work goes to the background.

    Returns
    -------
    tuple of list of str and tempfile.TemporaryDirectory
        The arguments, and the scratch folder, which goes when it is let go.
    """
    scratch = tempfile.TemporaryDirectory(prefix="routescreen-gis-")
    folder = pathlib.Path(scratch.name)
    corridor = algorithm.parameterAsVectorLayer(parameters, "corridor", context)
    if corridor is None:
        raise QgsProcessingException("The layer of the corridor can't be opened.")
    arguments = [geopackage_of(corridor, folder)]
    for name in [*LAYERS, *RARE_LAYERS]:
        layer = algorithm.parameterAsVectorLayer(parameters, name, context)
        if layer is not None:
            arguments += [_option(name), vector_argument(layer, name, folder)]
    for name in RASTERS:
        layer = algorithm.parameterAsRasterLayer(parameters, name, context)
        if layer is not None:
            arguments += [_option(name), raster_argument(layer, name)]
    for name in ("osm", "assumptions", "cover_codes"):
        text = algorithm.parameterAsString(parameters, name, context)
        if text:
            arguments += [_option(name), text]
    for name in ("flat", "terrain_is_bed"):
        if algorithm.parameterAsBool(parameters, name, context):
            arguments.append(_option(name))
    return arguments, scratch


def _option(name):
    return f"--{name.replace('_', '-')}"
