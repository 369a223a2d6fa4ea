"""The room Look: what is chosen there is in the ticket as a person would have written it, and nothing refused is."""

import html
import re

import pytest
from lxml import etree

from nameplate.face.making import make_face
from nameplate.page.answers import MOST_UPLOADED
from nameplate.page.face_picture import face_picture
from nameplate.page.trials import hardest
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.schema import FaceKeys

from .conftest import REMARKS, TICKET, changed, lines, version

PLAQUE = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">'
    b'<path id="rim" d="M0 0H90V60H0Z"/></svg>'
)


def send(browser, do, design="", then=None, files=None, **fields):
    """Send a form of the room as the browser does."""
    shown = then or browser.get("/look", params={"design": design})
    data = {"version": version(shown), "design": design, "do": do, **fields}
    return browser.post("/look", data=data, files=files)


def drawing(name="plaque.svg", data=PLAQUE):
    return {"drawing": (name, data, "image/svg+xml")}


# --- sizes and fonts


def test_a_font_is_chosen_and_fallbacks_and_remarks_stay(browser, ticket):
    before = lines(ticket)
    assert send(browser, "font", font="Satisfy").status_code == 200
    gone, new = changed(before, lines(ticket))
    assert gone == ['font = ["Pacifico", "Lobster"]   # the fallback has what it lacks']
    assert new == ['font = ["Satisfy", "Lobster"]   # the fallback has what it lacks']
    assert read_ticket(ticket).lettering.font == ("Satisfy", "Lobster")


def test_where_all_plates_look_alike_it_is_said_where_a_design_is_added(browser, ticket):
    assert '<a href="/settings">Settings</a> adds a design' not in browser.get("/look").text
    ticket.write_text(TICKET, encoding="utf-8")
    assert '<a href="/settings">Settings</a> adds a design' in browser.get("/look").text


def test_sizes_that_stay_are_not_written(browser, ticket):
    before = lines(ticket)
    send(browser, "sizes", max_height="22.5", inset="6", min_web="1.5")
    assert changed(before, lines(ticket)) == ([], ["max_height = 22.5"])
    send(browser, "sizes", max_height="", inset="6", min_web="1.5")
    assert lines(ticket) == before


def test_lengths_that_a_box_shows_rounded_stay_as_they_are_written(browser, ticket):
    inches = {b"width  = 110": b'width  = "4 1/64in"', b'font = ["P': b'min_web = "1/16in"\r\nfont = ["P'}
    for old, new in inches.items():
        ticket.write_bytes(ticket.read_bytes().replace(old, new))
    before, page = lines(ticket), browser.get("/look").text
    boxes = {key: re.search(rf'id="{key}" [^>]*value="([^"]*)"', page)[1] for key in ("width", "height", "min_web")}
    expected = {"width": "101.997", "height": "79.375", "min_web": "1.5875"}  # 101.996875 mm; an inch is 25.4 mm
    assert boxes == expected
    assert send(browser, "sizes", min_web=boxes["min_web"]).status_code == 200
    assert send(browser, "shape", shape="ellipse", width=boxes["width"], height=boxes["height"]).status_code == 200
    assert lines(ticket) == before


def test_sizes_that_are_set_are_kept_with_the_font_that_is_taken(browser, ticket):
    before = lines(ticket)
    send(browser, "font", font="Satisfy", max_height="22.5", inset="6", min_web="1.5")
    assert changed(before, lines(ticket))[1] == [
        'font = ["Satisfy", "Lobster"]   # the fallback has what it lacks',
        "max_height = 22.5",
    ]
    assert send(browser, "font", font="Pacifico", max_height="tall").status_code == 422
    assert read_ticket(ticket).lettering.font == ("Satisfy", "Lobster")


