"""Sheets as pages of a PDF: vectors, embedded type, the same bytes for the same sheets.

Room: ``sheets``. Writes into a stream that it is handed; knows nothing of what is drawn.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, BinaryIO

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas

from routescreen.sheets.lettering import CAP_FRAC, NARROW, corners_mm, face_name, keep_readable
from routescreen.sheets.marks import Area, Ink, Sheet, Stroke, Text
from routescreen.sheets.scripts import visual

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    import numpy as np
    from numpy.typing import NDArray

POINTS_PER_MM = 72.0 / 25.4
EVEN_ODD = 0
WHITE = "#ffffff"


def write_pdf(
    stream: BinaryIO,
    sheets: Iterable[Sheet],
    *,
    size_mm: tuple[float, float],
    title: str,
    language: str,
    stamp_utc: datetime,
) -> int:
    """Write sheets into a stream, one page after the other.

    A finished page is kept compressed only, so that memory grows by a few kilobytes a page.

    Parameters
    ----------
    stream : binary file
    sheets : iterable of Sheet
        Taken one by one.
    size_mm : tuple of float
        Width and height of every page [mm].
    title, language : str
        As the file's own data say them.
    stamp_utc : datetime
        Date of the file.

    Returns
    -------
    int
        Number of pages.
    """
    pages = Canvas(
        stream,
        tuple(side * POINTS_PER_MM for side in size_mm),
        pageCompression=1,
        invariant=1,
        lang=language,
        initialFontName=face_name(is_bold=False),
    )
    _say(pages, title, stamp_utc)
    n_pages = 0
    for sheet in sheets:
        _page(pages, sheet)
        pages.bookmarkPage(f"p{n_pages}")
        pages.addOutlineEntry(sheet.title, f"p{n_pages}")
        pages.showPage()
        n_pages += 1
    pages.save()
    return n_pages


def _say(pages: Any, title: str, stamp_utc: datetime) -> None:
    pages.setTitle(title)
    pages.setAuthor("")
    pages.setSubject("")
    pages.setCreator("routescreen")
    pages.setProducer("routescreen")
    stamp = pages._doc._timeStamp
    stamp.t = stamp_utc.timestamp()
    stamp.lt = stamp_utc.timetuple()
    stamp.YMDhms = tuple(stamp.lt)[:6]


def _page(pages: Any, sheet: Sheet) -> None:
    pages.scale(POINTS_PER_MM, POINTS_PER_MM)
    pages.setLineJoin(1)
    state = _State(pages)
    for mark in sheet.marks:
        if isinstance(mark, Text):
            _text(pages, state, mark)
        elif isinstance(mark, Area):
            _area(pages, state, mark)
        else:
            _stroke(pages, state, mark)


class _State:
    """What the page is set to, so that nothing is said twice."""

    def __init__(self, pages: Any) -> None:
        self._pages = pages
        self._ink: Ink | None = None
        self._fill = ""

    def ink(self, ink: Ink) -> None:
        before, pages = self._ink, self._pages
        if before is None or before.colour != ink.colour:
            pages.setStrokeColor(HexColor(ink.colour))
        if before is None or before.width_mm != ink.width_mm:
            pages.setLineWidth(ink.width_mm)
        if before is None or before.dash_mm != ink.dash_mm:
            pages.setDash(list(ink.dash_mm), 0) if ink.dash_mm else pages.setDash()
        self._ink = ink

    def fill(self, colour: str) -> None:
        if colour != self._fill:
            self._pages.setFillColor(HexColor(colour))
            self._fill = colour


def _path(pages: Any, chains: Iterable[NDArray[np.float64]], *, is_closed: bool) -> Any:
    path = pages.beginPath()
    operators = path._code
    for chain in chains:
        points = chain.tolist()
        operators.append("{:.2f} {:.2f} m".format(*tuple(points[0])))
        operators += [f"{x:.2f} {y:.2f} l" for x, y in points[1:]]
        if is_closed:
            operators.append("h")
    return path


def _stroke(pages: Any, state: _State, mark: Stroke) -> None:
    state.ink(mark.ink)
    pages.drawPath(_path(pages, mark.chains, is_closed=False), stroke=1, fill=0)


def _area(pages: Any, state: _State, mark: Area) -> None:
    if mark.fill is not None:
        state.fill(mark.fill)
    if mark.ink is not None:
        state.ink(mark.ink)
    pages.drawPath(
        _path(pages, mark.rings, is_closed=True),
        stroke=int(mark.ink is not None),
        fill=int(mark.fill is not None),
        fillMode=EVEN_ODD,
    )


def _text(pages: Any, state: _State, mark: Text) -> None:
    if not mark.text:
        return
    corners = corners_mm(mark)
    if mark.is_patched:
        state.fill(WHITE)
        pages.drawPath(_path(pages, [corners], is_closed=True), stroke=0, fill=1)
    state.fill(mark.colour)
    turn = math.radians(mark.turn_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    # the corner lies below the baseline by what `corners_mm` gives to descenders
    up = 0.85 * mark.cap_mm - 0.5 * mark.cap_mm
    x, y = corners[0, 0] - sin * up, corners[0, 1] + cos * up
    seen = visual(mark.text)
    keep_readable(seen, is_bold=mark.is_bold)
    words = pages.beginText()
    words.setFont(face_name(is_bold=mark.is_bold), mark.cap_mm / CAP_FRAC)
    words.setHorizScale(NARROW * 100.0)
    words.setTextTransform(cos, sin, -sin, cos, x, y)
    words.textOut(seen)
    pages.drawText(words)
