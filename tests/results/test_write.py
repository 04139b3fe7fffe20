"""The results folder as a whole: all files of one run, or those of the last good one."""

from __future__ import annotations

import csv
import json

import pyogrio
import pytest

from routescreen.errors import OutputError
from routescreen.results import check_writable, write, write_results
from routescreen.results.symbols import LAYER_STYLES
from routescreen.schema import RESULT_LAYERS
from tests.results import example
from tests.rights import HAS_MODES, closed_folder

STYLES = {f"styles/{style.layer}.sld" for style in LAYER_STYLES}
MAPS = {f"geojson/{layer.name}.geojson" for layer in RESULT_LAYERS if layer.is_spatial}
DRAWN = {"alignment.dxf", "alignment.xml"}
ONE_TENDER = {"tender.xlsx", "tender_bidders.xlsx", "tender.x83"}
PLAN = {"screened.gpkg", "screened.qgs", "report.html", "bill.csv", "plan.json"}
ALL_BUT_TENDER = PLAN | DRAWN | MAPS | STYLES
SOUND = ALL_BUT_TENDER | ONE_TENDER


def _names(folder):
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


def _write(folder, sound=("west",), breached=()):
    return write_results(
        [example.corridor(name) for name in sound],
        [example.corridor(name) for name in breached],
        example.METRES,
        folder,
        stamp_utc=example.STAMP,
    )


@pytest.mark.parametrize(
    ("sound", "breached", "names"),
    [
        pytest.param(["west"], [], SOUND, id="sound"),
        pytest.param([], ["west"], {"screened_breach.gpkg"}, id="in-breach-only"),
        pytest.param(["west"], ["east"], SOUND | {"screened_breach.gpkg"}, id="one-of-each"),
        pytest.param([], [], set(), id="nothing"),
    ],
)
def test_what_is_written(tmp_path, sound, breached, names):
    written = _write(tmp_path / "out", sound, breached)
    assert {path.relative_to(tmp_path / "out").as_posix() for path in written} == names
    assert _names(tmp_path) == {f"out/{name}" for name in names}


def test_files_agree(tmp_path):
    _write(tmp_path)
    with (tmp_path / "bill.csv").open(encoding="utf-8", newline="") as file:
        total_eur = sum(float(row["amount_eur"]) for row in csv.DictReader(file))
    plan = json.loads((tmp_path / "plan.json").read_text(encoding="utf-8"))
    stored = pyogrio.read_dataframe(tmp_path / "screened.gpkg", layer="alignment")
    assert total_eur == pytest.approx(2_137_201.80, abs=0.001)
    assert plan["tables"]["alignment"][0]["total_eur"] == 2_137_201.80
    assert stored.total_eur[0] == 2_137_201.80


def test_breach_leaves_the_last_good_file(tmp_path):
    _write(tmp_path)
    before = {name: (tmp_path / name).read_bytes() for name in SOUND}
    _write(tmp_path, sound=[], breached=["west"])
    assert {name: (tmp_path / name).read_bytes() for name in SOUND} == before
    assert _names(tmp_path) == SOUND | {"screened_breach.gpkg"}


def test_old_breach_goes_when_all_is_sound(tmp_path):
    _write(tmp_path, sound=[], breached=["west"])
    _write(tmp_path)
    assert _names(tmp_path) == SOUND


def test_each_corridor_has_a_tender_and_none_of_an_earlier_run_is_left(tmp_path):
    _write(tmp_path, sound=["west", "east"])
    numbered = {f"tender_{number}{end}" for number in (1, 2) for end in (".xlsx", "_bidders.xlsx", ".x83")}
    assert _names(tmp_path) == ALL_BUT_TENDER | numbered
    (tmp_path / "tender_notes.xlsx").write_text("the planner's own")
    _write(tmp_path, sound=["west"])
    assert _names(tmp_path) == SOUND | {"tender_notes.xlsx"}


def test_the_same_run_gives_the_same_bytes(tmp_path):
    names = SOUND - {"screened.gpkg", "report.html", "plan.json", "bill.csv"}
    _write(tmp_path / "a")
    _write(tmp_path / "b")
    differs = [n for n in names if (tmp_path / "a" / n).read_bytes() != (tmp_path / "b" / n).read_bytes()]
    assert differs == []


def test_fault_at_the_last_file_replaces_none(tmp_path, monkeypatch):
    _write(tmp_path)
    before = {name: (tmp_path / name).read_bytes() for name in SOUND}
    monkeypatch.setattr(write, "sld_texts", lambda: {"a": "new", "b\0": "can't be a name"})
    with pytest.raises(ValueError, match="null"):
        _write(tmp_path, sound=["east"])
    assert {name: (tmp_path / name).read_bytes() for name in SOUND} == before
    assert _names(tmp_path) == SOUND


def test_check_writable_writes_nothing(tmp_path):
    check_writable(tmp_path / "new" / "folder")
    assert list(tmp_path.iterdir()) == []


def test_check_writable_below_a_file(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="A file stands where a folder is wanted"):
        check_writable(tmp_path / "file" / "out")


def test_check_writable_of_an_open_result(tmp_path):
    (tmp_path / "screened.gpkg-wal").write_bytes(b"x")
    with pytest.raises(OutputError, match="has it open"):
        check_writable(tmp_path)


@HAS_MODES
def test_check_writable_of_a_closed_folder():
    with closed_folder() as folder, pytest.raises(OutputError, match="can't be written to"):
        check_writable(folder / "out")
