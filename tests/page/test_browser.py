"""The page in a real browser: what scripts do, that the policy holds nothing of ours back, and hostile names."""

import re
import shutil
import subprocess
import sys

import pytest

pytest.importorskip("playwright")
from playwright.sync_api import expect, sync_playwright

from .conftest import NAMES

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
QUIET = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"]

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no browser here")


@pytest.fixture
def address(folder):
    words = [sys.executable, "-m", "nameplate", "open", folder, "--no-browser"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as server:
        yield server.stdout.readline().strip()
        server.terminate()


@pytest.fixture
def window():
    with sync_playwright() as tool:
        browser = tool.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield browser.new_context()
        browser.close()


def watched(window):
    """Open a tab; what its console complains about is kept."""
    tab = window.new_page()
    tab.said = []
    tab.on("console", lambda message: tab.said.append(message.text))
    tab.on("pageerror", lambda error: tab.said.append(str(error)))
    tab.on("dialog", lambda dialog: tab.said.append("a name was run") or dialog.dismiss())
    tab.set_default_timeout(60_000)
    return tab


def test_a_list_is_corrected_in_two_tabs_seen_and_signed(window, address, folder):
    tab, other = watched(window), watched(window)
    tab.goto(address)
    assert "token" not in tab.url
    other.goto(tab.url)
    tab.fill("#r4c2", "Ida")
    tab.press("#r4c2", "Enter")  # by the keyboard alone
    expect(tab.get_by_role("button", name="Undo")).to_be_visible(timeout=60_000)
    assert (folder / "names.csv").read_bytes() == NAMES.replace(b";Jo", b";Ida")

    other.fill("#r4c2", "Una")
    other.get_by_role("button", name="Save row 4").click()
    expect(other.get_by_role("alert")).to_contain_text("changed elsewhere", timeout=60_000)
    expect(other.locator("#r4c2")).to_have_value("Una")
    assert b"Una" not in (folder / "names.csv").read_bytes()

    tab.get_by_role("link", name="Plates").click()
    expect(tab.locator("article", has_text="Pacifico")).to_have_count(3, timeout=120_000)
    for number in range(3):  # pictures are fetched as they come into view
        picture = tab.locator("article img").nth(number)
        picture.scroll_into_view_if_needed()
        expect(picture).to_have_js_property("complete", value=True, timeout=60_000)
        assert picture.evaluate("one => one.naturalWidth") > 0
    expect(tab.get_by_role("heading", name=re.compile("onerror=alert"))).to_be_visible()

    tab.get_by_role("link", name="Sign-off").click()
    tab.get_by_label("Approved by").fill("Ann Ode")
    tab.get_by_role("button", name="Approve plate 003, Ida").click()
    expect(tab.get_by_role("status")).to_contain_text("Ann Ode approved plate 003", timeout=60_000)
    assert tab.said == []
    assert [text for text in other.said if "409" not in text] == []

    tab.get_by_role("button", name="Close").click()
    expect(tab.get_by_role("heading", name="Closed")).to_be_visible(timeout=60_000)


def test_every_control_has_a_name(window, address):
    tab = watched(window)
    tab.goto(address)
    for room in ("names", "plates", "sign-off", "sheets", "make", "bench"):
        tab.goto(re.sub(r"/\?.*", f"/{room}", address))
        named = "one => one.labels.length > 0 || !!one.ariaLabel || !!one.textContent.trim()"
        every = tab.locator("button, input:not([type=hidden]), textarea").evaluate_all(f"all => all.map({named})")
        assert every and all(every), room
