"""The adapter: its process handling without a GIS, and the whole of it inside one where there is one."""

from __future__ import annotations

import configparser
import doctest
import os
import shutil
import sys
import threading
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from routescreen.results import write_results
from routescreen.schema import INPUT_LAYERS, INPUT_RASTERS
from tests.gis import needs_gis, run_in_gis
from tests.results import example

ROOT = Path(__file__).parents[2]
PLUGIN = ROOT / "gis_adapter" / "routescreen_gis"
pytestmark = pytest.mark.skipif(os.name == "nt", reason="scripts as commands need POSIX")


def _module():
    spec = spec_from_file_location("routescreen_gis_command", PLUGIN / "command.py")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


command = _module()


def _executable(path, code):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(f"#!{sys.executable}\n{code}", encoding="utf-8")
    path.chmod(0o755)
    return path


def _run(path, *, cancel=None):
    """Run a command and return its code, its progress and its lines."""
    shown, told = [], []
    code = command.run_command(
        [str(path)],
        show=shown.append,
        tell=lambda line, is_stderr: told.append((line, is_stderr)),
        is_cancelled=lambda: cancel is not None and cancel(shown),
    )
    return code, shown, told


@pytest.mark.parametrize("place", ["routescreen", "bin/routescreen"], ids=["folder", "virtual-environment"])
def test_a_folder_is_enough(tmp_path, place):
    made = _executable(tmp_path / place, "")
    assert command.find_command(str(tmp_path)) == str(made)
    assert command.find_command(f" {made} ") == str(made)


def test_without_a_setting_the_search_path_counts(tmp_path, monkeypatch):
    made = _executable(tmp_path / "routescreen", "")
    monkeypatch.setenv("PATH", str(tmp_path))
    assert command.find_command("") == str(made)


@pytest.mark.parametrize("setting", ["", "nowhere/routescreen"], ids=["no-setting", "wrong-setting"])
def test_a_missing_command_is_told_with_what_to_do(tmp_path, monkeypatch, setting):
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(command.CommandError, match="Settings > Options > Processing > Providers"):
        command.find_command(setting)


def test_a_file_that_is_no_program_is_refused(tmp_path):
    (tmp_path / "notes.txt").write_text("", encoding="utf-8")
    with pytest.raises(command.CommandError, match="no command"):
        command.find_command(str(tmp_path / "notes.txt"))


def test_progress_and_words_are_told_apart(tmp_path):
    code = """import sys
sys.stderr.write('{"stage": "search", "job_frac": 0.5}\\nWarning: no ground cover: {0}\\n{"a": 1}\\n')
sys.stdout.write('{"stage": "a result on stdout", "job_frac": 1}\\nUmlaute: \\u00e4\\n')
sys.exit(5)
"""
    code, shown, told = _run(_executable(tmp_path / "routescreen", code))
    assert code == 5
    assert [line["stage"] for line in shown] == ["search"]
    assert {text for text, is_stderr in told if is_stderr} == {"Warning: no ground cover: {0}", '{"a": 1}'}
    assert ("Umlaute: ä", False) in told


def test_examples_of_the_docstrings():
    result = doctest.testmod(command)
    assert (result.failed, result.attempted > 0) == (0, True)


def test_more_than_a_pipe_holds_does_not_block(tmp_path):
    code = """import sys
for _ in range(4000):
    sys.stdout.write('x' * 99 + '\\n')
    sys.stderr.write('y' * 99 + '\\n')
"""
    code, _, told = _run(_executable(tmp_path / "routescreen", code))
    assert (code, len(told)) == (0, 8000)


def test_cancelled_it_is_asked_to_end_so_that_it_tidies_up(tmp_path):
    code = f"""import signal, sys, time, pathlib
def end(*_):
    pathlib.Path({str(tmp_path / "tidied")!r}).touch()
    sys.exit(130)
signal.signal(signal.SIGTERM, end)
sys.stderr.write('{{"stage": "search", "job_frac": 0.5}}\\n'); sys.stderr.flush()
time.sleep(600)
"""
    code, _, _ = _run(_executable(tmp_path / "routescreen", code), cancel=bool)
    assert code is None
    assert (tmp_path / "tidied").exists()


def test_one_that_will_not_end_is_ended_by_force(tmp_path, monkeypatch):
    monkeypatch.setattr(command, "_PATIENCE_S", 0.2)
    code = """import signal, sys, time
signal.signal(signal.SIGTERM, signal.SIG_IGN)
sys.stderr.write('{"stage": "search", "job_frac": 0.5}\\n'); sys.stderr.flush()
time.sleep(600)
"""
    code, _, _ = _run(_executable(tmp_path / "routescreen", code), cancel=bool)
    assert code is None
    assert threading.active_count() <= 2  # the readers are gone with it


def test_the_python_of_the_gis_is_left_out():
    assert command.own_environment({"PYTHONHOME": "/gis", "PYTHONPATH": "/gis", "PATH": "/bin"}) == {
        "PATH": "/bin"
    }


def test_an_old_version_without_a_command_is_known(tmp_path):
    made = str(
        _executable(tmp_path / "routescreen", "import sys; sys.exit(0 if sys.argv[1] == 'run' else 2)")
    )
    assert command.has_command(made, "run", 0.0)
    assert not command.has_command(made, "check", 0.0)


def test_every_input_of_the_command_can_be_given():
    """A layer or raster that is added to the schema must not be forgotten in the dialogue."""
    text = (PLUGIN / "parameters.py").read_text(encoding="utf-8")
    assert [item.name for item in (*INPUT_LAYERS, *INPUT_RASTERS) if f'"{item.name}"' not in text] == []


def test_metadata_says_what_a_gis_asks_for():
    parser = configparser.ConfigParser()
    parser.read(PLUGIN / "metadata.txt", encoding="utf-8")
    general = parser["general"]
    needed = {"name", "description", "about", "version", "qgisMinimumVersion", "author"}
    assert needed <= {key for key in needed if general.get(key)}
    assert general["hasProcessingProvider"] == "yes"
    assert (PLUGIN / general["icon"]).is_file()


def test_the_adapter_does_not_import_the_package():
    """It lives in the Python of the GIS, which has none of the package's libraries."""
    sources = [path.read_text(encoding="utf-8") for path in PLUGIN.glob("*.py")]
    assert not [text for text in sources if "import routescreen\n" in text or "from routescreen " in text]
    assert not [text for text in sources if "from routescreen." in text]


@needs_gis
def test_inside_a_desktop_gis(tmp_path):
    """Found, run, loaded, refused and cancelled, with a stand-in; .ci/run takes the real command."""
    write_results([example.corridor()], [], example.METRES, tmp_path / "finished", stamp_utc=example.STAMP)
    code = (Path(__file__).parent / "stand_in.py").read_text(encoding="utf-8")
    stand_in = _executable(tmp_path / "routescreen", code)
    work = tmp_path / "work"
    said = run_in_gis("tests/gis_adapter/run_adapter.py", str(stand_in), str(work), folder=tmp_path)
    assert [line.split(":")[0] for line in said.splitlines()] == [
        "missing command",
        "screened",
        "bad input",
        "cancelled",
        "check",
    ]
    shutil.rmtree(work)
