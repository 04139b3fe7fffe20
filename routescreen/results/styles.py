"""The styles of all spatial result layers, as texts and as a folder of SLD files.

Room: ``results``. Imports its own neighbours.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from routescreen.results.files import replace_text
from routescreen.results.style_qml import qml_text, table_qml_text
from routescreen.results.style_sld import sld_text
from routescreen.results.symbols import LAYER_STYLES
from routescreen.schema import RESULT_LAYERS

if TYPE_CHECKING:
    from pathlib import Path


def sld_texts() -> dict[str, str]:
    """Return the OGC SLD document of every spatial layer by its name."""
    return {style.layer: sld_text(style) for style in LAYER_STYLES}


def qml_texts() -> dict[str, str]:
    """Return what a desktop GIS loads of each layer (style, headings) and table (headings), by name."""
    tables = {layer.name: table_qml_text(layer) for layer in RESULT_LAYERS if not layer.is_spatial}
    return {style.layer: qml_text(style) for style in LAYER_STYLES} | tables


def write_styles(folder: Path) -> tuple[Path, ...]:
    """Write one ``.sld`` file a spatial layer and return the paths.

    Raises
    ------
    OutputError
        If the folder can't be written.
    """
    paths = []
    for layer, text in sld_texts().items():
        path = folder / f"{layer}.sld"
        replace_text(path, text)
        paths.append(path)
    return tuple(paths)
