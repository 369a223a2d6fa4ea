"""One plate on the page: its form writes what a person would have written, and each change is drawn before that."""

import html
import os
import re

import openpyxl
import pytest

from nameplate.page import plate_room
from nameplate.page.edits import read_names
from nameplate.page.opened import open_job
from nameplate.page.plate_form import toggled_break, words_of
from nameplate.page.sketch import sketch_work
from nameplate.page.tried_row import tried_row
from nameplate.record import store
from nameplate.record.store import writing

from .conftest import NAMES, nameplate, seen, version


@pytest.fixture(autouse=True)
def patience(monkeypatch):
    """However busy the machine is, a draft is worth waiting for here."""
    monkeypatch.setattr(plate_room, "DRAFT_S", 100.0)


def draft_dies_of_ada(context, order):
    """Draft a plate, in a worker, unless it is Ada's."""
    if order.name == "Ada":
        os._exit(1)
    return sketch_work(context, order)


def fields(answer):
    """What the form of a plate sends when nothing was changed."""
    form = answer.text[answer.text.index('<form id="one"') :]
    found = re.findall(r'<input[^>]* name="(\w+)" value="([^"]*)"', form)
    chosen = re.search(r"<option selected>([^<]*)<", form)
    return {name: html.unescape(text) for name, text in found} | {"font": html.unescape(chosen[1]) if chosen else ""}


def send(browser, plate, do="save", **changed):
    return browser.post("/plate", data={**fields(browser.get("/plate", params={"id": plate})), "do": do, **changed})


def draft(browser, row, **changed):
    return browser.post("/plate/draft", data={"row": row, **changed})


def finished(browser, answer):
    return browser.get(re.search(r'data-then="(/plate/finished/\w+)"', answer.text)[1])


def both(browser, **changed):
    """The draft of Jo's plate, and the plate."""
    answer = draft(browser, 4, **changed)
    return answer, finished(browser, answer)


def letters(answer):
    """The numbers of the lettering's outline in a picture."""
    return list(map(int, re.findall(r"-?\d+", re.findall(r'<path fill="#2b2622"[^>]* d="([^"]*)"', answer.text)[0])))


def read(folder):
    return (folder / "names.csv").read_bytes()


def test_an_arrow_moves_the_name_by_half_a_millimetre_and_brings_its_columns(browser, folder):
    send(browser, "003", "right")
    send(browser, "003", "right")
    assert read(folder) == NAMES.replace(b";tree\r\n", b";tree;dx\r\n") + b";1"
    send(browser, "003", "down")
    assert read(folder) == NAMES.replace(b";tree\r\n", b";tree;dx;dy\r\n") + b";1;-0.5"
    send(browser, "003", "left")
    answer = send(browser, "003", "left")
    assert read(folder) == NAMES.replace(b";tree\r\n", b";tree;dx;dy\r\n") + b";;-0.5"
    assert "row 4: dx “0.5” to nothing" in html.unescape(answer.text)
    for _ in range(5):
        answer = browser.post("/plate", data={**fields(browser.get("/plate?id=003")), "do": "undo"})
    assert read(folder) == NAMES and ">Undo: " not in answer.text


def test_a_size_a_font_and_a_second_line_in_one_edit(browser, folder):
    answer = send(browser, "003", size="20", font="Lobster", line2="elm; oak")
    expected = NAMES.replace(b";tree\r\n", b";tree;line2;font;size\r\n") + b';"elm; oak";Lobster;20'
    assert read(folder) == expected
    assert fields(answer)["font"] == "Lobster" and fields(answer)["size"] == "20"


def test_nothing_changed_writes_nothing_and_what_says_nothing_needs_no_column(browser, folder):
    then = (folder / "names.csv").stat().st_mtime_ns
    send(browser, "003")
    assert (folder / "names.csv").stat().st_mtime_ns == then


def test_a_click_between_words_breaks_the_line_there_and_another_one_joins_it(browser, folder):
    answer = browser.get("/plate?id=001")
    assert 'value="break-1"' in answer.text and 'aria-pressed="false"' in answer.text
    answer = send(browser, "001", "break-1")
    assert read(folder) == NAMES.replace(b"Wren Abara", b"Wren | Abara")
    assert 'aria-pressed="true"' in answer.text
    send(browser, "001", "break-1")
    assert read(folder) == NAMES
    send(browser, "003", "break-1")  # of one word
    assert read(folder) == NAMES


