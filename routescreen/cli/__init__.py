"""The command line: parses, calls one function, prints.

Room: on top of everything; the only one that imports click and rich. Nothing here computes. This
module imports next to nothing, so that an interrupt is handled from the first moment on and
``--help`` answers at once.
"""

from __future__ import annotations

import os

from routescreen.cli.interrupt import Interrupt

__all__ = ["main"]

# Set by a system GIS for its own libraries. Here they would lead PROJ and GDAL, which come with their
# Python packages, to data of another version, and every coordinate system would fail.
FOREIGN_GIS_SETTINGS = ("GDAL_DATA", "GDAL_DRIVER_PATH", "PROJ_DATA", "PROJ_LIB")


def main(arguments: list[str] | None = None) -> int:
    """Run the command line and return its exit code.

    Parameters
    ----------
    arguments : list of str or None
        What follows the command's name; None takes the process's own.
    """
    interrupt = Interrupt.installed()
    for name in FOREIGN_GIS_SETTINGS:
        os.environ.pop(name, None)
    from routescreen.cli.group import run_group

    return run_group(arguments, interrupt)
