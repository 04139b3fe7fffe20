"""The flags that say where the input is, declared once.

Room: ``cli``.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from routescreen.schema import INPUT_LAYERS, INPUT_RASTERS

if TYPE_CHECKING:
    from pathlib import Path

    from routescreen.inputs import Sources

__all__ = ["known_language", "source_options", "sources_from"]

_Command = TypeVar("_Command", bound=Callable[..., Any])
_KEY = "routescreen.sources"


def known_language(_ctx: click.Context, _parameter: click.Parameter, code: str | None) -> str | None:
    """Refuse a language that there is none of, as a slip in the command and before anything is read."""
    from routescreen.languages import languages

    if code is not None and code not in languages():
        raise click.BadParameter(f"it is one of {', '.join(languages())}")
    return code


def _collect(ctx: click.Context, parameter: click.Parameter, value: object) -> None:
    if value is not None and parameter.name is not None:
        ctx.meta.setdefault(_KEY, {})[parameter.name] = value


def _source(name: str, meaning: str, metavar: str) -> Callable[[_Command], _Command]:
    flag = f"--{name.replace('_', '-')}"
    return click.option(flag, name, metavar=metavar, help=meaning, expose_value=False, callback=_collect)


def _flag(flag: str, name: str, meaning: str) -> Callable[[_Command], _Command]:
    return click.option(
        flag, name, is_flag=True, default=None, help=meaning, expose_value=False, callback=_collect
    )


def source_options(command: _Command) -> _Command:
    """Give a command one option for each layer and raster, and those that say how to read them."""
    options = [
        *(
            _source(layer.name, f"Read the layer {layer.name} from here.", "FILE[|LAYER]")
            for layer in INPUT_LAYERS
            if layer.name != "corridor"
        ),
        *(
            _source(raster.name, f"Read the {raster.name} raster from here.", "FILE")
            for raster in INPUT_RASTERS
        ),
        _source("osm", "Take crossings and ground cover from an OpenStreetMap extract.", "FILE"),
        _flag("--flat", "is_flat", "Go without terrain, on flat ground."),
        _flag(
            "--terrain-is-bed", "terrain_is_bed", "Over water the terrain is the bed, not the water level."
        ),
        _source("cover_codes", "Code list of the ground cover: esa (default) or clc.", "NAME"),
    ]
    for option in reversed(options):
        command = option(command)
    return command


def sources_from(ctx: click.Context, gpkg: Path) -> Sources:
    """Return what the command was told to read."""
    from routescreen.inputs import Sources

    return Sources(gpkg=gpkg, **ctx.meta.get(_KEY, {}))
