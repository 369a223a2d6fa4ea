"""What each room shows and does: the same files and the same record that the command line works with."""

import html
import io
import json
import os
import re
import signal
import subprocess
import sys
import urllib.error
import urllib.request
import zipfile
from dataclasses import replace

import lxml.html
import pytest

from nameplate.findings import Finding
from nameplate.job.status import status_of
from nameplate.page import rooms
from nameplate.page.opened import open_job
from nameplate.page.running import with_links
from nameplate.plates.make import make_work
from nameplate.record import store
from nameplate.record.store import writing
from nameplate.ticket.starter import write_starter

from .conftest import NAMES, TICKET, nameplate, seen, version

TEMPLATE_STOCK = '[[stock]]\nmaterial = "template"\nwidth = 600\nheight = 300\n'

BLANK_STOCK = TEMPLATE_STOCK.replace("template", "blank")

#: What the room of the sheets says where a ticket tells of no sheets on hand.
NONE_TOLD = '<a href="/settings">none told</a>'

HOSTILE = "<img src=x onerror=alert(1)>"


def dies_of_jo(context, order):
    """Make a plate, in a worker, unless it is Jo's."""
    if order.name == "Jo":
        os._exit(1)
    return make_work(context, order)


def save(browser, row, then=None, **cells):
    """Send a row as its form does: what its cells said, and what they say now."""
    shown = then or browser.get("/names")
    old = dict(re.findall(rf'name="(o\d+)" value="([^"]*)" form="f{row}"', shown.text))
    old = {key: html.unescape(text) for key, text in old.items()}
    typed = {f"c{key[1:]}": text for key, text in old.items()} | cells
    return browser.post("/names", data={"do": "save", "row": row, "version": version(shown), **old, **typed})


# --- names


def test_a_design_is_chosen_among_those_of_the_ticket(browser, folder):
    page = browser.get("/names").text
    assert "<select" not in page
    design = '[design.{}]\nface = {{ shape = "circle", width = 90 }}\n'
    (folder / "job.toml").write_text(TICKET + design.format("small") + design.format("large"), encoding="utf-8")
    (folder / "names.csv").write_bytes(b"name,design\nWren,small\nIda,big\n")
    page = browser.get("/names").text
    cells = [re.findall(r"<option( selected)?>(\w*)<", cell) for cell in re.findall(r"(?s)<select.*?</select>", page)]
    chosen = " selected"
    assert cells == [
        [("", ""), (chosen, "small"), ("", "large")],
        [("", ""), ("", "small"), ("", "large"), (chosen, "big")],
        [(chosen, ""), ("", "small"), ("", "large")],
    ]
    save(browser, 3, c0="large")
    assert (folder / "names.csv").read_bytes() == b"name,design\nWren,small\nIda,large\n"


def test_a_list_without_a_column_for_the_designs_of_its_ticket_gets_it_with_the_first_one(browser, folder, studio):
    design = '[design.{}]\nface = {{ shape = "circle", width = 90 }}\n'
    (folder / "job.toml").write_text(TICKET + design.format("small") + design.format("large"), encoding="utf-8")
    (folder / "names.csv").write_bytes(b"name,tree\nWren,apple\nIda,pear\n")
    tab = browser.get("/names")
    assert re.findall(r'<select id="(\w+)"', tab.text) == ["r2c0", "r3c0", "new0"]
    assert 'aria-label="design, row 2"' in tab.text and '<th scope="col">design</th>' in tab.text
    save(browser, 2, tab, c2="quince")
    assert (folder / "names.csv").read_bytes() == b"name,tree\nWren,quince\nIda,pear\n"  # and no column for nothing
    answer = save(browser, 2, tab, c2="quince", o2="quince", c0="small", r3c0="large", r3o0="")
    assert (folder / "names.csv").read_bytes() == b"name,tree,design\nWren,quince,small\nIda,pear,large\n"
    assert [order.design for order in studio.view().orders] == ["small", "large"]
    assert re.findall(r"<option selected>(\w*)<", answer.text) == ["small", "large", ""]
    save(browser, 3, tab, c0="small", o0="large")  # of the page before the list had the column
    browser.post("/names", data={"do": "undo", "version": version(browser.get("/names"))})
    browser.post("/names", data={"do": "undo", "version": version(browser.get("/names"))})
    tab = browser.get("/names")
    browser.post("/names", data={"do": "hold", "row": 3, "version": version(tab)})
    save(browser, 2, tab, c0="small")  # the column that was the next one is another's by now
    assert (folder / "names.csv").read_bytes() == b"name,tree,hold,design\nWren,quince,,small\nIda,pear,yes\n"


def test_make_links_the_papers_that_are_there(browser, folder, made):
    assert "/out/proof.pdf" in (shown := browser.get("/make").text) and "/out/wall.pdf" not in shown
    (folder / "out" / "wall.pdf").write_bytes(b"%PDF-")
    assert "/out/wall.pdf" in (shown := browser.get("/make").text) and "/out/drilling.pdf" not in shown


def test_make_says_which_plates_are_in_no_file_as_they_are_now(browser, folder, made):
    def told():
        return re.findall(r"<p>(To be made[^<]*)<", browser.get("/make").text)

    assert told() == []
    with (folder / "names.csv").open("ab") as file:
        file.write(b"\r\n004;Una;fig\r\n005;Bo;elm")
    assert told() == ["To be made, or made anew: 2 plates (004, 005)."]
    browser.post("/bench", data={"cut": "lettering-01", "by": "Bo"})
    browser.post("/bench", data={"spoiled": "001", "by": "Bo"})
    assert told() == ["To be made, or made anew: 3 plates (001, 004, 005)."]


