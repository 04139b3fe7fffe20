"""Layers of the GIS as arguments of the command: files as they are, all else saved into a scratch file."""

import pathlib
import re

from qgis.core import QgsProcessingException, QgsProviderRegistry, QgsVectorFileWriter, QgsVectorLayer

CORRIDOR = "corridor"


def geopackage_of(layer, scratch):
    """Return the GeoPackage to hand to the command for the layer of the corridor.

    A layer that stands as ``corridor`` in a GeoPackage is handed on with the whole file, so that whatever
    else is in or beside it is found; any other is saved into a new file.

    Parameters
    ----------
    layer : QgsVectorLayer
    scratch : pathlib.Path
        Folder for what must be saved first.
    """
    found = _plain_file(layer)
    if found is not None and found[0].lower().endswith(".gpkg") and found[1] == CORRIDOR:
        return found[0]
    # The file's name becomes the corridor's where it has no corridor_id.
    name = re.sub(r"[^\w-]+", "_", layer.name()).strip("_") or CORRIDOR
    return _saved(layer, CORRIDOR, scratch / f"{name}.gpkg")


def vector_argument(layer, role, scratch):
    """Return ``FILE|LAYER`` of a vector layer, saved first where it is no plain layer of a file."""
    found = _plain_file(layer)
    if found is not None and "|" not in found[0]:
        return "|".join(part for part in found if part)
    return f"{_saved(layer, role, scratch / 'layers.gpkg')}|{role}"


def raster_argument(layer, role):
    """Return ``FILE`` or ``FILE|TABLE`` of a raster layer.

    Raises
    ------
    QgsProcessingException
        If it is not read from a file.
    """
    uri = QgsProviderRegistry.instance().decodeUri(layer.providerType(), layer.source())
    path = uri.get("path", "")
    if layer.providerType() != "gdal" or not pathlib.Path(path).is_file():
        raise QgsProcessingException(
            f"The raster {layer.name()!r} ({role}) is not read from a file. Save it as a GeoTIFF first."
        )
    return "|".join(part for part in (path, uri.get("layerName")) if part)


def _plain_file(layer):
    """Return path and layer name, None where the file doesn't hold what the map shows."""
    if layer.providerType() != "ogr" or layer.isEditable() or layer.subsetString():
        return None
    uri = QgsProviderRegistry.instance().decodeUri("ogr", layer.source())
    path = uri.get("path", "")
    if not pathlib.Path(path).is_file() or layer.featureCount() < 0:
        return None
    in_file = QgsVectorLayer(path, "", "ogr").crs()
    if uri.get("layerName"):
        in_file = QgsVectorLayer(f"{path}|layername={uri['layerName']}", "", "ogr").crs()
    # A coordinate system that was set in the GIS alone stands in no file.
    return (path, uri.get("layerName") or "") if in_file == layer.crs() else None


def _saved(layer, role, path):
    options = QgsVectorFileWriter.SaveVectorOptions()
    options.driverName = "GPKG"
    options.layerName = role
    options.fileEncoding = "UTF-8"
    if layer.dataProvider().storageType() != "GPKG":
        # A copy in memory may hold the ids of where it came from, twice after a merge: no file takes that.
        names = [field.name().lower() for field in layer.fields()]
        options.attributes = [index for index, name in enumerate(names) if name != "fid"]
        options.skipAttributeCreation = names == ["fid"]
    if path.exists():
        options.actionOnExistingFile = QgsVectorFileWriter.CreateOrOverwriteLayer
    code, message, *_ = QgsVectorFileWriter.writeAsVectorFormatV3(
        layer, str(path), layer.transformContext(), options
    )
    if code != QgsVectorFileWriter.NoError:
        raise QgsProcessingException(f"The layer {layer.name()!r} ({role}) can't be saved: {message}")
    return str(path)
