"""The sheets: plans, long sections and crossings on A3, made from the result tables.

Room: between ``screened`` and ``results``. Tables in, pages of a PDF out, into a stream that it is handed.
Layout (what goes where, in millimetres) is pure and apart from ``pdf``, which alone knows of the file.
"""

from __future__ import annotations

from routescreen.sheets.book import write_sheets

__all__ = ["write_sheets"]
