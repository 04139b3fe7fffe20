"""Draw the docs' picture of a comparison: open its page in Debian's Chromium and look.

Usage: python docs/compare_picture.py FOLDER/compared.html [FOLDER]

The folder defaults to docs/images. Needs playwright and /usr/bin/chromium.
"""

from __future__ import annotations

import sys
from pathlib import Path

CHROMIUM = "/usr/bin/chromium"
SIZE = {"width": 1300, "height": 1790}


def compare_picture(page_file: Path, file: Path) -> None:
    """Write the picture of the upper part of the page: map, long sections, stretches."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_context(viewport=SIZE, offline=True).new_page()
        page.goto(page_file.resolve().as_uri())
        page.screenshot(path=str(file))
        browser.close()


if __name__ == "__main__":
    given = [*sys.argv[1:], *("", str(Path(__file__).parent / "images"))[len(sys.argv) - 1 :]]
    compare_picture(Path(given[0]), Path(given[1]) / "demo_compared.png")
