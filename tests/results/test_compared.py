"""A comparison as files: what stands in them is what was compared, and no name in them is run."""

from __future__ import annotations

import dataclasses
import re
import sqlite3
from contextlib import closing

import pyogrio
import pytest

from routescreen.answers.compare import compare_plans
from routescreen.errors import OutputError
from routescreen.results.compared import STYLES, TABLES, write_comparison
from tests.answers import pair as made
from tests.results import example
from tests.rights import HAS_MODES, closed_folder

NASTY = "</svg><script>hit=1</script>\"'&"


def _renamed(plan, name):
    schedule = plan.tables["crossing_schedule"].assign(name=NASTY)
    return dataclasses.replace(plan, name=name, tables={**plan.tables, "crossing_schedule": schedule})


@pytest.fixture(scope="module")
def found():
    a, b = made.pair()
    return compare_plans(_renamed(a, "a"), _renamed(b, NASTY))


@pytest.fixture(scope="module")
def folder(found, tmp_path_factory):
    folder = tmp_path_factory.mktemp("compared")
    files = write_comparison([found], example.METRES, folder, stamp_utc=example.STAMP)
    assert [path.name for path in files] == ["compared.gpkg", "compared.html"]
    assert sorted(path.name for path in folder.iterdir()) == ["compared.gpkg", "compared.html"]
    return folder


def _layer(folder, name):
    return pyogrio.read_dataframe(folder / "compared.gpkg", layer=name)


def test_the_geopackage_holds_both_lines_and_the_stretch_in_each(folder):
    lines = _layer(folder, "alignments")
    assert lines["role"].tolist() == ["a", "b"]
    assert lines.geometry.length.tolist() == pytest.approx([made.LENGTH_M] * 2)
    pieces = _layer(folder, "stretches")
    assert pieces["look"].tolist() == ["before", "cheaper"]
    assert pieces.geometry.length.tolist() == pytest.approx([made.DRIVE_TO_M - made.DRIVE_FROM_M] * 2)
    assert pieces["extra_eur"].tolist() == [-170_000.0] * 2


def test_the_crossing_lies_on_the_alignment_at_its_chainage(folder):
    (row,) = _layer(folder, "crossings").itertuples()
    assert row.what == "otherwise"
    assert row.name == NASTY
    # the main road at 1 625 m by the example, on the straight part that runs from 1 540 m at x = 1 500 m
    assert (row.geometry.x, row.geometry.y) == pytest.approx((example.WEST + 1585.0, example.SOUTH))


@pytest.mark.parametrize("table", TABLES)
def test_every_table_is_that_of_the_comparison(folder, found, table):
    if getattr(found, table).empty:
        assert _layer(folder, table).empty
        return
    stored = _layer(folder, table)
    assert len(stored) == len(getattr(found, table))
    for column in set(stored.columns) & {"extra_eur", "difference"}:
        assert stored[column].tolist() == pytest.approx(getattr(found, table)[column].tolist())


def test_layers_open_styled(folder):
    with closing(sqlite3.connect(folder / "compared.gpkg")) as database:
        rows = database.execute("select f_table_name, styleQML, styleSLD from layer_styles").fetchall()
        assert database.execute("pragma integrity_check").fetchall() == [("ok",)]
    assert {name for name, _, _ in rows} == {style.layer for style in STYLES}
    assert all("renderer-v2" in qml and "StyledLayerDescriptor" in sld for _, qml, sld in rows)


def test_the_page_runs_nothing_and_asks_for_nothing(folder):
    page = (folder / "compared.html").read_text(encoding="utf-8")
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert not re.search(r"(?:src|href)\s*=", page)
    assert not re.search(r"url\((?!data:)", page)


def test_every_number_of_the_bill_s_items_is_on_the_page(folder, found):
    page = (folder / "compared.html").read_text(encoding="utf-8")
    for extra in found.items.loc[found.items["extra_eur"] != 0.0, "extra_eur"]:
        assert f"{extra:,.2f}".replace(",", " ") in page


def test_codes_keys_and_ids_stand_as_they_are(found, folder):
    page = (folder / "compared.html").read_text(encoding="utf-8")
    assert "<td>rates.TR10</td>" in page
    assert "<td>crossings/9</td><td>main road</td>" in page


def test_the_same_comparison_gives_the_same_bytes(folder, found, tmp_path):
    write_comparison([found], example.METRES, tmp_path, stamp_utc=example.STAMP)
    for name in ("compared.gpkg", "compared.html"):
        assert (tmp_path / name).read_bytes() == (folder / name).read_bytes()


@HAS_MODES
def test_a_closed_folder_keeps_what_is_there(found):
    with closed_folder("compared.html") as target:
        with pytest.raises(OutputError):
            write_comparison([found], example.METRES, target, stamp_utc=example.STAMP)
        assert (target / "compared.html").read_text() == "the last good one"
        assert not (target / "compared.gpkg").exists()
