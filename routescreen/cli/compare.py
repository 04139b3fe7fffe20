"""``routescreen compare``: what plans differ in, where, why and by how much.

Room: ``cli``.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from routescreen.cli.options import known_language
from routescreen.cli.simple import answered, clean_up, json_option

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pyproj import CRS

    from routescreen.answers.compare import Comparison

__all__ = ["compare"]

_PATH = click.Path(path_type=Path)


@click.command(
    epilog="Exit codes: 0 done, 1 internal fault, 2 usage, 3 results not usable or nothing to compare, 6 "
    "output not writable."
)
@click.argument("results", type=_PATH, nargs=-1, required=True)
@click.option("--corridor", metavar="ID", help="Compare only this corridor.")
@click.option(
    "--apart",
    "tolerance_m",
    type=click.FloatRange(min=0.0, min_open=True),
    default=5.0,
    metavar="M",
    help="How far apart two places may lie and still count as the same [default: 5].",
)
@click.option(
    "-o", "--output", type=_PATH, metavar="DIR", help="Write compared.gpkg and compared.html there."
)
@click.option(
    "--language",
    default="en",
    metavar="CODE",
    callback=known_language,
    help="Language of compared.html, such as de [default: en].",
)
@json_option
@click.pass_context
def compare(
    ctx: click.Context,
    results: tuple[Path, ...],
    corridor: str | None,
    tolerance_m: float,
    output: Path | None,
    language: str,
    is_json: bool,
) -> None:
    """Say what the plans in RESULTS differ in: where, why and by how much, the dearest first.

    RESULTS are folders that `routescreen run` wrote: each further one is compared with the first. Of a single
    folder every corridor is compared with its first one.
    """

    def work() -> tuple[str, dict[str, object]]:
        from routescreen.answers.compare import compare_plans
        from routescreen.answers.compare_show import comparison_json, comparison_text
        from routescreen.answers.plans import Folder, pairs_of
        from routescreen.answers.words import wrapped
        from routescreen.resultsread import read_all
        from routescreen.schema import CAUTION

        clean_up(ctx, output)
        read = read_all(results)
        folders = [Folder(r.name, {i: r.of(i) for i in r.corridor_ids}, r.crs) for r in read]
        found = [compare_plans(a, b, tolerance_m=tolerance_m) for a, b in pairs_of(folders, corridor)]
        files = [] if output is None else _written(found, folders[0].crs, output, language)
        text = "\n".join(map(comparison_text, found))
        told = "".join(f"Written: {file}\n" for file in files)
        answer: dict[str, object] = {
            "comparisons": [comparison_json(c) for c in found],
            "files": files,
            "caution": CAUTION,
        }
        return f"{text}\n{told}" + "\n".join(wrapped(CAUTION)) + "\n", answer

    ctx.exit(answered(work, is_json=is_json))


def _written(found: Sequence[Comparison], crs: CRS, folder: Path, language: str) -> list[str]:
    from datetime import UTC, datetime

    from routescreen.results.compared import write_comparison

    stamp_utc = datetime.now(UTC)
    paths = write_comparison(found, crs, folder, stamp_utc=stamp_utc, language=language)
    return [str(path) for path in paths]