def test_a_new_row_and_one_that_is_tried_have_their_design_before_the_list_has_a_column_for_it(browser, folder):
    (folder / "job.toml").write_text(TICKET + "[design.large]\nface = { width = 150 }\n", encoding="utf-8")
    (folder / "names.csv").write_bytes(b"name\nWren\n")
    tried = {own: browser.post("/plate/draft", data={"row": 2, "c1": "Wren", "c0": own}).text for own in ("", "large")}
    assert tried[""] != tried["large"] and "150" in tried["large"]
    sent = {"do": "add", "row": 0, "version": version(browser.get("/names")), "c1": "Bo", "c0": "large"}
    assert "the new row is empty" in browser.post("/names", data={**sent, "c1": ""}).text
    assert browser.post("/names", data=sent).status_code == 200
    assert (folder / "names.csv").read_bytes() == b"name,design\nWren\nBo,large\n"
    (folder / "names.csv").write_bytes(b"")
    sent["version"] = version(browser.get("/names"))
    assert browser.post("/names", data=sent).status_code == 200
    assert (folder / "names.csv").read_bytes() == b"name,design\nBo,large\n"


def test_names_are_shown_as_they_are_typed(browser):
    for address in ("/names", "/plates", "/sign-off"):
        page = browser.get(address).text
        assert "<img src=x" not in page
        assert html.escape(HOSTILE) in page


def test_problems_stand_beside_their_rows(browser, folder):
    (folder / "names.csv").write_bytes(b"name,copies\nWren,two\nIda,\n")
    page = browser.get("/names").text
    row = page[page.index('id="save2"') : page.index('id="save3"')]
    assert "error" in row and "copies" in row
    assert "error" not in page[page.index('id="save3"') :]


def test_a_corrected_cell_changes_no_other_byte(browser, folder):
    answer = save(browser, 4, c2="Ida; Quill")
    assert answer.status_code == 200
    assert (folder / "names.csv").read_bytes() == NAMES.replace(b";Jo;", b';"Ida; Quill";')
    assert not (folder / "job.record").exists()


def test_saving_a_row_that_was_not_changed_writes_nothing(browser, folder):
    then = (folder / "names.csv").stat().st_mtime_ns
    assert "Undo" not in save(browser, 2).text
    assert (folder / "names.csv").stat().st_mtime_ns == then


def test_undo_puts_the_bytes_back_one_edit_after_the_other(browser, folder):
    save(browser, 4, c2="Ida")
    once = (folder / "names.csv").read_bytes()
    browser.post("/names", data={"do": "hold", "row": 2, "version": version(browser.get("/names"))})
    assert (folder / "names.csv").read_bytes() == once.replace(b"tree\r\n", b"tree;hold\r\n").replace(
        b"apple\r\n", b"apple;yes\r\n"
    )
    for expected in (once, NAMES):
        browser.post("/names", data={"do": "undo", "version": version(browser.get("/names"))})
        assert (folder / "names.csv").read_bytes() == expected
    answer = browser.post("/names", data={"do": "undo", "version": version(browser.get("/names"))})
    assert answer.status_code == 422 and "nothing to undo" in answer.text


def test_a_row_is_held_and_released(browser, folder):
    browser.post("/names", data={"do": "hold", "row": 2, "version": version(browser.get("/names"))})
    assert "On hold" in browser.get("/plates").text
    shown = browser.get("/names")
    assert 'aria-label="Release row 2"' in shown.text
    browser.post("/names", data={"do": "hold", "row": 2, "held": "1", "version": version(shown)})
    assert "On hold" not in browser.get("/plates").text


def test_of_two_tabs_the_second_is_told_and_nothing_is_lost(browser, folder):
    tab = browser.get("/names")
    save(browser, 4, tab, c2="Ida")
    answer = save(browser, 4, tab, c2="Una")
    assert answer.status_code == 409
    assert "changed elsewhere" in answer.text and 'value="Una"' in answer.text
    assert (folder / "names.csv").read_bytes() == NAMES.replace(b";Jo;", b";Ida;")
    assert save(browser, 4, answer, c2="Una").status_code == 200
    assert b";Una;" in (folder / "names.csv").read_bytes()


def test_rows_saved_from_one_page_are_all_written_and_a_cell_only_once(browser, folder):
    tab = browser.get("/names")
    assert save(browser, 4, tab, c2="Ida").status_code == 200
    other = {"r4c2": "Una", "r4o2": "Jo"}
    answer = save(browser, 2, tab, c3="medlar", **other)  # of a page on which row 4 was another
    assert answer.status_code == 409
    browser.post("/names", data={"do": "hold", "row": 3, "version": version(tab)})
    assert save(browser, 2, tab, c3="medlar", r3c3="quince", r3o3="pear").status_code == 200
    expected = NAMES.replace(b";Jo;", b";Ida;").replace(b"apple", b"medlar").replace(b"pear", b"quince")
    lines = (folder / "names.csv").read_bytes().splitlines()
    assert (
        lines[2].endswith(b";yes") and [line.removesuffix(b";yes") for line in lines[1:]] == expected.splitlines()[1:]
    )
    tab = browser.get("/names")
    (folder / "names.csv").write_bytes(b"\n".join(lines))  # by a program
    assert save(browser, 4, tab, c3="fig").status_code == 409


def test_what_another_program_wrote_is_not_undone(browser, folder):
    save(browser, 4, c2="Ida")
    (folder / "names.csv").write_bytes(b"name\nBo\n")
    answer = browser.post("/names", data={"do": "undo", "version": version(browser.get("/names"))})
    assert answer.status_code == 409 and "cannot be undone" in answer.text
    assert (folder / "names.csv").read_bytes() == b"name\nBo\n"


def test_while_another_command_has_the_record_nothing_is_written(browser, folder, monkeypatch):
    monkeypatch.setattr(store, "WAIT_S", 0.05)
    shown = seen(browser)
    browser.post("/sign-off", data={"by": "Ann Ode", "plate": "001", "version": version(shown)})
    with writing(folder / "job.record") as record, record.transaction():
        answer = save(browser, 4, c2="Ida")
    assert answer.status_code == 422 and "job.record" in answer.text and 'value="Ida"' in answer.text
    assert (folder / "names.csv").read_bytes() == NAMES