@pytest.mark.parametrize(
    "name, behind, then",
    [
        ("In memory of Ada", 3, "In memory of | Ada"),
        ("In memory of\nAda", 1, "In | memory of | Ada"),
        ("In memory | of | Ada", 2, "In memory of | Ada"),
        ("Ada", 0, "Ada"),
        ("Ada Pell", 2, "Ada Pell"),
        ("", 1, ""),
        ("A | | B", 1, "A B"),
    ],
)
def test_breaks_are_those_of_the_cell(name, behind, then):
    assert toggled_break(name, behind) == then
    assert " ".join(word.text for word in words_of(name)) == " ".join(name.replace("|", " ").split())


def test_a_draft_is_drawn_of_what_is_typed_and_then_the_finished_plate(browser, folder):
    shown = draft(browser, 4, c2="Ida")
    assert "A draft; the finished lettering" in shown.text and "plate with the name Ida" in shown.text
    done = finished(browser, shown)
    assert "Pacifico" in done.text and "data-then" not in done.text
    again = draft(browser, 4, c2="Ida")  # kept: no draft is needed any more
    assert "Pacifico" in again.text and letters(again) == letters(done)
    assert read(folder) == NAMES
    send(browser, "003", c2="Ida")
    assert letters(browser.get("/plate?id=003")) == letters(done)  # nor once it is written


def test_a_draft_and_its_finished_plate_stand_where_the_row_moves_them(browser):
    still, done_still = both(browser, size="15")
    moved, done_moved = both(browser, size="15", dx="2", dy="-1")
    for pair in ((still, moved), (done_still, done_moved)):
        first, second = map(letters, pair)
        assert second[0] - first[0] == pytest.approx(200, abs=8)  # hundredths of a mm, thinned each by itself
        assert second[1] - first[1] == pytest.approx(100, abs=8)


def test_what_cannot_be_made_says_why_beside_its_draft(browser):
    shown = draft(browser, 2, dx="60")
    done = finished(browser, shown)
    assert "would move it off the room" in done.text and "A draft only" in done.text and "<svg" in done.text
    assert "a picture cannot be lettered" in draft(browser, 2, c2="\U0001f600").text
    again = draft(browser, 2, dx="60")  # kept as one that cannot be made
    assert "would move it off the room" in again.text and "<svg" in again.text and "data-then" not in again.text
    page = send(browser, "001", dx="60").text  # drawn by the page, as what is typed is
    assert "would move it off the room" in page and 'data-draft="one"' in page and ">Undo: row 2: dx" in page
    assert "expected a length" in draft(browser, 2, dx="much").text
    assert "expected a length" in send(browser, "001", "left", dx="much").text


def test_a_row_that_is_not_written_yet_is_drawn_and_a_hostile_one_is_only_text(browser):
    shown = draft(browser, 0, c1="", c2="<b>Bo</b>", c3="")
    assert "<b>Bo" not in shown.text and "&lt;b&gt;Bo" in shown.text and "<svg" in shown.text


def test_every_plate_has_its_page_and_hostile_names_are_shown_as_typed(browser):
    page = browser.get("/plates").text
    assert [browser.get(address).status_code for address in re.findall(r'href="(/plate\?id=\w+)"', page)] == [200] * 3
    page = browser.get("/plate?id=002").text
    assert "<img src=x" not in page and "&lt;img src=x onerror=alert(1)&gt;" in page
    assert 'id="before" href="/plate?id=001"' in page and 'id="after" href="/plate?id=003"' in page
    assert browser.get("/plate?id=009").status_code == 422
    assert browser.get("/plate/finished/0").status_code == 204


def test_of_two_tabs_the_second_is_told_and_keeps_what_it_typed(browser, folder):
    tab = fields(browser.get("/plate?id=003"))
    send(browser, "003", c2="Ida")
    answer = browser.post("/plate", data={**tab, "do": "save", "c2": "Una", "dx": "1"})
    assert answer.status_code == 409 and "changed elsewhere" in answer.text
    assert fields(answer)["c2"] == "Una" and fields(answer)["dx"] == "1"
    assert read(folder) == NAMES.replace(b";Jo", b";Ida")


