"""``bill.csv``, ``plan.json`` and the writing of texts."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import os
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from routescreen.errors import OutputError
from routescreen.results.bill_csv import bill_csv_text, write_bill_csv
from routescreen.results.files import replace_text, replacing
from routescreen.results.plan_json import plan_document, plan_schema_text, write_plan_json
from routescreen.results.publish import publish
from routescreen.results.tables import result_tables
from routescreen.schema import RESULT_LAYERS, plan_json_schema
from tests.results import example

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def document():
    return plan_document(example.tables(), example.METRES)


def test_bill_csv_lines():
    lines = bill_csv_text(example.tables()["bill"]).split("\r\n")
    assert lines[0] == (
        "corridor_id,item,description,unit,quantity,rate_eur,amount_eur,section_id,element_id,carried_by,"
        "part,amount_low_eur,amount_high_eur"
    )
    assert lines[1] == (
        "west,TR10,Topsoil,m3,100.125,12.00,1201.50,west-S001,west-S001,search,works,600.75,2403.00"
    )
    assert lines[6] == (
        "west,GE01,Site set-up,lot,0.500,2500000.00,1250000.00,,,afterwards,works,625000.00,2500000.00"
    )
    assert lines[7:] == [""]


def test_bill_csv_keeps_a_rate_below_the_cent():
    bill = example.tables()["bill"].assign(rate_eur=0.125)
    assert "100.125,0.125,1201.50" in bill_csv_text(bill)


def test_bill_csv_quotes_what_needs_it(tmp_path):
    text = 'Pipe, "special"\nsecond line'
    write_bill_csv(example.tables()["bill"].assign(description=text), tmp_path / "bill.csv")
    back = csv.DictReader(io.StringIO((tmp_path / "bill.csv").read_bytes().decode(), newline=""))
    assert {row["description"] for row in back} == {text}


def test_plan_json_follows_its_schema(document):
    jsonschema.Draft202012Validator(plan_json_schema()).validate(document)
    assert list(document["tables"]) == [layer.name for layer in RESULT_LAYERS]


def test_plan_json_holds_the_plan(document):
    assert document["crs"]["authority"] == "EPSG:25833"
    shaft = document["tables"]["shafts"][1]
    assert shaft["role"] == "reception+reception"
    assert shaft["move_left_m"] is None
    assert shaft["geometry"] == {
        "type": "Point",
        "coordinates": [example.WEST + 600.0, example.SOUTH, example.GROUND_M],
    }
    assert document["tables"]["drives"][0]["bores"] == 4
    assert document["tables"]["long_section"][2]["groundwater_m"] is None


@pytest.mark.parametrize(
    ("table", "change"),
    [
        pytest.param("shafts", {"depth_m": "deep"}, id="another-type"),
        pytest.param("shafts", {"depth_m": -1.0}, id="out-of-range"),
        pytest.param("drives", {"status": "perhaps"}, id="unknown-word"),
        pytest.param("sections", {"reason": None}, id="missing-value"),
        pytest.param("bill", {"colour": "red"}, id="unknown-column"),
        pytest.param("shafts", {"geometry": {"type": "Point", "coordinates": [0.0, 0.0]}}, id="flat-shaft"),
    ],
)
def test_schema_refuses_what_breaks_it(document, table, change):
    broken = json.loads(json.dumps(document))
    broken["tables"][table][0] |= change
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(plan_json_schema()).validate(broken)


@pytest.mark.parametrize("name", ['O\'Neill "Mill"', "</script><script>", "x" * 500, "Łódź 🚧"])
def test_names_survive_in_json(tmp_path, name):
    odd = dataclasses.replace(example.corridor(), crossings=example.crossings().assign(name=name))
    write_plan_json(result_tables([odd], example.METRES), example.METRES, tmp_path / "plan.json")
    back = json.loads((tmp_path / "plan.json").read_text(encoding="utf-8"))
    assert {row["name"] for row in back["tables"]["crossing_schedule"]} == {name}


def test_json_holds_no_numbers_that_are_none(tmp_path):
    write_plan_json(example.tables(), example.METRES, tmp_path / "plan.json")
    text = (tmp_path / "plan.json").read_text(encoding="utf-8")
    assert "NaN" not in text
    assert "Infinity" not in text


def test_same_tables_give_the_same_bytes(tmp_path):
    for name in ("a.json", "b.json"):
        write_plan_json(example.tables(), example.METRES, tmp_path / name)
    assert (tmp_path / "a.json").read_bytes() == (tmp_path / "b.json").read_bytes()


def test_docs_hold_the_schema():
    text = (ROOT / "docs" / "plan.schema.json").read_text(encoding="utf-8")
    assert text == plan_schema_text(), "run: python -m routescreen.results.publish"


def test_publish_writes_what_the_repository_holds(tmp_path):
    publish(tmp_path)
    names = sorted(path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*") if path.is_file())
    assert "docs/plan.schema.json" in names
    assert {(ROOT / name).read_bytes() == (tmp_path / name).read_bytes() for name in names} == {True}


def test_replace_text_keeps_line_ends_and_leaves_no_side_file(tmp_path):
    replace_text(tmp_path / "a.csv", "ä\r\nb\n")
    replace_text(tmp_path / "a.csv", "ö\r\nb\n")
    assert (tmp_path / "a.csv").read_bytes() == "ö\r\nb\n".encode()
    assert [path.name for path in tmp_path.iterdir()] == ["a.csv"]


def test_what_a_killed_process_of_the_same_number_left_does_no_harm(tmp_path):
    left = tmp_path / f".a.csv.{os.getpid()}.tmp"
    left.mkdir()
    (left / "a.csv-journal").write_text("x")
    with replacing(tmp_path / "a.csv") as temporary:
        assert list(temporary.parent.iterdir()) == []
        temporary.write_text("new")
    assert [path.name for path in tmp_path.iterdir()] == ["a.csv"]


def test_text_that_can_not_be_written(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match=r"file/a\.csv") as caught:
        replace_text(tmp_path / "file" / "a.csv", "x")
    assert caught.value.exit_code == 6


def test_empty_bill_has_a_heading_only():
    tables = example.tables()
    assert bill_csv_text(tables["bill"].iloc[:0]).count("\r\n") == 1
    assert np.isfinite(tables["bill"].amount_eur).all()
