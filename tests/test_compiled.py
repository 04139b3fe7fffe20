"""The compiled code's cache must notice every change of what it is made from."""

from __future__ import annotations

import ast
import gc
import math
import os
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numba.core.runtime import _nrt_python, rtsys

import routescreen
from benchmarks.straight import Straight, straight_arrays
from routescreen.compiled import KERNEL_SOURCES, by_reference, compiled
from routescreen.search.label_kernel import PassResult
from routescreen.search.pass_kernel import run_pass

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


class _Pair(NamedTuple):
    one: np.ndarray
    other: np.ndarray


@compiled
def _put(pair: _Pair, at: int) -> None:
    pair.one[at] = at + 1.0
    pair.other[at] = 2.0 * pair.one[at]


@compiled
def _grown(n: int) -> _Pair:
    """Fill a pair of arrays by reference, growing it on the way."""
    pair = _Pair(np.zeros(2), np.zeros(2))
    for at in range(n):
        if at == pair.one.shape[0]:
            pair = _Pair(np.append(pair.one, np.zeros(at)), np.append(pair.other, np.zeros(at)))
        _put(by_reference(pair), at)
    return pair


@compiled
def _cleared(pair: _Pair) -> None:
    pair.one[:] = math.inf
    pair.other[:] = math.inf


@compiled
def _new_pair(n: int) -> _Pair:
    return _Pair(np.empty(n), np.empty(n))


@compiled
def _written_where_it_is_made(n: int) -> tuple[float, _Pair]:
    """Write through a reference in the very function that makes the tuple, and read it back."""
    pair = _new_pair(n)
    read = 0.0
    for at in range(n):
        if at > 0 and at == pair.one.shape[0] // 2:
            pair = _Pair(pair.one, np.append(pair.other, np.zeros(1)))
        kept = by_reference(pair)
        if at == 0:
            _cleared(kept)
            kept.one[at] = 3.0
        _put(kept, max(at, 1))
        read += kept.one[0]
    return read, pair


def _blocks_in_use() -> int:
    gc.collect()
    counted = rtsys.get_allocation_stats()
    return counted.mi_alloc - counted.mi_free


def test_what_is_written_by_reference_stands_in_the_tuple_itself() -> None:
    pair = _grown(8)
    assert pair.one.tolist() == [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0]
    assert pair.other.tolist() == [2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0]


def test_elements_assigned_through_a_reference_where_the_tuple_is_made_are_not_dropped() -> None:
    read, pair = _written_where_it_is_made(6)
    assert read == 18.0
    assert pair.one.tolist() == [3.0, 2.0, 3.0, 4.0, 5.0, 6.0]


def test_a_pass_keeps_what_it_returns_and_leaves_nothing_behind() -> None:
    _nrt_python.memsys_enable_stats()
    arrays = straight_arrays(Straight(40, 9, longest_m=150.0))
    run_pass(arrays, True, 40, True, np.zeros(1, np.int64))
    before, held = _blocks_in_use(), sys.getrefcount(arrays.ground.ground_m)
    result: PassResult | None = run_pass(arrays, True, 40, True, np.zeros(1, np.int64))
    assert result is not None
    for name in PassResult._fields:
        array = getattr(result, name)
        assert not isinstance(array, np.ndarray) or array.base is not None, name
    holds = sys.getrefcount(arrays.ground.ground_m)
    assert holds == held
    assert _blocks_in_use() > before
    result, array = None, None
    assert _blocks_in_use() == before


# A module of its own, so that a second process finds what the first one left on disk.
PARTS = """
import sys
from numba import config
from pathlib import Path
from routescreen.compiled import compiled

@compiled
def root(x):
    if x < 0.0:
        raise ValueError("below zero")
    return x ** 0.5

@compiled
def hypotenuse(a, b):
    return root(a * a + b * b)

@compiled
def shifted(a, by):
    return root(a + by) + hypotenuse(3.0, 4.0)

print(shifted(1.0, 3.0))
try:
    shifted(1.0, -3.0)
except ValueError as error:
    print(error)
if len(sys.argv) > 1:
    print(root(49.0), root(x=4.0))
print(*sorted(path.name.split("-")[0] for path in Path(config.CACHE_DIR).rglob("*.nbc")))
print(sum(shifted._whole.stats.cache_hits.values()))
"""


def _answer_of_parts(folder: Path, *arguments: str) -> list[str]:
    code = folder / "parts.py"
    code.write_text(PARTS, encoding="utf-8")
    seen = {**os.environ, "NUMBA_CACHE_DIR": str(folder), "PYTHONPATH": str(ROOT.parent)}
    done = subprocess.run(
        [sys.executable, str(code), *arguments], env=seen, capture_output=True, text=True, check=True
    )
    assert done.stderr == ""
    return done.stdout.splitlines()


def test_only_what_python_calls_becomes_machine_code_and_its_parts_come_along_from_the_disk(
    tmp_path: Path,
) -> None:
    assert _answer_of_parts(tmp_path) == ["7.0", "below zero", "parts.shifted", "0"]
    assert _answer_of_parts(tmp_path) == ["7.0", "below zero", "parts.shifted", "1"]
    from_python_too = _answer_of_parts(tmp_path, "root too")
    assert from_python_too == ["7.0", "below zero", "7.0 2.0", "parts.root parts.shifted", "1"]
