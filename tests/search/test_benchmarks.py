"""The frame of the benchmarks: names, figures, exit codes."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from benchmarks import __main__ as benchmarks
from benchmarks.figures import Figure, as_json, table

if TYPE_CHECKING:
    from pathlib import Path

MET, MISSED = Figure("a", 3.0, "s", 2.0), Figure("b", 3.0, "s", 2.0, is_most=True)


def test_a_target_is_a_least_or_a_most() -> None:
    assert (MET.is_met, MISSED.is_met, Figure("c", 1.0, "s").is_met) == (True, False, None)


def test_table_and_json_say_the_same() -> None:
    rows = json.loads(as_json([MET, MISSED]))["figures"]
    assert rows[1] == {"name": "b", "figure": 3.0, "unit": "s", "target": 2.0, "met": False}
    assert table([MET, MISSED]).splitlines()[2].split() == ["b", "3", "s", "<=", "2", "NO"]


@pytest.mark.parametrize(("name", "says"), [("samples", "planned"), ("nothing", "not a benchmark")])
def test_names_that_do_not_exist_list_those_that_do(
    name: str, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert benchmarks.main([name]) == 2
    told = capsys.readouterr().err
    assert says in told
    assert "There is: proof, bill, fixed," in told


@pytest.mark.parametrize(("figure", "code"), [(MET, 0), (MISSED, 1)], ids=["met", "missed"])
def test_exit_code_says_whether_targets_are_met(
    figure: Figure, code: int, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setitem(benchmarks.BENCHMARKS, "proof", lambda *, is_quick: [figure])
    assert benchmarks.main(["proof", "--quick", "--json", str(tmp_path / "figures.json")]) == code
    assert json.loads((tmp_path / "figures.json").read_text())["figures"][0]["name"] == figure.name
