"""The tender's files in the results folder: which there are, and how each is written.

Room: ``results``. Imports ``tender`` and its own neighbours.
"""

from __future__ import annotations

import re
from datetime import UTC
from functools import partial
from typing import TYPE_CHECKING

import geopandas as gpd

from routescreen import __version__
from routescreen.languages.tables import spoken
from routescreen.results.dxf import write_dxf
from routescreen.results.files import remove
from routescreen.results.xlsx import write_xlsx
from routescreen.tender import (
    alignment_drawing,
    bidders_book,
    exchange_text,
    geojson_parts,
    landxml_text,
    priced_book,
    tender_bill,
)
from routescreen.tender.wording import about_run

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping
    from datetime import datetime
    from pathlib import Path

    import pandas as pd
    from pyproj import CRS

    from routescreen.screened import Backdrop

    Writers = Iterator[tuple[str, Callable[[Path], None]]]

GEOJSON = "geojson"
_NUMBERED = re.compile(r"tender(_\d+)?(_bidders)?\.xlsx|tender(_\d+)?\.x83")


def tender_writers(
    ready: Mapping[str, pd.DataFrame],
    backdrops: Mapping[str, Backdrop],
    crs: CRS,
    *,
    stamp_utc: datetime,
    language: str,
) -> Writers:
    """Yield each file of the tender with what writes it.

    A workbook for the house, one for bidders and an exchange file a corridor: ``tender.xlsx``,
    ``tender_bidders.xlsx``, ``tender.x83``; of several corridors ``tender_1.xlsx`` and so on, in the order of
    the layer `alignment`. Drawing, alignment file and map layers hold all corridors.

    Parameters
    ----------
    ready : mapping of str to DataFrame
        The result tables as `check.conform` returns them.
    backdrops : mapping of str to Backdrop
        What lies in each corridor, by its name.
    crs : CRS
    stamp_utc : datetime
        Time of the run with its time zone.
    language : str

    Yields
    ------
    str, callable
        Name below the results folder, and what writes it to a path.
    """
    made, told = stamp_utc.astimezone(UTC), spoken(ready, language)
    names = [str(name) for name in ready["alignment"]["corridor_id"]]
    for number, name in enumerate(names, start=1):
        own = {key: table[table["corridor_id"] == name] for key, table in told.items()}
        about = about_run(own["run_record"], name, crs.name, made, language)
        bill, stem = tender_bill(own), "tender" if len(names) == 1 else f"tender_{number}"
        yield f"{stem}.xlsx", partial(write_xlsx, priced_book(bill, own, about), stamp_utc=made)
        yield f"{stem}_bidders.xlsx", partial(write_xlsx, bidders_book(bill, own, about), stamp_utc=made)
        yield f"{stem}.x83", partial(write_parts, (exchange_text(bill, about),))
    yield "alignment.dxf", partial(write_dxf, alignment_drawing(ready, backdrops, crs.name))
    yield "alignment.xml", partial(write_parts, (landxml_text(ready, crs, made=made, version=__version__),))
    for layer, table in ready.items():
        if isinstance(table, gpd.GeoDataFrame):
            yield f"{GEOJSON}/{layer}.geojson", partial(write_parts, geojson_parts(table, crs))


def remove_other_tenders(folder: Path, written: Iterable[Path]) -> None:
    """Remove tenders of an earlier run with more corridors, which would stand beside another plan's."""
    kept = {path.name for path in written}
    for path in folder.glob("tender*"):
        if _NUMBERED.fullmatch(path.name) and path.name not in kept:
            remove(path)


def write_parts(parts: Iterable[str], path: Path) -> None:
    """Write pieces of a text one after the other, as UTF-8 and as they stand."""
    with path.open("w", encoding="utf-8", newline="") as file:
        file.writelines(parts)
