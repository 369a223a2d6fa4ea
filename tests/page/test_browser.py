"""The page in a real browser: what scripts do, that the policy holds nothing of ours back, and hostile names."""

import re
import time

import pytest

pytest.importorskip("playwright")
from playwright.sync_api import expect

from nameplate.page import names_room
from tests.browsers import needs_browser

from .conftest import NAMES, TICKET, nameplate, served_here

#: How htmx names an answer that came too late for its page.
GIVEN_UP = re.compile("htmx:(afterRequest|sendAbort),")

pytestmark = needs_browser


@pytest.fixture
def address(folder):
    with served_here(folder) as there:
        yield there


@pytest.fixture
def window(chromium):
    window = chromium.new_context()
    yield window
    window.close()


def watched(window):
    """Open a tab; what its console complains about is kept, but for what htmx was asked for by a page that is left."""
    tab = window.new_page()
    tab.said = []
    tab.on("console", lambda message: GIVEN_UP.match(message.text) or tab.said.append(message.text))
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
    bar = tab.get_by_role("navigation", name="Rooms")
    bar.get_by_role("link", name="Make").click()
    tab.locator("main").get_by_role("link", name="Sign-off").click()  # out of one room into another
    expect(bar.locator("[aria-current=page]")).to_have_text("Sign-off", timeout=60_000)
    assert tab.said == []
    assert [text for text in other.said if "409" not in text] == []

    tab.get_by_role("button", name="Close").click()
    expect(tab.get_by_role("heading", name="Closed")).to_be_visible(timeout=60_000)


def test_names_are_pasted_and_dropped_and_one_is_drawn_as_it_is_typed(window, address, folder):
    tab = watched(window)
    tab.goto(address)
    tab.get_by_text("Bring names").click()
    tab.get_by_label("One name a line").fill("Ida Quill\n<img src=x onerror=alert(2)>\n")
    tab.get_by_role("button", name="Look at them").click()
    expect(tab.get_by_role("heading", name="2 names in what was pasted")).to_be_visible(timeout=60_000)
    tab.get_by_role("button", name="Add to the list").click()
    expect(tab.locator("#r6c2")).to_have_value("<img src=x onerror=alert(2)>", timeout=60_000)
    assert (folder / "names.csv").read_bytes() == NAMES + b"\r\n;Ida Quill;\r\n;<img src=x onerror=alert(2)>;"

    tab.evaluate(DROP, ["May.csv", "name\nUna\nBo\n"])
    expect(tab.get_by_role("heading", name="2 names in May.csv")).to_be_visible(timeout=60_000)
    tab.get_by_role("button", name="Use as the list").click()
    expect(tab.locator("#r3c1")).to_have_value("Bo", timeout=60_000)
    assert (folder / "names.csv").read_bytes() == b"name\nUna\nBo\n"

    tab.fill("#r3c1", "Bobo")
    expect(tab.get_by_role("img", name="plate with the name Bobo")).to_be_visible(timeout=60_000)
    expect(tab.locator("#drawing:not(.draft)")).to_contain_text("Pacifico", timeout=60_000)
    assert (folder / "names.csv").read_bytes() == b"name\nUna\nBo\n"
    for expected in (b"\r\n;<img src=x onerror=alert(2)>;", NAMES[-8:]):
        tab.get_by_role("button", name="Undo").click()
        expect(tab.locator("#r4c2")).to_have_value("Jo", timeout=60_000)
        tab.wait_for_timeout(300)
        assert (folder / "names.csv").read_bytes().endswith(expected)
    assert tab.said == []