@pytest.mark.parametrize("row, cells", [(4, {"c1": "", "c2": "", "c3": ""}), (1, {"c2": "id"}), (99, {"c1": "x"})])
def test_what_would_break_the_list_is_refused(browser, folder, row, cells):
    shown = browser.get("/names")
    sent = {"do": "save", "row": row, "version": version(shown), **cells}
    assert browser.post("/names", data=sent).status_code == 422
    assert (folder / "names.csv").read_bytes() == NAMES


def test_a_plate_keeps_its_id_and_loses_its_approval_when_its_name_is_corrected(browser, folder):
    (folder / "names.csv").write_bytes(b"name\nWren\nJo\n")
    shown = seen(browser)
    browser.post("/sign-off", data={"by": "Ann Ode", "plate": "", "version": version(shown)})
    save(browser, 2, c1="Wrenn")
    job = open_job(folder)
    plates = status_of(job.ticket(), job.record).plates
    assert [(p.name, p.approved) for p in plates] == [("Wrenn", ()), ("Jo", ("Ann Ode",))]
    assert [p.id for p in plates] == ["001", "002"]


def test_a_ticket_with_a_slip_is_told_in_every_room(browser, folder):
    (folder / "job.toml").write_text("[job]\nrooster = 'names.csv'\n", encoding="utf-8")
    for address in ("/names", "/plates", "/sign-off", "/bench"):
        answer = browser.get(address)
        assert answer.status_code == 422 and "rooster" in answer.text, address


def test_a_change_of_spaces_is_called_that(browser, folder):
    (folder / "names.csv").write_bytes(b"name\nAna  Pell\n")
    assert "doubled are left out on the plate" in browser.get("/names").text
    assert "Undo: row 2: spaces in “Ana Pell”" in save(browser, 2, c1="Ana Pell").text
    assert (folder / "names.csv").read_bytes() == b"name\nAna Pell\n"


def test_a_name_that_is_there_twice_is_offered_the_column_of_copies(browser, folder):
    (folder / "names.csv").write_bytes(b"name\nWren\nWren\n")
    shown = browser.get("/names")
    assert shown.text.count('value="copies"') == 1
    answer = browser.post("/names", data={"do": "column", "heading": "copies", "version": version(shown)})
    assert (folder / "names.csv").read_bytes().startswith(b"name,copies\nWren")
    assert 'value="copies"' not in answer.text and 'aria-label="copies, row 2"' in answer.text
    again = browser.post("/names", data={"do": "column", "heading": "Copies ", "version": version(answer)})
    assert again.status_code == 422 and "already" in again.text


def test_a_column_of_any_heading_is_added_and_undone(browser, folder):
    (folder / "names.csv").write_bytes(b"name\nWren\n")
    shown = browser.get("/names")
    assert re.findall("<option>([a-z0-9]+)", shown.text) == ["id", "copies", "line2", "position", "mount"]
    answer = browser.post("/names", data={"do": "column", "heading": " tree ", "version": version(shown)})
    assert (folder / "names.csv").read_bytes().startswith(b"name,tree\nWren")
    assert 'aria-label="tree, row 2"' in answer.text
    nameless = browser.post("/names", data={"do": "column", "heading": " ", "version": version(answer)})
    assert nameless.status_code == 422 and "give it a heading" in nameless.text
    browser.post("/names", data={"do": "undo", "version": version(browser.get("/names"))})
    assert (folder / "names.csv").read_bytes() == b"name\nWren\n"


def test_the_names_of_a_new_job_are_called_invented(browser, folder):
    assert "They are invented" not in browser.get("/names").text
    write_starter(folder / "new")
    (folder / "names.csv").write_bytes((folder / "new" / "names.csv").read_bytes())
    assert "They are invented" in browser.get("/names").text


def test_columns_that_a_plate_s_page_sets_are_shown_when_asked_for_or_wrong(browser, folder):
    (folder / "names.csv").write_bytes(b"name,size,hold,tree\nWren,20,,apple\nIda,,,pear\n")
    shown = browser.get("/names")
    assert re.findall(r'<th scope="col">(\w+)<', shown.text) == ["row", "plate", "name", "tree"]
    assert 'href="/names?columns=all"' in shown.text and "size, hold" in shown.text
    sent = {"do": "add", "row": 0, "version": version(shown), "c1": "Bo", "c4": "elm"}
    assert browser.post("/names", data=sent).status_code == 200
    assert (folder / "names.csv").read_bytes().endswith(b"\nBo,,,elm\n")
    every = browser.get("/names?columns=all")
    assert re.findall(r'<th scope="col">(\w+)<', every.text) == ["row", "plate", "name", "size", "hold", "tree"]
    assert every.text.count('action="/names?columns=all"') > 3
    (folder / "names.csv").write_bytes(b"name,size,hold,tree\nWren,big,,apple\n")
    assert re.findall(r'<th scope="col">(\w+)<', browser.get("/names").text) == ["row", "plate", "name", "size", "tree"]


# --- plates and their sign-off


def pictures(answer):
    return dict.fromkeys(re.findall(r'src="(/plates/\w+\.svg)"', answer.text))


def test_every_plate_is_a_picture_of_its_own_as_the_proof_has_it(browser, folder, command):
    found = [browser.get(address) for address in pictures(browser.get("/plates"))]
    assert [answer.headers["content-type"] for answer in found] == ["image/svg+xml"] * 3
    assert command("proof", "job.toml") == 0
    proof = (folder / "proof" / "proof.html").read_text(encoding="utf-8")
    fill = re.findall(r'<path fill="#2b2622"[^>]* d="([^"]+)"', proof)
    assert [size_of(re.findall(r'<path fill="#2b2622"[^>]* d="([^"]+)"', a.text)[0]) for a in found] == pytest.approx(
        [size_of(data) for data in fill], abs=12
    )
    assert "style=" not in "".join(answer.text for answer in found)


