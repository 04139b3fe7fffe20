"""Loads finished results, grouped and styled as their own project says, into the project at hand."""

from qgis.core import QgsProcessingException, QgsProject, QgsRelation, QgsRelationContext


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
    loaded = {}  # the layers' ids there, and here
    top = project.layerTreeRoot().insertGroup(0, f"Screened: {path.parent.name}")
    for group in results.layerTreeRoot().children():
        branch = top.addGroup(group.name())
        for node in group.findLayers():
            layer = project.addMapLayer(node.layer().clone(), False)
            branch.addLayer(layer).setExpanded(False)
            loaded[node.layerId()] = layer.id()
        branch.setExpanded(group.isExpanded())
    for relation in results.relationManager().relations().values():
        project.relationManager().addRelation(_between(relation, loaded, project))
    feedback.pushInfo(f"Loaded {len(top.findLayers())} layers and tables into the group {top.name()}.")


def _between(relation, loaded, project):
    """Return a relation between the loaded layers instead."""
    joined = QgsRelation(QgsRelationContext(project))
    joined.setName(relation.name())
    joined.setReferencingLayer(loaded[relation.referencingLayerId()])
    joined.setReferencedLayer(loaded[relation.referencedLayerId()])
    for column, named in relation.fieldPairs().items():
        joined.addFieldPair(column, named)
    joined.setId(f"{relation.id()}_{joined.referencedLayerId()}")  # of each run its own
    return joined
