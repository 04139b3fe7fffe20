"""A workbook's sheets written as an XLSX file, row by row so that memory stays small.

Room: ``results``. Imports ``tender``'s plain data; the one place that uses the spreadsheet library, which is
loaded when it is needed and not before.
"""

from __future__ import annotations

import re
from math import ceil
from typing import TYPE_CHECKING, Any

from routescreen.tender.sheets import FIRST_ROW, HEADING_ROW, Formula

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from pathlib import Path

    from routescreen.tender.sheets import Book, Cell, Kind, Look, Row, Sheet

_PAPERS = {"A3": 8, "A4": 9}
_NUMBERS: Mapping[Kind, str] = {
    "count": "0",
    "tenth": "#,##0.0",
    "length": "#,##0.00",
    "quantity": "#,##0.000",
    "rate": "#,##0.00##",
    "open": "#,##0.00##",
    "amount": "#,##0.00",
    "share": "0.000",
    "figure": "#,##0.00",
}
_LOOKS: Mapping[Look, dict[str, object]] = {
    "line": {"bottom": 1, "bottom_color": "#C9CED4"},
    "plain": {},
    "strong": {"bold": True},
    "class": {"bold": True, "bg_color": "#E6ECF0"},
    "total": {"bold": True, "top": 1},
    "grand": {"bold": True, "top": 2, "bottom": 6, "bg_color": "#E6ECF0"},
}
_HEADING = {
    "bold": True,
    "bg_color": "#0B3C5D",
    "font_color": "#FFFFFF",
    "text_wrap": True,
    "valign": "vcenter",
}
_LINE_POINTS, _MOST_LINES = 15, 27  # 409 points is the most that a row may have
_SIGNS_FRAC = 1.15  # of a column's width in digits that a line of words fills before it is broken
_MOST_SIGNS = 32_767  # of a cell; the file format's own limit
_NOT_IN_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


def write_xlsx(book: Book, path: Path, *, stamp_utc: datetime) -> None:
    """Write a workbook; the same book and time give the same bytes.

    Parameters
    ----------
    book : Book
    path : Path
    stamp_utc : datetime
        Time of the run, which stands as the file's time of making.

    Raises
    ------
    OSError
        If it can't be written.
    """
    import xlsxwriter
    from xlsxwriter.exceptions import FileCreateError

    options = {"constant_memory": True, "tmpdir": str(path.parent), "strings_to_formulas": False}
    workbook = xlsxwriter.Workbook(str(path), options)
    try:
        workbook.set_properties({"title": clean(book.title), "created": stamp_utc.replace(tzinfo=None)})
        # whoever opens it sees sums of what stands there, also where a reader has changed nothing
        workbook.set_calc_mode("auto")
        formats = _Formats(workbook)
        for sheet in book.sheets:
            _write_sheet(workbook.add_worksheet(sheet.name), sheet, book, formats)
        workbook.close()
    except FileCreateError as error:  # a full disk and the like, as every other file tells it
        raise OSError(*error.args[0].args) from error


def clean(text: str) -> str:
    """Return a text as a cell can hold it: no signs that XML has no place for, and not too many."""
    return _NOT_IN_XML.sub("�", text)[:_MOST_SIGNS]


class _Formats:
    """Formats by kind of column and look of row, made once each."""

    def __init__(self, workbook: Any) -> None:
        self._workbook = workbook
        self._made: dict[tuple[Kind, Look], Any] = {}
        self.heading = workbook.add_format({**_HEADING, "indent": 1})
        self.number_heading = workbook.add_format({**_HEADING, "align": "right"})
        self.title = workbook.add_format({"bold": True, "font_size": 15, "font_color": "#0B3C5D"})
        self.note = workbook.add_format({"italic": True, "font_color": "#535C66"})

    def of(self, kind: Kind, look: Look) -> Any:
        if (kind, look) not in self._made:
            form: dict[str, object] = {"valign": "top", **_LOOKS[look]}
            if kind in _NUMBERS:
                form["num_format"] = _NUMBERS[kind]
            if kind in ("text", "long") and look == "line":
                form |= {"align": "left", "indent": 1}  # off the number beside it
            if kind == "long":
                form["text_wrap"] = True
            if kind == "figure":
                form["align"] = "left"
            if kind == "open" and look == "line":
                form |= {"locked": False, "bg_color": "#FFF7D6", "border": 1, "border_color": "#C9CED4"}
            self._made[kind, look] = self._workbook.add_format(form)
        return self._made[kind, look]