def test_what_a_design_says_is_written_below_it(browser, ticket):
    before = lines(ticket)
    send(browser, "sizes", "gold", max_height="30", inset="8", min_web="2")
    gone, new = changed(before, lines(ticket))
    assert gone == ['face = { shape = "hexagon", width = 130, height = 90 }']
    assert new == ['face = { shape = "hexagon", width = 130, height = 90, inset = 8}', "max_height = 30"]
    gold = read_ticket(ticket).of("gold")
    assert (gold.lettering.max_height, gold.lettering.min_web, gold.face.inset) == (30, 2, 8)
    assert read_ticket(ticket).lettering.max_height is None


def test_the_room_opens_on_the_first_design_that_has_rows(browser, ticket, folder):
    def tabs(page):
        nav = re.search(r'<nav class="designs".*?</nav>', page.text, re.DOTALL)
        shown = re.search(r'name="design" value="(\w*)"', page.text)[1]
        return shown, re.findall(r">([\w ]+)</a>", nav[0]) if nav else []

    ticket.write_text(REMARKS + "[design.silver]\nface = { width = 90 }\n", encoding="utf-8")
    rows = folder / "names.csv"
    for text, opened, named in (
        ("name,design\nWren,silver\nOdo,silver\n", "silver", ["gold", "silver"]),
        ("name,design\nWren,silver\nOdo,\n", "", ["without a design", "gold", "silver"]),
        ("name,design\n", "", ["without a design", "gold", "silver"]),  # nobody knows yet
    ):
        rows.write_text(text, encoding="utf-8")
        assert tabs(browser.get("/look")) == (opened, named)
        assert tabs(browser.get("/look", params={"design": "gold"})) == ("gold", named)


def test_lengths_are_read_as_the_ticket_reads_them(browser, ticket):
    send(browser, "shape", shape="hexagon", width="4.75 in", height='3 1/4"')
    assert (read_ticket(ticket).face.width, read_ticket(ticket).face.height) == (120.65, 82.55)
    page = send(browser, "sizes", max_height="1 in", inset="5/32in", min_web="0,15 cm")
    assert "max_height 25.4" in page.text
    own = read_ticket(ticket)
    assert (own.lettering.max_height, own.face.inset, own.lettering.min_web) == (25.4, 3.96875, 1.5)
    before = ticket.read_bytes()
    for typed, why in (("4 furlongs", "unknown unit"), ("40 ft", "at most 10000 mm"), ("1/0in", "is not a length")):
        answer = send(browser, "shape", shape="hexagon", width=typed, height="80")
        assert answer.status_code == 422 and why in html.unescape(answer.text), typed
    assert ticket.read_bytes() == before


def test_every_edit_is_undone_to_the_byte(browser, ticket):
    states = [ticket.read_bytes()]
    for do, fields in (("font", {"font": "Satisfy"}), ("shape", {"shape": "hexagon", "width": "90", "height": "80"})):
        send(browser, do, **fields)
        states.append(ticket.read_bytes())
    assert len(set(states)) == 3
    for expected in states[-2::-1]:
        send(browser, "undo")
        assert ticket.read_bytes() == expected
    assert "nothing to undo" in send(browser, "undo").text


@pytest.mark.parametrize(
    ("do", "fields", "reason"),
    [
        ("sizes", {"max_height": "30", "inset": "90", "min_web": "1.5"}, "an inset of 90 mm leaves no room"),
        ("sizes", {"max_height": "30", "inset": "6", "min_web": "0.01"}, "min_web"),
        ("sizes", {"max_height": "high", "inset": "x", "min_web": "nan"}, "'high' is not a length"),
        ("font", {"font": "No Such Script"}, "“No Such Script” is none of the fonts"),
        ("font", {"font": "../../font.ttf"}, "is none of the fonts"),
        ("shape", {"shape": "hexagon", "width": "90", "height": ""}, "height"),
        ("shape", {"shape": "blob", "width": "90", "height": "9"}, "blob"),
    ],
)
def test_a_ticket_that_would_be_refused_is_not_written_and_the_reason_stands_at_the_control(
    browser, ticket, do, fields, reason
):
    before = ticket.read_bytes()
    answer = send(browser, do, **fields)
    assert answer.status_code == 422
    section = {"sizes": "Sizes", "font": "Fonts", "shape": "A plain shape"}[do]
    after = html.unescape(answer.text.split(section, 1)[1])
    assert reason in after[: after.index("</div>")]
    assert ticket.read_bytes() == before
    assert "Undo" not in answer.text