def size_of(data):
    """The width of path data in hundredths of a mm; each page thins it to what it shows, so it differs by tenths."""
    numbers = list(map(int, re.findall(r"-?\d+", data)))
    return max(numbers[::2]) - min(numbers[::2])


def test_the_page_says_of_a_plate_what_its_card_on_the_proof_says(browser, folder):
    fonts = '[lettering]\nfont = ["Pacifico", "Playpen Sans ExtraBold"]\n'
    (folder / "job.toml").write_text(TICKET.replace('[lettering]\nlegibility = "off"\n', fonts), encoding="utf-8")
    names = "name\nΓιώργος Παππάς\nŁukasz Brzęczyszczykiewicz\nPIPPA Quill\nJo\n"
    (folder / "names.csv").write_text(names, encoding="utf-8")
    nameplate(folder, "proof", "job.toml", "-o", "proof")
    proof = (folder / "proof" / "proof.html").read_text(encoding="utf-8")
    cards = proof.split('<article class="card')[1:]
    on_paper = [re.findall(r"Please check: ([^<]*)<", card) for card in cards]
    assert len(on_paper) == 4 and sum(map(len, on_paper)) == 3
    assert on_paper[0] == ["some letters come from another font"] and "hard to make out" in on_paper[1][0]
    for page in (seen(browser), browser.get("/plates")):
        articles = page.text.split("<article")[1:]
        assert [re.findall(r"<b>check</b> ([^<]*)<", article) for article in articles] == on_paper


def test_a_card_says_what_is_known_once_it_is_drawn(browser):
    address = next(iter(pictures(browser.get("/plates"))))
    card = browser.get(address.replace(".svg", "/card")).text.replace("\N{NO-BREAK SPACE}", " ")
    assert "110 × 80 mm" in card and "Pacifico" in card and "data-unseen" not in card


def test_those_that_need_a_look_and_those_that_hold_a_word(browser):
    assert "Wren Abara" not in browser.get("/plates?look=1").text.partition("<h1>")[2]
    page = browser.get("/plates", params={"find": "wren"}).text
    assert "1 of 3 plates" in page and html.escape(HOSTILE) not in page


def test_a_name_that_cannot_be_made_costs_itself(browser, folder):
    (folder / "names.csv").write_bytes("name\nWren\n木村\n".encode())
    page = browser.get("/plates").text
    assert page.count("not made") == 1 and len(pictures(browser.get("/plates"))) == 1


def test_a_plate_whose_worker_dies_costs_itself_and_is_drawn_when_looked_at_again(browser, studio, monkeypatch):
    monkeypatch.setattr(studio.room, "_make", dies_of_jo)
    addresses = list(pictures(browser.get("/plates")))
    assert [browser.get(address).status_code for address in addresses] == [200, 200, 404]
    assert "made its worker process stop" in browser.get(addresses[2].replace(".svg", "/card")).text
    monkeypatch.setattr(studio.room, "ask_all", lambda view: None)  # which would have it drawn again
    signed = {"by": "Ann Ode", "plate": "003", "version": version(browser.get("/sign-off"))}
    assert "no picture of plate 003 as now ordered; nothing was approved" in browser.post("/sign-off", data=signed).text
    monkeypatch.undo()
    browser.get("/plates")
    assert browser.get(addresses[2]).status_code == 200


def test_an_address_of_an_older_list_draws_nothing(browser):
    address = list(pictures(browser.get("/plates")))[2]
    save(browser, 4, c2="Ida")
    assert browser.get(address).status_code == 404
    assert browser.get("/plates/nothing.svg").status_code == 404


def test_approvals_are_those_of_the_command_line(browser, folder):
    shown = seen(browser)
    answer = browser.post("/sign-off", data={"by": "Ann Ode", "plate": "001", "version": version(shown)})
    assert "Ann Ode approved plate 001" in answer.text
    assert re.findall('<article id="plate-([0-9]+)"', answer.text) == ["002", "003", "001"]  # what waits comes first
    job = open_job(folder)
    assert [p.approved for p in status_of(job.ticket(), job.record).plates] == [("Ann Ode",), (), ()]
    assert "Approved by Ann Ode" in browser.get("/plate?id=001").text
    save(browser, 2, c2="Wrenn Abara")
    assert "Changed since Ann Ode approved it" in (page := browser.get("/plate?id=001").text)
    assert "the text was “Wren Abara”" in page


@pytest.mark.parametrize("sent, said", [({"by": " "}, "who approves"), ({"by": "Ann", "version": "0"}, "look again")])
def test_nothing_is_approved_by_nobody_or_unseen(browser, folder, sent, said):
    shown = seen(browser)
    answer = browser.post("/sign-off", data={"plate": "", "version": version(shown), **sent})
    assert said in answer.text and answer.status_code == 409
    assert not (folder / "job.record").exists()


def test_an_outdated_proof_is_told_and_one_of_what_is_unsigned_made(
    browser, folder, studio, once_in_this_process, command, monkeypatch
):
    said = []
    monkeypatch.setattr(studio.runner, "start", lambda what, words: said.append(nameplate(folder, *words).stdout))
    browser.post("/run", data={"what": "proof", "back": "/sign-off"})
    shown = seen(browser)
    assert "/proof/proof.pdf" in shown.text and "outdated" not in shown.text
    assert "of what nobody has approved" not in shown.text  # which is all of it
    browser.post("/sign-off", data={"by": "Ann Ode", "plate": "", "version": version(shown)})
    save(browser, 4, c2="Ida")
    shown = browser.get("/sign-off").text
    assert "<b>outdated</b> On no proof as now ordered: 003.<" in shown and "of what nobody has approved" in shown
    every = files_in(folder / "proof")
    browser.post("/run", data={"what": "proof", "unsigned": "1", "back": "/sign-off"})
    shown = browser.get("/sign-off").text
    assert "/proof-part/proof.pdf" in shown and "outdated" not in shown and files_in(folder / "proof") == every
    assert re.findall(r"No\. (\d+)", browser.get("/proof-part/proof.html").text) == ["003"]
    assert [[address for _, address in with_links(text) if address] for text in said] == [
        ["proof/proof.html"],
        ["proof-part/proof.html"],
    ]


