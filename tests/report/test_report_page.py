"""The page as a whole: every number in it is the number of the tables, and no text in it is run."""

from __future__ import annotations

import json
import math
import re
from typing import TYPE_CHECKING

import pytest

from routescreen.languages.tables import spoken
from routescreen.report import report_html
from routescreen.report.payload import DIGITS, SHOWN
from routescreen.schema import LAYERS_BY_NAME
from tests.results import example

if TYPE_CHECKING:
    import pandas as pd

NASTY = [
    "</script><script>window.hit=1</script>",
    "=cmd|' /C calc'!A0",
    '"><img src=x onerror=hit=1>',
    "ü日本 " * 100,
]


def page(tables: dict[str, pd.DataFrame], language: str = "en") -> str:
    return report_html(tables, {}, crs_name=example.METRES.name, stamp_utc=example.STAMP, language=language)


def data_of(html: str) -> dict:
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', html, re.DOTALL)
    assert found
    return json.loads(found.group(1))


@pytest.fixture(scope="module")
def tables():
    return example.tables()


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_shown_number_is_that_of_the_table(tables, language):
    data = data_of(page(tables, language))
    assert len(data["corridors"]) == len(tables["alignment"])
    n_numbers = 0
    tables = spoken(tables, language)  # sentences in the language, all else as it is
    for corridor in data["corridors"]:
        for name in SHOWN:
            own = tables[name][tables[name]["corridor_id"] == corridor["id"]]
            told = corridor["tables"][name]
            assert len(told["rows"]) == len(own)
            for at, column in enumerate(told["columns"]):
                unit = next(c for c in LAYERS_BY_NAME[name].columns if c.name == column["key"]).unit
                for row, value in zip(told["rows"], own[column["key"]], strict=True):
                    if column["type"] == "text":
                        assert row[at] == value or (row[at] is None and not isinstance(value, str))
                    elif row[at] is None:
                        assert value is None or math.isnan(value)
                    else:
                        n_numbers += 1
                        half = 0.5 * 10.0 ** -DIGITS.get(unit, 2)
                        assert abs(row[at] - float(value)) <= (0.5 if column["digits"] == 0 else half) + 1e-9
    assert n_numbers > 100  # that it did look at some


def test_the_answer_is_the_sum_of_the_tables(tables):
    for corridor in data_of(page(tables))["corridors"]:
        own = {name: table[table["corridor_id"] == corridor["id"]] for name, table in tables.items()}
        answer = corridor["answer"]
        sections = own["sections"]
        # drives of 300, 400, 200 and 250 m, by the example's vertices
        assert answer["drive_m"] == pytest.approx(1150.0)
        assert answer["open_cut_m"] + answer["drive_m"] == pytest.approx(sections["length_m"].sum())
        cents = round(own["bill"]["amount_eur"].mul(100).round().sum())
        assert round(answer["total_eur"] * 100) == cents
        assert answer["low_eur"] == pytest.approx(0.5 * answer["total_eur"], abs=0.01)  # as the example is
        assert answer["high_eur"] == pytest.approx(2.0 * answer["total_eur"], abs=0.01)
        assert sum(answer["n_checks"].values()) == len(own["checks"])


def test_names_are_text_whatever_they_hold(tables):
    nasty = {name: table.copy() for name, table in tables.items()}
    rows = nasty["crossing_schedule"]
    rows["name"] = [NASTY[at % len(NASTY)] for at in range(len(rows))]
    html = page(nasty)
    assert NASTY[0] not in html
    assert "<img src=x" not in html
    assert html.count("<script") == page(tables).count("<script")
    names = {row[2] for c in data_of(html)["corridors"] for row in _columns(c, "crossing_schedule", "name")}
    assert set(NASTY) <= names


def _columns(corridor: dict, name: str, key: str) -> list[tuple[int, int, object]]:
    table = corridor["tables"][name]
    at = [column["key"] for column in table["columns"]].index(key)
    return [(number, at, row[at]) for number, row in enumerate(table["rows"])]


def test_the_page_asks_for_nothing(tables):
    html = page(tables)
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', html)
    assert policy
    assert "default-src 'none'" in policy.group(1)
    assert not re.search(r"<(?:script|img|iframe|link)[^>]+(?:src|href)=", html.split('id="data"')[0])
    assert "sourceMappingURL" not in html
    assert "url(images/" not in html
