"""``routescreen check``: the inputs alone, in seconds.

Room: ``cli``.
"""

from __future__ import annotations

from pathlib import Path

import click

from routescreen.cli.options import source_options
from routescreen.cli.simple import answered, clean_up, json_option

__all__ = ["check"]

_FILE = click.Path(path_type=Path)


@click.command(
    epilog="Exit codes are those of `run`: 0 the inputs can be used, 1 internal fault, 2 usage, 3 input not "
    "usable."
)
@click.argument("gpkg", type=_FILE)
@click.option("--assumptions", type=_FILE, metavar="FILE", help="TOML with what differs from the defaults.")
@source_options
@json_option
@click.pass_context
def check(ctx: click.Context, gpkg: Path, assumptions: Path | None, is_json: bool) -> None:
    """Look at the inputs of a run for GPKG, without running it.

    Says what was found, what is missing and what will be assumed for it, and how long a run will take; or
    lists every problem. Reads exactly as `routescreen run` does; writes nothing.
    """

    def work() -> tuple[str, dict[str, object]]:
        from routescreen.answers.findings import findings_json, findings_text
        from routescreen.checking import check_inputs
        from routescreen.cli.options import sources_from
        from routescreen.runlog import RunLog

        clean_up(ctx)
        used, facts = check_inputs(sources_from(ctx, gpkg), assumptions, RunLog())
        return findings_text(facts, used), {"corridors": findings_json(facts, used)}

    ctx.exit(answered(work, is_json=is_json))
