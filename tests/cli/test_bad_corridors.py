"""The whole command on corridors and frames that are hard or wrong: a right plan or one clear error."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import pytest
from click.testing import CliRunner
from shapely import LineString, Point, Polygon, box
from shapely.affinity import translate

from routescreen.cli.group import group

if TYPE_CHECKING:
    from pathlib import Path

    from shapely.geometry.base import BaseGeometry

CRS = "EPSG:25832"
EAST_M, NORTH_M = 500_000.0, 5_900_000.0
TURN = LineString([(0, 0), (600, 0), (600, 120), (0, 120)])
ARMS = LineString([(0, 0), (800, 0), (800, 200), (100, 200)])
PLAIN = box(0.0, -60.0, 800.0, 60.0)


@dataclass(frozen=True)
class Case:
    """A corridor and assumptions, and what must come of them."""

    outline: BaseGeometry
    assumptions: str = ""
    exit_code: int = 3
    says: str = ""
    ends_m: tuple[tuple[float, float], tuple[float, float]] | None = ((5.0, 0.0), (795.0, 0.0))
    axis: LineString | None = None


def _answer(case: Case, folder: Path) -> dict[str, object]:
    def layer(name: str, shapes: list[BaseGeometry], **columns: list[str]) -> None:
        placed = [translate(shape, EAST_M, NORTH_M) for shape in shapes]
        gpd.GeoDataFrame(columns, geometry=placed, crs=CRS).to_file(folder / "place.gpkg", layer=name)

    layer("corridor", [case.outline], corridor_id=["west"])
    layer("crossings", [LineString([(310.0, -900.0), (310.0, 900.0)])], feature_id=["t1"], kind=["track"])
    if case.ends_m:
        layer("terminals", [Point(end) for end in case.ends_m], role=["start", "end"])
    if case.axis is not None:
        layer("axis", [case.axis], corridor_id=["west"])
    (folder / "own.toml").write_text(case.assumptions, encoding="utf-8")
    call = ["run", str(folder / "place.gpkg"), "--flat", "--json", "--assumptions", str(folder / "own.toml")]
    result = CliRunner().invoke(group, [*call, "-o", str(folder / "out")])
    assert "Traceback" not in result.output
    answer = json.loads(result.stdout)
    assert answer["exit_code"] == result.exit_code
    return dict(answer)


def _frame(cell: str) -> str:
    return f"[frame]\ncell_m = {cell}\n"


WRONG = {
    "axis too bent for the width": Case(
        TURN.buffer(70.0, cap_style="flat", join_style="mitre"),
        says="too bent for its width",
        ends_m=None,
        axis=TURN,
    ),
    "narrower than the works": Case(
        box(0.0, -3.0, 800.0, 3.0), exit_code=4, says="The corridor is 6.0 m wide there"
    ),
    "one node wide": Case(box(0.0, -4.0, 800.0, 4.0), exit_code=4, says="The corridor is 8.0 m wide there"),
    "crossing itself": Case(Polygon([(0, 0), (800, 200), (800, 0), (0, 200)]), says="Self-intersection"),
    "a terminal in a hole": Case(
        Polygon(PLAIN.exterior, [box(0.5, -20.0, 30.0, 20.0).exterior]), says="outside the corridor"
    ),
    "far outside where its system of coordinates holds": Case(
        box(0.0, -250.0, 1_500_000.0, 250.0), says="do not lie where", ends_m=((5.0, 0.0), (1_499_995.0, 0.0))
    ),
    "frame step of nought": Case(PLAIN, _frame("0.0"), says="greater than 0"),
    "frame step below nought": Case(PLAIN, _frame("-10.0"), says="greater than 0"),
    "frame step of no number": Case(PLAIN, _frame("nan"), says="a finite number"),
    "frame step of a millimetre": Case(PLAIN, _frame("0.001"), says="at least 0.5 m"),
    "frame step longer than the corridor": Case(PLAIN, _frame("2000.0"), says="only 790.00 m long"),
    "frame step longer than a method's drives": Case(
        PLAIN, _frame("150.0"), says="No drive of guided thrust fits"
    ),
    "drive limits shorter than the step": Case(
        PLAIN,
        "[methods.two_pass]\nleast_length_m = 3.0\nlongest_m = 8.0\n",
        says="No drive of two pass fits",
    ),
    "longest drive shorter than the shortest": Case(
        PLAIN, "[methods.two_pass]\nlongest_m = 5.0\n", says="least_length_m must not exceed longest_m"
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_one_clear_error(name: str, tmp_path: Path) -> None:
    case = WRONG[name]
    answer = _answer(case, tmp_path)
    assert answer["exit_code"] == case.exit_code
    problems = answer["problems"]
    assert isinstance(problems, list)
    assert any(case.says in problem["problem"] + problem["remedy"] for problem in problems)
    assert all(problem["remedy"] for problem in problems)
    assert not (tmp_path / "out").exists()


RIGHT = {
    "a hole that can be passed": Case(
        Polygon(box(0, -100, 800, 100).exterior, [box(300.0, -40.0, 500.0, 60.0).exterior])
    ),
    "arms that touch each other": Case(ARMS.buffer(100.0, cap_style="flat", join_style="mitre"), ends_m=None),
    "a ring that is not quite closed": Case(
        LineString([(300, 0), (212, 212), (0, 300), (-212, 212), (-300, 0), (-212, -212), (0, -300)]).buffer(
            60.0, cap_style="flat"
        ),
        ends_m=None,
    ),
}


@pytest.mark.parametrize("name", RIGHT)
def test_a_plan_inside_the_corridor(name: str, tmp_path: Path) -> None:
    case = RIGHT[name]
    answer = _answer(case, tmp_path)
    assert answer["exit_code"] == 0, answer
    line = gpd.read_file(tmp_path / "out" / "screened.gpkg", layer="alignment").geometry.iloc[0]
    assert translate(case.outline, EAST_M, NORTH_M).buffer(0.01).covers(line)
