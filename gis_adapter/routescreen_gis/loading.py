"""Loads finished results, grouped and styled as their own project says, into the project at hand."""

from qgis.core import QgsProcessingException, QgsProject


def load_results(path, project, feedback):
    """Add all layers of the results to a project, in a group of their own on top.

    Parameters
    ----------
    path : pathlib.Path
        The results' own project, ``screened.qgs``.
    project : QgsProject
        Where they go.
    feedback : QgsProcessingFeedback

    Raises
    ------
    QgsProcessingException
        If the results' project can't be read.
    """
    results = QgsProject()
    if not results.read(str(path)):
        raise QgsProcessingException(f"{path} can't be opened: {results.error()}")
    top = project.layerTreeRoot().insertGroup(0, f"Screened: {path.parent.name}")
    for group in results.layerTreeRoot().children():
        branch = top.addGroup(group.name())
        for node in group.findLayers():
            layer = project.addMapLayer(node.layer().clone(), False)
            branch.addLayer(layer).setExpanded(False)
        branch.setExpanded(group.isExpanded())
    feedback.pushInfo(f"Loaded {len(top.findLayers())} layers and tables into the group {top.name()}.")