def test_all_that_is_no_length_is_told_at_once(browser, ticket):
    answer = html.unescape(send(browser, "sizes", max_height="high", inset="x", min_web="1.5").text)
    assert "max_height “high”" in answer and "inset “x”" in answer


def test_of_two_tabs_the_second_is_told(browser, ticket):
    tab = browser.get("/look")
    send(browser, "font", then=tab, font="Satisfy")
    once = ticket.read_bytes()
    answer = send(browser, "font", then=tab, font="Lobster")
    assert answer.status_code == 409 and "changed elsewhere" in answer.text
    assert ticket.read_bytes() == once


def test_what_another_program_wrote_is_not_undone(browser, ticket):
    send(browser, "font", font="Satisfy")
    ticket.write_text(TICKET, encoding="utf-8")
    answer = send(browser, "undo")
    assert answer.status_code == 409 and "cannot be undone" in answer.text
    assert ticket.read_text(encoding="utf-8") == TICKET


# --- the face


def test_a_drawing_becomes_the_face(browser, ticket, folder):
    before = lines(ticket)
    answer = send(browser, "drawing", files=drawing("../..\\My plaque?.SVG"), width="")
    assert answer.status_code == 200 and "90.0 x 60.0 mm" in answer.text
    assert (folder / "My plaque.svg").read_bytes() == PLAQUE
    gone, new = changed(before, lines(ticket))
    assert new == ["# or a drawing", "# as the board has it", 'file = "My plaque.svg"']
    assert len(gone) == 3
    assert read_ticket(ticket).of("gold").face.width == 130


def test_a_drawing_takes_no_other_files_place(browser, folder):
    (folder / "plaque.svg").write_bytes(b"somebody's own")
    send(browser, "drawing", files=drawing(), width="45")
    assert (folder / "plaque.svg").read_bytes() == b"somebody's own"
    assert (folder / "plaque-2.svg").read_bytes() == PLAQUE
    face = read_ticket(folder / "job.toml").face
    assert (face.file, face.width, face.shape) == (folder / "plaque-2.svg", 45, None)
    send(browser, "undo")
    send(browser, "drawing", files=drawing(), width="")
    assert sorted(path.name for path in folder.glob("*.svg")) == ["plaque-2.svg", "plaque.svg"]


def test_a_face_that_a_design_cannot_have_names_it(browser, ticket, folder):
    ticket.write_text(REMARKS.replace('shape = "hexagon", ', ""), encoding="utf-8")
    assert "design gold: plaque.svg: a width of 130 mm" in send(browser, "drawing", files=drawing(), width="").text
    assert not (folder / "plaque.svg").exists()


@pytest.mark.parametrize(
    ("name", "data", "reason"),
    [
        ("plaque.svg", b"<svg", "plaque.svg"),
        ("plaque.svg", b"", "is no drawing"),
        ("plaque.svg", b'<svg xmlns="http://www.w3.org/2000/svg"/>', "plaque.svg"),
        ("plaque.exe", PLAQUE, "is no drawing"),
        ("plaque.dxf", PLAQUE, "plaque.dxf"),
        ("large.svg", PLAQUE + b" " * 4_000_000, "too large"),
    ],
)
def test_what_is_no_face_leaves_nothing(browser, folder, name, data, reason):
    before = sorted(folder.iterdir())
    answer = send(browser, "drawing", files=drawing(name, data), width="")
    assert answer.status_code == 422 and reason in html.unescape(answer.text)
    assert sorted(folder.iterdir()) == before
    assert (folder / "job.toml").read_text(encoding="utf-8") == TICKET


