"""The page that shows what two plans differ in: map, long sections, tables; one file, no scripts.

Room: ``report``. Text of HTML and SVG; every name in it is escaped.
"""

from __future__ import annotations

import re
from html import escape, unescape
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from routescreen import __version__
from routescreen.answers.compare_show import parts_of, summary_of
from routescreen.answers.stretches import route_of
from routescreen.answers.told_parts import records
from routescreen.answers.words import chainage, number
from routescreen.languages import ENGLISH, speech_of, texts_of
from routescreen.report.drawings import MARGIN, WIDTH, profile_svg
from routescreen.report.page import own_text
from routescreen.schema import CAUTION

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Mapping, Sequence
    from datetime import datetime

    import pandas as pd
    from numpy.typing import NDArray
    from shapely import Geometry

    from routescreen.answers.compare import Comparison
    from routescreen.answers.told_parts import Part

    Row = Mapping[Hashable, Any]

__all__ = ["compared_html"]

# What a reader reads: between marks, and in the labels of drawings and tables.
_TEXTS = re.compile(r'(?<=>)[^<>]+(?=<)|(?<=aria-label=")[^"]+|^[^<>]+$')
MOST_HEIGHT = 620.0
LEAST_HEIGHT = 150.0
# Columns that hold words of ours; codes, keys and names stay as they are.
WORDS = ("kind", "what", "treatment_a", "treatment_b", "check", "status_a", "status_b")
MARK_R = 8.0
# Tables of the page: heading, table of the comparison, and its columns with their headings and digits.
TABLES: tuple[tuple[str, str, tuple[tuple[str, str, int | None], ...]], ...] = (
    (
        "In figures",
        "figures",
        (
            ("figure", "Figure", None),
            ("unit", "Unit", None),
            ("a", "{a}", 2),
            ("b", "{b}", 2),
            ("difference", "Difference", 2),
        ),
    ),
    (
        "Cost by class",
        "classes",
        (
            ("class", "Class", None),
            ("amount_a_eur", "{a} (EUR)", 2),
            ("amount_b_eur", "{b} (EUR)", 2),
            ("extra_eur", "Difference (EUR)", 2),
            ("by_quantity_eur", "by quantity (EUR)", 2),
            ("by_rate_eur", "by rate (EUR)", 2),
        ),
    ),
    (
        "Cost by item",
        "items",
        (
            ("item", "Item", None),
            ("description", "Description", None),
            ("unit", "Unit", None),
            ("quantity_a", "Quantity {a}", 3),
            ("quantity_b", "Quantity {b}", 3),
            ("amount_a_eur", "{a} (EUR)", 2),
            ("amount_b_eur", "{b} (EUR)", 2),
            ("extra_eur", "Difference (EUR)", 2),
        ),
    ),
    (
        "Drives and shafts that differ",
        "works",
        (
            ("works", "Works", None),
            ("element_a", "Name in {a}", None),
            ("element_b", "Name in {b}", None),
            ("chainage_m", "Chainage (m)", 1),
            ("what", "What", None),
            ("a", "{a}", None),
            ("b", "{b}", None),
            ("extra_eur", "Its amount (EUR)", 2),
        ),
    ),
    (
        "Crossings passed otherwise, or met by one plan only",
        "crossings",
        (
            ("feature_id", "Feature", None),
            ("kind", "Kind", None),
            ("name", "Name", None),
            ("what", "What", None),
            ("treatment_a", "{a}", None),
            ("treatment_b", "{b}", None),
            ("chainage_b_m", "Chainage in {b} (m)", 1),
            ("stretch", "Stretch", 0),
            ("extra_eur", "At the crossing itself (EUR)", 2),
        ),
    ),
    (
        "Checks whose status differs",
        "checks",
        (
            ("check", "Check", None),
            ("element_a", "Element in {a}", None),
            ("element_b", "Element in {b}", None),
            ("status_a", "{a}", None),
            ("status_b", "{b}", None),
            ("utilisation_a", "Utilisation {a}", 2),
            ("utilisation_b", "Utilisation {b}", 2),
            ("reason", "Reason", None),
        ),
    ),
    (
        "Assumptions that differ",
        "assumptions",
        (("key", "Key", None), ("a", "{a}", None), ("b", "{b}", None)),
    ),
    (
        "Inputs and program that differ",
        "inputs",
        (("key", "Key", None), ("a", "{a}", None), ("b", "{b}", None)),
    ),
)