def test_nothing_is_approved_before_it_is_drawn(browser, folder, made_anew):
    shown = browser.get("/sign-off")
    assert ">Approve<" not in shown.text and "Approve all" not in shown.text
    answer = browser.post("/sign-off", data={"by": "Ann Ode", "plate": "", "version": version(shown)})
    assert answer.status_code == 409 and "not drawn yet" in answer.text
    assert not (folder / "job.record").exists()
    shown = seen(browser).text
    assert shown.count(">Approve<") == 3 and "Approve all" in shown and "3 of 3 plates wait" in shown


def test_names_without_a_plate_are_counted_where_plates_are_approved_and_made(browser, folder):
    design = "[design.{}]\nface = {{ width = 90, height = 60, shape = 'ellipse' }}\n"
    ticket = TICKET.replace('[face]\nshape = "ellipse"\nwidth = 110\nheight = 80\n', "")
    (folder / "job.toml").write_text(ticket + design.format("oak") + design.format("elm"), encoding="utf-8")
    (folder / "names.csv").write_bytes(b"name,design,copies\nWren,oak,\nIda,,\nJo,elm,two\nUna,,\n")
    why = "no design is chosen (rows 3, 5); it cannot be made as it is (row 4)"
    said = f"3 names have no plate as the list has them: {why}."
    for room in ("/sign-off", "/make"):
        assert f'{said} <a href="/names">' in browser.get(room).text
    (folder / "names.csv").write_bytes(b"name,design\nWren,oak\n")
    assert all("no plate as the list" not in browser.get(room).text for room in ("/sign-off", "/make"))


def test_an_approval_is_taken_back_and_who_signs_is_remembered(browser, folder):
    (folder / "names.csv").write_bytes(b"name,hold\nWren,\nJo,\nIda,yes\n")
    browser.post("/sign-off", data={"by": "Ann Ode", "plate": "001", "version": version(seen(browser))})
    browser.get("/names")
    shown = browser.get("/sign-off")
    assert 'value="Ann Ode"' in shown.text and "1 of 2 plates wait" in shown.text
    assert "On hold, as the list has it: 003 Ida." in shown.text
    answer = browser.post("/sign-off", data={"by": "Ann Ode", "back": "001", "version": version(shown)})
    assert answer.status_code == 200 and "Approval withdrawn by Ann Ode" in answer.text
    job = open_job(folder)
    assert [p.approved for p in status_of(job.ticket(), job.record).plates] == [(), (), ()]


def test_what_would_read_as_another_name_is_said_so_where_it_is_signed(browser, studio, monkeypatch):
    found = Finding("misread", "warning", "“Jo” would read as another name: the 1st o reads as u; give it a", "003", 4)
    real = studio.room.known
    monkeypatch.setattr(
        studio.room, "known", lambda key: (own := real(key)) and replace(own, findings=(*own.findings, found))
    )
    shown = html.unescape(seen(browser).text)
    assert "“Jo” would read as another name: the 1st o reads as u<" in shown.replace("</p>", "<")


# --- made


@pytest.fixture
def command(folder):
    """Run the command line in the job's folder."""

    return lambda *words: nameplate(folder, *words).exit_code


