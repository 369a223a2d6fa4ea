"""Rows that may be several plates: the page asks which they are, and writes the column that answers."""

import html
import re

import openpyxl
import pytest

from .conftest import nameplate, seen, version

APPROVED = 'name,tree\r\n"Ida",apple\r\nBo,pear\r\nWilhelmina Oakes,plum'


def list_with(folder, text):
    (folder / "names.csv").write_bytes(text.encode())


@pytest.fixture
def approved(folder):
    """A list whose three plates were approved; no row gives its number."""
    list_with(folder, APPROVED)
    assert nameplate(folder, "approve", "job.toml", "--all", "--by", "Ann Ode").exit_code == 0
    return folder


def answers(page):
    """What may be answered, by the question."""
    said = re.findall(r'<label>([^<]*) <select name="number"[^>]*>(.*?)</select>', html.unescape(page.text), re.DOTALL)
    return {question: dict(re.findall(r'<option value="(\d[^"]*)">([^<]*)<', options)) for question, options in said}


def send(browser, shown, *given):
    """Send the form of the answers, of which all that is not chosen is empty."""
    own = re.search(r'<form id="numbers".*?name="version" value="(\w+)"', shown.text, re.DOTALL)
    of = own[1] if own else version(shown)
    return browser.post("/names", data={"do": "number", "version": of, "number": ["", *given]})


def plates(studio):
    return {order.name: order.id for order in studio.view().orders}


def test_a_short_name_that_was_changed_in_the_file_is_told_by_one_button(browser, approved, studio):
    list_with(approved, APPROVED.replace("Ida", "Oda"))
    shown = browser.get("/names")
    assert "column id of this row (001, or 004 for a new plate)" in html.unescape(shown.text)
    assert answers(shown) == {"Row 2 “Oda” is": {"2 001": "plate 001 “Ida”", "2 004": "a new plate, 004"}}
    after = send(browser, shown, "2 001")
    assert (approved / "names.csv").read_bytes().decode() == (
        'name,tree,id\r\n"Oda",apple,001\r\nBo,pear,002\r\nWilhelmina Oakes,plum,003'
    )
    assert after.status_code == 200 and not answers(after) and "which plate" not in after.text
    assert plates(studio) == {"Oda": "001", "Bo": "002", "Wilhelmina Oakes": "003"}
    browser.post("/names", data={"do": "undo", "version": version(after)})
    assert (approved / "names.csv").read_bytes().decode() == APPROVED.replace("Ida", "Oda")


def test_rows_that_are_new_plates_have_numbers_of_their_own(browser, approved, studio):
    list_with(approved, APPROVED.replace("Ida", "Joan").replace("Bo", "Wren"))
    shown = browser.get("/names")
    asked = answers(shown)
    assert [list(own) for own in asked.values()] == [["2 001", "2 002", "2 004"], ["3 001", "3 002", "3 005"]]
    assert send(browser, shown, "2 001", "3 001").status_code == 422  # two rows are one plate
    assert send(browser, shown, "2 001", "2 004").status_code == 422  # a row is two plates
    assert send(browser, shown).status_code == 422
    assert send(browser, shown, "4 001").status_code == 422  # what nobody asked
    assert b"id" not in (approved / "names.csv").read_bytes()
    send(browser, shown, "2 004", "3 005")
    assert plates(studio) == {"Joan": "004", "Wren": "005", "Wilhelmina Oakes": "003"}


def test_what_was_not_answered_is_asked_again(browser, approved, studio):
    list_with(approved, APPROVED.replace("Ida", "Joan").replace("Bo", "Wren"))
    shown = send(browser, browser.get("/names"), "3 001")
    assert b'Joan",apple\r\nWren,pear,001' in (approved / "names.csv").read_bytes()
    assert list(answers(shown)) == ["Row 2 “Joan” is"]
    send(browser, shown, "2 002")
    assert plates(studio) == {"Joan": "002", "Wren": "001", "Wilhelmina Oakes": "003"}


MOVED = "name,tree\nBo,pear\nIda,apple\nJacaranda Quill,fig\nEsme Thornton,quince\n"

ASKED = {"Plate 003 “Wilhelmina Oakes” is": {"4 003": "row 4 “Jacaranda Quill”", "5 003": "row 5 “Esme Thornton”"}}


def test_a_plate_that_no_row_is_any_more_is_one_of_the_new_rows(browser, approved, studio):
    list_with(approved, MOVED)
    shown = browser.get("/names")
    assert answers(shown) == ASKED
    send(browser, shown, "5 003")
    assert plates(studio) == {"Bo": "002", "Ida": "001", "Jacaranda Quill": "004", "Esme Thornton": "003"}
    assert (approved / "names.csv").read_text() == (
        "name,tree,id\nBo,pear,002\nIda,apple,001\nJacaranda Quill,fig,004\nEsme Thornton,quince,003\n"
    )


