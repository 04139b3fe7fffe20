"""The only reader of finished results: from a results folder to checked tables, or to one clear error.

Room: ``resultsread``. May import ``errors``, ``schema``, ``unfinished``, the readers of ``inputs`` and the
schema's check of ``results``. Opens files for reading only.
"""

from __future__ import annotations

from routescreen.resultsread.read import Results, read_all, read_results

__all__ = ["Results", "read_all", "read_results"]
