"""Draw the docs' picture of the report: open it in Debian's Chromium, choose a drive, and look.

Usage: python docs/report_picture.py RESULTS/report.html [DRIVE] [FOLDER]

The drive defaults to demo-D003, the folder to docs/images. Needs playwright and /usr/bin/chromium.
"""

from __future__ import annotations

import sys
from pathlib import Path

CHROMIUM = "/usr/bin/chromium"
SIZE = {"width": 1360, "height": 1010}


def report_picture(report: Path, drive: str, file: Path) -> None:
    """Write the picture of a report with one drive chosen."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_context(viewport=SIZE, offline=True).new_page()
        page.goto(report.resolve().as_uri())
        while not page.evaluate("window.__ready === true"):
            page.wait_for_timeout(50)
        page.evaluate("drive => rs.choose(drive, true)", drive)
        page.evaluate("window.scrollTo(0, 0)")
        page.wait_for_timeout(500)
        page.screenshot(path=str(file))
        browser.close()


if __name__ == "__main__":
    given = [*sys.argv[1:], *("", "demo-D003", str(Path(__file__).parent / "images"))[len(sys.argv) - 1 :]]
    report_picture(Path(given[0]), given[1], Path(given[2]) / "demo_report.png")
