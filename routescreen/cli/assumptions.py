"""``routescreen assumptions``: the commented file of all assumptions, to keep what a project changes.

Room: ``cli``.
"""

from __future__ import annotations

from pathlib import Path

import click

from routescreen.cli.simple import answered, json_option

__all__ = ["assumptions"]


@click.command()
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option(
    "--only-different",
    "is_only_different",
    is_flag=True,
    help="Write only what FILE changes, each with its default, its unit and where it came from.",
)
@json_option
@click.pass_context
def assumptions(ctx: click.Context, file: Path | None, is_only_different: bool, is_json: bool) -> None:
    """Write all assumptions with their units and sources to stdout, as TOML.

    Keep of it only what your project changes, and give that file to `routescreen run --assumptions`. With
    --only-different the file of a project is read, and what differs from the defaults is written.
    """
    if file is not None and not is_only_different:
        raise click.UsageError("FILE goes with --only-different.")
    if is_json and not is_only_different:
        raise click.UsageError("--json goes with --only-different.")

    def work() -> tuple[str, dict[str, object]]:
        from dataclasses import asdict

        from routescreen.assumptions import assumptions_text, differences, differences_text, flat_items
        from routescreen.assumptions import load_assumptions as load
        from routescreen.inputs.texts import read_utf8

        if not is_only_different:
            return assumptions_text(), {}
        text = None if file is None else read_utf8(file)
        found = differences(text, file="" if file is None else str(file))
        told = differences_text(found, len(flat_items(load(text))))
        return told, {"differences": [asdict(difference) for difference in found]}

    ctx.exit(answered(work, is_json=is_json))
