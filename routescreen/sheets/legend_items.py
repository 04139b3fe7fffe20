"""What the legend of a sheet explains: only what the sheet shows.

Room: ``sheets``. Signs are drawn in a box of 9 by 3 mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.sheets import looks
from routescreen.sheets.furniture import Item
from routescreen.sheets.looks import look_of
from routescreen.sheets.marks import Area, Box, Ink, Mark, filled, line
from routescreen.sheets.plan_view import crossing_sign

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from routescreen.sheets.words import Words

SIGN = Box(0.0, 0.0, 9.0, 3.0)
# Kinds whose features are areas more often than lines: their sign is a box.
AREAS = {
    kind for kind, look in looks.LOOKS.items() if look.fill is not None or kind.endswith("protection_area")
}
LINES_ALSO_AREAS = {
    "motorway",
    "main_road",
    "road",
    "railway",
    "tram",
    "hedge",
    "dyke",
    "sea_dyke",
    "stream",
    "ditch",
}


def _stroke(*inks: Ink) -> tuple[Mark, ...]:
    return tuple(line(ink, (0.0, 1.5), (9.0, 1.5)) for ink in inks)


def _box(fill: str | None, ink: Ink) -> tuple[Mark, ...]:
    return (Area((SIGN.inset(0.25).corners(),), fill, ink),)


def _small_box(fill: str) -> tuple[Mark, ...]:
    return (filled(Box(3.2, 0.3, 5.8, 2.7), fill, looks.SHAFT_EDGE),)


def _bay() -> tuple[Mark, ...]:
    ring = np.array([[3.0, 1.5], [4.5, 3.0], [6.0, 1.5], [4.5, 0.0], [3.0, 1.5]])
    return (Area((ring,), looks.STRIP, Ink(looks.STRIP, 0.3)),)


def _cover() -> tuple[Mark, ...]:
    return (
        line(looks.THIN, (4.5, 0.0), (4.5, 3.0)),
        line(looks.THIN, (3.8, -0.7), (5.2, 0.7)),
        line(looks.THIN, (3.8, 2.3), (5.2, 3.7)),
    )


SIGNS: dict[str, Callable[[], tuple[Mark, ...]]] = {
    "open_cut": lambda: _stroke(looks.SECTION_CUT),
    "drive": lambda: _stroke(looks.SECTION_DRIVE),
    "bore": lambda: _stroke(looks.BORE_LINE),
    "launch": lambda: _small_box(looks.SHAFT),
    "reception": lambda: _small_box(looks.WHITE),
    "compound": lambda: _box(looks.SHAFT_FILL, looks.COMPOUND_EDGE),
    "layout": lambda: _box(looks.STRIP_FILL, looks.STRIP_EDGE),
    "bay": _bay,
    "crossed_cut": lambda: (crossing_sign(4.5, 1.5, is_driven=False),),
    "crossed_drive": lambda: (crossing_sign(4.5, 1.3, is_driven=True),),
    "corridor": lambda: _stroke(looks.CORRIDOR_EDGE),
    "match": lambda: _stroke(looks.MATCH),
    "ground": lambda: _stroke(looks.GROUND),
    "water": lambda: _stroke(looks.GROUNDWATER),
    "required": lambda: _stroke(looks.REQUIRED),
    "trench_bottom": lambda: _stroke(looks.TRENCH_BOTTOM),
    "bore_profile": lambda: (filled(Box(0.0, 0.8, 9.0, 2.2), looks.BORE_FILL, looks.BORE_EDGE),),
    "shaft": lambda: (filled(Box(3.2, 0.0, 5.8, 3.0), looks.SHAFT_FILL, looks.SHAFT_EDGE),),
    "cover": _cover,
}


def legend_items(shown: Iterable[str], kinds: Iterable[str], words: Words) -> list[Item]:
    """Return the lines of the legend: the works in a fixed order, then kinds of features.

    Parameters
    ----------
    shown : iterable of str
        Keys of `SIGNS`.
    kinds : iterable of str
        Kinds of features.
    words : Words

    Returns
    -------
    list of Item
    """
    seen = set(shown)
    items = [Item(words(f"leg_{key}"), sign()) for key, sign in SIGNS.items() if key in seen]
    return items + [Item(words.kind(kind), _kind_sign(kind)) for kind in dict.fromkeys(kinds)]


def _kind_sign(kind: str) -> tuple[Mark, ...]:
    look = look_of(kind)
    if kind in LINES_ALSO_AREAS or kind not in AREAS | {"water_protection_area"}:
        return _stroke(*look.strokes)
    return _box(look.fill, look.edge or look.strokes[0])
