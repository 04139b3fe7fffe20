"""Styles as OGC Styled Layer Descriptor 1.1 with Symbology Encoding 1.1.

Room: ``results``. Imports its neighbour ``symbols``.
"""

from __future__ import annotations

from xml.etree import ElementTree as ET

from routescreen.results.symbols import Category, FillPart, Label, LayerStyle, LinePart, MarkerPart, Part

_SLD = "http://www.opengis.net/sld"
_SE = "http://www.opengis.net/se"
_OGC = "http://www.opengis.net/ogc"
_XSI = "http://www.w3.org/2001/XMLSchema-instance"
_SCHEMA = "http://schemas.opengis.net/sld/1.1.0/StyledLayerDescriptor.xsd"
_MM_PER_PIXEL = 0.28  # OGC 05-077r4, section 10: the standard pixel of a rendering device [memory]

_PREFIXES = {"sld": _SLD, "se": _SE, "ogc": _OGC, "xsi": _XSI}


def sld_text(style: LayerStyle) -> str:
    """Return one layer's style as a complete SLD document."""
    root = ET.Element("sld:StyledLayerDescriptor", version="1.1.0")
    for prefix, address in _PREFIXES.items():
        root.set(f"xmlns:{prefix}", address)
    root.set("xsi:schemaLocation", f"{_SLD} {_SCHEMA}")
    layer = ET.SubElement(root, "sld:NamedLayer")
    _text(layer, "se:Name", style.layer)
    user = ET.SubElement(layer, "sld:UserStyle")
    _text(user, "se:Name", style.layer)
    rules = ET.SubElement(user, "se:FeatureTypeStyle")
    for category in style.categories:
        _rule(rules, style, category)
    _label_rule(rules, style)
    ET.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _text(parent: ET.Element, tag: str, text: str) -> ET.Element:
    child = ET.SubElement(parent, tag)
    child.text = text
    return child


def _rule(parent: ET.Element, style: LayerStyle, category: Category) -> None:
    rule = ET.SubElement(parent, "se:Rule")
    _text(rule, "se:Name", category.value or style.layer)
    _text(ET.SubElement(rule, "se:Description"), "se:Title", category.title)
    if style.attribute is not None:
        equal = ET.SubElement(ET.SubElement(rule, "ogc:Filter"), "ogc:PropertyIsEqualTo")
        _text(equal, "ogc:PropertyName", style.attribute)
        _text(equal, "ogc:Literal", category.value)
    if style.hidden_beyond is not None:
        _text(rule, "se:MaxScaleDenominator", str(style.hidden_beyond))
    for part in category.parts:
        _symbolizer(rule, part)


def _symbolizer(rule: ET.Element, part: Part) -> None:
    if isinstance(part, LinePart):
        _stroke(ET.SubElement(rule, "se:LineSymbolizer"), part)
    elif isinstance(part, FillPart):
        area = ET.SubElement(rule, "se:PolygonSymbolizer")
        _fill(area, part.colour, part.opacity_frac)
        _stroke(area, part.outline)
    else:
        _marker(rule, part)


def _marker(rule: ET.Element, part: MarkerPart) -> None:
    graphic = ET.SubElement(ET.SubElement(rule, "se:PointSymbolizer"), "se:Graphic")
    mark = ET.SubElement(graphic, "se:Mark")
    is_diamond = part.shape == "diamond"
    _text(mark, "se:WellKnownName", "square" if is_diamond else part.shape)
    if part.shape != "x":
        _fill(mark, part.colour)
    _stroke(mark, part.outline)
    size_mm = part.size_mm / 2**0.5 if is_diamond else part.size_mm
    _text(graphic, "se:Size", _pixels(size_mm))
    if is_diamond:
        _text(graphic, "se:Rotation", "45")


def _fill(parent: ET.Element, colour: str, opacity_frac: float | None = None) -> None:
    fill = ET.SubElement(parent, "se:Fill")
    _parameter(fill, "fill", colour)
    if opacity_frac is not None:
        _parameter(fill, "fill-opacity", f"{opacity_frac:g}")


def _stroke(parent: ET.Element, line: LinePart) -> None:
    stroke = ET.SubElement(parent, "se:Stroke")
    _parameter(stroke, "stroke", line.colour)
    _parameter(stroke, "stroke-width", _pixels(line.width_mm))
    _parameter(stroke, "stroke-linecap", "butt")
    if line.dash_mm:
        _parameter(stroke, "stroke-dasharray", " ".join(_pixels(length) for length in line.dash_mm))


def _parameter(parent: ET.Element, name: str, value: str) -> None:
    _text(parent, "se:SvgParameter", value).set("name", name)


def _pixels(length_mm: float) -> str:
    return f"{length_mm / _MM_PER_PIXEL:.2f}"


def _label_rule(parent: ET.Element, style: LayerStyle) -> None:
    label: Label = style.label
    rule = ET.SubElement(parent, "se:Rule")
    _text(rule, "se:Name", f"{style.layer} labels")
    if label.smallest_denominator:
        _text(rule, "se:MinScaleDenominator", str(label.smallest_denominator))
    _text(rule, "se:MaxScaleDenominator", str(label.largest_denominator))
    symbolizer = ET.SubElement(rule, "se:TextSymbolizer")
    _text(ET.SubElement(symbolizer, "se:Label"), "ogc:PropertyName", label.field)
    font = ET.SubElement(symbolizer, "se:Font")
    _parameter(font, "font-family", "DejaVu Sans")
    _parameter(font, "font-size", f"{label.size_pt * 25.4 / 72.0 / _MM_PER_PIXEL:.1f}")
    _placement(symbolizer, style)
    halo = ET.SubElement(symbolizer, "se:Halo")
    _text(halo, "se:Radius", _pixels(0.5))
    _fill(halo, "#ffffff")
    _fill(symbolizer, "#1a1a1a")


def _placement(symbolizer: ET.Element, style: LayerStyle) -> None:
    placement = ET.SubElement(symbolizer, "se:LabelPlacement")
    if isinstance(style.categories[0].parts[0], LinePart):
        line = ET.SubElement(placement, "se:LinePlacement")
        _text(line, "se:PerpendicularOffset", _pixels(2.0))
        return
    point = ET.SubElement(placement, "se:PointPlacement")
    shift = ET.SubElement(point, "se:Displacement")
    _text(shift, "se:DisplacementX", "0")
    _text(shift, "se:DisplacementY", f"-{_pixels(4.0)}")