def test_while_another_command_has_the_record_nothing_is_written(browser, folder, monkeypatch):
    monkeypatch.setattr(store, "WAIT_S", 0.05)
    shown = seen(browser)
    version = re.search(r'name="version" value="(\w+)"', shown.text)[1]
    browser.post("/sign-off", data={"by": "Ann Ode", "plate": "001", "version": version})
    with writing(folder / "job.record") as record, record.transaction():
        answer = send(browser, "003", "right")
    assert answer.status_code == 422 and "job.record" in answer.text
    assert read(folder) == NAMES


def test_a_draft_whose_worker_dies_costs_itself(browser, studio, monkeypatch):
    monkeypatch.setattr(studio.drafts, "_make", draft_dies_of_ada)
    dead = draft(browser, 4, c2="Ada")
    assert "made its worker process stop" in dead.text and "<svg" not in dead.text
    assert "Pacifico" in finished(browser, dead).text  # made by another worker
    assert "<svg" in draft(browser, 4, c2="Ida").text


def test_a_draft_that_is_late_gives_way_to_the_finished_plate(browser, monkeypatch):
    monkeypatch.setattr(plate_room, "DRAFT_S", 0.0)
    late = draft(browser, 4, c2="Ida")
    assert "<svg" not in late.text and "Pacifico" in finished(browser, late).text


def test_of_several_letters_only_the_last_is_finished(browser, studio):
    started = studio.room._keep
    made = []
    studio.room._keep = lambda wishes, done: (made.extend(done), started(wishes, done))
    keys = [re.search(r"finished/(\w+)", draft(browser, 4, c2="Idabella"[:n]).text) for n in range(1, 9)]
    assert finished(browser, draft(browser, 4, c2="Idabella Quill")).status_code == 200
    dropped = [key[1] for key in keys if key and studio.room.waiting(key[1]) is None]
    assert set(dropped).isdisjoint(made) and len(made) + len(dropped) >= 8


def test_a_batch_of_one_size_is_tried_at_the_size_that_it_has(browser, folder, studio):
    text = (folder / "job.toml").read_text(encoding="utf-8")
    (folder / "job.toml").write_text(text.replace("[lettering]\n", '[lettering]\nsize = "uniform"\n'), encoding="utf-8")
    view = studio.view()
    studio.room.ask_all(view)
    made = [studio.room.ask(view, plate).result(60) for plate in view.keys]
    names = read_names(open_job(folder).ticket())
    tried = tried_row(view, names, 4, {(4, 2): "Bo"}, studio.room)
    order = tried.view.anew["003"]
    assert (order.size, order.baseline) == (made[0].size, made[0].baseline) and order.size
    assert tried.view.together(order) == (order,)


def test_where_some_of_a_batch_of_one_size_was_cut_a_row_is_tried_at_that_size(
    browser, folder, studio, once_in_this_process
):
    text = (folder / "job.toml").read_text(encoding="utf-8")
    (folder / "job.toml").write_text(text.replace("[lettering]\n", '[lettering]\nsize = "uniform"\n'), encoding="utf-8")
    assert nameplate(folder, "make", "job.toml", "-o", "out").exit_code == 0
    browser.post("/bench", data={"cut": "lettering-01", "by": "Bo"})
    view, names = studio.view(), read_names(open_job(folder).ticket())
    cut = view.on["001"].plate.order
    order = tried_row(view, names, 4, {(4, 2): "Bo"}, studio.room).view.anew["003"]
    assert (order.size, order.baseline) == (cut.size, cut.baseline) and cut.size and cut.baseline is not None
    send(browser, "003", c2="Bo")  # and has it once it is written
    assert studio.view().keys["003"] == tried_row(view, names, 4, {(4, 2): "Bo"}, studio.room).key


def test_a_plate_that_was_cut_is_shown_as_it_was_cut(browser, studio, made):
    browser.post("/bench", data={"cut": "lettering-01", "by": "Bo"})
    before = letters(browser.get(f"/plates/{studio.view().keys['003']}.svg"))
    send(browser, "003", dx="1")
    page = browser.get("/plate?id=003").text
    assert "stays as it was cut" in page and fields(browser.get("/plate?id=003"))["dx"] == "1"
    shown = seen(browser)  # what it would be now, nobody can see
    assert "Approve plate 001" in shown.text and "Approve plate 003" not in shown.text
    assert "2 of 3 plates wait" in shown.text and "it was cut, and stays as it was cut" in shown.text
    signed = {"by": "Ann Ode", "plate": "003", "version": version(shown)}
    assert "no picture of plate 003 as now ordered" in browser.post("/sign-off", data=signed).text
    moved = draft(browser, 4, dx="3")
    assert letters(moved) == pytest.approx(before, abs=8) and "it was cut, and stays as it was cut" in moved.text
    answer, last = both(browser, c2="Una")
    for told in (answer.text, last.text):
        assert "plate with the name Una" in told and "cut as “Jo”; shown as it would be made again" in told


