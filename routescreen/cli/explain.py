"""``routescreen explain``: why the plan is as it is at one place, in plain sentences.

Room: ``cli``.
"""

from __future__ import annotations

from pathlib import Path

import click

from routescreen.cli.simple import answered, clean_up, json_option

__all__ = ["explain"]


@click.command(
    epilog="Exit codes: 0 done, 1 internal fault, 2 usage, 3 results not usable or nothing of that name."
)
@click.argument("results", type=click.Path(path_type=Path))
@click.option(
    "--at",
    required=True,
    metavar="PLACE",
    help="Chainage (12+345 or '12345 m'), or id of a section, drive, shaft, crossing or joint bay; of a "
    "crossing also its name or feature.",
)
@click.option("--corridor", metavar="ID", help="Which corridor, where the results hold several.")
@json_option
@click.pass_context
def explain(ctx: click.Context, results: Path, at: str, corridor: str | None, is_json: bool) -> None:
    """Say why the plan in RESULTS is as it is at one place.

    What is there and why, levels, cover, the checks that govern, cost, other ways and what they cost more,
    who must agree, hazards. RESULTS is the folder that `routescreen run` wrote.
    """

    def work() -> tuple[str, dict[str, object]]:
        from routescreen.answers.places import choose_corridor, find_place
        from routescreen.answers.show import explanation_json, explanation_text
        from routescreen.answers.told import explain as told_of
        from routescreen.resultsread import read_results

        clean_up(ctx)
        read = read_results(results)
        corridor_id = choose_corridor(read.corridor_ids, corridor, at, read.name)
        tables = read.of(corridor_id)
        told = told_of(tables, find_place(tables, corridor_id, at, read.name))
        return (
            explanation_text(told, is_in_breach=read.is_in_breach),
            explanation_json(told, corridor_id, is_in_breach=read.is_in_breach),
        )

    ctx.exit(answered(work, is_json=is_json))
