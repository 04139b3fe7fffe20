"""Styles in the XML that a desktop GIS loads from the GeoPackage on opening it.

Room: ``results``. Imports ``schema`` and its neighbour ``symbols``. The open standard beside it is SLD;
this form is there because a file with SLD alone opens in random colours.
"""

from __future__ import annotations

from xml.etree import ElementTree as ET

from routescreen.results.symbols import Category, FillPart, LayerStyle, LinePart, MarkerPart, Part
from routescreen.schema import LAYERS_BY_NAME, Column, Layer

_DOCTYPE = '<!DOCTYPE qgis PUBLIC "http://mrcc.com/qgis.dtd" "SYSTEM">\n'
_SHAPES = {"x": "cross2"}
_LINE_LABEL, _POINT_LABEL, _AREA_LABEL = "2", "6", "1"  # along the line; around the point; over the centroid

Options = dict[str, str]


def qml_text(style: LayerStyle, columns: tuple[Column, ...] | None = None) -> str:
    """Return one layer's style with its labels, scale rules and column headings.

    Parameters
    ----------
    style : LayerStyle
    columns : tuple of Column, optional
        Of the layer; those that the schema declares for it, if not given.
    """
    root = ET.Element(
        "qgis",
        version="3.22.0",
        styleCategories="Symbology|Labeling|Fields|Rendering",
        labelsEnabled="1",
    )
    if style.hidden_beyond is not None:
        root.attrib |= {
            "hasScaleBasedVisibilityFlag": "1",
            "minScale": str(style.hidden_beyond),
            "maxScale": "0",
        }
    _renderer(root, style)
    _labeling(root, style)
    _headings(root, LAYERS_BY_NAME[style.layer].columns if columns is None else columns)
    return _DOCTYPE + ET.tostring(root, encoding="unicode")


def table_qml_text(table: Layer) -> str:
    """Return the column headings of a table without geometry."""
    root = ET.Element("qgis", version="3.22.0", styleCategories="Fields")
    _headings(root, table.columns)
    return _DOCTYPE + ET.tostring(root, encoding="unicode")


def _headings(root: ET.Element, columns: tuple[Column, ...]) -> None:
    aliases = ET.SubElement(root, "aliases")
    for index, column in enumerate(columns, start=1):
        ET.SubElement(aliases, "alias", field=column.name, index=str(index), name=column.label)


def _renderer(root: ET.Element, style: LayerStyle) -> None:
    is_single = style.attribute is None
    renderer = ET.SubElement(
        root,
        "renderer-v2",
        type="singleSymbol" if is_single else "categorizedSymbol",
        symbollevels="0",
        forceraster="0",
        enableorderby="0",
    )
    if style.attribute is not None:
        renderer.set("attr", style.attribute)
        _categories(renderer, style.categories)
    symbols = ET.SubElement(renderer, "symbols")
    for number, category in enumerate(style.categories):
        _symbol(symbols, str(number), category)


def _categories(renderer: ET.Element, categories: tuple[Category, ...]) -> None:
    parent = ET.SubElement(renderer, "categories")
    for number, category in enumerate(categories):
        ET.SubElement(
            parent,
            "category",
            symbol=str(number),
            value=category.value,
            label=category.title,
            render="true",
            type="string",
        )


def _symbol(parent: ET.Element, name: str, category: Category) -> None:
    kind = {LinePart: "line", FillPart: "fill", MarkerPart: "marker"}[type(category.parts[0])]
    symbol = ET.SubElement(
        parent, "symbol", name=name, type=kind, alpha="1", clip_to_extent="1", force_rhr="0"
    )
    for part in category.parts:
        drawn, options = _part(part)
        layer = ET.SubElement(symbol, "layer", {"class": drawn, "enabled": "1", "pass": "0"})
        table = ET.SubElement(layer, "Option", type="Map")
        for key, value in options.items():
            ET.SubElement(table, "Option", type="QString", name=key, value=value)


def _part(part: Part) -> tuple[str, Options]:
    if isinstance(part, LinePart):
        return "SimpleLine", _line_options(part)
    if isinstance(part, FillPart):
        return "SimpleFill", _fill_options(part)
    return "SimpleMarker", _marker_options(part)