def test_a_change_of_one_row_makes_no_other_plate_anew(browser, studio):
    before = dict(studio.view().keys)
    send(browser, "003", c2="Ida", dx="1")
    after = studio.view().keys
    assert {plate for plate in before if before[plate] != after[plate]} == {"003"}


def test_a_cell_that_no_picture_shows_makes_none_anew(browser, folder, studio):
    before = dict(studio.view().keys)
    text = read(folder).replace(b";tree", b";tree;position;copies").replace(b";apple", b";quince;B2;3")
    (folder / "names.csv").write_bytes(text)
    view = studio.view()
    assert view.keys == before and (view.orders[0].position, view.orders[0].copies) == ("B2", 3)
    ticket = (folder / "job.toml").read_text(encoding="utf-8")
    (folder / "job.toml").write_text(f'{ticket}[[line]]\ntext = "{{name}}, {{position}}"\n', encoding="utf-8")
    lined = dict(studio.view().keys)
    (folder / "names.csv").write_bytes(text.replace(b"B2", b"B3"))
    assert {plate for plate, key in studio.view().keys.items() if key != lined[plate]} == {"001"}


def test_columns_that_lines_of_the_ticket_show_are_texts_of_the_plate(browser, folder):
    ticket = (folder / "job.toml").read_text(encoding="utf-8")
    lines = '[[line]]\ntext = "{name}"\n[[line]]\ntext = "of {tree}"\nscale = 0.5\n'
    (folder / "job.toml").write_text(ticket + lines, encoding="utf-8")
    page = browser.get("/plate?id=003").text
    assert re.findall(r'<label for="t\d">(\w+)<', page) == ["name", "tree"]
    shown = draft(browser, 4, c2="Jo", c3="mulberry")
    assert len(letters(shown)) > len(letters(draft(browser, 4, c2="Jo", c3="")))
    send(browser, "003", c3="mulberry")
    assert read(folder) == NAMES.replace(b"Jo;plum", b"Jo;mulberry")


def test_the_wall_is_sorted(browser, studio):
    def ids(**asked):
        return re.findall(r'<article id="plate-(\w+)"', browser.get("/plates", params=asked).text)

    assert ids() == ids(sort="row") == ids(sort="nonsense") == ["001", "002", "003"]
    assert ids(sort="name") == ["002", "003", "001"]  # < comes before letters
    view = studio.view()
    for plate in view.keys:
        studio.room.ask(view, plate).result(60)
    heights = {plate: studio.room.known(key).capitals for plate, key in view.keys.items()}
    assert ids(sort="size") == sorted(heights, key=heights.get)
    assert min(heights.values()) > 0


def test_designs_head_their_plates(browser, folder):
    ticket = (folder / "job.toml").read_text(encoding="utf-8")
    (folder / "job.toml").write_text(f"{ticket}\n[design.gold]\nface = {{ width = 120 }}\n", encoding="utf-8")
    (folder / "names.csv").write_bytes(b"name,design\nWren,gold\nJo,\nIda,gold\n")
    page = browser.get("/plates?sort=design").text
    assert re.findall(r"<h2>([^<]+)</h2>|<article id=\"plate-(\w+)\"", page) == [
        ("without a design", ""), ("", "002"), ("gold", ""), ("", "001"), ("", "003"),
    ]  # fmt: skip


def test_a_list_that_is_a_spreadsheet_is_not_written(browser, folder):
    made = openpyxl.Workbook()
    made.active.append(["name"])
    made.active.append(["Wren"])
    made.save(folder / "names.xlsx")
    ticket = (folder / "job.toml").read_text(encoding="utf-8")
    (folder / "job.toml").write_text(ticket.replace("names.csv", "names.xlsx"), encoding="utf-8")
    page = browser.get("/plate?id=001").text
    assert "change it in its own program" in page and "<fieldset disabled" in page
    assert "is a spreadsheet" in send(browser, "001", "right").text
