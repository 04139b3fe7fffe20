"""The page itself: template, looks, scripts and data put into one file.

Room: ``report``. Reads the package's own files only.
"""

from __future__ import annotations

import json
from functools import cache
from html import escape
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from routescreen import __version__
from routescreen.languages import ENGLISH, texts_of
from routescreen.languages.tables import spoken
from routescreen.report.drawings import plan_svg, profile_svg
from routescreen.report.payload import payload_of
from routescreen.schema import CAUTION, NOT_IN_BILL

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    import pandas as pd

    from routescreen.screened import Backdrop

LIBRARIES = {
    "leaflet.css": "vendor/leaflet/leaflet.css",
    "leaflet.js": "vendor/leaflet/leaflet.js",
    "uPlot.css": "vendor/uplot/uPlot.min.css",
    "uPlot.js": "vendor/uplot/uPlot.iife.min.js",
}
OWN = {
    "page.css": "assets/page.css",
    "tables.js": "assets/tables.js",
    "plan.js": "assets/plan.js",
    "profile.js": "assets/profile.js",
    "page.js": "assets/page.js",
}


def report_html(
    tables: Mapping[str, pd.DataFrame],
    backdrops: Mapping[str, Backdrop],
    *,
    crs_name: str,
    stamp_utc: datetime,
    language: str = ENGLISH,
) -> str:
    """Return the report of all corridors as one page that needs nothing but itself.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        The result tables.
    backdrops : mapping of str to Backdrop
        What lies in each corridor, by its name; one that isn't there is drawn without.
    crs_name : str
    stamp_utc : datetime
        Time of the run with its time zone.
    language : str
        One of ``languages.languages``.

    Returns
    -------
    str
    """
    texts = texts_of(language)["report"]
    tables = spoken(tables, language)
    names = [str(name) for name in tables["alignment"]["corridor_id"]]
    corridors = [payload_of(tables, backdrops.get(name), name) for name in names]
    stills = [_stills(tables, backdrops.get(name), name, texts) for name in names]
    data = {
        "language": language,
        "texts": texts,
        "version": __version__,
        "crs": crs_name,
        "made": stamp_utc.isoformat(timespec="seconds"),
        "caution": texts["caution"] if language != ENGLISH else CAUTION,
        "not_in_bill": texts["not_in_bill"] if language != ENGLISH else NOT_IN_BILL,
        "corridors": corridors,
    }
    holes = {
        "language": escape(language),
        "title": escape(f"{texts['title']}: {', '.join(names)}"),
        "caution": escape(str(data["caution"])),
        "noscript": escape(texts["noscript"]),
        "stills": "".join(stills),
        "styles": "\n".join(_library(name) for name in (*LIBRARIES, *OWN) if name.endswith(".css")),
        "scripts": "\n".join(
            f"<script>{_library(name)}</script>" for name in (*LIBRARIES, *OWN) if name.endswith(".js")
        ),
        "data": script_json(data),
    }
    return _filled(own_text("assets/page.html"), holes)


def script_json(data: object) -> str:
    r"""Return JSON that can't end the script element it stands in, nor a line of it.

    Examples
    --------
    >>> script_json(["</script>"])
    '["\\u003c/script>"]'
    """
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    for sign in ("<", "\u2028", "\u2029"):
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def _filled(template: str, holes: Mapping[str, str]) -> str:
    """Fill the template in one walk, so that nothing that is filled in is looked at again."""
    parts = template.split("{{")
    filled = [parts[0]]
    for part in parts[1:]:
        name, _, rest = part.partition("}}")
        filled += [holes[name.strip()], rest]
    return "".join(filled)


def _stills(
    tables: Mapping[str, pd.DataFrame], backdrop: Backdrop | None, name: str, texts: Mapping[str, Any]
) -> str:
    own = {key: table[table["corridor_id"] == name] for key, table in tables.items()}
    words = texts["profile"]
    plan = plan_svg(own, backdrop, f"{texts['plan']['title']}: {name}")
    profile = profile_svg(own["long_section"], f"{words['title']}: {name}", words)
    head = f'<figure class="stills" data-corridor="{escape(name)}"><h2>{escape(name)}</h2>'
    return f"{head}{plan}{profile}</figure>"


def _library(name: str) -> str:
    text = own_text({**LIBRARIES, **OWN}[name])
    # a map to sources that nobody has here, and pictures of controls that the page doesn't show
    lines = [line for line in text.splitlines() if "sourceMappingURL" not in line]
    kept = [line if "url(images/" not in line else "" for line in lines]
    return "\n".join(kept).replace("</script", "<\\/script")


@cache
def own_text(path: str) -> str:
    """Return one of the package's own files."""
    return (files("routescreen.report") / path).read_text(encoding="utf-8")
