"""``explain``, ``compare``, ``check`` and ``assumptions --only-different`` as a user calls them."""

from __future__ import annotations

import json
import tempfile
import threading
from typing import TYPE_CHECKING

import pytest

from routescreen.assumptions import flat_items, load_assumptions
from routescreen.results.geopackage import write_geopackage
from routescreen.results.tables import result_tables
from routescreen.schema import CAUTION
from tests.answers import pair as made
from tests.cli.test_bad_corridors import WRONG, _answer
from tests.inputs.site import Site, area, line, point
from tests.results import example

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from click.testing import Result

    Invoke = Callable[..., Result]


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two results folders that differ in one drive, and one with two corridors."""
    root = tmp_path_factory.mktemp("answers")
    both = [example.corridor("west"), example.corridor("east")]
    for name, corridors in (("a", [made.with_drive()]), ("b", [made.without_drive()]), ("two", both)):
        (root / name).mkdir()
        tables = result_tables(corridors, example.METRES)
        write_geopackage(tables, example.METRES, root / name / "screened.gpkg", stamp_utc=example.STAMP)
    return root


def _said(result: Result) -> str:
    assert "Traceback" not in result.output
    return " ".join(result.output.split())


# --- explain --------------------------------------------------------------------------------------------


def test_explain_says_why_and_ends_with_the_caution(invoke: Invoke, folders: Path) -> None:
    result = invoke("explain", str(folders / "a"), "--at", "D004")
    assert result.exit_code == 0
    assert _said(result).endswith(CAUTION)
    assert "guided thrust boring, 250 m" in result.output


def test_explain_gives_one_object(invoke: Invoke, folders: Path) -> None:
    answer = json.loads(invoke("explain", str(folders / "a"), "--at", "1+600", "--json").stdout)
    assert (answer["status"], answer["exit_code"], answer["kind"]) == ("done", 0, "chainage")
    assert answer["rows"]["sections"][0]["section_id"] == "west-S006"
    assert answer["caution"] == CAUTION


def test_explain_of_several_corridors_asks_which(invoke: Invoke, folders: Path) -> None:
    result = invoke("explain", str(folders / "two"), "--at", "0+100")
    assert result.exit_code == 3
    assert "Say which with --corridor" in _said(result)
    assert invoke("explain", str(folders / "two"), "--at", "0+100", "--corridor", "east").exit_code == 0
    assert invoke("explain", str(folders / "two"), "--at", "east-D001").exit_code == 0


@pytest.mark.parametrize(("results", "at"), [("a", "D099"), ("nowhere", "D001")])
def test_explain_fails_clearly(invoke: Invoke, folders: Path, results: str, at: str) -> None:
    result = invoke("explain", str(folders / results), "--at", at, "--json")
    assert result.exit_code == 3
    answer = json.loads(result.stdout)
    assert (answer["status"], answer["exit_code"]) == ("failed", 3)
    assert answer["problems"][0]["remedy"] in _said(result)


def test_a_fault_of_ours_is_no_traceback(
    invoke: Invoke, folders: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def broken(*_: object) -> None:
        assert threading.current_thread() is not threading.main_thread()  # an interrupt must get through
        raise ZeroDivisionError("oh")

    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.setattr("routescreen.answers.places.find_place", broken)
    result = invoke("explain", str(folders / "a"), "--at", "D001")
    assert result.exit_code == 1
    assert "Internal fault (ZeroDivisionError: oh)" in _said(result)
    (details,) = tmp_path.glob("routescreen-fault-*.log")
    assert "Traceback" in details.read_text(encoding="utf-8")


# --- compare --------------------------------------------------------------------------------------------


def test_compare_two_folders(invoke: Invoke, folders: Path) -> None:
    result = invoke("compare", str(folders / "a"), str(folders / "b"))
    assert result.exit_code == 0
    assert "b costs 169 249.87 EUR less than a" in _said(result)
    assert _said(result).endswith(CAUTION)


def test_compare_writes_its_files_and_says_where(invoke: Invoke, folders: Path, tmp_path: Path) -> None:
    result = invoke("compare", str(folders / "a"), str(folders / "b"), "-o", "out")
    assert result.exit_code == 0
    for name in ("compared.gpkg", "compared.html"):
        assert (tmp_path / "out" / name).is_file()
        assert f"Written: out/{name}" in result.output.replace("\\", "/")
    (tmp_path / "file").write_text("no folder")
    refused = invoke("compare", str(folders / "a"), str(folders / "b"), "-o", "file")
    assert refused.exit_code == 6
    assert "can't be written" in _said(refused) or "Remedy" in _said(refused)


def test_compare_in_a_language_that_there_is_none_of_is_a_slip_and_no_fault(
    invoke: Invoke, folders: Path
) -> None:
    result = invoke("compare", str(folders / "a"), str(folders / "b"), "--language", "xx")
    assert result.exit_code == 2
    assert "it is one of de, en" in _said(result)
    assert "Internal fault" not in _said(result)


def test_compare_the_corridors_of_one_folder(invoke: Invoke, folders: Path) -> None:
    answer = json.loads(invoke("compare", str(folders / "two"), "--json").stdout)
    (found,) = answer["comparisons"]
    assert (found["a"]["name"], found["b"]["name"]) == ("west", "east")
    assert found["is_same"]


def test_compare_pairs_corridors_by_name(invoke: Invoke, folders: Path) -> None:
    answer = json.loads(invoke("compare", str(folders / "two"), str(folders / "a"), "--json").stdout)
    (found,) = answer["comparisons"]
    assert (found["a"]["corridor_id"], found["b"]["corridor_id"]) == ("west", "west")


@pytest.mark.parametrize(
    ("results", "says"),
    [
        pytest.param(["a"], "only one plan", id="nothing-to-compare"),
        pytest.param(["a", "nowhere"], "no such results folder", id="missing"),
        pytest.param(["two", "a", "--corridor", "east"], "no corridor east in it", id="corridor"),
    ],
)
def test_compare_fails_clearly(invoke: Invoke, folders: Path, results: list[str], says: str) -> None:
    named = [str(folders / name) if name in ("a", "two", "nowhere") else name for name in results]
    result = invoke("compare", *named)
    assert result.exit_code == 3
    assert says in _said(result)


# --- check ----------------------------------------------------------------------------------------------


@pytest.fixture
def site(tmp_path: Path) -> Site:
    return Site(tmp_path, load_assumptions())


def test_check_says_what_was_found_and_what_will_be_assumed(invoke: Invoke, site: Site) -> None:
    """The site of 1 000 m x 200 m has a road and a terrain from 0 to 10 m, and nothing else."""
    site.layer("ground", [area(0, -50, 250, 250)], soil=["gravel"])
    site.layer("pins", [point(500.0, 100.0)], role=["via"], radius_m=[20.0])
    result = invoke("check", str(site.gpkg))
    assert result.exit_code == 0, result.output
    said = _said(result)
    assert "Corridor A: 1.00 km long" in said
    assert "Crossings by kind: road 1." in said
    assert "terrain: pixels of 10 m by 10 m, from terrain.tif, over the whole corridor." in said
    assert "via: the alignment passes here (400500.0, 5900100.0), within 20.00 m." in said
    for missing in (
        "No ground cover",
        "Groundwater: not known; 3.00 m below the ground everywhere",
        "No parcels",
        "No flood zones",
    ):
        assert missing in said
    answer = json.loads(invoke("check", str(site.gpkg), "--json").stdout)
    (found,) = answer["corridors"]
    # 250 m of 1 000 m, to one column of nodes
    assert found["known_soil_frac"] == pytest.approx(0.25, abs=0.011)
    assert found["soil_frac"]["gravel"] == pytest.approx(0.25, abs=0.011)
    assert found["crossings_by_kind"] == {"road": 1}
    assert found["area_m2"] == pytest.approx(200_000.0)
    assert not list(site.folder.glob("*screened*"))


def test_check_lists_all_problems_at_once_as_a_run_does(invoke: Invoke, site: Site) -> None:
    site.layer("crossings", [line((500, -50), (500, 250))] * 2, kind=["moat", "rode"])
    site.layer("pins", [point(500.0, 900.0)], role=["via"])
    (site.folder / "terrain.tif").unlink()
    told = [json.loads(invoke(command, str(site.gpkg), "--json").stdout) for command in ("check", "run")]
    assert told[0]["exit_code"] == told[1]["exit_code"] == 3
    assert told[0]["problems"] == told[1]["problems"]
    assert len(told[0]["problems"]) >= 3


@pytest.mark.parametrize(
    "name",
    [
        "axis too bent for the width",
        "a terminal in a hole",
        "frame step longer than the corridor",
        "frame step longer than a method's drives",
        "longest drive shorter than the shortest",
    ],
)
def test_check_refuses_what_a_run_refuses_with_the_same_words(
    invoke: Invoke, tmp_path: Path, name: str
) -> None:
    ran = _answer(WRONG[name], tmp_path)
    result = invoke("check", "place.gpkg", "--flat", "--json", "--assumptions", "own.toml")
    answer = json.loads(result.stdout)
    assert (result.exit_code, answer["exit_code"]) == (ran["exit_code"], ran["exit_code"])

    def words(told: dict[str, object]) -> list[tuple[object, object, object]]:
        return [(p["problem"], p["remedy"], p["value"]) for p in told["problems"]]  # type: ignore[attr-defined]

    assert words(answer) == words(ran)


def test_a_terrain_with_a_hole_is_refused_by_both(invoke: Invoke, site: Site) -> None:
    values = site.slope()
    values[30:36, 60:66] = -9999.0
    site.raster("terrain.tif", values, nodata=-9999.0)
    told = [json.loads(invoke(command, str(site.gpkg), "--json").stdout) for command in ("check", "run")]
    assert told[0]["exit_code"] == 3
    assert told[0]["problems"] == told[1]["problems"]


# --- assumptions --only-different -----------------------------------------------------------------------

OWN = """# our own
[treatments.road]
trench = "no"

