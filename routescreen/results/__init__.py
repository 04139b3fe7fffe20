"""The results folder: the only room that writes files.

Room: ``results``, between ``screen`` and ``cli``. May import ``errors``, ``unfinished``,
``schema``, ``plan``, ``screened``, and ``report`` and ``tender`` for what stands in the files.
"""

from __future__ import annotations

from routescreen.results.check import ResultFaultError
from routescreen.results.tables import result_tables
from routescreen.results.write import check_writable, remove_unwritten, write_results
from routescreen.screened import ScreenedCorridor

__all__ = [
    "ResultFaultError",
    "ScreenedCorridor",
    "check_writable",
    "remove_unwritten",
    "result_tables",
    "write_results",
]
