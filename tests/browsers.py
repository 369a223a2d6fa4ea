"""The browser of the tests: the one that this machine has, or none."""

import contextlib
import shutil

import pytest

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
QUIET = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking")

needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="there is no browser here")


@contextlib.contextmanager
def started():
    """Start the browser, for the time of a block."""
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as tool:
        browser = tool.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield browser
        browser.close()
