"""Run the adapter inside a desktop GIS without a screen: found, run, cancelled, refused, loaded.

A tool for developers, run with the system's Python and Debian's python3-qgis, not in the tests:

    QT_QPA_PLATFORM=offscreen XDG_RUNTIME_DIR=<own folder> HOME=<own folder> /usr/bin/python3 \
        tests/gis_adapter/run_adapter.py path/to/routescreen folder

It draws a small invented corridor into scratch layers, as a user would, and stops with what is wrong.
"""

import os
import pathlib
import sys
import time

ROOT = pathlib.Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "gis_adapter"), "/usr/share/qgis/python/plugins"]

from processing.core.Processing import Processing  # noqa: E402
from processing.core.ProcessingConfig import ProcessingConfig  # noqa: E402
from qgis.core import (  # noqa: E402
    QgsApplication,
    QgsFeature,
    QgsGeometry,
    QgsProcessingContext,
    QgsProcessingException,
    QgsProcessingFeedback,
    QgsProject,
    QgsVectorFileWriter,
    QgsVectorLayer,
)

WEST, SOUTH = 500_000.0, 5_900_000.0


class Listener(QgsProcessingFeedback):
    """Keeps what is said, and cancels at a stage."""

    def __init__(self, cancel_at=None):
        super().__init__(False)
        self.cancel_at = cancel_at
        self.texts, self.errors, self.shares = [], [], []
        self.progressChanged.connect(self.shares.append)

    def setProgressText(self, text):
        """Keep the stage."""
        self.texts.append(text)
        if self.cancel_at is not None and text.startswith(self.cancel_at):
            self.cancel()

    def pushInfo(self, info):
        """Keep what the command says."""
        self.texts.append(info)

    def pushWarning(self, warning):
        """Keep a warning."""
        self.texts.append(warning)

    def pushCommandInfo(self, info):
        """Keep the command."""
        self.texts.append(info)

    def reportError(self, error, fatalError=False):
        """Keep an error."""
        self.errors.append(error)


def require(is_so, what):
    """Stop with what is wrong."""
    if not is_so:
        raise RuntimeError(what)


def say(what):
    """Say what went well."""
    sys.stdout.write(f"{what}\n")


def scratch_layer(kind, name, rows):
    """Return a layer in memory with text columns, as one that was just drawn."""
    columns = list(rows[0][1])
    fields = "".join(f"&field={column}:string" for column in columns)
    layer = QgsVectorLayer(f"{kind}?crs=EPSG:25832{fields}", name, "memory")
    features = []
    for wkt, values in rows:
        feature = QgsFeature(layer.fields())
        feature.setGeometry(QgsGeometry.fromWkt(wkt))
        feature.setAttributes([values[column] for column in columns])
        features.append(feature)
    require(layer.dataProvider().addFeatures(features)[0], f"{name} can't be drawn")
    layer.updateExtents()
    return layer


def drawn_corridor(kind="road"):
    """Return a corridor of 400 m by 60 m and a crossing amid it."""
    w, s = WEST, SOUTH
    box = f"POLYGON(({w} {s}, {w + 400} {s}, {w + 400} {s + 60}, {w} {s + 60}, {w} {s}))"
    lines = [f"LINESTRING({x} {s - 200}, {x} {s + 260})" for x in (w + 150, w + 250)]
    # As after a merge: the ids of the files they came from, the same twice.
    rows = [(line, {"fid": "7", "kind": kind, "name": "Birch Lane"}) for line in lines]
    corridor = scratch_layer("Polygon", "Birch Lane", [(box, {"corridor_id": "Birch Lane"})])
    return corridor, scratch_layer("LineString", "to cross", rows)


def run(name, parameters, feedback=None):
    """Run an algorithm as the toolbox does, with its results loaded into a project of its own."""
    algorithm = QgsApplication.processingRegistry().createAlgorithmById(name)
    require(algorithm is not None, f"{name} is not in the toolbox")
    project, context, feedback = QgsProject(), QgsProcessingContext(), feedback or Listener()
    context.setProject(project)
    can_run, message = algorithm.checkParameterValues(parameters, context)
    require(can_run, message)
    results, is_done = algorithm.run(parameters, context, feedback, catchExceptions=False)
    if not is_done:  # it did not even begin; why has been told
        raise QgsProcessingException(f"{name} failed: {feedback.errors}")
    return results, feedback, project


def inputs(folder, kind="road"):
    """Return the parameters of the drawn corridor."""
    corridor, crossings = drawn_corridor(kind)
    return {"corridor": corridor, "crossings": crossings, "flat": True, "OUTPUT": str(folder)}


def refused(expected, name, parameters):
    """Demand that an algorithm refuses, with words that help."""
    feedback = Listener()
    try:
        run(name, parameters, feedback)
    except QgsProcessingException as error:
        said = f"{error} {' '.join(feedback.errors)}"
        require(all(part in said for part in expected), f"{expected} is not in: {said}")
        return said
    raise RuntimeError(f"not refused: {expected}")


