"""What each result layer looks like, as plain data.

Room: ``results``. Imports nothing but the standard library. Colours are few and dark enough for white
paper; classes of one layer differ in form (dash, width, shape) as well as in colour, so that they can
be told apart in a grey print and with any colour vision.
"""

from __future__ import annotations

from dataclasses import dataclass

INK_BLUE = "#0b3c5d"
OCHRE = "#a8651b"
TEAL = "#1d6f72"
PLUM = "#5a2a82"
CRIMSON = "#9b1239"
SLATE = "#5b6168"
WHITE = "#ffffff"


@dataclass(frozen=True, slots=True)
class LinePart:
    """One stroke along a line; widths and dashes [mm]."""

    colour: str
    width_mm: float
    dash_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class FillPart:
    """A filled area with its outline; `opacity_frac` of the fill only."""

    colour: str
    opacity_frac: float
    outline: LinePart


@dataclass(frozen=True, slots=True)
class MarkerPart:
    """A sign at a point: square, diamond, circle, triangle or x, `size_mm` across."""

    shape: str
    size_mm: float
    colour: str
    outline: LinePart


Part = LinePart | FillPart | MarkerPart


@dataclass(frozen=True, slots=True)
class Category:
    """How features with one value of the layer's attribute are drawn, first part lowest."""

    value: str
    title: str
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Label:
    """What is written beside a feature.

    `field` is the plain column; `expression` a richer text for a desktop GIS. Shown at scales from
    1 : `smallest_denominator` to 1 : `largest_denominator`. Where there is not room for all, the higher
    `priority` (0 to 10) is kept. What follows holds in a desktop GIS only: `distance_mm` is an expression for
    the way between sign and text [mm], empty for the usual one; names of other features keep off this layer's
    signs, and off the outlines of areas, if it `keeps_others_off`.
    """

    field: str
    expression: str
    largest_denominator: int
    priority: int
    size_pt: float = 8.0
    smallest_denominator: int = 0
    distance_mm: str = ""
    keeps_others_off: bool = True


@dataclass(frozen=True, slots=True)
class LayerStyle:
    """The style of one layer.

    With an `attribute` each category is drawn by its value; without one there is a single category.
    The layer is hidden at scales smaller than 1 : `hidden_beyond`, if given.
    """

    layer: str
    attribute: str | None
    categories: tuple[Category, ...]
    label: Label
    hidden_beyond: int | None = None


def _short(field: str) -> str:
    """Return the expression that leaves the corridor's name out of an id."""
    return f"regexp_substr(\"{field}\", '([A-Z][0-9]+(-B[0-9]+)?)$')"


def _metres(field: str) -> str:
    return f"round(\"{field}\") || ' m'"


# Half the width of the band of bores on the map [mm] and a little more: names stand beside it.
_BESIDE_BORES = '1.2 + ("bores" - 1) * "bore_spacing_m" * 500 / @map_scale'
# A crossing doesn't know its drive's bores: clear of the drive's line, near enough to belong to its sign.
_BESIDE_DRIVE = "if(\"treatment\" = 'trenchless', max(1, min(4, 12000 / @map_scale)), 1)"


def _sign(shape: str, size_mm: float, *, is_filled: bool) -> MarkerPart:
    fill = PLUM if is_filled else WHITE
    return MarkerPart(shape, size_mm, fill, LinePart(PLUM, 0.6))


def _joint(*, is_filled: bool) -> MarkerPart:
    return MarkerPart(
        "diamond", 4.0, TEAL if is_filled else WHITE, LinePart(TEAL if not is_filled else WHITE, 0.5)
    )


_CASING = LinePart(WHITE, 2.0)  # keeps the dashes apart from what lies below
_LAUNCH, _RECEPTION = _sign("square", 3.2, is_filled=True), _sign("circle", 3.4, is_filled=False)
_CORE = MarkerPart("circle", 0.8, SLATE, LinePart(SLATE, 0.1))
_IN_LAUNCH = MarkerPart("square", 1.5, WHITE, LinePart(WHITE, 0.1))
_IN_RECEPTION = MarkerPart("circle", 1.5, WHITE, LinePart(WHITE, 0.1))
_IN_DARK = MarkerPart("square", 1.5, PLUM, LinePart(PLUM, 0.1))
_IN_DARK_ROUND = MarkerPart("circle", 1.5, PLUM, LinePart(PLUM, 0.1))

