"""What a benchmark says: named figures with units and targets, as a table or JSON."""

from __future__ import annotations

import json
import os
import platform
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a benchmark; with a target it is met at least, or at most where `is_most`."""

    name: str
    value: float
    unit: str
    target: float | None = None
    is_most: bool = False

    @property
    def is_met(self) -> bool | None:
        """Whether the target is met, None without one."""
        if self.target is None:
            return None
        return self.value <= self.target if self.is_most else self.value >= self.target


def machine() -> str:
    """Describe the machine in one line."""
    parts = [
        _processor(),
        f"{os.cpu_count()} cores",
        f"{platform.system()} {platform.machine()}",
        f"Python {platform.python_version()}",
        *(f"{name} {version(name)}" for name in ("numba", "numpy", "scipy")),
    ]
    return ", ".join(parts)


def _processor() -> str:
    """Return the processor's name where the system tells it."""
    info = Path("/proc/cpuinfo")
    if info.exists():
        for line in info.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor() or "unknown processor"


def table(figures: Sequence[Figure]) -> str:
    """Return the figures as a table."""
    rows = [("figure", "value", "unit", "target", "met")]
    for figure in figures:
        sign = "<=" if figure.is_most else ">="
        target = "" if figure.target is None else f"{sign} {figure.target:g}"
        met = {None: "", True: "yes", False: "NO"}[figure.is_met]
        rows.append((figure.name, f"{figure.value:.6g}", figure.unit, target, met))
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return "\n".join(
        "  ".join(f"{text:<{w}}" for text, w in zip(row, widths, strict=True)).rstrip() for row in rows
    )


def as_json(figures: Sequence[Figure]) -> str:
    """Return the machine and the figures as JSON."""
    rows = [
        {"name": f.name, "figure": f.value, "unit": f.unit, "target": f.target, "met": f.is_met}
        for f in figures
    ]
    return json.dumps({"machine": machine(), "figures": rows}, indent=2) + "\n"