def files_in(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_the_shelf_is_without_the_sheets_that_were_cut(browser, folder, command):
    ticket = folder / "job.toml"
    more = (
        '[[stock]]\nmaterial = "lettering"\nwidth = 400\nheight = 300\noffcut = true\n'
        '[[stock]]\nmaterial = "template"\nwidth = 500\nheight = 300\non_hand = 2\n'
    )
    text = ticket.read_text(encoding="utf-8").replace('"none"', '"template"') + more
    ticket.write_text(text, encoding="utf-8")
    assert command("make", "job.toml", "-o", "out") == 0
    shown = browser.get("/sheets").text
    assert "<td>400 × 300</td><td>1 offcut</td>" in shown and "<td>500 × 300</td><td>2</td>" in shown
    assert command("mark", "cut", "job.toml", "lettering-01", "template-01", "--yes") == 0
    shown = browser.get("/sheets").text
    assert "<td>400 × 300</td>" not in shown and "<td>500 × 300</td><td>1</td>" in shown
    assert f"<td>600 × 300</td><td>{NONE_TOLD}</td><td>7.50</td>" in shown  # that of the shop is there to be bought


def test_with_letter_the_room_of_the_sheets_has_inches_too(browser, folder):
    ticket = folder / "job.toml"
    text = ticket.read_text(encoding="utf-8").replace("[job]", '[job]\npaper = "letter"').replace("600", '"2 ft"')
    ticket.write_text(text, encoding="utf-8")
    shown = browser.get("/sheets").text
    assert '<th scope="row">cast acrylic 3 mm (0.118 in)</th><td>609.6 × 300 (24 x 11.81 in)</td>' in shown


def test_the_files_are_those_of_the_command_line_and_the_bench_marks_them(browser, folder, command):
    assert command("make", "job.toml", "-o", "other") == 0
    (folder / "job.record").unlink()
    assert (
        "3 plates are not approved as now ordered (001-003), and will be made all the same" in browser.get("/make").text
    )
    browser.post("/run", data={"what": "make", "back": "/make"})
    for address in ("/names", "/look", "/plates", "/bench", "/sheets"):
        assert "Making the files ..." in browser.get(address).text, address
    assert "Making the files ..." in browser.get("/run/make/state").text
    events = browser.get("/run/make/events").text
    assert "plates" in events and events.endswith("event: end\ndata: 0\n\n")
    assert "The files were made." in browser.get("/run/make/state").text
    said = browser.get("/make").text
    assert said.count("the face: 110.0 x 80.0 mm, no holes") == 1
    stages = re.findall(r"^(?:<pre.*>)?([a-z -]+) (\d+\.\d+) s$", said, re.MULTILINE)
    assert len(stages) > 2 and all(float(took) > 0 for _, took in stages)
    places = [
        said.index(text) for text in ("3 of 3 names made", "Order 1 sheet", "the face: 110.0", "<details", "nest ")
    ]
    assert places == sorted(places)
    assert re.search(r"<p>Next: .*<a href=\"/out/worklist.html\" .*<a href=\"/out/cards.html\"", said, re.MULTILINE)
    assert '<p class="finding note"><b>note</b> the face: 110.0 x 80.0 mm, no holes</p>' in browser.get("/make").text
    assert files_in(folder / "out") == files_in(folder / "other")
    archive = browser.get("/out.zip").content
    assert archive == browser.get("/out.zip").content
    with zipfile.ZipFile(io.BytesIO(archive)) as whole:
        assert {name: whole.read(name) for name in whole.namelist()} == {
            f"out/{name}": data for name, data in files_in(folder / "out").items()
        }
    shown = browser.get("/sheets").text
    assert '<img src="/sheets/lettering-01.svg"' in shown and "cast acrylic 3 mm, 600 × 300 mm, 3 parts" in shown
    assert (
        '<h2><a href="/sheets/lettering-01" hx-boost="false">lettering sheet 1</a> <small>lettering-01</small>' in shown
    )
    assert "Lettering sheet 1 (lettering-01)" in browser.get("/sheets/lettering-01").text  # as on paper
    assert "lettering sheet 1 <small>lettering-01</small>" in browser.get("/bench").text
    assert b'<rect width="600" height="300"' in browser.get("/sheets/lettering-01.svg").content
    assert "cast acrylic 3 mm, 600 × 300 mm" in browser.get("/sheets/lettering-01").text
    assert b'stroke-width="1.2"' in browser.get("/sheets/lettering-01.svg").content
    assert browser.get("/sheets/..%2f..%2fjob.svg").status_code == 404
    _sheet(browser, folder)
    assert browser.get("/out/cut/lettering-01.svg").content == (folder / "out/cut/lettering-01.svg").read_bytes()
    assert "sandbox" in browser.get("/out/cards.html").headers["content-security-policy"]
    _bench(browser, folder)


def _sheet(browser, folder):
    """A sheet is shown closely with the names of its pieces; a file that somebody changed is not."""
    file = folder / "out" / "cut" / "lettering-01.svg"
    page = browser.get("/sheets/lettering-01").text
    assert "<img src=x" not in page
    titles = re.findall(r"<title>(\d.*?)</title>", page)
    assert sorted(html.unescape(title) for title in titles) == [
        "001 Wren Abara, lettering",
        f"002 {HOSTILE}, lettering",
        "003 Jo, lettering",
    ]
    lines = re.findall(r'd="(M[^"]*)"', file.read_text(encoding="utf-8"))
    assert all(line in page for line in lines)
    assert "rest of lettering 01" in browser.get("/sheets").text
    assert browser.get("/sheets/none").status_code == 404
    made = file.read_bytes()
    file.write_bytes(made.replace(b"</svg>", b"<script/></svg>"))
    answer = browser.get("/sheets/lettering-01")
    assert answer.status_code == 422 and "not as it was made" in answer.text and "<script/>" not in answer.text
    file.write_bytes(made)


def _bench(browser, folder):
    page = browser.get("/bench").text
    assert "<img src=x" not in page and html.escape(HOSTILE) in page
    answer = browser.post("/bench", data={"fitted": "001", "by": "Bo"})
    assert answer.status_code == 409 and "not marked as cut" in answer.text
    answer = browser.post("/bench", data={"cut": "lettering-01", "fitted": "001", "by": "Bo"})
    assert answer.status_code == 200 and "marked: cut: lettering-01" in answer.text
    assert states(folder) == ["fitted", "cut", "cut"]
    browser.post("/bench", data={"do": "undo"})
    assert states(folder) == ["cut", "cut", "cut"]
    answer = browser.post("/bench", data={"spoiled": "002"})
    assert answer.status_code == 409 and "who ticked it?" in answer.text and 'value="Bo"' in answer.text
    assert re.findall(r'name="(\w+)" value="([^"]*)"[^>]* checked>', answer.text) == [("spoiled", "002")]  # as ticked
    answer = browser.post("/bench", data={"spoiled": "002", "by": "Bo"})
    assert "spoiled: made again by the next make" in answer.text
    assert states(folder) == ["cut", "spoiled", "cut"]
    assert not re.search(r'name="spoiled"[^>]* checked', answer.text)  # it is written down
    answer = browser.post("/bench", data={"hung": ["001", "nobody"], "by": "Bo"})
    assert "no plate of that id" in answer.text
    assert states(folder) == ["cut", "spoiled", "cut"]


def test_a_plate_whose_template_is_not_cut_says_what_of_it_is(browser, folder, once_in_this_process, command):
    ticket = TICKET.replace('style = "none"', 'style = "template"')
    (folder / "job.toml").write_text(ticket + TEMPLATE_STOCK + BLANK_STOCK, encoding="utf-8")
    (folder / "names.csv").write_bytes(b"name,mount\nJo,\nBo,pierced\n")
    assert command("make", "job.toml", "-o", "out") == 0
    shown = browser.get("/bench").text
    assert "(lettering" not in shown
    assert "plate 001 is fitted" in shown and "plate 002 hangs" in shown and "plate 002 is fitted" not in shown
    browser.post("/bench", data={"cut": "lettering-01", "by": "Bo"})
    assert re.search(
        r"<td>planned \((template planned, lettering cut|lettering cut, template planned)\)", browser.get("/bench").text
    )


def test_a_spoiled_piece_is_told_until_another_is_cut_in_its_place(browser, folder, made):
    def told():
        return re.findall(r"<td>((?:planned|cut|spoiled)[^<]*)</td>", browser.get("/bench").text)

    browser.post("/bench", data={"cut": "lettering-01", "by": "Bo"})
    browser.post("/bench", data={"spoiled": "002", "by": "Bo"})
    assert told() == ["cut", "spoiled: made again by the next make", "cut"]
    assert nameplate(folder, "make", "job.toml", "-o", "out").exit_code == 0
    assert told() == ["cut", "planned (1 piece was spoiled, to be cut again)", "cut"]
    status = nameplate(folder, "status", "job.toml").output  # in the same words
    assert "recut    1 plate: 002: 1 piece was spoiled, to be cut again\n" in status
    browser.post("/bench", data={"cut": "lettering-02", "by": "Bo"})
    assert told() == ["cut", "cut", "cut"]
    said = html.unescape(browser.post("/bench", data={"hung": "001"}).text)
    assert "who ticked it? Write a name into “Ticked by”" in said and 'name="by" value="Bo"' in said


def test_a_sheet_that_is_stale_is_told_before_it_is_ticked(browser, folder, made):
    stale = "lettering-01 was planned before plate 003 changed"
    assert stale not in browser.get("/bench").text
    save(browser, 4, c2="Ida")
    answer = browser.post("/bench", data={"cut": "lettering-01", "by": "Bo"})  # from a page that did not say so yet
    assert answer.status_code == 409 and answer.text.count(stale) == 2 and "nothing was marked" in answer.text
    assert states(folder) == ["planned"] * 3
    told = re.findall(r'name="told" value="([^"]*)"', answer.text)
    answer = browser.post("/bench", data={"cut": "lettering-01", "by": "Bo", "told": told})
    assert answer.status_code == 200 and "marked: cut: lettering-01" in answer.text and stale not in answer.text
    assert states(folder) == ["cut"] * 3


def test_a_row_of_the_list_says_its_plate_and_how_far_that_is(browser, folder, made):
    def told():
        found = re.findall(r'<td class="of">(.*?)</td>', browser.get("/names").text)
        return [re.sub(r"<[^>]*>", "", text).strip() for text in found]

    def mark(state, thing):
        assert nameplate(folder, "mark", state, "job.toml", thing, "--yes").exit_code == 0

    assert told() == []  # the list has a column of ids, and there is nothing else to say
    assert nameplate(folder, "approve", "job.toml", "003", "--by", "Ann Ode").exit_code == 0
    assert told() == ["", "", "approved"]
    mark("cut", "lettering-01")
    mark("fitted", "001")
    assert told() == ["fitted", "cut", "cut"]
    mark("spoiled", "002")
    assert told() == ["fitted", "spoiled", "cut"]
    (folder / "names.csv").write_bytes(b"name;tree\r\nWren Abara;apple\r\n<img src=x onerror=alert(1)>;pear\r\nJo;plum")
    assert told() == ["001 fitted", "002 spoiled", "003 cut"]
    save(browser, 2, c1="Wren Abbara")
    assert told() == ["001 fitted as “Wren Abara”", "002 spoiled", "003 cut"]
    (folder / "names.csv").write_bytes(
        b"id;name;tree\r\n001;Wren Abara;apple\r\n;<img src=x onerror=alert(1)>;pear\r\n003;Jo;plum"
    )
    assert told() == ["fitted", "002 spoiled", "cut"]  # a row whose own cell does not say its number


def test_a_name_changed_after_its_sheet_was_cut_is_seen_signed_and_made_again(browser, folder, studio, made):
    required = TICKET.replace("[job]", '[job]\napproval = "required"')
    (folder / "job.toml").write_text(required, encoding="utf-8")
    browser.post("/sign-off", data={"by": "Ann Ode", "plate": "", "version": version(seen(browser))})
    assert browser.post("/bench", data={"cut": "lettering-01", "by": "Bo"}).status_code == 200
    as_cut = pictures(browser.get("/sign-off"))
    save(browser, 4, c2="Ida")
    shown = seen(browser)
    for address in ("/plates", "/plate?id=003", "/sign-off", "/bench", "/make"):
        assert "cut as “Jo”" in browser.get(address).text, address
    assert "cut as “Wren" not in shown.text
    address = next(iter(pictures(shown)))  # it waits, and so comes first
    assert address not in as_cut and "plate with the name Ida" in browser.get(address).text
    assert "Make this one again" not in browser.get("/make").text and ">Make it again<" not in shown.text
    answer = browser.post("/sign-off", data={"by": "Ann Ode", "plate": "", "version": version(shown)})
    assert "Ann Ode approved plate 003" in answer.text and ">Make it again<" in answer.text
    browser.post("/run", data={"what": "make", "again": "001"})  # was cut as it is in the list
    assert studio.runner.busy is None
    assert "Make this one again" in browser.get("/make").text
    browser.post("/run", data={"what": "make", "again": "003"})
    browser.get("/run/make/events")
    assert studio.runner.last("make").code == 0
    assert "cut as “Jo”" not in browser.get("/make").text and states(folder) == ["cut", "cut", "planned"]
    # the new sheet is the rest of the old one, and nowhere an empty one
    told = "Laid on the rest of lettering 01: this sheet&#39;s lower left corner is "
    assert all(told in browser.get(address).text for address in ("/sheets", "/bench", "/sheets/lettering-02"))
    assert 'class="gone"' in browser.get("/sheets/lettering-02").text
    assert 'class="gone"' not in browser.get("/sheets/lettering-01").text
    assert b"<path transform=" in browser.get("/sheets/lettering-02.svg").content
    assert b"<path transform=" not in browser.get("/sheets/lettering-01.svg").content


def test_a_name_changed_after_its_sheet_was_cut_and_on_hold_is_drawn_as_it_was_cut(browser, folder, made):
    browser.post("/bench", data={"cut": "lettering-01", "by": "Bo"})
    save(browser, 4, c2="Ida")
    browser.post("/names", data={"do": "hold", "row": "4", "version": version(browser.get("/names"))})
    assert "cut as “Jo”, and drawn so" in browser.get("/plates").text


def states(folder):
    job = open_job(folder)
    return [plate.state for plate in status_of(job.ticket(), job.record).plates]


def test_what_to_order_is_what_estimate_says(browser, folder, studio):
    browser.post("/run", data={"what": "order", "back": "/sheets"})
    browser.get("/run/order/events")
    answer = json.loads(studio.runner.last("order").answer)
    shown = browser.get("/sheets").text
    assert {"Order 1 sheet cast acrylic 3 mm, 600 x 300: 7.50", "A plate costs 2.50 of material"} < set(answer["told"])
    assert all(f"<li>{line}</li>" in shown for line in answer["told"])
    assert "<li>Have ready 3 plaques, 110 x 80, which are not cut here</li>" in shown
    assert f"<td>600 × 300</td><td>1</td><td>{NONE_TOLD}</td><td>1</td><td>7.50</td>" in shown
    assert answer["cost"] == 7.5  # all three fit one sheet
    assert '<th scope="row">cast acrylic 3 mm</th>' in browser.get("/sheets").text
    assert "work it out again" not in shown and "What was worked out then" not in shown
    save(browser, 4, c2="Ida")
    then = lxml.html.fromstring(browser.get("/sheets").text).get_element_by_id("order-then")
    assert "work it out again" in then.getprevious().text_content()
    assert "Order 1 sheet" in then.text_content() and then.get("open") is None


@pytest.mark.parametrize("data, status, said", [(b"{", 422, "summary.json"), (b"[]", 200, "Nothing was made yet")])
def test_a_summary_that_is_none_is_told(browser, folder, data, status, said):
    (folder / "out").mkdir()
    (folder / "out" / "summary.json").write_bytes(data)
    answer = browser.get("/sheets")
    assert answer.status_code == status and said in answer.text


def test_what_waits_for_an_approval_is_told_once_and_what_was_left_out_afterwards(browser, folder):
    ticket = TICKET.replace("[job]", '[job]\napproval = "required"')
    (folder / "job.toml").write_text(ticket, encoding="utf-8")
    assert nameplate(folder, "approve", "job.toml", "001", "--by", "Ann Ode").exit_code == 0
    browser.post("/run", data={"what": "make", "back": "/make"})
    assert browser.get("/run/make/events").text.endswith("data: 1\n\n")
    said = browser.get("/make").text
    assert said.count("approved") == 1
    assert "2 plates are not approved as now ordered (002, 003), and will be left out" in said
    assert nameplate(folder, "approve", "job.toml", "--all", "--by", "Ann Ode").exit_code == 0
    said = browser.get("/make").text
    assert "2 plates were left out: nobody had approved them as now ordered" in said and said.count("approved") == 1


def test_a_make_that_is_stopped_leaves_nothing_half_made(browser, folder, studio):
    browser.post("/run", data={"what": "make"})
    assert studio.runner.start("proof", ["proof", "job.toml"]) is studio.runner.last("make")  # one at a time
    studio.runner.stop()
    assert studio.runner.last("make").code not in (None, 0)
    assert sorted(path.name for path in folder.iterdir()) == ["job.toml", "names.csv"]


@pytest.mark.parametrize("what", ["", "rm", "--help", "mark"])
def test_only_the_pages_own_commands_are_run(browser, studio, what):
    browser.post("/run", data={"what": what})
    assert [studio.runner.last(word) for word in rooms.COMMANDS] == [None, None, None]


ESCAPES = ("../job.svg", "%2e%2e/job.svg", "..%2fjob.svg", "/etc/hostname", "%2fetc%2fhostname", "..\\job.svg")
NO_FILES = ("link.svg", "far/page.svg", "", "cut", "a%00.svg", "page.exe")


@pytest.mark.skipif(os.name == "nt", reason="links of POSIX")
@pytest.mark.parametrize("escape", ESCAPES + NO_FILES)
def test_no_path_leaves_the_out_folder(browser, folder, tmp_path_factory, escape):
    out, elsewhere = folder / "out", tmp_path_factory.mktemp("elsewhere")
    (out / "cut").mkdir(parents=True)
    (elsewhere / "page.svg").write_text("<svg/>", encoding="utf-8")
    (folder / "job.svg").write_text("<svg/>", encoding="utf-8")
    (out / "page.exe").write_text("", encoding="utf-8")
    (out / "link.svg").symlink_to(elsewhere / "page.svg")
    (out / "far").symlink_to(elsewhere)
    (out / "own.svg").write_text("<svg/>", encoding="utf-8")
    assert browser.get("/out/own.svg").status_code == 200
    assert browser.get(f"/out/{escape}").status_code == 404
    with zipfile.ZipFile(io.BytesIO(browser.get("/out.zip").content)) as whole:
        assert whole.namelist() == ["out/own.svg", "out/page.exe"]


def test_the_command_serves_until_it_is_interrupted(folder):
    done = subprocess.Popen(
        [sys.executable, "-m", "nameplate", "open", folder, "--no-browser"], stdout=subprocess.PIPE, text=True
    )
    with done:
        address = done.stdout.readline().strip()
        with pytest.raises(urllib.error.HTTPError, match="403"):
            urllib.request.urlopen(address.partition("?")[0])
        done.send_signal(signal.SIGINT)
        assert done.wait(30) == 0
