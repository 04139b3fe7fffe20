"""What both algorithms share: arguments gathered in the foreground, the command run in the background."""

from qgis.core import QgsProcessingAlgorithm, QgsProcessingException

from routescreen_gis.command import CommandError, run_command
from routescreen_gis.parameters import HELP, source_arguments, source_parameters
from routescreen_gis.setting import command_path

_CAUTION = "<p><b>A screening aid, not a design.</b> Nothing in the results is a permission to dig.</p>"
# docs/errors.md of the command.
_OUTCOMES = {
    1: "There was an internal fault.",
    2: "The command did not understand its options; it may be older than this plugin.",
    3: "The input can't be used as it is.",
    4: "No plan can satisfy the constraints. Other corridors, if there are any, are in the results folder.",
    5: "The audit found a plan in breach. Other corridors, if there are any, are in the results folder.",
    6: "The results can't be written.",
}


class CommandAlgorithm(QgsProcessingAlgorithm):
    """An algorithm that runs one of the command's commands."""

    about = ""

    def initAlgorithm(self, configuration=None):  # noqa: ARG002
        """Declare the inputs."""
        for parameter in source_parameters():
            self.addParameter(parameter)

    def createInstance(self):
        """Return a fresh one for each run."""
        return type(self)()

    def shortHelpString(self):
        """Return what stands beside the dialogue."""
        return f"<p>{self.about}</p>{HELP}{_CAUTION}"

    def canExecute(self):
        """Say whether the command is there, and if not what to do."""
        try:
            command_path()
        except CommandError as error:
            return False, str(error)
        return True, ""

    def prepareAlgorithm(self, parameters, context, feedback):  # noqa: ARG002
        """Gather the arguments while layers may be touched."""
        can_run, why_not = self.canExecute()
        if not can_run:
            raise QgsProcessingException(why_not)
        self._sources, self._scratch = source_arguments(self, parameters, context)
        return True

    def run_command(self, arguments, feedback):
        """Run the command with its sources and more arguments; return whether it came to its end.

        Raises
        ------
        QgsProcessingException
            If it can't be started or failed; the reasons have been told.
        """
        command = [command_path(), *arguments, *self._sources]
        feedback.pushCommandInfo(
            " ".join(f'"{part}"' if " " in part or "|" in part else part for part in command)
        )
        try:
            code = run_command(
                command,
                show=lambda progress: _show(progress, feedback),
                tell=lambda line, is_stderr: _tell(line, is_stderr, feedback),
                is_cancelled=feedback.isCanceled,
            )
        except CommandError as error:
            raise QgsProcessingException(str(error)) from error
        finally:
            self._scratch.cleanup()
        if code:
            raise QgsProcessingException(_OUTCOMES.get(code, f"The command ended with code {code}."))
        return code is not None


def _show(progress, feedback):
    feedback.setProgress(100.0 * float(progress["job_frac"]))
    left_s = progress.get("left_s")
    left = (
        ""
        if not left_s
        else f", about {left_s} s left"
        if left_s < 60
        else f", about {left_s // 60} min left"
    )
    feedback.setProgressText(f"{progress['stage']}{left}")


def _tell(line, is_stderr, feedback):
    if line.startswith("Error: "):
        feedback.reportError(line.removeprefix("Error: "))
    elif line.startswith("Warning: "):
        feedback.pushWarning(line.removeprefix("Warning: "))
    elif is_stderr and line.startswith("Usage: "):
        feedback.reportError(line)
    else:
        feedback.pushInfo(line)
