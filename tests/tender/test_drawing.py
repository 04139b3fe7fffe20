"""The drawing, read back: where things lie, on which layer, and what the long section's heights mean."""

from __future__ import annotations

import dataclasses

import ezdxf
import pytest
from ezdxf import options
from shapely import LineString, box

from routescreen.results.dxf import write_dxf
from routescreen.results.tables import result_tables
from routescreen.screened import Backdrop
from routescreen.tender import alignment_drawing
from routescreen.tender.drawing import Drawing, Line
from routescreen.tender.drawing_layers import LAYERS
from tests.results import example
from tests.tender.readers import NASTY

WEST, SOUTH = example.WEST, example.SOUTH


def drawn(tables, path, backdrops=None):
    write_dxf(alignment_drawing(tables, backdrops or {}, example.METRES.name), path)
    return ezdxf.readfile(path)


@pytest.fixture(scope="module")
def document(tmp_path_factory):
    fence = Backdrop(
        box(WEST - 50.0, SOUTH - 200.0, WEST + 2050.0, SOUTH + 200.0),
        (LineString([(WEST + 450.0, SOUTH - 90.0), (WEST + 450.0, SOUTH + 90.0)]), box(0, 0, 1, 1)),
        ("railway", "forest"),
        ("Old line", ""),
        ("way/31", "way/99"),
    )
    return drawn(example.tables(), tmp_path_factory.mktemp("dxf") / "a.dxf", {"west": fence})


def on(space, layer, kind):
    return [e for e in space if e.dxf.layer == layer and e.dxftype() == kind]


def test_it_is_in_metres_and_whole(document):
    assert document.units == ezdxf.units.M
    assert document.header["$MEASUREMENT"] == 1
    assert document.audit().errors == []


def test_every_layer_is_declared_and_none_is_left_out(document):
    space = document.modelspace()
    used = {e.dxf.layer for block in document.blocks for e in block} - {"0"}
    names = {layer.dxf.name for layer in document.layers}
    assert used <= names
    assert {e.dxf.layer for e in space} >= {"PLAN_ALIGNMENT", "PLAN_BORES", "PLAN_SHAFTS", "PLAN_CROSSINGS"}


def test_the_plan_lies_where_it_is(document):
    space = document.modelspace()
    (line,) = on(space, "PLAN_ALIGNMENT", "LWPOLYLINE")
    assert [(x, y) for x, y, *_ in line] == [(WEST + x, SOUTH + y) for x, y in example.VERTICES]
    shafts = sorted(round(circle.dxf.center.x - WEST, 3) for circle in on(space, "PLAN_SHAFTS", "CIRCLE"))
    assert shafts == [300, 600, 1000, 1200, 1500, 1750]
    bores = [[(x - WEST, y - SOUTH) for x, y, *_ in bore] for bore in on(space, "PLAN_BORES", "LWPOLYLINE")]
    # the first drive's four bores, 6 m apart, the leftmost first
    assert [bore[0] for bore in bores[:4]] == [(300, 9), (300, 3), (300, -3), (300, -9)]
    compounds = on(space, "PLAN_COMPOUNDS", "LWPOLYLINE")
    assert (len(compounds), compounds[0].closed, len(compounds[0])) == (6, True, 4)


def test_only_features_that_are_crossed_lie_behind(document):
    space = document.modelspace()
    (railway,) = on(space, "PLAN_FEATURES", "LWPOLYLINE")
    assert tuple(railway[0][:2]) == (WEST + 450.0, SOUTH - 90.0)
    assert len(on(space, "PLAN_CORRIDOR", "LWPOLYLINE")) == 1


