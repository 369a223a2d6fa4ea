"""The room Look in a real browser: a drawing that is dropped, a slider moved by the keyboard."""

import base64
import re

import pytest

pytest.importorskip("playwright")
from playwright.sync_api import expect

from nameplate.ticket.reader import read_ticket
from tests.browsers import needs_browser

from .test_browser import address as address
from .test_browser import watched
from .test_browser import window as window
from .test_look import PLAQUE

pytestmark = needs_browser

#: Drops a file of these bytes on an element, as a hand with a file does.
DROP = """(one, [name, bytes]) => {
  const data = new DataTransfer();
  data.items.add(new File([Uint8Array.from(atob(bytes), c => c.charCodeAt(0))], name));
  for (const kind of ["dragover", "drop"])
    one.dispatchEvent(new DragEvent(kind, { bubbles: true, cancelable: true, dataTransfer: data }));
}"""


@pytest.fixture
def tab(window, address):
    tab = watched(window)
    tab.goto(address)
    tab.get_by_role("link", name="Look").click()
    return tab


def dropped(tab, name, data):
    tab.locator("form.drop").evaluate(DROP, [name, base64.b64encode(data).decode()])


def test_a_drawing_is_dropped_and_one_that_is_none_is_told(tab, folder):
    dropped(tab, "board.svg", PLAQUE)
    expect(tab.locator(".face figcaption")).to_contain_text("board.svg: 90.0 x 60.0 mm", timeout=60_000)
    assert (folder / "board.svg").read_bytes() == PLAQUE
    dropped(tab, "other.svg", b"no drawing")
    expect(tab.locator("form.drop [role=alert]")).to_contain_text("other.svg", timeout=60_000)
    assert not (folder / "other.svg").exists()
    assert read_ticket(folder / "job.toml").face.file == folder / "board.svg"
    assert [text for text in tab.said if "422" not in text] == []


def test_a_slider_is_moved_by_the_keyboard_and_nothing_is_written_before_it_is_kept(tab, folder):
    before = (folder / "job.toml").read_bytes()
    expect(tab.locator("#trial [role=status]")).to_contain_text("By drafts of all 3 names", timeout=120_000)
    wide = tab.locator("#trial figcaption").all_inner_texts()
    slider = tab.get_by_label("Kept clear along the edge, slider")
    slider.focus()
    for _ in range(20):  # each step is a wish of its own; the last one counts
        tab.keyboard.press("ArrowRight")
    expect(tab.get_by_label("Kept clear along the edge", exact=True)).to_have_value("16")
    expect(tab.locator("#trial figcaption").first).not_to_have_text(wide[0], timeout=60_000)
    expect(tab.locator("#face-picture")).to_have_attribute("src", re.compile("inset=16"), timeout=60_000)
    assert (folder / "job.toml").read_bytes() == before
    tab.get_by_role("button", name="Keep these sizes").click()
    expect(tab.get_by_role("button", name="Undo")).to_be_visible(timeout=60_000)
    assert (folder / "job.toml").read_bytes() == before.replace(b"height = 80\n", b"height = 80\ninset = 16\n", 1)
    tab.get_by_role("button", name="Undo").click()
    expect(tab.get_by_label("Kept clear along the edge", exact=True)).to_have_value("6", timeout=60_000)
    assert (folder / "job.toml").read_bytes() == before
    assert tab.said == []


def test_a_length_with_a_unit_is_tried_and_leaves_the_slider_where_it_is(tab, folder):
    box, slider = (tab.get_by_label(f"Kept clear along the edge{more}", exact=True) for more in ("", ", slider"))
    box.fill("9,5")
    expect(slider).to_have_value("9.5")
    box.fill("1/2 in")
    expect(slider).to_have_value("9.5")
    expect(tab.locator("#face-picture")).to_have_attribute("src", re.compile("inset=1%2F2"), timeout=60_000)
    tab.get_by_role("button", name="Keep these sizes").click()
    expect(box).to_have_value("12.7", timeout=60_000)
    assert read_ticket(folder / "job.toml").face.inset == 12.7


def test_sizes_that_are_set_are_not_lost_when_a_font_is_taken(tab, folder):
    tab.get_by_label("Kept clear along the edge", exact=True).fill("9")
    tab.get_by_role("button", name="Take Satisfy", exact=True).click()
    expect(tab.get_by_role("button", name="Undo")).to_be_visible(timeout=60_000)
    face = read_ticket(folder / "job.toml")
    assert (face.lettering.font[0], face.face.inset) == ("Satisfy", 9)