def test_a_form_that_is_too_large_is_not_read(browser, folder):
    answer = send(browser, "drawing", files=drawing(data=b" " * (MOST_UPLOADED + 1)), width="")
    assert answer.status_code == 413
    assert not list(folder.glob("*.svg"))


def test_without_a_drawing_the_form_says_so(browser):
    assert (
        "no drawing was chosen"
        in send(browser, "drawing", files={"drawing": ("", b"", "application/octet-stream")}).text
    )


def test_the_face_picture_has_outline_hole_and_zone_in_their_places(folder):
    data = PLAQUE.replace(b"</svg>", b'<circle id="hole" cx="45" cy="8" r="3"/></svg>')
    (folder / "p.svg").write_bytes(data)
    face, _ = make_face(FaceKeys(file=folder / "p.svg", inset=5))
    root = etree.fromstring(face_picture(face).encode())
    paths = root.findall("{*}path")
    sizes = []
    for path in paths[:3]:
        numbers = [int(n) / 100 for n in re.findall(r"-?\d+", path.get("d"))]
        sizes.append((max(numbers[::2]) - min(numbers[::2]), max(numbers[1::2]) - min(numbers[1::2])))
    assert sizes[0] == pytest.approx((90, 60), abs=0.1)
    assert sizes[1] == pytest.approx((6, 6), abs=0.1)
    assert sizes[2] == pytest.approx((80, 50), abs=0.1)
    assert [text.text for text in root.findall("{*}text")] == ["90.0", "60.0"]


def test_a_tried_inset_is_drawn_and_not_written(browser, folder):
    kept = browser.get("/look/face.svg").text
    tried = browser.get("/look/face.svg", params={"inset": "20"}).text
    assert kept != tried
    assert browser.get("/look/face.svg", params={"inset": "90"}).status_code == 422
    assert (folder / "job.toml").read_text(encoding="utf-8") == TICKET


# --- drafts


def heights(answer):
    return dict(re.findall(r"<figcaption>(.+?), capitals ([\d.]+) mm", answer.text))


def test_the_hardest_names_are_the_longest_the_marked_and_those_to_look_at(folder, studio):
    rows = ["Jo", "Bo", "Ab", "Nguyễn Ổ", "Al", "A very long name indeed", "WREN abara", "Cy", "Di", "Ed", "Flo Bexley"]
    (folder / "names.csv").write_text("name\n" + "\n".join(rows), encoding="utf-8")
    names = [order.name for order in hardest(studio.view(), "")]
    assert names == ["Nguyễn Ổ", "A very long name indeed", "WREN abara", "Flo Bexley"]


def test_a_job_of_no_names_has_no_hardest_ones(folder, studio, browser):
    (folder / "names.csv").write_text("name,hold\nJo,yes\n", encoding="utf-8")
    assert hardest(studio.view(), "") == ()
    assert "once it has some" in browser.get("/look").text


def test_names_that_were_all_cut_are_shown_in_other_fonts(browser, studio, made):
    browser.post("/bench", data={"cut": "lettering-01", "by": "Bo"})
    assert not studio.view().anew
    page = browser.get("/look").text
    assert "Keep these sizes" in page and "Take Satisfy" in page
    assert "Plates that were cut stay as they are" in page
    assert len(heights(browser.get("/look/font", params={"name": "Satisfy"}))) == 3


def test_names_are_drafted_at_sizes_that_are_tried(browser, folder):
    large = heights(browser.get("/look/trial"))
    small = heights(browser.get("/look/trial", params={"max_height": "12", "inset": "6", "min_web": "1.5"}))
    assert large.keys() == small.keys() and len(large) == 3
    assert all(float(small[name]) < float(large[name]) for name in large)
    assert all(float(height) <= 12 for height in small.values())
    assert (folder / "job.toml").read_text(encoding="utf-8") == TICKET


