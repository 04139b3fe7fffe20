"""The only readers: from files to checked tables, or to one error that lists all that is wrong.

Room: ``inputs``. Opens files for reading only; computes nothing about routes.
"""

from __future__ import annotations

from routescreen.inputs.read import read_inputs
from routescreen.inputs.sources import Sources

__all__ = ["Sources", "read_inputs"]
