"""Render every layer of a results GeoPackage with its embedded style, and all of them as one map.

A tool for developers, run with the system's Python and Debian's python3-qgis, not in the tests:

    QT_QPA_PLATFORM=offscreen XDG_RUNTIME_DIR=<own folder> /usr/bin/python3 \
        tests/results/render_layers.py screened.gpkg pictures [styles]

Each layer must load its own style from the file, with labels and column headings, and every colour of
the symbols that features use must be drawn; else it stops with what is wrong. With a folder of SLD
files each is imported and drawn too (``<layer>_sld.png``).
"""

import pathlib
import sys

from qgis.core import (
    QgsApplication,
    QgsMapRendererParallelJob,
    QgsMapSettings,
    QgsProviderRegistry,
    QgsRenderContext,
    QgsSymbol,
    QgsVectorLayer,
)
from qgis.PyQt.QtCore import QSize
from qgis.PyQt.QtGui import QColor

WIDTH, HEIGHT = 1400, 800
LOWEST_FIRST = (
    "layout_strips",
    "compounds",
    "alignment",
    "sections",
    "bores",
    "drives",
    "crossing_schedule",
    "joint_bays",
    "investigation_plan",
    "shafts",
)


def draw(layers, extent, path):
    """Draw layers, topmost first, and return the picture."""
    settings = QgsMapSettings()
    settings.setLayers(layers)
    settings.setDestinationCrs(layers[0].crs())
    settings.setOutputSize(QSize(WIDTH, HEIGHT))
    settings.setOutputDpi(96)
    settings.setBackgroundColor(QColor("white"))
    settings.setExtent(extent)
    job = QgsMapRendererParallelJob(settings)
    job.start()
    job.waitForFinished()
    if job.errors():
        raise RuntimeError(f"{path}: {job.errors()[0].message}")
    image = job.renderedImage()
    image.save(str(path))
    return image


def grown(extent):
    """Return an extent with a margin."""
    extent.grow(max(extent.width(), extent.height(), 100) * 0.05)
    return extent


def used_colours(layer):
    """Return the opaque colours, white apart, of every symbol that a feature uses."""
    context = QgsRenderContext()
    renderer = layer.renderer().clone()
    renderer.startRender(context, layer.fields())
    colours = set()
    for feature in layer.getFeatures():
        context.expressionContext().setFeature(feature)
        for symbol in renderer.originalSymbolsForFeature(feature, context):
            for part in symbol.symbolLayers():
                both = (
                    [part.color()] if symbol.type() == QgsSymbol.Line else [part.color(), part.strokeColor()]
                )
                colours |= {colour.getRgb()[:3] for colour in both if colour.alpha() == 255}
    renderer.stopRender(context)
    return colours - {(255, 255, 255)}


def drawn_colours(image):
    """Return all colours of a picture."""
    colours = {image.pixel(x, y) & 0xFFFFFF for x in range(WIDTH) for y in range(HEIGHT)}
    return {(colour >> 16, colour >> 8 & 0xFF, colour & 0xFF) for colour in colours}


def report(layer, image, name):
    """Demand that labels are on and that the colours of all symbols in use were drawn."""
    drawn = drawn_colours(image)
    for wanted in used_colours(layer):
        nearest = min(max(abs(a - b) for a, b in zip(wanted, colour, strict=False)) for colour in drawn)
        if nearest > 24:  # thin strokes are blended with what lies beside them
            raise RuntimeError(f"{name}: colour {wanted} is not drawn")
    if not layer.labelsEnabled():
        raise RuntimeError(f"{name} has no labels")
    sys.stdout.write(f"{name}: {layer.renderer().type()}, all of {len(used_colours(layer))} colours drawn\n")


def render(path, folder, styles=None):
    """Render all layers of a file into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    layers = {}
    for sub in QgsProviderRegistry.instance().providerMetadata("ogr").querySublayers(path):
        layer = QgsVectorLayer(f"{path}|layername={sub.name()}", sub.name(), "ogr")
        if not layer.isSpatial():
            continue
        message, is_loaded = layer.loadDefaultStyle()
        if not is_loaded or message != "Loaded from Provider":
            raise RuntimeError(f"{sub.name()} opens without its style: {message}")
        names = [field.name() for field in layer.fields() if field.name() != "fid"]
        if any(layer.attributeDisplayName(layer.fields().indexOf(name)) == name for name in names):
            raise RuntimeError(f"{sub.name()} has columns without a heading")
        layers[sub.name()] = layer
        whole = layer.clone()  # the whole layer may be larger than the scale at which it is shown
        whole.setScaleBasedVisibility(False)
        report(whole, draw([whole], grown(layer.extent()), folder / f"{sub.name()}.png"), sub.name())
    top_first = [layers[name] for name in reversed(LOWEST_FIRST)]
    whole = grown(layers["alignment"].extent())
    draw(top_first, whole, folder / "all.png")
    part = layers["shafts"].extent()
    part.setXMaximum(part.xMinimum() + 0.4 * part.width())
    draw(top_first, grown(part), folder / "part.png")
    if styles is not None:
        render_sld(layers, folder, styles)


def render_sld(layers, folder, styles):
    """Import and draw the SLD file of each layer."""
    for name, layer in layers.items():
        message, is_loaded = layer.loadSldStyle(str(styles / f"{name}.sld"))
        if not is_loaded:
            raise RuntimeError(f"{name}.sld: {message}")
        layer.setScaleBasedVisibility(False)  # as above, and of each rule
        if layer.renderer().type() == "RuleRenderer":
            for rule in layer.renderer().rootRule().children():
                rule.setMinimumScale(0)
        report(layer, draw([layer], grown(layer.extent()), folder / f"{name}_sld.png"), f"{name}.sld")


def main():
    """Start the GIS without a screen and render."""
    application = QgsApplication([], False)
    application.initQgis()
    render(sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3]) if len(sys.argv) > 3 else None)
    application.exitQgis()


if __name__ == "__main__":
    main()
