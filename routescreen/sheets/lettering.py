"""How wide a text is, how it is cut to its room, and where its corners lie.

Room: ``sheets``. Reads the package's own typeface only.
"""

from __future__ import annotations

import math
import unicodedata
from functools import cache
from importlib.resources import files
from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from routescreen.sheets.marks import LEAST_CAP_MM, Text

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

FONTS = {False: ("RoutescreenSans", "DejaVuSans.ttf"), True: ("RoutescreenSansBold", "DejaVuSans-Bold.ttf")}
CAP_FRAC = 0.729  # of the size, both faces: capital height in the face's own table
NARROW = 0.88  # width against the face's own: long names find room
ELLIPSIS = "…"
LAST_SIGN = 0xFFFF  # signs beyond it can't be read back from the file as it is written
MOST_SIGNS = 2000  # of one text that are looked at at all


@cache
def face_name(*, is_bold: bool) -> str:
    """Return the name under which a face is registered; the first call reads it."""
    name, file = FONTS[is_bold]
    data = (files("routescreen.sheets") / "fonts" / file).read_bytes()
    pdfmetrics.registerFont(TTFont(name, BytesIO(data)))
    return name


@cache
def _advances(is_bold: bool) -> tuple[Mapping[int, float], float]:
    face = pdfmetrics.getFont(face_name(is_bold=is_bold)).face
    return face.charWidths, face.defaultWidth


def shown(text: str) -> str:
    r"""Return a text as one line of printable signs; what it means is never looked at.

    Examples
    --------
    >>> shown("a\nb\x00$x^2$\ud800")
    'a b $x^2$�'
    """
    cut = text[:MOST_SIGNS]
    signs = (" " if sign.isspace() else _printable(sign) for sign in cut)
    return " ".join("".join(signs).split()) + (ELLIPSIS if len(text) > MOST_SIGNS else "")


def _printable(sign: str) -> str:
    if ord(sign) > LAST_SIGN:
        return "�"
    kind = unicodedata.category(sign)
    return {"Cc": " ", "Cs": "�", "Cf": ""}.get(kind, sign)


def width_mm(text: str, cap_mm: float = LEAST_CAP_MM, *, is_bold: bool = False) -> float:
    """Return the width of a text on the paper [mm]."""
    advances, other = _advances(is_bold)
    units = sum(advances.get(ord(sign), other) for sign in text)
    return units / 1000.0 * cap_mm / CAP_FRAC * NARROW


def fitted(text: str, room_mm: float, cap_mm: float = LEAST_CAP_MM, *, is_bold: bool = False) -> str:
    """Return a text, cut with an ellipsis where it is wider than its room; empty where nothing fits.

    Examples
    --------
    >>> fitted("Old line", 100.0), fitted("Old line", 6.0), fitted("Old line", 0.5)
    ('Old line', 'Old…', '')
    """
    text = shown(text)
    if width_mm(text, cap_mm, is_bold=is_bold) <= room_mm:
        return text
    advances, other = _advances(is_bold)
    unit = cap_mm / CAP_FRAC * NARROW / 1000.0
    left = room_mm - advances.get(ord(ELLIPSIS), other) * unit
    kept = 0
    for sign in text:
        left -= advances.get(ord(sign), other) * unit
        if left < 0.0:
            break
        kept += 1
    return text[:kept].rstrip() + ELLIPSIS if kept else ""


def wrapped(
    text: str, room_mm: float, n_most: int, cap_mm: float = LEAST_CAP_MM, *, is_bold: bool = False
) -> list[str]:
    """Return a text broken between words into at most so many lines, the last cut where more is left."""
    lines: list[str] = []
    words = shown(text).split(" ")
    while words and len(lines) < n_most:
        if len(lines) == n_most - 1:
            return [*lines, fitted(" ".join(words), room_mm, cap_mm, is_bold=is_bold)]
        taken = 1
        while (
            taken < len(words) and width_mm(" ".join(words[: taken + 1]), cap_mm, is_bold=is_bold) <= room_mm
        ):
            taken += 1
        lines.append(fitted(" ".join(words[:taken]), room_mm, cap_mm, is_bold=is_bold))
        words = words[taken:]
    return lines


def keep_readable(text: str, *, is_bold: bool) -> None:
    """Let signs that the face doesn't have stand as its empty box, and be read back as what they are."""
    glyphs = pdfmetrics.getFont(face_name(is_bold=is_bold)).face.charToGlyph
    for sign in text:
        glyphs.setdefault(ord(sign), 0)


def corners_mm(text: Text) -> NDArray[np.float64]:
    """Return the corners of the rectangle that a text fills, descenders included, of shape (4, 2) [mm]."""
    wide = width_mm(text.text, text.cap_mm, is_bold=text.is_bold)
    left = {"left": 0.0, "middle": -wide / 2.0, "right": -wide}[text.align]
    low, high = -0.85 * text.cap_mm, 0.75 * text.cap_mm
    own = np.array([[left, low], [left + wide, low], [left + wide, high], [left, high]])
    turn = math.radians(text.turn_deg)
    axes = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    return np.asarray(own @ axes + [text.x_mm, text.y_mm])
