"""All sheets of all corridors, one after the other, numbered through.

Room: ``sheets``. Holds the order of things; a sheet is laid out when it is written, and forgotten after.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, BinaryIO

from routescreen import __version__
from routescreen.counted import grouped
from routescreen.languages.tables import spoken
from routescreen.runlog import no_progress
from routescreen.schema import CAUTION
from routescreen.sheets.crossing_sheet import crossing_sheet, crossing_title, crossing_window, major_crossings
from routescreen.sheets.furniture import PAPER
from routescreen.sheets.key_sheet import Listed, key_sheet, list_sheet, map_window, n_list_sheets
from routescreen.sheets.pdf import write_pdf
from routescreen.sheets.profile_view import chart_mm, level_span
from routescreen.sheets.scene import Issue, Scene, scene_of
from routescreen.sheets.strip_sheet import PAPER_OF_PLAN, PROFILE, Works, strip_sheet
from routescreen.sheets.typical_sheet import n_typical_sheets, typical_sheet
from routescreen.sheets.windows import Window, cut_to_number, exaggeration
from routescreen.sheets.words import words_of
from routescreen.sheets.works import drives_of, shafts_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import datetime

    import pandas as pd

    from routescreen.assumptions import Assumptions
    from routescreen.runlog import Progress
    from routescreen.screened import Backdrop
    from routescreen.sheets.crossing_sheet import Crossing
    from routescreen.sheets.marks import Sheet

PROGRESS = "draw sheets"


@dataclass(frozen=True, slots=True)
class Chapter:
    """The sheets of one corridor.

    Attributes
    ----------
    scene : Scene
    works : Works
    windows : list of Window
        One a plan-and-profile sheet.
    times : float
        Exaggeration of heights that most of them have.
    crossings : list of Crossing
        Those that get a sheet.
    n_left_out : int
        Crossings that would get a sheet beyond the number allowed.
    """

    scene: Scene
    works: Works
    windows: list[Window]
    times: float
    crossings: list[Crossing]
    n_left_out: int

    @property
    def n_list(self) -> int:
        """Pages on which the list of sheets goes on."""
        fixed = 1 + len(self.windows) + self.n_typical + len(self.crossings) + bool(self.n_left_out)
        n_list = 0
        while n_list < n_list_sheets(fixed + n_list):
            n_list += 1
        return n_list

    @property
    def n_typical(self) -> int:
        """Sheets of typical sections."""
        return n_typical_sheets(self.scene, self.works)

    @property
    def n_sheets(self) -> int:
        """All of them."""
        return 1 + self.n_list + len(self.windows) + self.n_typical + len(self.crossings)


def chapter_of(scene: Scene) -> Chapter:
    """Lay out how one corridor is cut into sheets.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    Chapter
    """
    settings = scene.assumptions.sheets
    drives = drives_of(scene)
    works = Works(tuple(drives), tuple(shafts_of(scene, drives)))
    windows = cut_to_number(scene.way, PAPER_OF_PLAN, settings.scale_denominator, settings.n_most_sheets)
    spans = [level_span(scene, works.shafts, w.shown_from_m, w.shown_to_m) for w in windows]
    times = exaggeration([b - a for a, b in spans], windows[0].denominator, chart_mm(PROFILE))
    crossings = major_crossings(scene, works)
    kept = crossings[: settings.n_most_crossing_sheets]
    return Chapter(scene, works, windows, times, kept, len(crossings) - len(kept))


def listed(chapter: Chapter, first: int) -> list[Listed]:
    """Return the list of a corridor's sheets, `first` the number of its key sheet.

    Its last line says how many driven crossings have no sheet, where there are more than the assumptions let
    have one.
    """
    scene, words = chapter.scene, chapter.scene.words
    window, is_true = map_window(scene)
    found = [(words("key_title"), _scale(window) if is_true else words("none"))]
    found += [(words("list_title"), words("none"))] * chapter.n_list
    found += [
        (words("pp_title", a=words.chainage(w.from_m, 0), b=words.chainage(w.to_m, 0)), _scale(w))
        for w in chapter.windows
    ]
    found += [(words("typical_title"), words("none"))] * chapter.n_typical
    found += [(crossing_title(scene, c), _scale(crossing_window(scene, c))) for c in chapter.crossings]
    entries = [Listed(first + number, *one) for number, one in enumerate(found)]
    if chapter.n_left_out:
        entries.append(Listed(None, words("left_out", n=str(chapter.n_left_out)), words("none")))
    return entries


def _scale(window: Window) -> str:
    return f"1 : {grouped(window.denominator)}"


def chapter_sheets(chapter: Chapter, first: int, n_sheets: int) -> Iterator[Sheet]:
    """Yield a corridor's sheets in order, each laid out when it is asked for.

    Parameters
    ----------
    chapter : Chapter
    first : int
        Number of its key sheet.
    n_sheets : int
        Of all corridors.

    Yields
    ------
    Sheet
    """
    scene, works, windows = chapter.scene, chapter.works, chapter.windows
    entries = listed(chapter, first)
    first_strip = first + 1 + chapter.n_list
    yield key_sheet(scene, works, windows, entries, first_sheet=first_strip, number=first, n_sheets=n_sheets)
    for page in range(chapter.n_list):
        yield list_sheet(scene, entries, page, number=first + 1 + page, n_sheets=n_sheets)
    for number in range(len(windows)):
        yield strip_sheet(scene, works, windows, number, chapter.times, first_strip, n_sheets)
    number = first_strip + len(windows)
    for page in range(chapter.n_typical):
        yield typical_sheet(scene, works, page, number=number + page, n_sheets=n_sheets)
    number += chapter.n_typical
    for at, crossing in enumerate(chapter.crossings):
        yield crossing_sheet(scene, works, crossing, number=number + at, n_sheets=n_sheets)


def write_sheets(
    stream: BinaryIO,
    tables: Mapping[str, pd.DataFrame],
    backdrops: Mapping[str, Backdrop],
    assumptions: Assumptions,
    *,
    crs_name: str,
    stamp_utc: datetime,
    progress: Progress = no_progress,
) -> int:
    """Write the sheets of all corridors as one PDF.

    Parameters
    ----------
    stream : binary file
    tables : mapping of str to DataFrame
        The result tables.
    backdrops : mapping of str to Backdrop
        What lies in each corridor, by its name; one that isn't there is drawn without.
    assumptions : Assumptions
        Its group ``sheets`` says what is drawn, ``report.language`` in which language.
    crs_name : str
    stamp_utc : datetime
        Time of the run with its time zone.
    progress : callable
        Told of each sheet.

    Returns
    -------
    int
        Number of sheets.
    """
    words = words_of(assumptions.report.language)
    caution = words("caution") or CAUTION
    issue = Issue(
        assumptions.sheets.project, f"routescreen {__version__}", crs_name, caution, stamp_utc, words
    )
    tables = spoken(tables, words.language)
    names = [str(name) for name in tables["alignment"]["corridor_id"]]
    chapters = [chapter_of(scene_of(tables, name, backdrops.get(name), assumptions, issue)) for name in names]
    n_sheets = sum(chapter.n_sheets for chapter in chapters)
    return write_pdf(
        stream,
        _told(_all_sheets(chapters, n_sheets), n_sheets, progress),
        size_mm=(PAPER.width, PAPER.height),
        title=f"{words('document')}: {', '.join(names)}",
        language=words.language,
        stamp_utc=stamp_utc,
    )


def _all_sheets(chapters: Sequence[Chapter], n_sheets: int) -> Iterator[Sheet]:
    first = 1
    for chapter in chapters:
        yield from chapter_sheets(chapter, first, n_sheets)
        first += chapter.n_sheets


def _told(sheets: Iterator[Sheet], n_sheets: int, progress: Progress) -> Iterator[Sheet]:
    for number, sheet in enumerate(sheets):
        progress(PROGRESS, number / n_sheets)
        yield sheet
    progress(PROGRESS, 1.0)
