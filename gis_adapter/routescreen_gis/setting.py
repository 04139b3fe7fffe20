"""Where the command is: what the user has set, else what the system finds."""

from processing.core.ProcessingConfig import ProcessingConfig

from routescreen_gis.command import find_command

GROUP = "routescreen"
COMMAND = "ROUTESCREEN_COMMAND"
DESCRIPTION = "The command routescreen, or the folder of its virtual environment"


def command_path():
    """Return the path of the command; raises CommandError, which says what to do, where there is none."""
    return find_command(ProcessingConfig.getSetting(COMMAND) or "")
