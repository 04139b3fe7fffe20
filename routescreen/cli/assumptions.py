"""``routescreen assumptions``: the commented file of all assumptions, to keep what a project changes.

Room: ``cli``.
"""

from __future__ import annotations

import click

__all__ = ["assumptions"]


@click.command()
def assumptions() -> None:
    """Write all assumptions with their units and sources to stdout, as TOML.

    Keep of it only what your project changes, and give that file to `routescreen run --assumptions`.
    """
    from routescreen.assumptions import assumptions_text

    click.echo(assumptions_text(), nl=False)
