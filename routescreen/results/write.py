"""The whole results folder, all of it or nothing.

Room: ``results``. Imports its own neighbours.
"""

from __future__ import annotations

from contextlib import ExitStack, suppress
from functools import partial
from itertools import chain
from typing import TYPE_CHECKING

from routescreen.languages import ENGLISH
from routescreen.report import report_html
from routescreen.results.bill_csv import bill_csv_text
from routescreen.results.check import conform
from routescreen.results.files import (
    refuse_closed_folder,
    refuse_open_target,
    remove,
    remove_unfinished,
    replacing,
)
from routescreen.results.geopackage import fill_geopackage
from routescreen.results.plan_json import ready_json_text
from routescreen.results.project_qgs import project_text
from routescreen.results.styles import sld_texts
from routescreen.results.tables import result_tables
from routescreen.results.tender_files import GEOJSON, remove_other_tenders, tender_writers, write_parts
from routescreen.runlog import no_progress
from routescreen.sheets import write_sheets
from routescreen.unfinished import file_work

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from pathlib import Path

    import pandas as pd
    from pyproj import CRS

    from routescreen.assumptions import Assumptions
    from routescreen.results.tender_files import Writers
    from routescreen.runlog import Progress
    from routescreen.screened import Backdrop, ScreenedCorridor

SCREENED = "screened.gpkg"
PROJECT = "screened.qgs"
BREACHED = "screened_breach.gpkg"
STYLES = "styles"
REPORT = "report.html"
SHEETS = "sheets.pdf"


def check_writable(folder: Path) -> None:
    """See before the long work whether the results can be written; writes nothing.

    Raises
    ------
    OutputError
        If the folder is closed to writing, or another program has a result open.
    """
    refuse_closed_folder(folder)
    for name in (SCREENED, BREACHED):
        refuse_open_target(folder / name)


def write_results(
    sound: Sequence[ScreenedCorridor],
    breached: Sequence[ScreenedCorridor],
    crs: CRS,
    folder: Path,
    *,
    stamp_utc: datetime,
    language: str = ENGLISH,
    assumptions: Assumptions | None = None,
    progress: Progress = no_progress,
) -> tuple[Path, ...]:
    """Write the corridors into one results folder.

    Sound corridors go into ``screened.gpkg`` with its project ``screened.qgs``, ``report.html``,
    ``sheets.pdf``, ``bill.csv``, ``plan.json``, ``styles/`` and the tender's files
    (`tender_files.tender_writers`); those that the audit found in breach into ``screened_breach.gpkg`` and
    nothing else.
    Every file is first written under a temporary name, and only when all of them are there are they put
    in place. With nothing in breach an old ``screened_breach.gpkg`` goes.

    Parameters
    ----------
    sound, breached : sequence of ScreenedCorridor
    crs : CRS
        Their common projected coordinate reference system.
    folder : Path
        Made where it is missing.
    stamp_utc : datetime
        Time of the run with its time zone.
    language : str
        Of report and tender, one of ``languages.languages``.
    assumptions : Assumptions, optional
        What the corridors were planned with; without them, or where its group ``sheets`` says so, there are
        no sheets, and old ones go.
    progress : callable
        Told of each sheet.

    Returns
    -------
    tuple of Path
        What was written, ``screened.gpkg`` first.

    Raises
    ------
    ResultFaultError
        If a table breaks the schema; nothing is written.
    OutputError
        If a file can't be written; the last good files stay.
    """
    written: list[Path] = []
    beside: Writers = iter(())
    with ExitStack() as stack:
        for corridors, name in ((sound, SCREENED), (breached, BREACHED)):
            if corridors:
                ready = conform(result_tables(corridors, crs), crs)
                temporary = stack.enter_context(replacing(folder / name))
                fill_geopackage(ready, temporary, folder / name, stamp_utc=stamp_utc)
                written.append(folder / name)
                if name == SCREENED:
                    beside = _beside(ready, corridors, crs, stamp_utc, language)
                    if assumptions is not None and assumptions.sheets.is_enabled:
                        sheets = partial(
                            _fill_sheets, ready, corridors, crs, assumptions, stamp_utc, progress
                        )
                        beside = chain(((SHEETS, sheets),), beside)
        for name, write in beside:
            write(stack.enter_context(replacing(folder / name)))
            written.append(folder / name)
        finished = stack.pop_all()
    # An end of the process waits here: half of the files old and half of them new would fit nowhere.
    with file_work():
        finished.close()
        if sound:
            remove_other_tenders(folder, written)
        if sound and not breached:
            remove(folder / BREACHED)
        if sound and folder / SHEETS not in written:
            remove(folder / SHEETS)  # of another plan
    return tuple(written)


def remove_unwritten(folder: Path, *, had_folder: bool) -> None:
    """Remove what this process has not put in place, for its end at any moment.

    Parameters
    ----------
    folder : Path
        The results folder.
    had_folder : bool
        Whether it was there before; one that was not and is empty goes too.
    """
    for place in (folder / STYLES, folder / GEOJSON, folder):
        remove_unfinished(place)
        if not had_folder:
            with suppress(OSError):
                place.rmdir()


def _beside(
    ready: Mapping[str, pd.DataFrame],
    corridors: Sequence[ScreenedCorridor],
    crs: CRS,
    stamp_utc: datetime,
    language: str,
) -> Writers:
    """Yield each file beside the GeoPackage with what writes it, of tables that conform to the schema."""
    backdrops = _backdrops(corridors)
    report = report_html(ready, backdrops, crs_name=crs.name, stamp_utc=stamp_utc, language=language)
    yield REPORT, partial(write_parts, (report,))
    yield PROJECT, partial(write_parts, (project_text(ready, crs, SCREENED),))
    yield "bill.csv", partial(write_parts, (bill_csv_text(ready["bill"]),))
    yield "plan.json", partial(write_parts, (ready_json_text(ready, crs),))
    yield from tender_writers(ready, backdrops, crs, stamp_utc=stamp_utc, language=language)
    for layer, text in sld_texts().items():
        yield f"{STYLES}/{layer}.sld", partial(write_parts, (text,))


def _fill_sheets(
    ready: Mapping[str, pd.DataFrame],
    corridors: Sequence[ScreenedCorridor],
    crs: CRS,
    assumptions: Assumptions,
    stamp_utc: datetime,
    progress: Progress,
    path: Path,
) -> None:
    """Write the sheets of the sound corridors into a file."""
    with path.open("wb") as stream:
        write_sheets(
            stream,
            ready,
            _backdrops(corridors),
            assumptions,
            crs_name=crs.name,
            stamp_utc=stamp_utc,
            progress=progress,
        )


def _backdrops(corridors: Sequence[ScreenedCorridor]) -> dict[str, Backdrop]:
    return {c.plan.corridor_id: c.backdrop for c in corridors if c.backdrop is not None}
