"""``python -m benchmarks NAME``: run one benchmark, print its table, say whether its targets are met."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks.bill import bill
from benchmarks.figures import Figure, as_json, machine, table
from benchmarks.proof import proof

if TYPE_CHECKING:
    from collections.abc import Callable

# What can be run now: each takes `is_quick`, prints what it finds wrong and returns its figures.
BENCHMARKS: dict[str, Callable[..., list[Figure]]] = {"proof": proof, "bill": bill}
# Names that are kept for benchmarks to come.
PLANNED = ("fixed", "joint", "open", "explanations", "loading", "whole", "samples", "growth", "batch")


def main(arguments: list[str] | None = None) -> int:
    """Run one benchmark; return 0 where all targets are met, 1 where not, 2 for a wrong call."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__)
    parser.add_argument("name", help="benchmark: " + ", ".join(BENCHMARKS))
    parser.add_argument("--quick", action="store_true", help="a small part of it")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to a file too")
    call = parser.parse_args(arguments)
    if call.name not in BENCHMARKS:
        state = "is planned but not built yet" if call.name in PLANNED else "is not a benchmark"
        print(f"'{call.name}' {state}. There is: {', '.join(BENCHMARKS)}.", file=sys.stderr)
        return 2
    print(machine(), flush=True)
    started = time.perf_counter()
    figures = BENCHMARKS[call.name](is_quick=call.quick)
    figures.append(Figure(f"{call.name}_time", time.perf_counter() - started, "s"))
    print(table(figures))
    if call.json is not None:
        call.json.write_text(as_json(figures), encoding="utf-8")
    return 1 if any(figure.is_met is False for figure in figures) else 0


if __name__ == "__main__":
    sys.exit(main())