def test_a_price_is_found_changed_and_undone_without_leaving_its_place(window, address, folder):
    design = "[design.gold]\nface = { width = 90 }\n"
    (folder / "job.toml").write_text(TICKET + design, encoding="utf-8")
    tab = watched(window)
    tab.goto(address)
    tab.get_by_role("link", name="Settings").click()
    tab.get_by_role("link", name="stock", exact=True).click()
    price = tab.get_by_label("price", exact=True).first
    expect(price).to_be_in_viewport(timeout=60_000)
    for typed, told in (("dear", "expected a number"), ("8.25", "stock 1.price = 8.25")):
        price.fill(typed)
        price.press("Enter")
        expect(tab.locator("form[action='/settings']")).to_contain_text(told, timeout=60_000)
        expect(price).to_be_in_viewport()
        expect(price).to_be_focused()
    assert (folder / "job.toml").read_text(encoding="utf-8") == (TICKET + design).replace("7.5", "8.25")
    tab.get_by_role("button", name="Undo").click()
    expect(price).to_have_value("7.5", timeout=60_000)
    tab.get_by_role("link", name="gold").click()
    expect(tab.get_by_role("link", name="gold")).to_have_attribute("aria-current", "page", timeout=60_000)
    tab.wait_for_timeout(300)  # the bar is put right once a room has settled
    assert tab.locator("nav [aria-current]").all_inner_texts() == ["Settings", "gold"]
    assert [text for text in tab.said if "422" not in text] == []


def test_what_is_typed_into_settings_and_a_plate_is_asked_about_before_it_is_left(window, address, folder):
    (folder / "job.toml").write_text(TICKET + "[design.gold]\nface = { width = 90 }\n", encoding="utf-8")
    tab = window.new_page()
    tab.set_default_timeout(60_000)
    asked = []
    tab.on("dialog", lambda dialog: asked.append(dialog.type) or dialog.dismiss())

    def leaves(link):
        """Whether a link leads away; what it leads to is another page, or another design."""
        asked.clear()
        before = tab.url
        tab.get_by_role("link", name=link).click(no_wait_after=True)
        tab.wait_for_timeout(700)
        return tab.url != before and not asked

    tab.goto(address)
    tab.get_by_role("link", name="Settings").click()
    price = tab.get_by_label("price", exact=True).first
    price.fill("8.25")
    for link in ("gold", "Plates"):  # within the page, and in the bar
        assert not leaves(link) and asked == ["beforeunload"]
    expect(price).to_have_value("8.25")
    price.fill("7.5")
    assert leaves("gold") and leaves("the job")
    price.fill("dear")
    price.press("Enter")
    expect(tab.get_by_text("expected a number")).to_be_visible()
    assert not leaves("Plates") and asked == ["beforeunload"]  # it was refused, and is there to be put right
    price.fill("8.25")
    price.press("Enter")
    expect(tab.get_by_text("stock 1.price = 8.25")).to_be_visible()
    assert leaves("Plates")
    tab.goto(tab.url.replace("/plates", "/plate?id=001"))
    tab.get_by_label("second line").fill("oak")
    for link in ("Next", "All plates"):
        assert not leaves(link) and asked == ["beforeunload"]
    tab.get_by_role("button", name="Save").click()
    expect(tab.locator("#unsaved")).to_be_hidden()
    assert leaves("Next")


def test_which_plate_a_row_is_can_be_answered_beside_its_message(window, folder):
    (folder / "names.csv").write_bytes(b"name\r\nIda\r\nBo\r\n")
    assert nameplate(folder, "approve", "job.toml", "--all", "--by", "Ann Ode").exit_code == 0
    (folder / "names.csv").write_bytes(b"name\r\nOda\r\nBo\r\n")
    with served_here(folder) as address:
        tab = watched(window)
        tab.goto(address)
        tab.get_by_role("combobox", name="Row 2").select_option("plate 001 “Ida”")
        tab.get_by_role("button", name="Write it into the list: Row 2").click()
        expect(tab.locator("#r2c2")).to_have_value("001", timeout=60_000)
        assert (folder / "names.csv").read_bytes() == b"name,id\r\nOda,001\r\nBo,002\r\n"
        assert tab.said == []


