"""How the tests read what was written: with other programs' means than those that write it."""

from __future__ import annotations

import dataclasses
import shutil
import subprocess
from typing import TYPE_CHECKING

import openpyxl

from routescreen.results.xlsx import write_xlsx
from routescreen.tender import About, words_of
from routescreen.tender.sheets import Book, Formula
from tests.results import example

if TYPE_CHECKING:
    from pathlib import Path

    from openpyxl.workbook import Workbook

SOFFICE = shutil.which("soffice")

# Names that must stay text wherever they stand.
NASTY = [
    "=cmd|' /C calc'!A0",
    "</script><script>window.hit=1</script>",
    "\"quotes\" & 'more' ]]> <b>",
    "+1-2@SUM(A1)",
    "ü日本 Łódź 🚧 " * 40,
    "line one\nline two\ttab \x01\x0b control",
    "{\\P%%d^J} %%%%c",
]

# LibreOffice works out every formula again when it opens a file, whatever value the file holds.
_ALWAYS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse">
<value>0</value></prop></item></oor:items>
"""


def about(language: str = "en", corridor_id: str = "west") -> About:
    return About(corridor_id, example.METRES.name, example.STAMP, words_of(language), "EUR", "2025")


def without_values(book: Book) -> Book:
    """The same book with 0 stored for every formula, so that a right value can only be worked out."""

    def bare(cell):
        return Formula(cell.text, 0.0) if isinstance(cell, Formula) else cell

    sheets = []
    for sheet in book.sheets:
        rows = tuple(dataclasses.replace(row, cells=tuple(map(bare, row.cells))) for row in sheet.rows)
        sheets.append(dataclasses.replace(sheet, rows=rows))
    return dataclasses.replace(book, sheets=tuple(sheets))


def written(book: Book, path: Path) -> Path:
    write_xlsx(book, path, stamp_utc=example.STAMP)
    return path


def recalculated(files: list[Path], folder: Path) -> list[Workbook]:
    """Open workbooks in LibreOffice without a screen, let it calculate, and return what it saves."""
    profile = folder / "profile"
    (profile / "user").mkdir(parents=True)
    (profile / "user" / "registrymodifications.xcu").write_text(_ALWAYS)
    subprocess.run(
        [
            str(SOFFICE),
            f"-env:UserInstallation={profile.as_uri()}",
            "--headless",
            "--convert-to",
            "xlsx",
            "--outdir",
            str(folder / "done"),
            *map(str, files),
        ],
        check=True,
        capture_output=True,
        timeout=300,
    )
    return [openpyxl.load_workbook(folder / "done" / file.name, data_only=True) for file in files]


def cents(value: object) -> int:
    """Whole cents, refusing what isn't within a hundredth of one."""
    assert isinstance(value, int | float), value
    whole = round(100 * value)
    assert abs(100 * value - whole) < 0.01, value
    return whole
