"""Styles: complete, in step with the repository, told apart without colour, readable on white paper."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from routescreen.results.styles import qml_texts, sld_texts, write_styles
from routescreen.results.symbols import LAYER_STYLES, FillPart, LinePart, MarkerPart
from routescreen.schema import LAYERS_BY_NAME, RESULT_LAYERS

ROOT = Path(__file__).parents[2]
SE = "{http://www.opengis.net/se}"
OGC = "{http://www.opengis.net/ogc}"
BY_LAYER = {style.layer: style for style in LAYER_STYLES}
STYLES = pytest.mark.parametrize("style", LAYER_STYLES, ids=lambda style: style.layer)


def test_every_spatial_layer_has_a_style():
    assert set(BY_LAYER) == {layer.name for layer in RESULT_LAYERS if layer.is_spatial}


@STYLES
def test_categories_are_the_values_that_may_stand(style):
    values = [category.value for category in style.categories]
    if style.attribute is None:
        assert values == [""]
    else:
        assert sorted(values) == sorted(LAYERS_BY_NAME[style.layer].column(style.attribute).allowed)


def _form(part):
    """Everything of a part that a grey print still shows."""
    if isinstance(part, LinePart):
        return (part.width_mm, part.dash_mm)
    if isinstance(part, FillPart):
        return (part.outline.width_mm, part.outline.dash_mm)
    is_dark = _luminance(part.colour) < 0.5
    return (part.shape, part.size_mm, is_dark)


def _luminance(colour):
    """Relative luminance of an sRGB colour, as WCAG 2.1 defines it [memory]."""
    parts = [int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@STYLES
def test_categories_differ_in_form(style):
    for a, b in combinations(style.categories, 2):
        assert [_form(part) for part in a.parts] != [_form(part) for part in b.parts]


def _ink(part):
    return part.colour if isinstance(part, LinePart) else part.outline.colour


@STYLES
def test_each_category_stands_out_from_white_paper(style):
    """WCAG 2.1, 1.4.11 asks 3:1 of graphical objects [memory]."""
    for category in style.categories:
        inks = [_ink(part) for part in category.parts]
        inks += [part.colour for part in category.parts if isinstance(part, MarkerPart)]
        assert max(1.05 / (_luminance(ink) + 0.05) for ink in inks) >= 3.0


def test_repository_holds_the_generated_files():
    published = {path.stem: path.read_text(encoding="utf-8") for path in (ROOT / "styles").glob("*.sld")}
    assert published == sld_texts(), "run: python -m routescreen.results.publish"


def test_folder_of_styles(tmp_path):
    paths = write_styles(tmp_path / "styles")
    assert sorted(path.name for path in paths) == sorted(f"{layer}.sld" for layer in BY_LAYER)
    assert sorted(path.name for path in (tmp_path / "styles").iterdir()) == sorted(
        path.name for path in paths
    )


@STYLES
def test_sld(style):
    root = ET.fromstring(sld_texts()[style.layer])
    assert root.tag == "{http://www.opengis.net/sld}StyledLayerDescriptor"
    assert root.get("version") == "1.1.0"
    literals = [node.text for node in root.iter(f"{OGC}Literal")]
    assert literals == [category.value for category in style.categories if style.attribute]
    *drawing, labels = root.iter(f"{SE}Rule")
    assert len(drawing) == len(style.categories)
    assert labels.findtext(f"{SE}MaxScaleDenominator") == str(style.label.largest_denominator)
    name = labels.findtext(f"{SE}TextSymbolizer/{SE}Label/{OGC}PropertyName")
    assert name in LAYERS_BY_NAME[style.layer].column_names


@STYLES
def test_sld_rules_stand_in_the_standards_order(style):
    """Symbology Encoding 1.1: name, description, filter, least scale, largest scale, symbolizers [memory]."""
    order = ["Name", "Description", "Filter", "MinScaleDenominator", "MaxScaleDenominator"]
    for rule in ET.fromstring(sld_texts()[style.layer]).iter(f"{SE}Rule"):
        tags = [child.tag.split("}")[1] for child in rule]
        heads = [tag for tag in tags if tag in order]
        assert heads == sorted(heads, key=order.index)
        assert all(tag.endswith("Symbolizer") for tag in tags[len(heads) :])
        assert len(tags) > len(heads)


def _qml(layer):
    return ET.fromstring(qml_texts()[layer].split("\n", 1)[1])


@STYLES
def test_qml(style):
    root = _qml(style.layer)
    symbols = {node.get("name") for node in root.iter("symbol")}
    used = {node.get("symbol") for node in root.iter("category")} or {"0"}
    assert used == symbols
    assert [node.get("value") for node in root.iter("category")] == [
        category.value for category in style.categories if style.attribute
    ]
    rendering = root.find("labeling/settings/rendering")
    assert rendering.get("scaleVisibility") == "1"
    assert int(rendering.get("scaleMax")) == style.label.largest_denominator
    assert int(rendering.get("scaleMin")) < int(rendering.get("scaleMax"))


@STYLES
def test_qml_gives_every_column_its_heading(style):
    aliases = {node.get("field"): node.get("name") for node in _qml(style.layer).iter("alias")}
    layer = LAYERS_BY_NAME[style.layer]
    assert aliases == {column.name: column.label for column in layer.columns}


@STYLES
def test_qml_is_short(style):
    assert len(qml_texts()[style.layer]) < 9_000


@pytest.mark.parametrize(("layer", "beyond"), [("bores", "25000"), ("crossing_schedule", "25000")])
def test_what_would_cover_the_route_is_hidden_on_small_scales(layer, beyond):
    root = _qml(layer)
    assert (root.get("hasScaleBasedVisibilityFlag"), root.get("minScale")) == ("1", beyond)


def test_every_drive_is_as_dark_as_open_cut_or_darker():
    """Whatever has been checked, a drive must not look weaker on the map than the trench beside it."""
    open_cut = next(c for c in BY_LAYER["sections"].categories if c.value == "open_cut")
    trench = max(part.width_mm for part in open_cut.parts)
    for category in BY_LAYER["drives"].categories:
        dark = [part for part in category.parts if 1.05 / (_luminance(part.colour) + 0.05) >= 4.5]
        assert max(part.width_mm for part in dark) > trench
