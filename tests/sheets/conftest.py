"""An invented corridor with a whole long section, and its sheets as marks and as a PDF."""

from __future__ import annotations

import io
import itertools
from dataclasses import replace

import numpy as np
import pytest
from pypdf import PdfReader
from shapely import LineString, box

from routescreen.assumptions import load_assumptions
from routescreen.results.tables import result_tables
from routescreen.screened import Backdrop, LongSection
from routescreen.sheets import write_sheets
from routescreen.sheets.book import Chapter, chapter_of, chapter_sheets
from routescreen.sheets.scene import Issue, scene_of
from routescreen.sheets.words import words_of
from tests.results import example

LANGUAGES = ("en", "de")
NASTY = {
    "railway": r"$\frac{1}{2}$ & <script>alert(1)</script>",
    "river": "Ü日本 " * 125,
    "main_road": "=cmd|' /C calc'!A0",
    "ditch": "\u05e0\u05d7\u05dc 12",
    "gas_pipeline": 'Line "P\u200b 12"\nsecond',
}
# crown levels at both ends of the drives, by section
CROWNS = {1: (14.0, 13.0), 2: (13.0, 9.0), 3: (12.0, 16.0), 5: (16.0, 16.5)}


def long_section() -> LongSection:
    """Return a profile with points every 10 m or so, both sections' at each seam; ground at 20 m."""
    bend_m = 2 * (150.0**2 + 80.0**2) ** 0.5
    seams = np.cumsum([0.0, 300.0, 300.0, 400.0, 200.0, bend_m, 250.0, 250.0])
    parts = []
    for number, (a, b) in enumerate(itertools.pairwise(seams)):
        at = np.linspace(a, b, 31)
        if number in CROWNS:
            crown = np.interp(at, [a, b], CROWNS[number])
            parts.append((at, crown - example.BORE_M, 20.0 - crown, np.full(31, 3.0), np.full(31, True)))
        else:
            parts.append((at, np.full(31, 18.12), np.full(31, 1.4), np.full(31, 1.4), np.full(31, False)))
    at, invert, cover, required, is_drive = (np.concatenate(column) for column in zip(*parts, strict=True))
    ground = np.full(len(at), 20.0)
    return LongSection(at, ground, invert, cover, required, ground - 3.0, is_drive)


def backdrop() -> Backdrop:
    """Return a railway, a river and a house beside the alignment."""
    w, s = example.WEST, example.SOUTH
    shapes = (
        LineString([(w + 450, s - 400), (w + 450, s + 400)]),
        box(w + 785, s - 400, w + 815, s + 400),
        box(w + 100, s + 20, w + 120, s + 35),
    )
    outline = box(w - 50, s - 200, w + 2050, s + 200)
    return Backdrop(outline, shapes, ("railway", "river", "building"), ("Old line", "", ""), ("a", "b", "c"))


def tables_of(corridor_id: str = "west", names: dict[str, str] | None = None):
    corridor = replace(example.corridor(corridor_id), long_section=long_section())
    crossings = corridor.crossings.copy()
    if names:
        crossings["name"] = [
            names.get(kind, name) for kind, name in zip(crossings["kind"], crossings["name"], strict=True)
        ]
    return result_tables([replace(corridor, crossings=crossings)], example.METRES)


def assumptions_of(language: str = "en", **settings: object):
    lines = [f"{key} = {value}" for key, value in settings.items()]
    return load_assumptions("\n".join([f'[report]\nlanguage = "{language}"\n[sheets]', *lines]))


def chapter(language: str = "en", names: dict[str, str] | None = None, **settings: object) -> Chapter:
    words = words_of(language)
    issue = Issue("Trial", "routescreen 0", "metres", "Take care.", example.STAMP, words)
    assumptions = assumptions_of(language, **settings)
    return chapter_of(scene_of(tables_of(names=names), "west", backdrop(), assumptions, issue))


def pdf_of(language: str = "en", names: dict[str, str] | None = None, **settings: object) -> bytes:
    stream = io.BytesIO()
    write_sheets(
        stream,
        tables_of(names=names),
        {"west": backdrop()},
        assumptions_of(language, **settings),
        crs_name="metres",
        stamp_utc=example.STAMP,
    )
    return stream.getvalue()


@pytest.fixture(scope="session", params=LANGUAGES)
def laid_out(request):
    """Return all sheets of the corridor as marks, names as nasty as they come."""
    own = chapter(request.param, NASTY)
    return own, list(chapter_sheets(own, 1, own.n_sheets))


@pytest.fixture(scope="session")
def data() -> bytes:
    return pdf_of(names=NASTY)


@pytest.fixture(scope="session")
def pages(data):
    return PdfReader(io.BytesIO(data)).pages
