"""Write the pages that follow from the code, or check that they are in step with it.

docs/inputs.md and docs/outputs.md are made from the schema, docs/commands.md from the commands.

Usage: python docs/make_tables.py [--check]
"""

from __future__ import annotations

import inspect
import sys
from pathlib import Path

import click

from routescreen.cli.group import COMMANDS, group
from routescreen.schema import markdown_tables

DOCS = Path(__file__).parent
MARK = "<!-- Made by docs/make_tables.py; what stands above the mark is kept in docs/parts/{part}. -->"


def page_texts() -> dict[str, str]:
    """Return the text of each generated page by file name."""
    tables = markdown_tables()
    return {
        "inputs.md": _page("inputs_intro.md", tables["inputs"]),
        "outputs.md": _page("outputs_intro.md", tables["results"]),
        "commands.md": _page("commands_intro.md", _commands()),
    }


def _page(part: str, tables: str) -> str:
    intro = (DOCS / "parts" / part).read_text(encoding="utf-8").strip()
    return f"{intro}\n\n{MARK.format(part=part)}\n\n{tables.strip()}\n"


def _commands() -> str:
    context = click.Context(group)
    commands = [group.get_command(context, name) for name in COMMANDS]
    return "\n".join(_command(command) for command in commands if command is not None)


def _command(command: click.Command) -> str:
    arguments = [p.human_readable_name for p in command.params if isinstance(p, click.Argument)]
    usage = " ".join(["routescreen", command.name or "", "[OPTIONS]", *arguments])
    lines = [f"## `{command.name}`", "", f"`{usage}`", "", inspect.cleandoc(command.help or ""), ""]
    options = [p for p in command.params if isinstance(p, click.Option)]
    if options:
        lines += ["| option | meaning |", "| --- | --- |", *map(_option, options), ""]
    return "\n".join(lines)


def _option(option: click.Option) -> str:
    value = "" if option.is_flag else f" {option.metavar or option.type.name.upper()}"
    names = f"{', '.join(option.opts)}{value}".replace("|", "\\|")
    return f"| `{names}` | {(option.help or '').replace('|', chr(92) + '|')} |"


def main(arguments: list[str]) -> int:
    """Write the pages, or with ``--check`` say which are out of step; returns the exit code."""
    stale = []
    for page, text in page_texts().items():
        path = DOCS / page
        if "--check" not in arguments:
            path.write_text(text, encoding="utf-8")
        elif not path.exists() or path.read_text(encoding="utf-8") != text:
            stale.append(page)
    for page in stale:
        print(f"docs/{page} is out of step: run python docs/make_tables.py", file=sys.stderr)
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
