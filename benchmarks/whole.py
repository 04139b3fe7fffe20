"""The whole command in a process of its own: the demo cold and warm, long invented corridors."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from benchmarks.figures import Figure
from benchmarks.long_corridors import write_corridor

DEMO = Path(__file__).parents[1] / "demo_data" / "corridor.gpkg"
DEMO_COLD_S, DEMO_WARM_S, DEMO_MB = 30.0, 8.0, 1000.0
LONG_S = {700: 900.0}
LONG_MB = {700: 4000.0}


def whole(*, is_quick: bool = False) -> list[Figure]:
    """Run the demo with an empty cache of compiled code and again, then 100 and 700 km."""
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        figures = _run("demo_cold", DEMO, work, DEMO_COLD_S, DEMO_MB)
        figures += _run("demo_warm", DEMO, work, DEMO_WARM_S, DEMO_MB)
        for km in (2,) if is_quick else (100, 700):
            write_corridor(work / str(km), 1000.0 * km)
            source = work / str(km) / "corridor.gpkg"
            figures += _run(f"{km}_km", source, work, LONG_S.get(km), LONG_MB.get(km))
    return figures


def _run(
    name: str, source: Path, work: Path, target_s: float | None, target_mb: float | None
) -> list[Figure]:
    """Run the command once; a run that fails prints what it said and has no time."""
    call = [
        sys.executable,
        "-m",
        "routescreen",
        "run",
        str(source),
        "-o",
        str(work / f"out_{name}"),
        "--json",
    ]
    environment = os.environ | {"NUMBA_CACHE_DIR": str(work / "cache")}
    began = time.perf_counter()
    done = subprocess.run(call, env=environment, capture_output=True, text=True, check=False)
    wall_s = time.perf_counter() - began
    figures = [Figure(f"whole_{name}_exit_code", done.returncode, "-", 0, is_most=True)]
    try:
        answer = json.loads(done.stdout)
    except json.JSONDecodeError:
        print(done.stderr[-2000:])
        return figures
    figures += [
        Figure(f"whole_{name}_wall", wall_s, "s", target_s, is_most=True),
        Figure(f"whole_{name}_peak_memory", answer["peak_memory_mb"] or 0.0, "MB", target_mb, is_most=True),
    ]
    seconds: dict[str, float] = {}
    for stage in answer["stages"]:
        seconds[stage["stage"]] = seconds.get(stage["stage"], 0.0) + stage["seconds"]
    return figures + [Figure(f"whole_{name}: {stage}", value, "s") for stage, value in seconds.items()]
