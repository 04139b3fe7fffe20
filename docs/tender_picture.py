"""Draw the docs' picture of the workbook: print it by LibreOffice and take the page of the priced bill.

Usage: python docs/tender_picture.py RESULTS/tender.xlsx [FOLDER]

The folder defaults to docs/images. Needs soffice (libreoffice-calc) and pdftoppm (poppler-utils).
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

PAGE = 3  # cover, summary, first page of the priced bill
DOTS_PER_INCH = 110


def tender_picture(workbook: Path, file: Path) -> None:
    """Write the picture of a workbook's priced bill."""
    with tempfile.TemporaryDirectory() as folder:
        profile = f"-env:UserInstallation={(Path(folder) / 'profile').as_uri()}"
        printing = ["soffice", profile, "--headless", "--convert-to", "pdf", "--outdir", folder]
        subprocess.run([*printing, str(workbook)], check=True, capture_output=True)
        page = ["pdftoppm", "-png", "-singlefile", "-r", str(DOTS_PER_INCH), "-f", str(PAGE)]
        printed = str(Path(folder) / workbook.with_suffix(".pdf").name)
        subprocess.run([*page, printed, str(file.with_suffix(""))], check=True)


if __name__ == "__main__":
    target = Path(sys.argv[2]) if len(sys.argv) > 2 else Path(__file__).parent / "images"
    tender_picture(Path(sys.argv[1]), target / "demo_tender.png")