def test_drafts_have_pictures_and_hostile_names_are_text(browser):
    answer = browser.get("/look/trial")
    assert "<img src=x" not in answer.text and "&lt;img src=x" in answer.text
    addresses = re.findall(r'src="(/look/drafts/\w+\.svg)"', answer.text)
    assert len(addresses) == 3
    assert all(browser.get(address).text.startswith("<svg") for address in addresses)
    assert browser.get("/look/drafts/0000.svg").status_code == 404


def test_sizes_that_cannot_be_are_told_where_they_are_tried(browser):
    answer = browser.get("/look/trial", params={"inset": "90"})
    assert "an inset of 90 mm leaves no room" in answer.text
    answer = browser.get("/look/trial", params={"min_web": "wide"})
    assert "&#39;wide&#39; is not a length" in answer.text


def test_all_names_are_counted(browser):
    assert "all 3 names: none is without room or letters" in browser.get("/look/count").text
    assert "3 are without" in browser.get("/look/count", params={"max_height": "1"}).text


def test_a_font_shows_what_it_lacks(browser, folder):
    (folder / "names.csv").write_text("name\nНина\nJo\n", encoding="utf-8")
    answer = browser.get("/look/font", params={"name": "Sacramento"})
    assert "lacks</b> Н и н а" in answer.text
    assert list(heights(answer)) == ["Jo"]
    assert "lacks</b>" not in browser.get("/look/font", params={"name": "Pacifico"}).text


def test_a_newer_trial_drops_what_an_older_one_waits_for(studio):
    view = studio.view()
    older = [studio.drafts.ask(view, plate) for plate in view.keys]
    studio.try_now([view.keys["001"], view.keys["002"]])
    studio.try_now([view.keys["002"]])
    assert older[0].cancelled()
    assert older[1].result(60).svg and older[2].result(60).svg


def test_a_face_can_be_chosen_while_the_list_is_to_be_put_right(browser, folder):
    (folder / "names.csv").write_text("tree\nplum\n", encoding="utf-8")
    answer = browser.get("/look")
    assert answer.status_code == 200 and "names.csv" in answer.text
    assert send(browser, "shape", shape="circle", width="70", height="").status_code == 200
    assert read_ticket(folder / "job.toml").face.shape == "circle"


def test_a_drawing_that_is_lost_can_be_replaced(browser, folder):
    (folder / "job.toml").write_text(TICKET.replace('shape = "ellipse"', 'file = "gone.svg"'), encoding="utf-8")
    assert "gone.svg" in browser.get("/look").text
    assert send(browser, "drawing", files=drawing(), width="").status_code == 200
    assert "90.0 x 60.0 mm" in browser.get("/look").text


def test_names_that_stand_free_have_no_face_to_see_and_one_slider(browser, folder):
    text = TICKET.replace('shape = "ellipse"\nwidth = 110\nheight = 80', 'shape = "none"\nheight = 40')
    (folder / "job.toml").write_text(text, encoding="utf-8")
    page = browser.get("/look").text
    assert 'name="min_web"' in page
    assert "face-picture" not in page and 'name="max_height"' not in page and 'name="inset"' not in page
    assert "face-picture" not in browser.get("/look/trial").text
    send(browser, "sizes", min_web="2")
    after = (folder / "job.toml").read_text(encoding="utf-8")
    assert after == text.replace('legibility = "off"\n', 'legibility = "off"\nmin_web = 2\n')


def test_what_a_second_font_has_is_not_lacking(browser, ticket, folder):
    ticket.write_text(REMARKS.replace('"Lobster"', '"Pacifico"').replace('["Pacifico"', '["Satisfy"'), encoding="utf-8")
    (folder / "names.csv").write_text("name\nНина\n", encoding="utf-8")
    answer = browser.get("/look/font", params={"name": "Sacramento"}).text
    assert "lacks</b>" not in answer and "not made" not in answer and "another font" in answer
