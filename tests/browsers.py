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


def printed(tab, html):
    """Print a page of HTML in a tab of the browser; give the text of each page of paper, with where it stands."""
    pypdfium2 = pytest.importorskip("pypdfium2")

    tab.set_content(html)
    return [page.get_textpage() for page in pypdfium2.PdfDocument(tab.pdf(prefer_css_page_size=True))]
