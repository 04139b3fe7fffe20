"""The plugin: adds the provider to the toolbox and takes it away again."""

from qgis.core import QgsApplication

from routescreen_gis.provider import Provider


class Plugin:
    """What the GIS switches on and off."""

    def __init__(self):
        self.provider = None

    def initProcessing(self):
        """Add the provider; also called without a screen."""
        self.provider = Provider()
        QgsApplication.processingRegistry().addProvider(self.provider)

    def initGui(self):
        """Add the provider when the window is there."""
        self.initProcessing()

    def unload(self):
        """Take the provider away."""
        if self.provider is not None:
            QgsApplication.processingRegistry().removeProvider(self.provider)
            self.provider = None
