"""``routescreen run``: the whole job for the corridors of one GeoPackage.

Room: ``cli``.
"""

from __future__ import annotations

from pathlib import Path

import click

from routescreen.cli.interrupt import Interrupt
from routescreen.cli.options import known_language, source_options
from routescreen.cli.progress import BAR, JSON

__all__ = ["run"]

_FILE = click.Path(path_type=Path)


@click.command(
    epilog="Exit codes: 0 done, 1 internal fault, 2 usage, 3 input not usable, 4 no plan can satisfy "
    "the constraints, 5 the audit found the plan in breach, 6 output not writable, 130 interrupted."
)
@click.argument("gpkg", type=_FILE)
@click.option("-o", "--output", type=_FILE, metavar="DIR", help="Results folder [default: <GPKG>_screened].")
@click.option("--assumptions", type=_FILE, metavar="FILE", help="TOML with what differs from the defaults.")
@source_options
@click.option(
    "--language",
    metavar="CODE",
    callback=known_language,
    help="Language of the results, such as de; wins over the assumptions' report.language.",
)
@click.option("--quiet", "is_quiet", is_flag=True, help="Show no progress and no summary.")
@click.option("--json", "is_json", is_flag=True, help="Print the summary as one JSON object on stdout.")
@click.option(
    "--progress",
    type=click.Choice([BAR, JSON]),
    default=BAR,
    help="On stderr: a bar, if that is a terminal (default), or one JSON object a line for programs.",
)
@click.option("--log", "log_file", type=_FILE, metavar="FILE", help="Write stages, times and memory here.")
@click.pass_context
def run(
    ctx: click.Context,
    gpkg: Path,
    output: Path | None,
    assumptions: Path | None,
    language: str | None,
    is_quiet: bool,
    is_json: bool,
    progress: str,
    log_file: Path | None,
) -> None:
    """Screen the corridors of GPKG and write the plan.

    Finds layers and rasters in or beside GPKG; options only override.
    """
    from routescreen.cli.job_runner import Shown, run_and_answer
    from routescreen.cli.options import sources_from
    from routescreen.job import JobRequest

    folder = output or Path(f"{gpkg.stem}_screened")
    request = JobRequest(sources_from(ctx, gpkg), folder, assumptions, language)
    shown = Shown(is_quiet=is_quiet, is_json=is_json, log_file=log_file, progress=progress)
    ctx.exit(run_and_answer(request, shown, ctx.obj or Interrupt()))