def test_that_no_row_is_a_plate_any_more_can_be_answered_beside_its_message(window, folder):
    (folder / "names.csv").write_bytes(b"name\r\nWilhelmina Oakes\r\nBo\r\n")
    assert nameplate(folder, "approve", "job.toml", "--all", "--by", "Ann Ode").exit_code == 0
    (folder / "names.csv").write_bytes(b"name\r\nBo\r\nJacaranda Quill\r\nEsme Thornton\r\n")
    with served_here(folder) as address:
        tab = watched(window)
        tab.goto(address)
        tab.get_by_role("button", name="No row is this plate any more").click()
        expect(tab.locator("#r3c2")).to_have_value("003", timeout=60_000)
        assert (
            folder / "names.csv"
        ).read_bytes() == b"name,id\r\nBo,002\r\nJacaranda Quill,003\r\nEsme Thornton,004\r\n"
        assert tab.said == []


def test_a_design_is_chosen_in_a_list_that_has_no_column_for_it(window, folder):
    (folder / "job.toml").write_text(TICKET + "[design.gold]\nface = { width = 90 }\n", encoding="utf-8")
    (folder / "names.csv").write_bytes(b"name\nWren\nJo\nIda\n")
    with served_here(folder) as address:
        tab = watched(window)
        tab.goto(address)
        for row in (2, 4):
            tab.select_option(f"#r{row}c0", "gold")
        expect(tab.locator("#unsaved-rows")).to_have_text("Not saved yet: row 2, 4.")
        tab.get_by_role("button", name="Hold row 3").click()  # brings a column of its own
        expect(tab.get_by_role("button", name="Release row 3")).to_be_visible()
        expect(tab.locator("#unsaved-rows")).to_have_text("Not saved yet: row 2, 4.")
        tab.get_by_role("button", name="Save row 2").click()
        expect(tab.locator("#unsaved-rows")).to_be_hidden()
        assert (folder / "names.csv").read_bytes() == b"name,hold,design\nWren,,gold\nJo,yes\nIda,,gold\n"
        expect(tab.locator("#r4c0")).to_have_value("gold")
        assert tab.said == []


#: Drops a file with a name and a text onto the middle of the page, as a hand does.
DROP = """([name, text]) => {
  const files = new DataTransfer();
  files.items.add(new File([text], name));
  const there = document.querySelector("#main");
  for (const kind of ["dragover", "drop"])
    there.dispatchEvent(new DragEvent(kind, { dataTransfer: files, bubbles: true, cancelable: true }));
}"""


def test_a_plate_is_moved_by_keys_and_its_line_broken_by_a_click(window, address, folder):
    tab = watched(window)
    tab.goto(address)
    tab.get_by_role("link", name="Plates").click()
    tab.get_by_role("link", name="001 Wren Abara").click()
    expect(tab.locator("#drawing:not(.draft)")).to_contain_text("Pacifico", timeout=120_000)
    tab.get_by_role("button", name="Break the line behind Wren").click()
    expect(tab.get_by_role("button", name="Break the line behind Wren")).to_have_attribute("aria-pressed", "true")
    broken = NAMES.replace(b"Wren Abara", b"Wren | Abara")
    assert (folder / "names.csv").read_bytes() == broken

    tab.get_by_label("size (mm)").fill("15")
    tab.get_by_label("size (mm)").press("Enter")
    expect(tab.get_by_text("size nothing to “15”")).to_be_visible(timeout=60_000)
    tab.locator("#stage").focus()
    for key in ("ArrowRight", "ArrowRight", "ArrowDown"):  # faster than they are written
        tab.keyboard.press(key)
    expect(tab.get_by_label("right (mm)")).to_have_value("1")
    expect(tab.get_by_text("dx nothing to “1”, dy nothing to “-0.5”")).to_be_visible(timeout=60_000)
    assert b";apple;15;1;-0.5\r\n" in (folder / "names.csv").read_bytes()
    expect(tab.locator("#stage")).to_be_focused()
    tab.get_by_label("font").select_option("Lobster")
    expect(tab.locator("#drawing:not(.draft)")).to_contain_text("Lobster", timeout=60_000)
    for _ in range(4):
        tab.get_by_role("button", name="Undo").click()
        tab.wait_for_timeout(500)
    expect(tab.get_by_role("button", name="Undo")).to_have_count(0)
    assert (folder / "names.csv").read_bytes() == NAMES
    assert tab.said == []


