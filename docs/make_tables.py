"""Write the pages that follow from the code, or check that they are in step with it.

docs/inputs.md is made from the schema and the default assumptions, docs/outputs.md from the schema,
docs/commands.md from the commands.

Usage: python docs/make_tables.py [--check]
"""

from __future__ import annotations

import inspect
import sys
from pathlib import Path

import click

from routescreen.assumptions import Assumptions, load_assumptions
from routescreen.cli.group import COMMANDS, group
from routescreen.schema import markdown_tables

DOCS = Path(__file__).parent
MARK = "<!-- Made by docs/make_tables.py; what stands above the mark is kept in docs/parts/{part}. -->"


def page_texts() -> dict[str, str]:
    """Return the text of each generated page by file name."""
    tables = markdown_tables()
    return {
        "inputs.md": _page("inputs_intro.md", f"{tables['inputs'].strip()}\n\n{_words(load_assumptions())}"),
        "outputs.md": _page("outputs_intro.md", tables["results"]),
        "commands.md": _page("commands_intro.md", _commands()),
    }


def _page(part: str, tables: str) -> str:
    intro = (DOCS / "parts" / part).read_text(encoding="utf-8").strip()
    return f"{intro}\n\n{MARK.format(part=part)}\n\n{tables.strip()}\n"


def _words(a: Assumptions) -> str:
    """Return the words that layers may name, with what the default assumptions make of each."""
    kinds = [
        f"| `{kind}` | {t.trench} | {t.drive_under} | {t.shaft_allowed} | {t.required_cover_m:g} "
        f"| {t.cover_reference} | {t.min_angle_deg:g} | {t.half_width_m:g} |"
        for kind, t in a.treatments.items()
    ]
    covers = [
        f"| `{name}` | {'yes' if c.trench_allowed else 'no'} | {c.shaft_allowed} "
        f"| {_codes(a.cover_codes['esa'], name)} | {_codes(a.cover_codes['clc'], name)} |"
        for name, c in a.cover.items()
    ]
    return "\n".join(
        [
            "## Words of the default assumptions",
            "",
            "What stands here holds until a project file or a feature's own columns say otherwise.",
            "`consent` counts as yes for a trench and a drive beneath, and as **no** for a shaft: where too",
            "much ground is closed to shafts that way, there may be no plan. Below a buried service",
            "(`service`) a clearance holds instead of a cover: below a drive see `service_clearance_m` and",
            "`record_uncertainty_m`, in open cut `exposed_clearance_m` and `has_trial_hole`.",
            "",
            "### Kinds of crossings (`kind` in `crossings`)",
            "",
            "| kind | trench | drive beneath | shaft | cover m | counts from | angle deg | half-width m |",
            "| --- | --- | --- | --- | --- | --- | --- | --- |",
            *kinds,
            "",
            "### Cover classes, and the codes that mean them",
            "",
            "| class | trench | shaft | esa | clc |",
            "| --- | --- | --- | --- | --- |",
            *covers,
            "",
            "### Soil classes (`soil` in `ground` and `investigations`)",
            "",
            ", ".join(f"`{name}`" for name in a.soil_names) + ".",
        ]
    )


def _codes(codes: dict[int, str], name: str) -> str:
    return ", ".join(str(code) for code, of in codes.items() if of == name)


def _commands() -> str:
    context = click.Context(group)
    commands = [group.get_command(context, name) for name in COMMANDS]
    return "\n".join(_command(command) for command in commands if command is not None)


def _command(command: click.Command) -> str:
    arguments = [_argument(p) for p in command.params if isinstance(p, click.Argument)]
    usage = " ".join(["routescreen", command.name or "", "[OPTIONS]", *arguments])
    lines = [f"## `{command.name}`", "", f"`{usage}`", "", inspect.cleandoc(command.help or ""), ""]
    options = [p for p in command.params if isinstance(p, click.Option)]
    if options:
        lines += ["| option | meaning |", "| --- | --- |", *map(_option, options), ""]
    return "\n".join(lines)


def _argument(argument: click.Argument) -> str:
    name = argument.human_readable_name + ("..." if argument.nargs != 1 else "")
    return name if argument.required else f"[{name}]"


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