def test_the_long_section_is_a_block_below_the_plan_with_heights_times_ten(document):
    space = document.modelspace()
    (insert,) = (e for e in space if e.dxftype() == "INSERT")
    block = document.blocks[insert.dxf.name]
    # levels from 7.75 m (a shaft of 12.25 m in ground at 20 m) to 20 m: datum 5 m, grid to 25 m
    ground = on(block, "PROFILE_GROUND", "LWPOLYLINE")[0]
    assert [(x, y) for x, y, *_ in ground] == [(0, 150), (450, 150), (2000, 150)]
    bores = on(block, "PROFILE_BORES", "LWPOLYLINE")[0]
    # invert 13.44 and 10.44 m, crown 14 and 11 m
    assert [(x, pytest.approx(y)) for x, y, *_ in bores] == [(300, 84.4), (600, 54.4), (600, 60), (300, 90)]
    assert bores.closed
    deepest = min(e[1][1] for e in on(block, "PROFILE_SHAFTS", "LWPOLYLINE"))
    assert deepest == pytest.approx(27.5)
    assert insert.dxf.insert.y + 200.0 < SOUTH - 200.0
    (note,) = (e.dxf.text for e in on(block, "PROFILE_LABELS", "TEXT") if "Long section" in e.dxf.text)
    at = (insert.dxf.insert.x, insert.dxf.insert.y)
    assert f"x = {at[0]:.0f} + chainage, y = {at[1]:.0f} + 10 x (level above datum), datum 5 m" in note


def test_two_corridors_have_two_long_sections_that_keep_apart(tmp_path):
    tables = result_tables([example.corridor("a"), example.corridor("b")], example.METRES)
    document = drawn(tables, tmp_path / "a.dxf")
    inserts = [e for e in document.modelspace() if e.dxftype() == "INSERT"]
    tops = [e.dxf.insert.y for e in inserts]
    assert len(tops) == 2
    assert tops[0] - tops[1] > 200.0 + 100.0  # height of the grid, room for names


@pytest.mark.parametrize("n_points", [2, 500, 501, 502, 1001, 1234])
def test_a_long_line_is_drawn_in_pieces_end_to_end(tmp_path, n_points):
    points = tuple((float(at), 0.0) for at in range(n_points))
    drawing = Drawing("long", LAYERS, (Line("PLAN_ALIGNMENT", points),), ())
    write_dxf(drawing, tmp_path / "a.dxf")
    space = ezdxf.readfile(tmp_path / "a.dxf").modelspace()
    pieces = [[(x, y) for x, y, *_ in e] for e in on(space, "PLAN_ALIGNMENT", "LWPOLYLINE")]
    assert all(2 <= len(piece) <= 501 for piece in pieces)
    assert [a[-1] for a in pieces[:-1]] == [b[0] for b in pieces[1:]]
    assert (pieces[0][0], *(point for piece in pieces for point in piece[1:])) == points


def test_names_are_shown_as_they_are(tmp_path):
    for number, name in enumerate(NASTY):
        corridor = dataclasses.replace(example.corridor("w"), crossings=example.crossings().assign(name=name))
        document = drawn(result_tables([corridor], example.METRES), tmp_path / f"{number}.dxf")
        texts = [
            e.dxf.text for e in on(document.modelspace(), "PLAN_LABELS", "TEXT") if "railway" in e.dxf.text
        ]
        (text,) = texts
        assert "%%" not in text
        assert text.isprintable()
        assert text.startswith(f"C002 railway {name[:6]}".rstrip("%")[:16])
        assert document.audit().errors == []


def test_the_same_drawing_gives_the_same_bytes_and_leaves_no_setting_behind(tmp_path):
    before = options.write_fixed_meta_data_for_testing
    for name in ("a.dxf", "b.dxf"):
        drawn(example.tables(), tmp_path / name)
    assert (tmp_path / "a.dxf").read_bytes() == (tmp_path / "b.dxf").read_bytes()
    assert options.write_fixed_meta_data_for_testing == before


def test_the_caution_stands_in_the_drawing(document):
    texts = " ".join(e.dxf.text for e in on(document.modelspace(), "PLAN_LABELS", "TEXT"))
    assert "A screening aid, not a design." in texts
