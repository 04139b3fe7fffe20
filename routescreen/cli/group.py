"""The group of commands, each loaded only when it is called.

Room: ``cli``.
"""

from __future__ import annotations

import importlib

import click

from routescreen import __version__
from routescreen.cli.interrupt import EXIT_INTERRUPTED, Interrupt

__all__ = ["COMMANDS", "group", "run_group"]

COMMANDS = {
    "assumptions": "Write the commented file of all assumptions.",
    "check": "Look at the inputs of a run, without running it.",
    "compare": "Say what plans differ in, where and by how much.",
    "explain": "Say why a plan is as it is at one place.",
    "run": "Screen the corridors of a GeoPackage and write the plan.",
}


class LazyGroup(click.Group):
    """A group that knows its commands' names and imports the module of the one that is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Return the names of the commands."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Return the command of that name, None where there is none."""
        if cmd_name not in COMMANDS:
            return None
        command = getattr(importlib.import_module(f"routescreen.cli.{cmd_name}"), cmd_name)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """Write the commands' help without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="routescreen")
def group() -> None:
    """Screen corridors of underground high-voltage DC cables.

    Says where to trench and where to go trenchless, where shafts stand, whether each drive can be
    built, and what it all costs.
    """


def run_group(arguments: list[str] | None, interrupt: Interrupt) -> int:
    """Run the command that `arguments` name and return the exit code."""
    try:
        code = group.main(args=arguments, prog_name="routescreen", standalone_mode=False, obj=interrupt)
    except click.ClickException as error:
        error.show()
        return error.exit_code
    except click.Abort:
        return EXIT_INTERRUPTED
    return code if isinstance(code, int) else 0
