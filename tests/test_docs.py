"""What the docs promise: commands word for word, tables in step, no dead link, one caution everywhere."""

from __future__ import annotations

import importlib.util
import re
import shlex
from pathlib import Path

import click
import pytest

from routescreen import errors
from routescreen.cli.group import COMMANDS, group
from routescreen.schema import CAUTION

ROOT = Path(__file__).parents[1]
RUN_COMMAND = (
    "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/routescreen run demo_data/corridor.gpkg"
)
TEST_COMMAND = 'python3 -m venv .venv && .venv/bin/pip install ".[test]" && .venv/bin/python -m pytest'
PAGES = sorted([*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md"), *ROOT.glob("gis_adapter/*.md")])
PAGE_IDS = [str(page.relative_to(ROOT)) for page in PAGES]


def _text(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


def test_readme_opens_with_the_job_then_the_two_commands() -> None:
    title, job, *rest = re.split(r"\n{2,}", _text("README.md"))
    assert title == "# routescreen"
    assert job.startswith("routescreen screens corridors")
    blocks = re.findall(r"```\n(.*?)\n```", "\n\n".join(rest), flags=re.DOTALL)
    assert blocks[:2] == [RUN_COMMAND, TEST_COMMAND]


def test_ci_runs_the_readme_s_test_command() -> None:
    assert TEST_COMMAND in _text(".ci/run")


def test_readme_holds_the_whole_caution() -> None:
    assert CAUTION in " ".join(_text("README.md").split())


def test_generated_pages_are_in_step() -> None:
    spec = importlib.util.spec_from_file_location("make_tables", ROOT / "docs" / "make_tables.py")
    assert spec is not None
    assert spec.loader is not None
    make_tables = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(make_tables)
    for page, text in make_tables.page_texts().items():
        assert _text(f"docs/{page}") == text, f"run python docs/make_tables.py: docs/{page} is out of step"


@pytest.mark.parametrize("page", PAGES, ids=PAGE_IDS)
def test_every_file_that_a_page_names_is_there(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    prose = re.sub(r"`[^`]*`", "", text)
    # parts are put into the pages of the folder above
    folder = page.parent.parent if page.parent.name == "parts" else page.parent
    linked = {folder / name for name in re.findall(r"\]\((?!https?:|#)([^)#]+)", prose)}
    folders = r"docs|routescreen|tests|demo_data|benchmarks|styles|\.ci"
    named = {ROOT / name for name in re.findall(rf"`((?:{folders})/[\w./-]*)`", text)}
    missing = [str(path) for path in linked | named if not path.exists()]
    assert missing == []


def _shown_commands() -> list[tuple[str, list[str]]]:
    """Return page and arguments of every call of the command that stands in a block of its own."""
    found = []
    for page in PAGES:
        for block in re.findall(r"^ *```\w*\n(.*?)^ *```", page.read_text(encoding="utf-8"), re.M | re.S):
            for line in re.split(r"\n|&&", block):
                call = re.match(r" *(?:\.venv[/\\](?:bin|Scripts)[/\\])?routescreen (.*)", line)
                if call is not None:
                    words = shlex.split(call[1].replace("\\", "/"))
                    until = words.index(">") if ">" in words else len(words)
                    found.append((str(page.relative_to(ROOT)), words[:until]))
    return found


SHOWN = _shown_commands()


def test_the_docs_show_commands() -> None:
    """Else a change of the pages' form would let the next test pass with nothing in it."""
    pages = {page for page, _ in SHOWN}
    assert {"README.md", "docs/tutorial.md", "docs/howto/my_own_rates.md"} <= pages


@pytest.mark.parametrize(("page", "words"), SHOWN, ids=[f"{p}: {' '.join(w)}" for p, w in SHOWN])
def test_every_command_of_the_docs_is_understood(page: str, words: list[str]) -> None:
    command = group.get_command(click.Context(group), words[0])
    assert command is not None, f"{page}: there is no command {words[0]}"
    command.make_context(words[0], words[1:])  # raises UsageError for what it doesn't know


def test_every_page_is_reached_from_the_index() -> None:
    """From docs/README.md, by links or by names in code marks; the checks by their folder."""
    index = _text("docs/README.md")
    pages = {path.relative_to(ROOT / "docs").as_posix() for path in ROOT.glob("docs/**/*.md")}
    parts = {page for page in pages if page.startswith(("parts/", "checks/"))}
    assert {page for page in pages - parts if f"]({page})" not in index} == {"README.md"}


def test_every_command_and_option_stands_in_the_docs() -> None:
    text = _text("docs/commands.md")
    for name in COMMANDS:
        command = group.get_command(click.Context(group), name)
        assert command is not None
        assert command.help
        assert f"## `{name}`" in text
        options = [p for p in command.params if isinstance(p, click.Option)]
        assert all(option.help and option.opts[0] in text for option in options)


def test_exit_codes_of_the_docs_are_those_of_the_errors() -> None:
    rows = re.findall(r"^\| (\d+) \|", _text("docs/errors.md"), flags=re.MULTILINE)
    classes = [c for c in vars(errors).values() if isinstance(c, type) and issubclass(c, Exception)]
    raised = {c.exit_code for c in classes if issubclass(c, errors.RoutescreenError)}
    # 0 is no error, 2 is raised by click, 130 by the signal.
    assert {int(code) for code in rows} == raised | {0, 2, 130}
