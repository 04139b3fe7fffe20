"""How things look on the sheets: colours, widths and dashes.

Room: ``sheets``. Pure data. The works have the colours of the results' layers; what lies there already is
pale, and kinds differ in width, dash or tone too, so that a grey print can be read.
"""

from __future__ import annotations

from dataclasses import dataclass

from routescreen.sheets.marks import Ink

# Of the works, as in the styles of the result layers.
DRIVE, OPEN_CUT, SHAFT, STRIP, WRONG, SLATE, BLACK, WHITE = (
    "#0b3c5d",
    "#a8651b",
    "#5a2a82",
    "#1d6f72",
    "#9b1239",
    "#5b6168",
    "#000000",
    "#ffffff",
)
SHAFT_FILL, STRIP_FILL, BORE_FILL, WATER = "#e2d8ec", "#e2efed", "#c5d5e2", "#2f77a8"

BORDER = Ink(BLACK, 0.5)
THIN = Ink(BLACK, 0.25)
HAIR = Ink(SLATE, 0.13)
GRID = Ink("#b4b9bf", 0.13)
LEADER = Ink(SLATE, 0.13)
GROUND = Ink("#3c3f44", 0.4)
GROUNDWATER = Ink(WATER, 0.25, (3.0, 0.8, 0.6, 0.8))
REQUIRED = Ink(WRONG, 0.25, (1.6, 0.8))
BORE_EDGE = Ink(DRIVE, 0.3)
TRENCH_BOTTOM = Ink(OPEN_CUT, 0.4)
SECTION_CUT = Ink(OPEN_CUT, 0.7)
SECTION_DRIVE = Ink(DRIVE, 0.9, (3.0, 1.2))
BORE_LINE = Ink(DRIVE, 0.18)
SHAFT_EDGE = Ink(SHAFT, 0.35)
COMPOUND_EDGE = Ink(SHAFT, 0.2)
STRIP_EDGE = Ink(STRIP, 0.25, (2.0, 1.0))
MATCH = Ink(BLACK, 0.35, (5.0, 1.2, 0.8, 1.2))
CORRIDOR_EDGE = Ink("#7a7466", 0.3, (4.0, 1.0, 0.7, 1.0, 0.7, 1.0))
CASING = Ink(WHITE, 1.5)


@dataclass(frozen=True, slots=True)
class Look:
    """A kind of feature: fill and outline where it is an area, strokes where it is a line.

    `rank` says what lies below (0) and what above.
    """

    rank: int
    fill: str | None
    edge: Ink | None
    strokes: tuple[Ink, ...]


def _area(rank: int, fill: str | None, edge: Ink) -> Look:
    return Look(rank, fill, edge, (edge,))


def _line(rank: int, *strokes: Ink) -> Look:
    return Look(rank, None, strokes[0], strokes)


_WATER_EDGE = Ink("#6d9fc4", 0.2)
_WATER_AREA = Look(3, "#d8e8f4", _WATER_EDGE, (Ink("#6d9fc4", 0.6),))
_ROAD = Look(5, "#efe5d4", Ink("#b79b6d", 0.18), (Ink("#b79b6d", 0.9), Ink("#fdf8ee", 0.55)))
_SPOILT = _area(2, "#ece7e4", Ink("#9a8d86", 0.2, (1.2, 0.8)))

LOOKS: dict[str, Look] = {
    "water_protection_area": _area(0, None, Ink("#4a86ad", 0.25, (3.0, 1.5))),
    "protected_area": _area(0, "#f5f0f8", Ink("#8c66ab", 0.25, (3.0, 1.5))),
    "forest": _area(1, "#e6efdf", Ink("#93ad7f", 0.2)),
    "wetland": _area(2, "#e4f0ec", Ink("#5f9c92", 0.2, (0.8, 0.8))),
    "archaeological_site": _SPOILT,
    "graveyard": _SPOILT,
    "landfill": _SPOILT,
    "contaminated_ground": _SPOILT,
    "lake": _WATER_AREA,
    "river": _WATER_AREA,
    "canal": _WATER_AREA,
    "stream": Look(3, "#d8e8f4", _WATER_EDGE, (Ink("#6d9fc4", 0.5),)),
    "ditch": Look(3, "#d8e8f4", _WATER_EDGE, (Ink("#6d9fc4", 0.25),)),
    "hedge": Look(4, "#d9e6ce", Ink("#7f9c68", 0.18), (Ink("#7f9c68", 0.35, (0.5, 0.7)),)),
    "dyke": Look(4, "#eceadb", Ink("#a39c6f", 0.2), (Ink("#a39c6f", 0.7, (0.35, 0.9)),)),
    "sea_dyke": Look(4, "#eceadb", Ink("#857d4c", 0.25), (Ink("#857d4c", 0.9, (0.35, 0.9)),)),
    "motorway": Look(6, "#f3dcc7", Ink("#b06a35", 0.3), (Ink("#b06a35", 1.5), Ink("#f7e6d6", 0.9))),
    "main_road": Look(5, "#f3e6d2", Ink("#b58446", 0.25), (Ink("#b58446", 1.1), Ink("#faf0df", 0.65))),
    "road": _ROAD,
    "track": _line(5, Ink("#a58f6c", 0.3, (2.2, 0.8))),
    "path": _line(5, Ink("#a58f6c", 0.2, (1.0, 0.8))),
    "railway": Look(6, "#e3e3e3", Ink("#4a4a4a", 0.2), (Ink("#4a4a4a", 0.7), Ink(WHITE, 0.35, (2.0, 2.0)))),
    "tram": Look(6, "#e3e3e3", Ink("#6a6a6a", 0.2), (Ink("#6a6a6a", 0.4),)),
    "gas_pipeline": _line(7, Ink("#a87a00", 0.3, (4.0, 1.0))),
    "pipeline": _line(7, Ink("#7a5c1e", 0.3, (4.0, 1.0, 1.0, 1.0))),
    "water_main": _line(7, Ink("#3b82b0", 0.25, (3.0, 0.8))),
    "sewer": _line(7, Ink("#6b4a2b", 0.25, (1.8, 0.6))),
    "power_cable": _line(7, Ink("#b3364f", 0.25, (2.4, 0.5, 0.5, 0.5))),
    "telecom": _line(7, Ink("#6d747b", 0.2, (1.2, 0.5))),
    "power_line": _line(7, Ink("#8b8f94", 0.25, (5.0, 1.0, 0.4, 1.0))),
    "building": _area(8, "#d3ccc5", Ink("#7d756d", 0.18)),
    "wind_turbine": Look(8, "#d3ccc5", Ink("#7d756d", 0.2), (Ink("#7d756d", 0.3),)),
}
OTHER = _area(2, "#efefef", Ink("#9a9a9a", 0.18))


def look_of(kind: str) -> Look:
    """Return the look of a kind; kinds of a project's own are grey."""
    return LOOKS.get(kind, OTHER)
