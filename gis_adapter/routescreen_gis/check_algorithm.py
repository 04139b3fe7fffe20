"""The algorithm that looks at the inputs alone."""

import pathlib

from routescreen_gis.base_algorithm import CommandAlgorithm
from routescreen_gis.command import CommandError, has_command
from routescreen_gis.setting import command_path


class CheckAlgorithm(CommandAlgorithm):
    """Runs ``routescreen check``, where the installed version has it."""

    about = "Says in seconds what was found in the inputs, what is missing and what will be assumed."

    def name(self):
        """Return the second part of the id."""
        return "check"

    def displayName(self):
        """Return what the toolbox shows."""
        return "Check inputs"

    def canExecute(self):
        """Say whether the command is there and knows how to check."""
        can_run, why_not = super().canExecute()
        if not can_run:
            return can_run, why_not
        path = command_path()
        try:
            is_known = has_command(path, "check", pathlib.Path(path).stat().st_mtime)
        except CommandError as error:
            return False, str(error)
        return is_known, "" if is_known else f"{path} has no command check: install a newer version."

    def processAlgorithm(self, parameters, context, feedback):  # noqa: ARG002
        """Run the command in the background."""
        self.run_command(["check"], feedback)
        return {}
