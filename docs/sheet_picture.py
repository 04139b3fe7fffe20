"""Draw the docs' picture of a sheet from the demo's results. Needs poppler's pdftoppm.

Usage: python docs/sheet_picture.py RESULTS/sheets.pdf [SHEET] [FOLDER]

The sheet defaults to 8, which passes under the canal, the folder to docs/images.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

DOTS_PER_INCH = 90


def sheet_picture(sheets: Path, number: int, file: Path) -> None:
    """Write the picture of one sheet."""
    page = str(number)
    command = ["pdftoppm", "-png", "-singlefile", "-r", str(DOTS_PER_INCH), "-f", page, "-l", page]
    subprocess.run([*command, str(sheets), str(file.with_suffix(""))], check=True)


if __name__ == "__main__":
    given = [*sys.argv[1:], *("", "8", str(Path(__file__).parent / "images"))[len(sys.argv) - 1 :]]
    sheet_picture(Path(given[0]), int(given[1]), Path(given[2]) / "demo_sheet.png")
