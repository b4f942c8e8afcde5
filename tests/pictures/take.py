"""Publishes the demo and takes the picture of its home page that stands at the top of the README.

python tests/pictures/take.py
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

HERE = Path(__file__).resolve().parent
CHECKOUT = HERE.parent.parent
WINDOW = {"width": 1100, "height": 1000}
BELOW = 24  # pixels left below the chart that the picture ends with
FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]


def main() -> None:
    """Publish to a scratch folder, show index.html in the light scheme, and keep what is seen."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as player:
        words = ["--journal", str(CHECKOUT), "publish", "--to", folder]
        subprocess.run([sys.executable, "-m", "journal", *words], cwd=CHECKOUT, check=True)
        browser = player.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        page = browser.new_page(viewport=WINDOW, color_scheme="light")  # type: ignore[arg-type]
        page.goto((Path(folder) / "index.html").as_uri())
        chart = page.locator("figure.chart svg").first.bounding_box()
        assert chart is not None, "the home page shows no chart"
        height = chart["y"] + chart["height"] + BELOW
        page.set_viewport_size({"width": WINDOW["width"], "height": round(height)})
        page.screenshot(path=HERE / "home.png")
        browser.close()


if __name__ == "__main__":
    main()