def test_a_click_on_an_arrow_is_one_step_as_a_key_is_and_fast_clicks_are_counted(window, address, folder):
    tab = watched(window)
    tab.goto(address)
    tab.goto(re.sub(r"/names.*", "/plate?id=003", tab.url))
    tab.get_by_role("button", name="Right", exact=True).click()
    expect(tab.get_by_text("dx nothing to “0.5”")).to_be_visible(timeout=60_000)
    assert (folder / "names.csv").read_bytes().endswith(b";Jo;plum;0.5")
    expect(tab.get_by_label("right (mm)")).to_have_value("0.5")
    for _ in range(3):
        tab.get_by_role("button", name="Right", exact=True).click()
    expect(tab.get_by_text("dx “0.5” to “2”")).to_be_visible(timeout=60_000)
    tab.locator("#stage").focus()
    tab.keyboard.press("ArrowRight")
    expect(tab.get_by_text("dx “2” to “2.5”")).to_be_visible(timeout=60_000)
    assert (folder / "names.csv").read_bytes().endswith(b";Jo;plum;2.5")
    tab.keyboard.press("ArrowRight")
    tab.evaluate("document.getElementById('dx').value = '2.5'")  # as an answer leaves it that comes between two steps
    tab.keyboard.press("ArrowRight")
    expect(tab.get_by_text("dx “2.5” to “3.5”")).to_be_visible(timeout=60_000)
    assert tab.said == []


def test_a_save_writes_every_row_that_was_changed_and_what_is_typed_elsewhere_is_asked_about(window, address, folder):
    tab = window.new_page()
    asked = []
    tab.on("dialog", lambda dialog: asked.append(dialog.type) or dialog.dismiss())
    tab.goto(address)
    tab.fill("#r2c3", "medlar")
    tab.fill("#r4c2", "Ida")
    expect(tab.locator("#unsaved-rows")).to_have_text("Not saved yet: row 2, 4.")
    expect(tab.locator("#save2")).not_to_have_class("quiet")
    expect(tab.locator("#save3")).to_have_class("quiet")
    tab.get_by_role("button", name="Save row 4").click()
    expect(tab.get_by_role("button", name="Undo: row 4: “Jo” to “Ida”; row 2")).to_be_visible(timeout=60_000)
    expect(tab.locator("#unsaved-rows")).to_be_hidden()
    assert (folder / "names.csv").read_bytes() == NAMES.replace(b";Jo", b";Ida").replace(b";apple", b";medlar")
    tab.fill("#r2c3", "quince")
    tab.get_by_role("button", name="Hold row 2").click()  # a new column, and what was typed in the row stays
    expect(tab.get_by_role("button", name="Release row 2")).to_be_visible(timeout=60_000)
    expect(tab.locator("#r2c3")).to_have_value("quince")
    tab.fill("#r4c2", "Una")
    tab.get_by_role("button", name="Delete row 2").click()  # with what was typed in it; row 4 is row 3 now
    expect(tab.locator("#unsaved-rows")).to_have_text("Not saved yet: row 3.", timeout=60_000)
    expect(tab.locator("#r3c2")).to_have_value("Una")
    expect(tab.locator("#live svg")).to_have_count(0)
    tab.get_by_role("link", name="Plates").click(no_wait_after=True)
    tab.wait_for_timeout(500)
    assert asked == ["beforeunload"] and tab.url.endswith("/names")
    tab.fill("#r3c2", "Ida")
    expect(tab.locator("#unsaved-rows")).to_be_hidden()
    tab.get_by_role("link", name="Plates").click()
    expect(tab.get_by_role("heading", level=1)).to_have_text("Plates", timeout=60_000)
    assert asked == ["beforeunload"]