def check_missing(folder):
    """A command that isn't there is told with the place of the setting."""
    (folder / "nowhere").mkdir(exist_ok=True)
    ProcessingConfig.setSettingValue("ROUTESCREEN_COMMAND", str(folder / "nowhere"))
    refused(["There is no command", "Providers > routescreen"], "routescreen:screen", inputs(folder / "no"))
    algorithm = QgsApplication.processingRegistry().algorithmById("routescreen:screen")
    require(not algorithm.canExecute()[0], "offered without a command")
    say("missing command: told")


def check_screen(folder):
    """A drawn corridor is screened and its plan loaded with its styles."""
    results, feedback, project = run("routescreen:screen", inputs(folder / "out"))
    require(feedback.shares == sorted(feedback.shares), f"progress falls: {feedback.shares}")
    require(feedback.shares[-1] == 100.0, f"progress ends at {feedback.shares[-1]}")
    require(any(text.startswith("write results") for text in feedback.texts), "no stage was shown")
    require(any("screening aid" in text for text in feedback.texts), "no caution")
    for key in ("GEOPACKAGE", "REPORT"):
        require(pathlib.Path(results[key]).is_file(), f"no {key}")
    check_loaded(project)
    say(f"screened: {len(project.mapLayers())} layers, {len(feedback.shares)} steps of progress")


def check_loaded(project):
    """All layers in groups below one, valid, styled and with headings."""
    (top,) = project.layerTreeRoot().children()
    require(top.name() == "Screened: out", top.name())
    require(top.children()[0].name() == "Shafts and joints", "wrong order of groups")
    names = [node.name() for node in top.findLayers()]
    require({"Alignment", "Sections", "Drives", "Shafts", "Bill"} <= set(names), f"loaded: {names}")
    relations = project.relationManager().relations().values()
    require(relations and all(relation.isValid() for relation in relations), "tables are joined to nothing")
    for layer in project.mapLayers().values():
        require(layer.isValid(), f"{layer.name()} is not valid")
        require(not layer.isSpatial() or layer.labelsEnabled(), f"{layer.name()} has lost its style")


def check_file(folder):
    """A layer `corridor` of a GeoPackage hands on the file, in which the crossings are found."""
    path = folder / "own corridor.gpkg"
    options = QgsVectorFileWriter.SaveVectorOptions()
    for layer, name in zip(drawn_corridor("no_such_kind"), ("corridor", "crossings"), strict=True):
        options.layerName = name
        options.attributes = [i for i, field in enumerate(layer.fields()) if field.name() != "fid"]
        QgsVectorFileWriter.writeAsVectorFormatV3(layer, str(path), layer.transformContext(), options)
        options.actionOnExistingFile = QgsVectorFileWriter.CreateOrOverwriteLayer
    corridor = QgsVectorLayer(f"{path}|layername=corridor", "any name", "ogr")
    expected = ["input can't be used", "own corridor.gpkg", "no_such_kind"]
    refused(
        expected, "routescreen:screen", {"corridor": corridor, "flat": True, "OUTPUT": str(folder / "bad")}
    )
    require(not (folder / "bad").exists(), "something was written of a bad input")
    say("bad input: told with file and value, nothing written")


def check_cancel(folder, stage):
    """A run that is cancelled ends soon and leaves nothing."""
    began = time.monotonic()
    results, feedback, project = run("routescreen:screen", inputs(folder / "cancelled"), Listener(stage))
    require(feedback.isCanceled(), f"the stage {stage!r} was never shown: {feedback.texts}")
    require("GEOPACKAGE" not in results and not project.mapLayers(), "cancelled, and yet loaded")
    require(not (folder / "cancelled").exists(), "a cancelled run left a folder")
    say(f"cancelled: ended {time.monotonic() - began:.1f} s after the start, nothing left")


def check_inputs_alone(folder):
    """`Check inputs` is offered only where the installed command can."""
    algorithm = QgsApplication.processingRegistry().algorithmById("routescreen:check")
    can_run, why_not = algorithm.canExecute()
    if not can_run:
        require("newer version" in why_not, why_not)
        say("check: not offered, the command has none")
        return
    parameters = {key: value for key, value in inputs(folder).items() if key != "OUTPUT"}
    _, feedback, _ = run("routescreen:check", parameters)
    require(feedback.texts[1:], "the check said nothing")
    say(f"check: {len(feedback.texts) - 1} lines")


def try_everything(command, folder, stage):
    """Switch the plugin on, try all of it, and switch it off."""
    from routescreen_gis import classFactory

    plugin = classFactory(None)
    plugin.initProcessing()
    check_missing(folder)
    ProcessingConfig.setSettingValue("ROUTESCREEN_COMMAND", command)
    check_screen(folder)
    check_file(folder)
    check_cancel(folder, stage)
    check_inputs_alone(folder)
    plugin.unload()
    require(QgsApplication.processingRegistry().providerById("routescreen") is None, "still in the toolbox")


def main():
    """Start the GIS without a screen and try everything."""
    application = QgsApplication([], False)
    application.initQgis()
    Processing.initialize()
    command, folder = sys.argv[1], pathlib.Path(sys.argv[2]).resolve()
    folder.mkdir(parents=True, exist_ok=True)
    try_everything(command, folder, "search" if len(sys.argv) < 4 else sys.argv[3])
    sys.stdout.flush()
    os._exit(0)  # taking the toolbox down without a window ends in a segmentation fault in QGIS 3.22


if __name__ == "__main__":
    main()
