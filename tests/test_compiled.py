"""The compiled code's cache must notice every change of what it is made from."""

from __future__ import annotations

import ast
from pathlib import Path

import routescreen
from routescreen.compiled import KERNEL_SOURCES

ROOT = Path(routescreen.__file__).parent


def _imported(path: Path) -> set[str]:
    """Return the package's own modules that a file imports, as paths below the package."""
    names = {
        node.module
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("routescreen.")
    }
    files = {name.removeprefix("routescreen.").replace(".", "/") + ".py" for name in names}
    return {name for name in files if (ROOT / name).exists()}


def test_every_file_with_compiled_code_is_hashed() -> None:
    using = {
        path.relative_to(ROOT).as_posix()
        for path in ROOT.rglob("*.py")
        if "@compiled" in path.read_text(encoding="utf-8")
    }
    assert using <= set(KERNEL_SOURCES)


def test_whatever_compiled_code_imports_is_hashed_too() -> None:
    for name in KERNEL_SOURCES:
        assert _imported(ROOT / name) <= set(KERNEL_SOURCES), name