def compared_html(
    comparisons: Sequence[Comparison], *, crs_name: str, stamp_utc: datetime, language: str = ENGLISH
) -> str:
    """Return one page with all comparisons, that needs nothing but itself.

    Parameters
    ----------
    comparisons : sequence of Comparison
    crs_name : str
        Of the map.
    stamp_utc : datetime
        When the comparison was made, with its time zone.
    language : str
        One of ``languages.languages``.

    Returns
    -------
    str
    """
    title = "; ".join(f"{c.b.name} against {c.a.name}" for c in comparisons)
    made = f"routescreen {__version__}, {stamp_utc.isoformat(timespec='seconds')}, {crs_name}"
    holes = {
        "title": escape(f"Plans compared: {title}"),
        "styles": f"{own_text('assets/page.css')}\n{own_text('assets/compared.css')}",
        "made": escape(made),
        "caution": escape(CAUTION if language == ENGLISH else texts_of(language)["report"]["caution"]),
        "body": "".join(_comparison(c, k, language) for k, c in enumerate(comparisons, start=1)),
        "language": escape(language),
    }
    say = speech_of(language).keeping(_names(comparisons))
    holes |= {name: _said(holes[name], say) for name in ("title", "body") if language != ENGLISH}
    page = own_text("assets/compared.html")
    parts = page.split("{{")
    filled = [parts[0]]
    for part in parts[1:]:
        name, _, rest = part.partition("}}")
        filled += [holes[name.strip()], rest]
    return "".join(filled)


def _said(page: str, say: Callable[[str], str]) -> str:
    """Return a piece of the page with its texts and labels said by another voice, its marks as they are."""
    return _TEXTS.sub(lambda found: escape(say(unescape(found[0]))), page)


def _names(comparisons: Sequence[Comparison]) -> set[str]:
    """Return the names of plans and features, which stay in every language."""
    found = {plan.name for c in comparisons for plan in (c.a, c.b)}
    return found | {str(name) for c in comparisons for name in c.crossings["name"] if name}


def _comparison(c: Comparison, which: int, language: str) -> str:
    words = texts_of(language)["report"]["profile"]
    bands = {
        plan: [
            (float(row[f"from_{plan}_m"]), float(row[f"to_{plan}_m"]), _look(row["extra_eur"]))
            for row in _numbered(c)
        ]
        for plan in "ab"
    }
    profiles = "".join(
        f"<h3>Long section of {escape(plan.name)}</h3>"
        + profile_svg(plan.tables["long_section"], f"Long section of {plan.name}", words, bands[key])
        for key, plan in (("a", c.a), ("b", c.b))
    )
    tables = "".join(_table(c, heading, name, columns) for heading, name, columns in TABLES)
    why = "".join(_part(part) for part in parts_of(c)[:1])
    return (
        f'<section aria-labelledby="c{which}"><h2 id="c{which}">{escape(c.b.name)} against '
        f"{escape(c.a.name)}</h2><p>{escape(summary_of(c))}</p>{_map(c)}{_legend(c)}{profiles}"
        f"{_stretches(c)}{why}{tables}</section>"
    )


def _numbered(c: Comparison) -> list[dict[Hashable, Any]]:
    return [row for row in records(c.stretches) if row["stretch"]]


def _look(extra_eur: float) -> str:
    return "dearer" if extra_eur > 0.0 else "cheaper" if extra_eur < 0.0 else "even"


# --- Map ------------------------------------------------------------------------------------------------


def _map(c: Comparison) -> str:
    """Return both alignments from above, the stretches that differ marked with their numbers."""
    routes = route_of(c.a.tables), route_of(c.b.tables)
    west, south, east, north = shapely.total_bounds([route.line for route in routes])
    scale = min((WIDTH - 2 * MARGIN) / max(east - west, 1.0), MOST_HEIGHT / max(north - south, 1.0))
    height = max((north - south) * scale + 2 * MARGIN, LEAST_HEIGHT)
    shift = 0.5 * (height - (north - south) * scale)

    def points(shape: Geometry) -> NDArray[np.float64]:
        xy = shapely.get_coordinates(shapely.simplify(shape, 0.3 / scale))
        return np.column_stack([MARGIN + (xy[:, 0] - west) * scale, shift + (north - xy[:, 1]) * scale])

    def path(shape: Geometry, look: str) -> str:
        chain = "L".join(f"{x:.1f} {y:.1f}" for x, y in points(shape))
        return f'<path class="{look}" d="M{chain}"/>'

    drawn, marks = [], []
    for row in _numbered(c):
        from_m, to_m = float(row["from_b_m"]), float(row["to_b_m"])
        piece = routes[1].piece(from_m, to_m)
        if piece is not None:
            drawn.append(path(piece, _look(row["extra_eur"])))
        middle = routes[1].at(0.5 * (from_m + to_m))[0]
        marks.append((int(row["stretch"]), points(middle)[0]))
    drawn += [path(routes[0].line, "plan-a"), path(routes[1].line, "plan-b")]
    drawn += [_mark(k, at) for k, at in marks]
    label = f"Map of {c.a.name} and {c.b.name}; the stretches that differ are numbered as in the table"
    return (
        f'<svg class="still both" viewBox="0 0 {WIDTH:.0f} {height:.0f}" role="img" '
        f'aria-label="{escape(label)}" xmlns="http://www.w3.org/2000/svg">{"".join(drawn)}</svg>'
    )