def _line_options(part: LinePart) -> Options:
    options = {
        "line_color": _rgba(part.colour),
        "line_width": f"{part.width_mm:g}",
        "line_width_unit": "MM",
        "capstyle": "flat",
        "joinstyle": "round",
    }
    if part.dash_mm:
        dash = ";".join(f"{length:g}" for length in part.dash_mm)
        options |= {"use_custom_dash": "1", "customdash": dash, "customdash_unit": "MM"}
    return options


def _fill_options(part: FillPart) -> Options:
    return {
        "color": _rgba(part.colour, part.opacity_frac),
        "style": "solid",
        "outline_color": _rgba(part.outline.colour),
        "outline_width": f"{part.outline.width_mm:g}",
        "outline_width_unit": "MM",
        "outline_style": "dash" if part.outline.dash_mm else "solid",
    }


def _marker_options(part: MarkerPart) -> Options:
    return {
        "name": _SHAPES.get(part.shape, part.shape),
        "color": _rgba(part.colour),
        "size": f"{part.size_mm:g}",
        "size_unit": "MM",
        "outline_color": _rgba(part.outline.colour),
        "outline_width": f"{part.outline.width_mm:g}",
        "outline_width_unit": "MM",
    }


def _rgba(colour: str, opacity_frac: float = 1.0) -> str:
    red, green, blue = (int(colour[start : start + 2], 16) for start in (1, 3, 5))
    return f"{red},{green},{blue},{round(255 * opacity_frac)}"


def _labeling(root: ET.Element, style: LayerStyle) -> None:
    label = style.label
    settings = ET.SubElement(ET.SubElement(root, "labeling", type="simple"), "settings")
    text = ET.SubElement(
        settings,
        "text-style",
        fieldName=label.expression,
        isExpression="1",
        fontFamily="DejaVu Sans",
        fontSize=f"{label.size_pt:g}",
        fontSizeUnit="Point",
        fontWeight="50",  # else read as 0, the thinnest
        textColor="0,0,0,255",
    )
    ET.SubElement(
        text,
        "text-buffer",
        bufferDraw="1",
        bufferSize="0.7",
        bufferSizeUnits="MM",
        bufferColor="255,255,255,255",
    )
    _label_place(settings, style)
    ET.SubElement(
        settings,
        "rendering",
        scaleVisibility="1",
        scaleMin=str(label.smallest_denominator),
        scaleMax=str(label.largest_denominator),
        drawLabels="1",
        obstacle="1" if label.keeps_others_off else "0",
        # Of areas the outline alone: they are large, and what stands on them needs the room.
        obstacleType="1" if isinstance(style.categories[0].parts[0], FillPart) else "0",
    )
    if label.distance_mm:
        _by_expression(settings, "LabelDistance", label.distance_mm)


def _by_expression(settings: ET.Element, key: str, expression: str) -> None:
    """Have one property of the labels reckoned for each feature."""
    whole = ET.SubElement(ET.SubElement(settings, "dd_properties"), "Option", type="Map")
    ET.SubElement(whole, "Option", name="name", value="", type="QString")
    properties = ET.SubElement(whole, "Option", name="properties", type="Map")
    one = ET.SubElement(properties, "Option", name=key, type="Map")
    ET.SubElement(one, "Option", name="active", value="true", type="bool")
    ET.SubElement(one, "Option", name="expression", value=expression, type="QString")
    ET.SubElement(one, "Option", name="type", value="3", type="int")  # 3: an expression
    ET.SubElement(whole, "Option", name="type", value="collection", type="QString")


def _label_place(settings: ET.Element, style: LayerStyle) -> None:
    first, priority = style.categories[0].parts[0], str(style.label.priority)
    if isinstance(first, LinePart):
        ET.SubElement(
            settings,
            "placement",
            placement=_LINE_LABEL,
            placementFlags="2",
            dist="1.6",
            distUnits="MM",
            priority=priority,
        )
    elif isinstance(first, MarkerPart):
        ET.SubElement(
            settings,
            "placement",
            placement=_POINT_LABEL,
            predefinedPositionOrder="B,T,BR,TR,BL,TL",
            offsetType="1",
            dist="0.8",
            distUnits="MM",
            priority=priority,
        )
    else:
        ET.SubElement(settings, "placement", placement=_AREA_LABEL, priority=priority)