def _write_sheet(worksheet: Any, sheet: Sheet, book: Book, formats: _Formats) -> None:
    for number, column in enumerate(sheet.columns):
        worksheet.set_column(number, number, column.width)
    _set_page(worksheet, sheet, book)
    worksheet.write_string(0, 0, clean(sheet.title), formats.title)
    for number, note in enumerate(sheet.notes, start=1):
        worksheet.write_string(number, 0, clean(note), formats.note)
    if sheet.has_headings:
        lines = max(ceil(1.2 * len(column.heading) / column.width) for column in sheet.columns)
        worksheet.set_row(HEADING_ROW - 1, _LINE_POINTS * min(max(lines, 2), 4))
        for number, column in enumerate(sheet.columns):
            form = formats.heading if column.kind in ("text", "long") else formats.number_heading
            worksheet.write_string(HEADING_ROW - 1, number, clean(column.heading), form)
    start = FIRST_ROW if sheet.has_headings else 3
    for number, row in enumerate(sheet.rows, start=start - 1):
        _write_row(worksheet, number, row, sheet, formats)
    if sheet.has_filter:
        last = (HEADING_ROW - 1 + len(sheet.rows), len(sheet.columns) - 1)
        worksheet.autofilter(HEADING_ROW - 1, 0, *last)
    if sheet.is_protected:
        worksheet.protect("", {"format_columns": True, "format_rows": True})


def _write_row(worksheet: Any, number: int, row: Row, sheet: Sheet, formats: _Formats) -> None:
    worksheet.set_row(number, _LINE_POINTS * _lines(row, sheet))
    for column, cell in enumerate(row.cells):
        kind = sheet.columns[column].kind
        if kind == "long" and isinstance(cell, float | int | Formula):
            kind = "figure"
        # a heading within the table runs on over its neighbours instead of being broken in its own column
        if row.look in ("strong", "class") and kind == "long":
            kind = "text"
        _write_cell(worksheet, number, column, cell, formats.of(kind, row.look))
    for column in range(len(row.cells), len(sheet.columns)):
        if row.look not in ("plain", "strong", "line"):
            worksheet.write_blank(number, column, None, formats.of("text", row.look))


def _lines(row: Row, sheet: Sheet) -> int:
    """Return how many lines the row's texts take: not every program that opens the file works that out."""
    if row.look in ("strong", "class"):
        return 1
    pairs = zip(row.cells, sheet.columns, strict=False)
    long = [(len(c), column.width) for c, column in pairs if isinstance(c, str) and column.kind == "long"]
    return min(max((ceil(size / (_SIGNS_FRAC * width)) for size, width in long), default=1), _MOST_LINES)


def _write_cell(worksheet: Any, row: int, column: int, cell: Cell, form: Any) -> None:
    """Write a cell by its type; a text is never taken for anything else."""
    if isinstance(cell, Formula):
        worksheet.write_formula(row, column, cell.text, form, cell.value)
    elif isinstance(cell, str):
        worksheet.write_string(row, column, clean(cell), form)
    elif cell is None:
        worksheet.write_blank(row, column, None, form)
    else:
        worksheet.write_number(row, column, cell, form)


def _set_page(worksheet: Any, sheet: Sheet, book: Book) -> None:
    worksheet.set_landscape()
    worksheet.set_paper(_PAPERS[sheet.paper])
    worksheet.fit_to_pages(1, 0)
    worksheet.set_margins(left=0.4, right=0.4, top=0.7, bottom=0.6)
    worksheet.set_header(f"&L{_on_paper(book.title, 120)}&R{_on_paper(sheet.title, 90)}")
    worksheet.set_footer(f"&L{_on_paper(book.about, 120)}&R&P / &N")
    worksheet.hide_gridlines(2)
    if sheet.has_headings:
        worksheet.repeat_rows(HEADING_ROW - 1)
        worksheet.freeze_panes(HEADING_ROW, 0)


def _on_paper(text: str, most: int) -> str:
    """Return a text for a header or footer, where an ampersand would give an order."""
    return clean(text)[:most].replace("&", "&&")
