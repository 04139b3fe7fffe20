"""The command line: parses, calls one function, prints.

Room: on top of everything; the only one that imports click and rich. Nothing here computes. This
module imports next to nothing, so that an interrupt is handled from the first moment on and
``--help`` answers at once.
"""

from __future__ import annotations

import gc
import os

from routescreen.cli.interrupt import Interrupt

__all__ = ["main"]

# Set by a system GIS for its own libraries. Here they would lead PROJ and GDAL, which come with their
# Python packages, to data of another version, and every coordinate system would fail.
FOREIGN_GIS_SETTINGS = ("GDAL_DATA", "GDAL_DRIVER_PATH", "PROJ_DATA", "PROJ_LIB")

# Objects that are made before a look for circular garbage, and looks before a deeper one: a batch process
# makes many objects and little of that.
SELDOM = (50_000, 20, 100)


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
    is_own_process = arguments is None
    if is_own_process:
        gc.set_threshold(*SELDOM)
    from routescreen.cli.group import run_group

    code = run_group(arguments, interrupt)
    if is_own_process:
        gc.freeze()  # the process ends: no look through all that the libraries hold
    return code