def test_a_plate_that_no_row_is_any_more_is_asked_about_until_somebody_answers(browser, approved, studio):
    list_with(approved, MOVED)
    of = {"row": 2, "version": version(browser.get("/names"))}
    assert answers(browser.post("/names", data={"do": "hold", **of})) == ASKED
    assert answers(browser.post("/names", data={"do": "undo", "version": version(browser.get("/names"))})) == ASKED
    new = {"do": "add", "row": 0, "c1": "Una Marsh", "c2": "elm", "version": version(browser.get("/names"))}
    (asked,) = answers(browser.post("/names", data=new)).values()
    assert list(asked) == ["4 003", "5 003", "6 003"]
    of = {"row": 6, "version": version(browser.get("/names"))}
    assert answers(browser.post("/names", data={"do": "delete", **of})) == ASKED
    shown = seen(browser)
    browser.post("/sign-off", data={"by": "Bo Ode", "plate": "001", "version": version(shown)})
    shown = browser.get("/names")
    assert answers(shown) == ASKED and plates(studio)["Esme Thornton"] == "005"
    send(browser, shown, "5 003")
    assert plates(studio) == {"Bo": "002", "Ida": "001", "Jacaranda Quill": "004", "Esme Thornton": "003"}


def test_that_no_row_is_a_plate_any_more_is_an_answer(browser, approved, studio):
    list_with(approved, MOVED)
    shown = browser.get("/names")
    assert "No row is this plate any more</button>" in shown.text
    after = send(browser, shown, "none")
    assert not answers(after) and "no row is plate 003; column id written" in after.text
    assert (approved / "names.csv").read_text() == (
        "name,tree,id\nBo,pear,002\nIda,apple,001\nJacaranda Quill,fig,004\nEsme Thornton,quince,005\n"
    )
    browser.post("/names", data={"do": "hold", "row": 2, "version": version(after)})
    assert "Wilhelmina" not in browser.get("/names").text
    assert send(browser, browser.get("/names"), "none").status_code == 422  # and nobody asks any more


def test_of_two_plates_that_no_row_is_any_more_one_may_be_answered_first(browser, approved, studio):
    list_with(approved, "name,tree\nJacaranda Quill,fig\nFenella Thyme,medlar\nEsme Thornton,quince\nIda,apple\n")
    shown = browser.get("/names")
    assert list(answers(shown)) == ["Plate 002 “Bo” is", "Plate 003 “Wilhelmina Oakes” is"]
    assert "any of these 2 plates any more</button>" in shown.text
    shown = send(browser, shown, "4 003")
    assert answers(shown) == {
        "Plate 002 “Bo” is": {"2 002": "row 2 “Jacaranda Quill”", "3 002": "row 3 “Fenella Thyme”"}
    }
    send(browser, shown, "none")
    assert plates(studio) == {"Ida": "001", "Jacaranda Quill": "004", "Fenella Thyme": "005", "Esme Thornton": "003"}


def test_who_approves_a_new_row_has_said_that_new_rows_are_new_plates(browser, approved, studio):
    list_with(approved, MOVED)
    shown = seen(browser)
    browser.post("/sign-off", data={"by": "Bo Ode", "plate": "004", "version": version(shown)})
    assert not answers(browser.get("/names"))
    assert plates(studio) == {"Bo": "002", "Ida": "001", "Jacaranda Quill": "004", "Esme Thornton": "005"}


def test_a_column_that_is_there_is_filled_in(browser, folder, studio):
    list_with(folder, "Id;name\n007;Ida\n;Bo\n")
    assert nameplate(folder, "approve", "job.toml", "--all", "--by", "Ann Ode").exit_code == 0
    list_with(folder, "Id;name\n007;Ida\n;Joan\n")
    shown = browser.get("/names")
    (question,) = answers(shown).values()
    send(browser, shown, next(iter(question)))
    assert (folder / "names.csv").read_text() == "Id;name\n007;Ida\n001;Joan\n"
    assert plates(studio) == {"Ida": "007", "Joan": "001"}


def test_a_list_that_was_changed_meanwhile_is_not_written(browser, approved):
    list_with(approved, APPROVED.replace("Ida", "Oda"))
    shown = browser.get("/names")
    list_with(approved, APPROVED.replace("Ida", "Oda").replace("pear", "fig"))
    assert send(browser, shown, "2 001").status_code == 409
    assert b"id" not in (approved / "names.csv").read_bytes()


def test_of_a_spreadsheet_it_is_said_that_it_is_not_written(browser, folder, studio):
    def sheet(*rows):
        book = openpyxl.Workbook()
        for row in (("name", "tree"), *rows):
            book.active.append(row)
        book.save(folder / "names.xlsx")

    ticket = (folder / "job.toml").read_text(encoding="utf-8").replace("names.csv", "names.xlsx")
    (folder / "job.toml").write_text(ticket, encoding="utf-8")
    sheet(("Ida", "apple"), ("Bo", "pear"))
    assert nameplate(folder, "approve", "job.toml", "--all", "--by", "Ann Ode").exit_code == 0
    sheet(("Oda", "apple"), ("Bo", "pear"))
    shown = browser.get("/names")
    assert "names.xlsx is a spreadsheet and is not written here" in shown.text and not answers(shown)
    assert send(browser, shown, "2 001").status_code == 422
    (folder / "names.csv").unlink()
    text = browser.post("/names", data={"do": "text", "version": version(shown)})
    send(browser, text, "2 001")
    assert (folder / "names.csv").read_text() == "name,tree,id\nOda,apple,001\nBo,pear,002\n"
    assert plates(studio) == {"Oda": "001", "Bo": "002"}
