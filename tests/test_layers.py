"""The walls between the rooms: who may import whom, who opens files, who talks to which library."""

from __future__ import annotations

import ast
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "routescreen"

# What each room may import of the package, apart from itself and from the version in its __init__.
# docs/architecture.md shows the same as a picture.
FLOOR = {"errors", "compiled", "runlog", "schema", "counted"}
DATA = FLOOR | {"assumptions", "project", "plan", "screened"}
FORMULAE = DATA | {"engineering", "drives", "money"}
# What follows from a finished plan, on the way from the search to the results.
MEASURED = {"takeoff", "sites", "longsection"}
ALLOWED = {
    "errors": set(),
    "counted": set(),
    "compiled": set(),
    "runlog": set(),
    "schema": {"errors"},
    "unfinished": set(),
    "forked": set(),
    # What is said in each language; at the bottom, for those who write for people.
    "languages": set(),
    "assumptions": FLOOR | {"engineering", "languages"},
    "project": set(),
    "plan": set(),
    "screened": {"plan"},
    "inputs": DATA | {"unfinished"},
    "engineering": FLOOR,
    "drives": DATA | {"engineering"},
    "corridor": DATA | {"engineering", "drives"},
    "money": DATA | {"engineering", "drives"},
    "search": FORMULAE | {"corridor"},
    # Shares the formulae and the prices with the search, never its way of measuring.
    "audit": FORMULAE,
    "takeoff": FORMULAE | {"corridor"},
    "sites": FORMULAE | {"corridor"},
    "longsection": FORMULAE | {"corridor"},
    # Judges and prices as the search does; what it changes the audit measures.
    "polish": FORMULAE | {"corridor", "search", "takeoff"},
    "screening_tables": FORMULAE | MEASURED | {"corridor", "audit"},
    # Of the audit only what it hands back: who calls says how a plan is audited.
    "refine": FORMULAE | {"corridor", "search", "takeoff", "audit", "forked"},
    "explained": FORMULAE | {"corridor", "search", "audit", "forked"},
    "screen": FORMULAE
    | MEASURED
    | {"corridor", "search", "audit", "polish", "refine", "screening_tables", "explained", "backdrop"}
    | {"groundwork"},
    # The first steps of a run, which a check of the inputs takes as well.
    "groundwork": DATA | {"corridor", "drives"},
    "backdrop": {"project", "screened"},
    # Reads what the tables hold; reckons nothing.
    "report": DATA | {"answers", "languages"},
    # Sums and names what the tables hold; of `money` only the rules by which items are measured.
    "tender": DATA | {"money", "languages"},
    # The same; the sizes of bores and shafts that no table holds are those of the drives' catalogue.
    "sheets": DATA | {"engineering", "drives", "languages"},
    "results": DATA | {"unfinished", "report", "tender", "sheets", "answers", "languages"},
    "job": DATA | {"unfinished", "inputs", "screen", "results"},
    # Reads finished results through the readers of the inputs, and holds them to the schema.
    "resultsread": DATA | {"unfinished", "inputs", "results"},
    # What is told of finished plans and of inputs; reckons nothing of engineering.
    "answers": FORMULAE,
    "checking": DATA | {"inputs", "corridor", "groundwork", "job", "answers"},
    "cli": DATA
    | {"unfinished", "inputs", "job", "resultsread", "answers", "checking", "results", "languages"},
    "__main__": {"cli"},
    "__init__": set(),
}

# Libraries that only some rooms may use.
LIBRARIES = {
    "click": {"cli"},
    "rich": {"cli"},
    "pyogrio": {"inputs", "results", "resultsread"},
    "rasterio": {"inputs"},
    "sqlite3": {"inputs", "results"},
    "tomllib": {"assumptions"},
    "xlsxwriter": {"results"},
    "ezdxf": {"results"},
    "numba": {"compiled"},
    "llvmlite": {"compiled"},
    "reportlab": {"sheets"},
}

# Calls that open files, by the name that is called, and the rooms that may: `assumptions` and `results`
# read the package's own data, `compiled` its own sources, `cli` writes the log, and `inputs` writes into
# a temporary folder of its own.
FILE_CALLS = {
    "open": {"inputs", "results", "resultsread", "cli"},
    "read_file": {"inputs"},
    "to_file": set(),
    "read_text": {"assumptions", "inputs", "results", "report", "languages"},
    "read_bytes": {"compiled", "inputs", "results", "sheets"},
    "write_text": {"inputs", "results"},
    "write_bytes": {"results"},
    "NamedTemporaryFile": {"cli"},
}

