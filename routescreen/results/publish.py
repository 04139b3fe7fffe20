"""Writes what the repository holds ready from the package's own declarations.

Room: ``results``; a tool for developers: ``python -m routescreen.results.publish``, run at the root of
the repository after a change of schema or styles. A test keeps the files in step.
"""

from __future__ import annotations

from pathlib import Path

from routescreen.results.files import replace_text
from routescreen.results.plan_json import plan_schema_text
from routescreen.results.styles import write_styles


def publish(root: Path) -> None:
    """Write ``styles/`` and ``docs/plan.schema.json`` below a folder."""
    write_styles(root / "styles")
    replace_text(root / "docs" / "plan.schema.json", plan_schema_text())


if __name__ == "__main__":
    publish(Path())
