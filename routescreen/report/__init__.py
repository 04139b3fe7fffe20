"""The report: one page in one file, made from the result tables alone.

Room: between ``screened`` and ``results``. Tables in, text out; opens nothing but the package's own data.
What it shows is what the tables hold: it adds up and compares, it reckons nothing of engineering or money.
"""

from __future__ import annotations

from routescreen.report.page import report_html

__all__ = ["report_html"]