# The names under which libraries are declared, where they differ.
WHEEL_NAMES = {"pydantic_core": "pydantic", "xlsxwriter": "XlsxWriter"}


@dataclass(frozen=True)
class Module:
    """A module with the rooms and libraries it imports and the calls it makes."""

    name: str
    room: str
    rooms: frozenset[str]
    libraries: frozenset[str]
    calls: frozenset[str]


def _imported(tree: ast.AST) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


def _called(tree: ast.AST) -> set[str]:
    functions = [node.func for node in ast.walk(tree) if isinstance(node, ast.Call)]
    return {
        f.id if isinstance(f, ast.Name) else f.attr
        for f in functions
        if isinstance(f, ast.Name | ast.Attribute)
    }


def _read(path: Path, package: Path = PACKAGE) -> Module:
    inside = path.relative_to(package)
    tree = ast.parse(path.read_text(encoding="utf-8"))
    imported = _imported(tree)
    own = {name.split(".")[1] for name in imported if name.startswith("routescreen.")}
    others = {name.split(".")[0] for name in imported} - {"routescreen"}
    room = inside.parts[0].removesuffix(".py")
    return Module(
        str(inside), room, frozenset(own - {"__version__"}), frozenset(others), frozenset(_called(tree))
    )


MODULES = [_read(path) for path in sorted(PACKAGE.rglob("*.py"))]
MODULE_IDS = [module.name for module in MODULES]


def _breaches(module: Module) -> list[str]:
    """Name every wall that a module breaks."""
    strangers = module.rooms - ALLOWED.get(module.room, set()) - {module.room}
    found = [f"imports the room {room}" for room in sorted(strangers)]
    for what, table, used in (("library", LIBRARIES, module.libraries), ("call", FILE_CALLS, module.calls)):
        found += [
            f"{what} {name}" for name in sorted(used) if name in table and module.room not in table[name]
        ]
    return found


@pytest.mark.parametrize("module", MODULES, ids=MODULE_IDS)
def test_module_keeps_the_walls(module: Module) -> None:
    assert module.room in ALLOWED, (
        f"{module.room} is no room: give it a place in docs/architecture.md and here"
    )
    assert _breaches(module) == []


@pytest.mark.parametrize(
    ("room", "code", "breach"),
    [
        ("search", "from routescreen.results import write_results", "imports the room results"),
        ("audit", "def f():\n    from routescreen.search import kernel", "imports the room search"),
        ("audit", "import routescreen.corridor.frame", "imports the room corridor"),
        ("money", "import geopandas as gpd\ngpd.read_file('x')", "call read_file"),
        ("corridor", "open('x')", "call open"),
        ("engineering", "from pathlib import Path\nPath('x').read_text()", "call read_text"),
        ("screen", "import click", "library click"),
        ("results", "from rasterio.transform import from_origin", "library rasterio"),
    ],
)
def test_a_broken_wall_is_seen(tmp_path: Path, room: str, code: str, breach: str) -> None:
    path = tmp_path / f"{room}.py"
    path.write_text(code)
    assert breach in _breaches(_read(path, tmp_path))


def test_rooms_form_no_circle() -> None:
    remaining = {room: set(allowed) for room, allowed in ALLOWED.items()}
    while remaining:
        free = {room for room, allowed in remaining.items() if not allowed & remaining.keys()}
        assert free, f"these rooms lean on each other: {sorted(remaining)}"
        remaining = {room: allowed for room, allowed in remaining.items() if room not in free}


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("*.py")), ids=MODULE_IDS)
def test_module_says_which_room_it_is(path: Path) -> None:
    text = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    is_top = path == PACKAGE / "__init__.py"
    assert is_top or "Room:" in text


def test_declared_libraries_are_those_that_are_imported() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    declared = {text.split(">=")[0] for text in project["dependencies"]}
    imported = {name for module in MODULES for name in module.libraries} - sys.stdlib_module_names
    assert {WHEEL_NAMES.get(name, name) for name in imported} == declared
