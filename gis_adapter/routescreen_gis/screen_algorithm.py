"""The algorithm that screens a corridor and loads the plan."""

import pathlib

from qgis.core import (
    QgsProcessingOutputFile,
    QgsProcessingOutputHtml,
    QgsProcessingParameterBoolean,
    QgsProcessingParameterFolderDestination,
    QgsProcessingUtils,
)

from routescreen_gis.base_algorithm import CommandAlgorithm
from routescreen_gis.loading import load_results

OUTPUT, LOAD, GEOPACKAGE, REPORT = "OUTPUT", "LOAD", "GEOPACKAGE", "REPORT"
FILES = {GEOPACKAGE: "screened.gpkg", REPORT: "report.html"}


class ScreenAlgorithm(CommandAlgorithm):
    """Runs ``routescreen run``."""

    about = (
        "Finds where the cables go in open trench and where trenchless, places the shafts, proves each drive "
        "and the cables, prices the plan, and loads it with its styles."
    )

    def name(self):
        """Return the second part of the id."""
        return "screen"

    def displayName(self):
        """Return what the toolbox shows."""
        return "Screen a corridor"

    def initAlgorithm(self, configuration=None):
        """Declare inputs and outputs."""
        super().initAlgorithm(configuration)
        self.addParameter(QgsProcessingParameterBoolean(LOAD, "Load the plan into the project", True))
        self.addParameter(QgsProcessingParameterFolderDestination(OUTPUT, "Results folder"))
        self.addOutput(QgsProcessingOutputFile(GEOPACKAGE, "The plan"))
        self.addOutput(QgsProcessingOutputHtml(REPORT, "Report"))

    def processAlgorithm(self, parameters, context, feedback):
        """Run the command in the background."""
        self._project = None
        folder = self.parameterAsString(parameters, OUTPUT, context)
        if pathlib.Path(QgsProcessingUtils.tempFolder()) in pathlib.Path(folder).parents:
            feedback.pushWarning("The results folder is temporary: it goes when the GIS is closed.")
        if not self.run_command(["run", "--progress", "json", "-o", folder], feedback):
            return {}
        results = {key: str(pathlib.Path(folder) / name) for key, name in FILES.items()}
        if self.parameterAsBool(parameters, LOAD, context):
            self._project = pathlib.Path(folder) / "screened.qgs"
        return {OUTPUT: folder, **results}

    def postProcessAlgorithm(self, context, feedback):
        """Load the plan, where the project may be touched."""
        if self._project is not None and context.project() is not None:
            load_results(self._project, context.project(), feedback)
        return {}
