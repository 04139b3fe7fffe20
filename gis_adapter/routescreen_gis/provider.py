"""The provider: its algorithms, and the setting that says where the command is."""

import pathlib

from processing.core.ProcessingConfig import ProcessingConfig, Setting
from qgis.core import QgsProcessingProvider
from qgis.PyQt.QtGui import QIcon

from routescreen_gis.check_algorithm import CheckAlgorithm
from routescreen_gis.screen_algorithm import ScreenAlgorithm
from routescreen_gis.setting import COMMAND, DESCRIPTION, GROUP

_ICON = pathlib.Path(__file__).with_name("icon.svg")


class Provider(QgsProcessingProvider):
    """The algorithms of routescreen in the toolbox."""

    def load(self):
        """Register the setting, then the algorithms."""
        ProcessingConfig.settingIcons[GROUP] = self.icon()
        ProcessingConfig.addSetting(Setting(GROUP, COMMAND, DESCRIPTION, "", valuetype=Setting.FILE))
        ProcessingConfig.readSettings()
        self.refreshAlgorithms()
        return True

    def unload(self):
        """Take the setting away."""
        ProcessingConfig.removeSetting(COMMAND)

    def loadAlgorithms(self):
        """Add the algorithms."""
        for algorithm in (ScreenAlgorithm(), CheckAlgorithm()):
            self.addAlgorithm(algorithm)

    def id(self):
        """Return the first part of the algorithms' ids."""
        return "routescreen"

    def name(self):
        """Return what the toolbox shows."""
        return "routescreen"

    def icon(self):
        """Return the sign in the toolbox."""
        return QIcon(str(_ICON))
