"""Open the results' project in a desktop GIS without a screen, and draw it at two scales, in colour and grey.

A tool for developers, run with the system's Python and Debian's python3-qgis, not in the tests:

    QT_QPA_PLATFORM=offscreen XDG_RUNTIME_DIR=<own folder> /usr/bin/python3 \
        tests/results/open_project.py results/screened.qgs [pictures]

Every table of the GeoPackage must stand in the project, valid, in a group, with its coordinate system, its
column headings and, if it has a geometry, a style with labels; and the file must open after the folder was
moved. Else it stops with what is wrong.
"""

import pathlib
import shutil
import sys
import tempfile

from qgis.core import (
    QgsApplication,
    QgsExpressionContext,
    QgsExpressionContextUtils,
    QgsLayerTreeGroup,
    QgsMapRendererParallelJob,
    QgsMapSettings,
    QgsProject,
    QgsProviderRegistry,
    QgsRectangle,
)
from qgis.PyQt.QtCore import QSize
from qgis.PyQt.QtGui import QColor, QImage

WIDTH, HEIGHT, DPI = 1600, 640, 96
# 1 : denominator, and how far along the route the middle of the picture lies.
VIEWS = {"overview": (40_000, 0.5), "middle": (10_000, 0.22), "near": (2_500, 0.49), "close": (1_000, 0.126)}


def require(is_so, what):
    """Stop with what is wrong."""
    if not is_so:
        raise RuntimeError(what)


def opened(path):
    """Return the project of a file."""
    project = QgsProject()
    require(project.read(str(path)), f"{path} can't be read: {project.error()}")
    return project


def check_layer(layer):
    """Demand a valid layer with headings, and with a style if it is drawn."""
    name = layer.name()
    require(layer.isValid(), f"{name} is not valid")
    require(layer.readOnly(), f"{name} can be changed")
    columns = [field.name() for field in layer.fields() if field.name() != "fid"]
    bare = [c for c in columns if layer.attributeDisplayName(layer.fields().indexOf(c)) == c]
    require(not bare, f"{name} has columns without a heading: {bare}")
    if layer.isSpatial():
        require(layer.labelsEnabled(), f"{name} has no labels")
        require(layer.crs().isValid(), f"{name} has no coordinate system")


def check(project, geopackage):
    """Demand every table of the GeoPackage in a group, and one coordinate system."""
    layers = project.mapLayers().values()
    for layer in layers:
        check_layer(layer)
    subs = QgsProviderRegistry.instance().providerMetadata("ogr").querySublayers(str(geopackage))
    written = {sub.name() for sub in subs} - {"layer_styles"}
    shown = {layer.source().partition("layername=")[2] for layer in layers}
    require(written == shown, f"not in both: {written ^ shown}")
    systems = {layer.crs().authid() for layer in layers if layer.isSpatial()}
    require(systems == {project.crs().authid()}, f"{systems} in a project of {project.crs().authid()}")
    require(
        all(str(geopackage.parent) in layer.source() for layer in layers), "a layer is read from elsewhere"
    )
    groups = project.layerTreeRoot().children()
    require(all(isinstance(group, QgsLayerTreeGroup) for group in groups), "a layer stands in no group")
    in_groups = [node.layerId() for group in groups for node in group.findLayers()]
    require(sorted(in_groups) == sorted(project.mapLayers()), "a layer stands in two groups or in none")
    for group in groups:
        sys.stdout.write(f"{group.name()}: {', '.join(node.name() for node in group.findLayers())}\n")
    relations = project.relationManager().relations().values()
    require(relations, "no table is joined to what it is about")
    rows = sum(
        1 for r in relations for f in r.referencedLayer().getFeatures() for _ in r.getRelatedFeatures(f)
    )
    require(rows, "no feature finds a row that is about it")
    for relation in relations:
        require(relation.isValid(), f"the table {relation.name()} is joined to nothing")
    view = project.viewSettings().defaultViewExtent()
    counts = f"{len(layers)} layers, {len(relations)} joined"
    sys.stdout.write(f"{project.title()}, {project.crs().authid()}, {counts}, view {view.toString(0)}\n")


def check_tables_alone(geopackage):
    """Demand that each table opened by itself has its style or its headings from the file."""
    project = opened(geopackage.with_suffix(".qgs"))
    for layer in project.mapLayers().values():
        alone = layer.clone()
        for index in range(len(alone.fields())):
            alone.removeFieldAlias(index)
        message, is_loaded = alone.loadDefaultStyle()
        require(is_loaded and message == "Loaded from Provider", f"{layer.name()} alone: {message}")
        check_layer(alone)


def draw(project, denominator, share, path):
    """Draw the whole project about a spot of the route, and the same in grey."""
    route = next(layer for layer in project.mapLayers().values() if layer.name() == "Alignment")
    line = next(route.getFeatures()).geometry()
    middle = line.interpolate(share * line.length()).asPoint()
    half_x, half_y = (size / DPI * 0.0254 * denominator / 2 for size in (WIDTH, HEIGHT))
    settings = QgsMapSettings()
    settings.setLayers([layer for layer in project.layerTreeRoot().layerOrder() if layer.isSpatial()])
    settings.setDestinationCrs(project.crs())
    settings.setOutputSize(QSize(WIDTH, HEIGHT))
    settings.setOutputDpi(DPI)
    settings.setBackgroundColor(QColor("white"))
    settings.setExtent(
        QgsRectangle(middle.x() - half_x, middle.y() - half_y, middle.x() + half_x, middle.y() + half_y)
    )
    context = QgsExpressionContext()  # tells expressions the scale, as the map window does
    context.appendScope(QgsExpressionContextUtils.mapSettingsScope(settings))
    settings.setExpressionContext(context)
    job = QgsMapRendererParallelJob(settings)
    job.start()
    job.waitForFinished()
    require(not job.errors(), f"{path}: not drawn")
    image = job.renderedImage()
    image.save(f"{path}.png")
    image.convertToFormat(QImage.Format_Grayscale8).save(f"{path}_grey.png")
    dark = sum(
        QColor(image.pixel(x, y)).lightness() < 160 for x in range(0, WIDTH, 4) for y in range(0, HEIGHT, 4)
    )
    require(dark > 50, f"{path}: almost nothing is drawn")


def open_and_draw(path, pictures):
    """Open the project where it lies and in a moved copy, and draw it."""
    project = opened(path)
    check(project, path.with_suffix(".gpkg"))
    check_tables_alone(path.with_suffix(".gpkg"))
    if pictures is not None:
        pictures.mkdir(parents=True, exist_ok=True)
        for name, (denominator, share) in VIEWS.items():
            draw(project, denominator, share, pictures / name)
    with tempfile.TemporaryDirectory() as folder:
        for file in (path, path.with_suffix(".gpkg")):
            shutil.copy(file, folder)
        moved = pathlib.Path(folder) / path.name
        check(opened(moved), moved.with_suffix(".gpkg"))


def main():
    """Start the GIS without a screen and look."""
    application = QgsApplication([], False)
    application.initQgis()
    open_and_draw(
        pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]) if len(sys.argv) > 2 else None
    )
    application.exitQgis()


if __name__ == "__main__":
    main()