[rates]
TR51 = [95.0, 135.0, 190.0]

[soil.dune]
like = "sand_loose"
phi_deg = 31.0
"""


def test_only_different_is_a_file_that_says_the_same(invoke: Invoke, tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text(OWN, encoding="utf-8")
    result = invoke("assumptions", "--only-different", "own.toml")
    assert result.exit_code == 0
    assert load_assumptions(result.stdout) == load_assumptions(OWN)
    lines = result.stdout.splitlines()
    assert 'treatments.road.trench = "no"  # default "yes"; own.toml line 3' in lines
    (rate,) = [text for text in lines if text.startswith("rates.TR51")]
    assert rate.startswith(
        "rates.TR51 = [95.0, 135.0, 190.0]  # EUR/m3; default [85.0, 120.0, 180.0]; own.toml line 6"
    )
    (angle,) = [text for text in lines if text.startswith("soil.dune.phi_deg")]
    assert angle.startswith("soil.dune.phi_deg = 31.0  # deg; not in the defaults; own.toml line 10")
    (weight,) = [text for text in lines if text.startswith("soil.dune.gamma_kN_per_m3")]
    assert weight.endswith("# kN/m3; not in the defaults; the entry it is like")


def test_only_different_of_nothing_and_of_a_profile(invoke: Invoke, tmp_path: Path) -> None:
    nothing = invoke("assumptions", "--only-different")
    assert (
        nothing.stdout
        == f"# 0 of {len(flat_items(load_assumptions()))} assumptions differ from the defaults.\n"
    )
    (tmp_path / "own.toml").write_text('link.profile = "ac110"\n', encoding="utf-8")
    answer = json.loads(invoke("assumptions", "--only-different", "own.toml", "--json").stdout)
    found = {row["key"]: row for row in answer["differences"]}
    assert found["link.profile"]["origin"] == "own.toml line 1"
    assert found["link.current_A"]["origin"] == "profile ac110"
    assert found["link.current_A"]["unit"] == "A"
    assert found["link.current_A"]["default"] == load_assumptions().link.current_A


@pytest.mark.parametrize(
    ("arguments", "exit_code", "says"),
    [
        pytest.param(["own.toml"], 2, "FILE goes with --only-different", id="file-alone"),
        pytest.param(["--json"], 2, "--json goes with --only-different", id="json-alone"),
        pytest.param(["--only-different", "none.toml"], 3, "There is no such file", id="missing"),
        pytest.param(["--only-different", "own.toml"], 3, "The key is unknown", id="unknown-key"),
    ],
)
def test_assumptions_fails_clearly(
    invoke: Invoke, tmp_path: Path, arguments: list[str], exit_code: int, says: str
) -> None:
    (tmp_path / "own.toml").write_text("[treatments.road]\ntrensch = 1\n", encoding="utf-8")
    result = invoke("assumptions", *arguments)
    assert result.exit_code == exit_code
    assert says in _said(result)
