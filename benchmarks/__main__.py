"""``python -m benchmarks [NAME ...]``: run benchmarks, print a table each, say whether targets are met."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks.bill import bill
from benchmarks.engineering import engineering
from benchmarks.explanations import explanations
from benchmarks.figures import Figure, as_json, machine, table
from benchmarks.fixed import fixed
from benchmarks.growth import growth
from benchmarks.joint import joint
from benchmarks.open_cut import open_cut
from benchmarks.proof import proof
from benchmarks.pruned import pruned
from benchmarks.steering import steering
from benchmarks.through import through
from benchmarks.whole import whole

if TYPE_CHECKING:
    from collections.abc import Callable

# What can be run now: each takes `is_quick`, prints what it finds wrong and returns its figures.
BENCHMARKS: dict[str, Callable[..., list[Figure]]] = {
    "proof": proof,
    "bill": bill,
    "fixed": fixed,
    "joint": joint,
    "open": open_cut,
    "pruned": pruned,
    "through": through,
    "explanations": explanations,
    "engineering": engineering,
    "whole": whole,
    "growth": growth,
    "steering": steering,
}
# Names that are kept for benchmarks to come.
PLANNED = ("loading", "samples", "batch")


def main(arguments: list[str] | None = None) -> int:
    """Run benchmarks, all without a name; return 0: all targets met, 1: some missed, 2: a wrong call."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help="benchmark: " + ", ".join(BENCHMARKS))
    parser.add_argument("--quick", action="store_true", help="a small part of each")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to a file too")
    call = parser.parse_args(arguments)
    unknown = [name for name in call.names if name not in BENCHMARKS]
    for name in unknown:
        state = "is planned but not built yet" if name in PLANNED else "is not a benchmark"
        print(f"'{name}' {state}. There is: {', '.join(BENCHMARKS)}.", file=sys.stderr)
    if unknown:
        return 2
    print(machine(), flush=True)
    found = [figure for name in call.names or BENCHMARKS for figure in _measured(name, is_quick=call.quick)]
    if call.json is not None:
        call.json.write_text(as_json(found), encoding="utf-8")
    return 1 if any(figure.is_met is False for figure in found) else 0


def _measured(name: str, *, is_quick: bool) -> list[Figure]:
    """Run one benchmark and print its table."""
    started = time.perf_counter()
    figures = BENCHMARKS[name](is_quick=is_quick)
    figures.append(Figure(f"{name}_time", time.perf_counter() - started, "s"))
    print(table(figures), flush=True)
    return figures


if __name__ == "__main__":
    sys.exit(main())
