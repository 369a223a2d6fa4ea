"""Takes the picture of the page in README.md: the example job in the browser, where its look is chosen.

    python examples/page_picture.py examples/page.png

Needs the test extra (playwright, pillow) and Chromium.
"""

from __future__ import annotations

import argparse
import io
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

JOB = Path(__file__).resolve().parent / "orchard"

#: The window, and colours of the picture: few enough for a small file, enough for letters without stains.
WIDTH, HEIGHT, COLOURS = 1180, 1430, 64


def shot(address: str, room: str) -> bytes:
    """Take a picture of a room, as PNG, once what is in view is drawn."""
    from playwright.sync_api import sync_playwright

    chromium = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    with sync_playwright() as tool:
        browser = tool.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        tab = browser.new_context(viewport={"width": WIDTH, "height": HEIGHT}).new_page()
        tab.set_default_timeout(120_000)
        tab.goto(address)
        tab.get_by_role("link", name=room).click()
        tab.locator("#trial [role=status]", has_text="By drafts").wait_for()
        tab.locator(".in-font img").nth(7).wait_for()
        tab.wait_for_load_state("networkidle")
        return tab.screenshot()


def small(png: bytes) -> bytes:
    """Give a picture of few colours."""
    from PIL import Image

    made = io.BytesIO()
    picture = Image.open(io.BytesIO(png)).convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
    picture.save(made, "png", optimize=True)
    return made.getvalue()


def main() -> None:
    """Open the example job, a copy of it, and take its picture."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("output", type=Path, help=".png")
    output = parser.parse_args().output
    with tempfile.TemporaryDirectory() as place:
        folder = Path(shutil.copytree(JOB, Path(place) / "orchard"))
        words = [sys.executable, "-m", "nameplate", "open", folder, "--no-browser"]
        with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as server:
            assert server.stdout is not None
            try:
                output.write_bytes(small(shot(server.stdout.readline().strip(), "Look")))
            finally:
                server.terminate()


if __name__ == "__main__":
    main()
