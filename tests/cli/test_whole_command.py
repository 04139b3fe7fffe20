"""The whole command on the small corridor, in a process of its own, as a user runs it."""

from __future__ import annotations

import csv
import json
import os
import re
import shutil
import subprocess
import sys
from collections import defaultdict
from decimal import Decimal
from pathlib import Path
from xml.etree import ElementTree as ET

import jsonschema
import openpyxl
import pyogrio
import pytest

from routescreen.schema import CAUTION, RESULT_LAYERS, summary_json_schema
from tests.tender.gaeb_structure import SPACE, faults
from tests.tender.readers import SOFFICE, cents, recalculated

DATA = Path(__file__).parents[1] / "data" / "line_corridor"


def _run(folder: Path, *arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "routescreen", "run", *arguments],
        capture_output=True,
        text=True,
        check=False,
        cwd=folder,
        env={**os.environ, **environment},
        timeout=300,
    )


def _problems(done: subprocess.CompletedProcess[str]) -> list[dict[str, str | None]]:
    answer = json.loads(done.stdout)
    jsonschema.validate(answer, summary_json_schema())
    assert "Traceback" not in done.stderr
    return answer["problems"]


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, subprocess.CompletedProcess[str]]:
    """Run once, with the settings that a system GIS of another version would leave behind."""
    folder = tmp_path_factory.mktemp("run")
    foreign = {"PROJ_DATA": "/of/a/system/gis", "GDAL_DATA": "/of/a/system/gis"}
    return folder, _run(folder, str(DATA / "corridor.gpkg"), "--json", **foreign)


def test_it_ends_well_with_one_object_and_the_caution(
    done: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    _, process = done
    assert process.returncode == 0, process.stderr
    answer = json.loads(process.stdout)
    jsonschema.validate(answer, summary_json_schema())
    (corridor,) = answer["corridors"]
    assert corridor["audit_breaches"] == 0
    assert corridor["length_m"] == pytest.approx(corridor["open_cut_m"] + corridor["drive_m"], abs=0.001)
    assert process.stderr.splitlines()[-1] == CAUTION


def test_the_files_it_names_are_there_and_say_the_same(
    done: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    folder, process = done
    answer = json.loads(process.stdout)
    assert all((folder / name).is_file() for name in answer["files"])
    results = folder / "corridor_screened" / "screened.gpkg"
    written = {name for name, _ in pyogrio.list_layers(results)}
    assert {layer.name for layer in RESULT_LAYERS if layer.is_required} <= written
    bill = pyogrio.read_dataframe(results, layer="bill", read_geometry=False)
    total_cents = int((bill["amount_eur"] * 100).round().sum())
    assert total_cents == round(answer["corridors"][0]["total_eur"] * 100)


def test_the_tender_says_the_same_numbers(done: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    """Workbook, exchange file and bill of one run; recalculated by LibreOffice where it is installed."""
    folder, process = done
    total_cents = round(json.loads(process.stdout)["corridors"][0]["total_eur"] * 100)
    results = folder / "corridor_screened"
    with (results / "bill.csv").open(encoding="utf-8", newline="") as file:
        bill = list(csv.DictReader(file))
    assert sum(round(float(line["amount_eur"]) * 100) for line in bill) == total_cents
    books = [openpyxl.load_workbook(results / "tender.xlsx", data_only=True)]
    books += recalculated([results / "tender.xlsx"], folder) if SOFFICE else []
    for book in books:
        totals = {row[0]: row[1] for row in book["Summary"].iter_rows(values_only=True)}
        assert cents(totals["Total of the bill"]) == total_cents
        assert cents(totals["The same, summed over all lines of the quantities"]) == total_cents
    root = ET.parse(results / "tender.x83").getroot()
    assert faults(root) == []
    asked: dict[str, Decimal] = defaultdict(Decimal)
    for item in root.iter(f"{SPACE}Item"):
        (code,) = re.findall(r"Item (\w+)\.", " ".join(item.itertext()))
        asked[code] += Decimal(item.findtext(f"{SPACE}Qty") or "")
    measured: dict[str, Decimal] = defaultdict(Decimal)
    for line in bill:
        if not line["item"].startswith(("LA", "AG")):  # the owner's own
            measured[line["item"]] += Decimal(line["quantity"])
    assert asked == measured


def test_without_terrain_it_stops_and_says_what_to_do(tmp_path: Path) -> None:
    shutil.copy(DATA / "corridor.gpkg", tmp_path)
    done = _run(tmp_path, "corridor.gpkg", "--json")
    assert done.returncode == 3
    (problem,) = _problems(done)
    assert "--flat" in problem["remedy"]
    assert [path.name for path in tmp_path.iterdir()] == ["corridor.gpkg"]


def test_a_file_that_is_not_there_is_an_input_error(tmp_path: Path) -> None:
    done = _run(tmp_path, "nowhere.gpkg", "--json")
    assert done.returncode == 3
    assert "nowhere.gpkg" in [problem["file"] for problem in _problems(done)]
    assert list(tmp_path.iterdir()) == []


def test_without_any_way_through_the_code_is_4(tmp_path: Path) -> None:
    """Neither trench nor drive through the river, and a fixed line leaves no way round."""
    rules = '[treatments.river]\ndrive_under = "no"\n'
    (tmp_path / "closed.toml").write_text(rules)
    gpkg = str(DATA / "corridor.gpkg")
    done = _run(tmp_path, gpkg, "--assumptions", "closed.toml", "--json", "-o", "out")
    assert done.returncode == 4
    (problem,) = _problems(done)
    assert "chainage" in problem["problem"]
    assert problem["remedy"]
    assert [path.name for path in tmp_path.iterdir()] == ["closed.toml"]