LAYER_STYLES: tuple[LayerStyle, ...] = (
    LayerStyle(
        "alignment",
        None,
        (Category("", "Alignment", (LinePart(SLATE, 2.6), LinePart(WHITE, 2.0))),),
        Label("corridor_id", '"corridor_id"', 5_000_000, 8, 9.0, 25_000),
    ),
    LayerStyle(
        "alternatives",
        None,
        (Category("", "Alternative", (LinePart("#6d7278", 0.7, (1.0, 1.5)),)),),
        Label(
            "alternative_id",
            # names of plans that leave the line together stand side by side: wide spaces keep them apart
            f"'\u2003' || {_short('alternative_id')} || ': +' || round(\"extra_eur\" / 1000) || ' k\u2003'",
            50_000,
            1,
            7.0,
        ),
        hidden_beyond=200_000,
    ),
    LayerStyle(
        "sections",
        "construction",
        (
            Category("open_cut", "Open cut", (LinePart(OCHRE, 0.8),)),
            Category("drive", "Drive", (_CASING, LinePart(INK_BLUE, 1.4, (3.0, 1.2)))),
        ),
        # A drive says its own name, and twice the same would crowd out the crossings.
        Label("section_id", f"if(\"construction\" = 'open_cut', {_short('section_id')}, '')", 25_000, 4),
    ),
    LayerStyle(
        "drives",
        "status",
        (
            Category("pass", "Checks passed", (_CASING, LinePart(TEAL, 1.4))),
            Category(
                "amber",
                "A check needs care",
                (_CASING, LinePart(INK_BLUE, 1.4), LinePart("#f0a500", 0.6, (5.0, 1.0))),
            ),
            Category("fail", "A check fails", (_CASING, LinePart(CRIMSON, 1.8, (1.2, 0.9)))),
            # As dark as the others: it is the drive that must be seen first, whatever has been checked.
            Category(
                "not_evaluated",
                "A check is not evaluated",
                (_CASING, LinePart(INK_BLUE, 1.4), LinePart(WHITE, 0.5, (0.6, 1.4))),
            ),
        ),
        Label(
            "drive_id",
            f"{_short('drive_id')} || if(@map_scale > 20000, '', ', ' || {_metres('length_m')})",
            50_000,
            6,
            distance_mm=_BESIDE_BORES,
        ),
    ),
    LayerStyle(
        "bores",
        None,
        (Category("", "Bore", (LinePart(INK_BLUE, 0.4),)),),
        Label("bore_id", _short("bore_id"), 1_500, 2, 7.0, keeps_others_off=False),
        hidden_beyond=25_000,
    ),
    LayerStyle(
        "shafts",
        "role",
        (
            Category("launch", "Launch", (_LAUNCH,)),
            Category("reception", "Reception", (_RECEPTION,)),
            Category("launch+launch", "Launch both ways", (_sign("square", 4.2, is_filled=True), _IN_LAUNCH)),
            Category(
                "reception+reception",
                "Reception both ways",
                (_sign("circle", 4.4, is_filled=False), _IN_DARK_ROUND),
            ),
            Category(
                "launch+reception",
                "Launch back, reception on",
                (_sign("diamond", 5.0, is_filled=True), _IN_RECEPTION),
            ),
            Category(
                "reception+launch",
                "Reception, then launch on",
                (_sign("diamond", 5.0, is_filled=False), _IN_DARK),
            ),
        ),
        Label(
            "shaft_id",
            f"{_short('shaft_id')} || '\\n' || format_number(\"depth_m\", 2) || ' m deep'",
            25_000,
            9,
        ),
        hidden_beyond=250_000,
    ),
    LayerStyle(
        "shaft_tolerance",
        None,
        (Category("", "Where a shaft may stand", (FillPart("#e3b7d0", 0.35, LinePart("#8a2f63", 0.3)),)),),
        Label(
            "extra_cost_percent",
            f"{_short('shaft_id')} || ': +' || \"extra_cost_percent\" || ' %'",
            2_500,
            2,
            7.0,
        ),
        hidden_beyond=25_000,
    ),
    LayerStyle(
        "compounds",
        None,
        (Category("", "Compound", (FillPart("#b9a3cf", 0.5, LinePart(PLUM, 0.3)),)),),
        Label("compound_id", "round(\"area_m2\") || ' m²'", 2_500, 3, 7.0),
        hidden_beyond=50_000,
    ),
    LayerStyle(
        "layout_strips",
        None,
        (Category("", "Layout strip", (FillPart("#cfe6e3", 0.6, LinePart(TEAL, 0.4, (2.0, 1.0))),)),),
        Label(
            "strip_id",
            f"{_short('strip_id')} || ', ' || {_metres('length_m')}",
            10_000,
            3,
            7.0,
        ),
        hidden_beyond=50_000,
    ),
    LayerStyle(
        "joint_bays",
        "kind",
        (
            Category("in_trench", "Joint bay in the trench", (_joint(is_filled=True),)),
            Category("in_shaft", "Joint in a shaft", (_joint(is_filled=False),)),
            Category(
                "in_longer_shaft",
                "Joint in a shaft to be made larger",
                (_joint(is_filled=False), MarkerPart("x", 2.2, CRIMSON, LinePart(CRIMSON, 0.5))),
            ),
        ),
        Label("bay_id", f"{_short('bay_id')} || ', ' || {_metres('section_back_m')}", 25_000, 5, 7.5),
        hidden_beyond=60_000,
    ),
    LayerStyle(
        "crossing_schedule",
        "treatment",
        (
            Category("open_cut", "Crossed in open cut", (MarkerPart("x", 2.6, OCHRE, LinePart(OCHRE, 0.7)),)),
            Category(
                "trenchless",
                "Crossed by a drive",
                (MarkerPart("triangle", 3.2, INK_BLUE, LinePart(WHITE, 0.3)),),
            ),
        ),
        Label(
            "kind",
            "left(coalesce(\"name\", replace(\"kind\", '_', ' ')), 30)",
            15_000,
            7,
            7.5,
            distance_mm=_BESIDE_DRIVE,
        ),
        hidden_beyond=25_000,
    ),
    LayerStyle(
        "investigation_plan",
        "kind",
        (
            Category("borehole", "Borehole", (MarkerPart("circle", 2.4, WHITE, LinePart(SLATE, 0.5)), _CORE)),
            Category("probing", "Probing", (MarkerPart("circle", 1.4, SLATE, LinePart(WHITE, 0.2)),)),
        ),
        Label(
            "borehole_id",
            f"if(\"kind\" = 'borehole', {_short('borehole_id')} || ', ' || "
            "format_number(\"depth_m\", 1) || ' m', '')",
            10_000,
            3,
            7.0,
        ),
        hidden_beyond=15_000,
    ),
)