@pytest.mark.parametrize("pause", [50, 300, 700])
def test_saves_one_after_another_are_all_written_while_answers_come(window, folder, monkeypatch, pause):
    """An answer takes half a second, and moves the rows below an error that is put right."""
    shown = names_room._shown
    monkeypatch.setattr(names_room, "_shown", lambda *given: time.sleep(0.5) or shown(*given))
    (folder / "names.csv").write_bytes(b"name,copies\n" + b"".join(b"Wren %d,two\n" % n for n in range(5)))
    with served_here(folder) as address:
        tab = watched(window)
        tab.set_viewport_size({"width": 1280, "height": 500})
        tab.goto(address)
        for row in range(2, 7):
            tab.fill(f"#r{row}c2", str(row))
            tab.locator(f"#save{row}").click(delay=80)  # a hand presses as long: the button may be another by then
            tab.wait_for_timeout(pause)
        expect(tab.locator(".finding.error")).to_have_count(0, timeout=60_000)
        expect(tab.locator("#unsaved-rows")).to_be_hidden()
        assert (folder / "names.csv").read_bytes() == b"name,copies\n" + b"".join(
            b"Wren %d,%d\n" % (n, n + 2) for n in range(5)
        )
        assert tab.said == []


def test_the_plate_of_a_row_is_drawn_beside_it(window, address, folder):
    (folder / "names.csv").write_bytes(b"name\n" + b"".join(b"Wren %d\n" % number for number in range(40)))
    tab = watched(window)
    tab.goto(address)
    tab.fill("#r38c1", "Bobo")
    picture = tab.get_by_role("img", name="plate with the name Bobo")
    expect(picture).to_be_visible(timeout=60_000)
    # both at once: a better drawing may take the place of this one any moment
    boxes = "all => all.map(one => document.querySelector(one).getBoundingClientRect().toJSON())"
    picture, row = tab.evaluate(boxes, ["#live svg", "#r38c1"])
    assert picture["y"] < row["y"] + row["height"] and picture["y"] + picture["height"] > row["y"]
    assert picture["x"] > row["x"] + row["width"]
    assert tab.said == []


@pytest.mark.parametrize("more", [2, 6])
def test_the_buttons_of_a_row_are_in_sight_and_entering_it_moves_none_of_its_cells(window, address, folder, more):
    headings = ["id", "name", "design", "tree", *(f"own {number}" for number in range(more))]
    (folder / "names.csv").write_text(f"{','.join(headings)}\n1,Wren Abara,,elm{',x' * more}\n")
    tab = watched(window)
    tab.set_viewport_size({"width": 1280, "height": 800})
    tab.goto(address)
    seen = "() => document.elementsFromPoint(x, y).some(one => one.id === 'delete2')"
    box = "one => one.getBoundingClientRect().toJSON()"
    for entered in (False, True):
        if entered:
            before = tab.locator("#r2c4").evaluate(box)
            tab.focus("#r2c4")
            expect(tab.locator("#live svg")).to_be_visible(timeout=60_000)
            assert tab.locator("#r2c4").evaluate(box) == before
        at = tab.locator("#delete2").evaluate(box)
        corners = [(at["left"] + 3, at["y"] + 9), (at["right"] - 3, at["y"] + 9)]
        assert all(tab.evaluate(seen.replace("x, y", f"{x}, {y}")) for x, y in corners), entered
    assert tab.said == []


def test_every_control_has_a_name(window, address):
    tab = watched(window)
    tab.goto(address)
    for room in ("names", "plates", "plate?id=001", "sign-off", "sheets", "make", "bench"):
        tab.goto(re.sub(r"/\?.*", f"/{room}", address))
        named = "one => one.labels.length > 0 || !!one.ariaLabel || !!one.textContent.trim()"
        every = tab.locator("button, input:not([type=hidden]), select, textarea").evaluate_all(
            f"all => all.map({named})"
        )
        assert every and all(every), room