def _mark(k: int, at: NDArray[np.float64]) -> str:
    """Return the number of a stretch, above the line and below it in turn."""
    y = at[1] + (-22.0 if k % 2 else 22.0)
    return (
        f'<path class="lead" d="M{at[0]:.1f} {at[1]:.1f}L{at[0]:.1f} {y:.1f}"/>'
        f'<circle class="mark" cx="{at[0]:.1f}" cy="{y:.1f}" r="{MARK_R}"/>'
        f'<text x="{at[0]:.1f}" y="{y + 4.0:.1f}" text-anchor="middle">{k}</text>'
    )


def _legend(c: Comparison) -> str:
    entries = (
        ("plan-a", c.a.name),
        ("plan-b", c.b.name),
        ("dearer", f"differs, {c.b.name} costs more"),
        ("cheaper", f"differs, {c.b.name} costs less"),
    )
    items = "".join(
        f'<li><svg class="still both" viewBox="0 0 40 12" aria-hidden="true">'
        f'<path class="{look}" d="M0 6h40"/></svg>{escape(words)}</li>'
        for look, words in entries
    )
    return f'<ul class="legend key">{items}</ul>'


# --- Tables ---------------------------------------------------------------------------------------------


def _stretches(c: Comparison) -> str:
    rows = []
    for row in records(c.stretches):
        named = [str(row["stretch"] or "")]
        if row["stretch"]:
            named += [
                f"{chainage(row[f'from_{plan}_m'])} to {chainage(row[f'to_{plan}_m'])}" for plan in "ab"
            ]
            named += [number(row["apart_m"], 1), row["built_a"], row["built_b"]]
        else:
            named += ["", "", "", row["built_a"], ""]
        money = [number(row[name], 2) for name in ("cost_a_eur", "cost_b_eur", "extra_eur")]
        rows.append(_cells([*named, *money], {0, 3, 6, 7, 8}))
    total = [number(float(c.stretches[name].sum()), 2) for name in ("cost_a_eur", "cost_b_eur", "extra_eur")]
    rows.append(_cells(["", "", "", "", "all together", "", *total], {6, 7, 8}, look="sum"))
    heads = ["No.", f"Chainage in {c.a.name}", f"Chainage in {c.b.name}", "Apart (m)", f"{c.a.name}"]
    heads += [f"{c.b.name}", f"{c.a.name} (EUR)", f"{c.b.name} (EUR)", "Difference (EUR)"]
    head = _head(heads, {0, 3, 6, 7, 8})
    return _framed("Stretches that differ, the dearest first", head, rows, look=' class="own-page"')


def _table(c: Comparison, heading: str, name: str, columns: tuple[tuple[str, str, int | None], ...]) -> str:
    table: pd.DataFrame = getattr(c, name)
    rows = [row for row in records(table) if row.get("extra_eur", 1) or name not in ("items", "classes")]
    if not rows:
        return ""
    numeric = {k for k, (_, _, digits) in enumerate(columns) if digits is not None}
    heads = [words.replace("{a}", c.a.name).replace("{b}", c.b.name) for _, words, _ in columns]
    body = [
        _cells([_value(key, row[key], _digits(digits, row)) for key, _, digits in columns], numeric)
        for row in rows
    ]
    return _framed(heading, _head(heads, numeric), body)


def _digits(digits: int | None, row: Row) -> int | None:
    """Return how many digits a number of a row has; counts and areas are whole."""
    return 0 if digits is not None and "figure" in row and row["unit"] in ("", "m2") else digits


def _value(key: str, value: Any, digits: int | None) -> str:
    if value is None:
        return ""
    if digits is not None:
        return number(float(value), digits)
    return str(value).replace("_", " ") if key in WORDS else str(value)


def _framed(heading: str, head: str, rows: Sequence[str], look: str = "") -> str:
    label = escape(heading)
    return (
        f'<h3{look}>{label}</h3><div class="scroll" tabindex="0" role="region" aria-label="{label}">'
        f"<table><thead>{head}</thead><tbody>{''.join(rows)}</tbody></table></div>"
    )


def _head(heads: Sequence[str], numeric: set[int]) -> str:
    cells = "".join(
        f'<th scope="col"{_class(k in numeric)}>{escape(text)}</th>' for k, text in enumerate(heads)
    )
    return f"<tr>{cells}</tr>"


def _cells(texts: Sequence[str], numeric: set[int], look: str = "") -> str:
    cells = "".join(f"<td{_class(k in numeric)}>{escape(text)}</td>" for k, text in enumerate(texts))
    return f'<tr class="{look}">{cells}</tr>' if look else f"<tr>{cells}</tr>"


def _class(is_numeric: bool) -> str:
    return ' class="n"' if is_numeric else ""


def _part(part: Part) -> str:
    lines = "".join(f"<li>{escape(line)}</li>" for line in part.lines)
    return f"<h3>{escape(part.heading)}, in words</h3><ul>{lines}</ul>"
