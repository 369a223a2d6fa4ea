"""Names that are pasted, dropped, added and taken out on the page: what the file says then, and that all is undone."""

import html
import io
import re

import openpyxl
import pytest

from nameplate.job.status import status_of
from nameplate.page.answers import MOST_UPLOADED
from nameplate.page.opened import open_job
from nameplate.ticket.starter import write_starter

from .conftest import NAMES, TICKET, seen, version


def post(browser, **fields):
    """Send one of the forms of the names, as drawn now."""
    return browser.post("/names", data={"version": version(browser.get("/names")), **fields})


def key(answer):
    return re.search(r'name="incoming" value="(\w+)"', answer.text)[1]


def paste(browser, text):
    return browser.post("/names", data={"do": "bring", "text": text})


def drop(browser, name, data, text=""):
    return browser.post("/names", data={"do": "bring", "text": text}, files={"file": (name, data)})


def take(browser, answer, how):
    shown = browser.get("/names")
    now = version(shown if 'name="version"' in shown.text else answer)
    return browser.post("/names", data={"do": "take", "how": how, "incoming": key(answer), "version": now})


def undo(browser):
    return post(browser, do="undo")


def text_of(answer):
    return html.unescape(re.sub(r"<[^>]+>", " ", answer.text))


def book(rows):
    made, file = openpyxl.Workbook(), io.BytesIO()
    for row in rows:
        made.active.append(row)
    made.save(file)
    return file.getvalue()


def test_pasted_names_are_seen_first_and_then_added_in_the_lists_own_form(browser, folder):
    answer = paste(browser, "Ida Quill\nPell, Tomás\n\nIn memory of | Bo\n<img src=y>\n")
    assert "4 names in what was pasted" in text_of(answer)
    assert "<img src=y" not in answer.text and html.escape("<img src=y>") in answer.text
    assert (folder / "names.csv").read_bytes() == NAMES
    assert take(browser, answer, "add").status_code == 200
    assert (folder / "names.csv").read_bytes() == NAMES + "".join(
        f"\r\n;{name};" for name in ("Ida Quill", "Pell, Tomás", "In memory of | Bo", "<img src=y>")
    ).encode()
    undo(browser)
    assert (folder / "names.csv").read_bytes() == NAMES


def test_rows_with_headings_find_their_columns_and_bring_those_that_the_list_lacks(browser, folder):
    answer = paste(browser, "Tree\tFirst name\tLast name\tQty\tempty\nelm\tIda\tQuill\t2\t\n")
    take(browser, answer, "add")
    assert (folder / "names.csv").read_bytes() == NAMES.replace(
        b";tree\r\n", b";tree;Qty\r\n"
    ) + b"\r\n;Ida Quill;elm;2"
    undo(browser)
    assert (folder / "names.csv").read_bytes() == NAMES


MAIL = """\
Hello, here are our sponsors, thanks!

1.  Anne-Marie Dubois – Bramley's Seedling
2. Rosie, Max & Finn - Irish Peach
3) Tom MacKenzie
"""


def read_lines(browser, answer, **fields):
    return browser.post("/names", data={"do": "lines", "incoming": key(answer), **fields})


def test_numbers_and_dashes_of_a_mail_are_told_and_taken_out_where_somebody_says_so(browser, folder):
    answer = paste(browser, MAIL)
    told = " ".join(text_of(answer).split())
    assert "3 of 4 lines begin with a number" in told and "A line has no number" in told
    assert "“Hello, here are our sponsors, thanks!”" in told and "have a dash" not in told  # 2 of 4 are not most
    answer = read_lines(browser, answer, numbers="1", only="1", heading="tree")
    assert "begin with a number" not in answer.text
    take(browser, answer, "add")
    assert (folder / "names.csv").read_bytes() == NAMES + (
        b"\r\n;Anne-Marie Dubois;Bramley's Seedling\r\n;Rosie, Max & Finn;Irish Peach\r\n;Tom MacKenzie;"
    )


def test_lines_stay_whole_unless_somebody_says_otherwise_and_become_whole_again(browser, folder):
    answer = paste(browser, "1. Ida - elm\n2. Bo - oak")
    whole = read_lines(browser, read_lines(browser, answer, numbers="1", heading="tree"))
    assert key(whole) == key(answer) and "2 of 2 lines begin with a number" in whole.text
    take(browser, answer, "use")
    assert (folder / "names.csv").read_bytes() == b"name\n1. Ida - elm\n2. Bo - oak\n"


def test_a_heading_that_cannot_be_is_told_and_the_lines_are_still_there(browser, folder):
    answer = read_lines(browser, paste(browser, "Ida - elm\nBo - oak"), heading="name")
    assert answer.status_code == 422 and "could be taken from" in answer.text
    assert "Behind the dash is another column" in answer.text


def test_a_file_of_lines_is_read_as_lines_that_are_pasted(browser, folder):
    answer = drop(browser, "mail.txt", "Rosie, Max & Finn Carter\r\nZoë Pell\r\nBo Quill, jr\r\n".encode("cp1252"))
    assert "3 names in mail.txt" in text_of(answer) and "was read as Windows-1252" in answer.text
    take(browser, answer, "use")
    assert (
        folder / "names.csv"
    ).read_bytes() == 'name\n"Rosie, Max & Finn Carter"\nZoë Pell\n"Bo Quill, jr"\n'.encode()
    answer = drop(browser, "list.txt", b"Our sponsors\nname;tree\nIda;elm\n")
    assert "1 name in list.txt" in text_of(answer)


DESIGNS = """\
[job]
title = "Orchard sponsors"
roster = "names.csv"
[design.oak]
face = { shape = "circle", width = 90 }
[design.founder]
face = { shape = "circle", width = 120 }
[[stock]]
material = "lettering"
width = 600
height = 300
"""


@pytest.mark.parametrize("how", ["add", "use"])
def test_the_design_of_names_that_have_none_is_asked_once_and_written_with_them(browser, folder, how):
    (folder / "job.toml").write_text(DESIGNS, encoding="utf-8")
    (folder / "names.csv").write_bytes(b"name,design,tree\nWren,oak,elm\n")
    answer = paste(browser, "Ida Quill\nBo\n")
    assert "Design of all these to be chosen row by row oak founder" in " ".join(text_of(answer).split())
    assert "error" not in answer.text[answer.text.index('id="came"') : answer.text.index("</section>")]
    now = version(browser.get("/names"))
    fields = {"do": "take", "how": how, "incoming": key(answer), "version": now}
    assert browser.post("/names", data={**fields, "design": "elm"}).status_code == 422
    assert (folder / "names.csv").read_bytes() == b"name,design,tree\nWren,oak,elm\n"
    browser.post("/names", data={**fields, "design": "founder"})
    added = b"name,design,tree\nWren,oak,elm\nIda Quill,founder,\nBo,founder,\n"
    used = b"name,design\nIda Quill,founder\nBo,founder\n"
    assert (folder / "names.csv").read_bytes().replace(b"\r\n", b"\n") == (added if how == "add" else used)
    assert "choose a design" not in browser.get("/names").text


def test_a_design_is_asked_for_those_alone_that_have_none_and_may_be_chosen_later(browser, folder):
    (folder / "job.toml").write_text(DESIGNS, encoding="utf-8")
    (folder / "names.csv").write_bytes(b"name\tdesign\nWren\toak\n")
    answer = drop(browser, "May.csv", b"name,tier\nIda,founder\nBo,\nUna,ash\n")
    assert "Design of 1 name without one" in text_of(answer) and "no design “ash”" in text_of(answer)
    take(browser, answer, "add")
    assert (folder / "names.csv").read_bytes() == b"name\tdesign\nWren\toak\nIda\tfounder\nBo\t\nUna\tash\n"
    told = text_of(browser.get("/names"))
    assert "“Bo”: choose a design: oak or founder, in the column design or tier; or give the ticket" in told


def test_a_design_can_be_chosen_for_names_that_would_be_made_without_one(browser, folder):
    (folder / "job.toml").write_text(TICKET + "[design.founder]\nface = { width = 130 }\n", encoding="utf-8")
    (folder / "names.csv").write_bytes(b"name\nWren\n")
    answer = paste(browser, "Ida Quill\nBo\n")
    assert "Design of all these none: as the job says founder" in " ".join(text_of(answer).split())
    fields = {"do": "take", "how": "add", "incoming": key(answer), "version": version(browser.get("/names"))}
    browser.post("/names", data={**fields, "design": "founder"})
    assert (folder / "names.csv").read_bytes() == b"name,design\nWren\nIda Quill,founder\nBo,founder\n"


def test_spaces_that_nobody_sees_are_taken_out_of_all_names_at_once_and_put_back(browser, folder):
    spaced = b'id;name;tree\r\n001;" Wren  Abara";ap  ple\r\n002;Jo \r\n003;Bo;plum'
    (folder / "names.csv").write_bytes(spaced)
    shown = browser.get("/names").text
    assert shown.count("spaces before, behind or doubled") == 1 and "(rows 2-3)" in shown
    post(browser, do="spaces")
    assert (folder / "names.csv").read_bytes() == b'id;name;tree\r\n001;"Wren Abara";ap  ple\r\n002;Jo\r\n003;Bo;plum'
    assert "Take the spaces out" not in browser.get("/names").text
    assert post(browser, do="spaces").status_code == 422
    undo(browser)
    assert (folder / "names.csv").read_bytes() == spaced


def test_names_that_come_are_compared_with_those_of_the_list(browser, folder):
    told = text_of(paste(browser, "Wren Abarra\nJo\nUna Quill"))
    assert "“Wren Abarra”: nearly the same name as “Wren Abara”" in told
    assert "1 name is on the list already: “Jo”" in told and "“Una Quill”" not in told
    write_starter(folder / "new")
    (folder / "names.csv").write_bytes((folder / "new" / "names.csv").read_bytes())
    assert "nearly the same" not in text_of(paste(browser, "Wren Abarra"))  # those are the invented ones


def test_what_is_pasted_and_a_file_have_one_button_and_neither_costs_the_other(browser):
    page = browser.get("/names").text
    form = page[page.index('<form id="drop"') : page.index("</form>", page.index('<form id="drop"'))]
    assert form.count("<button") == form.count("<textarea") == form.count('type="file"') == 1
    answer = drop(browser, "May.csv", b"name\nUna\n", text="Ida Quill\nBo")
    assert "1 name in May.csv" in text_of(answer)
    assert re.search(r"<textarea[^>]*>\s*Ida Quill\s+Bo</textarea>", answer.text)
    answer = browser.post("/names", data={"do": "bring", "text": "Ida Quill\nBo"}, files={"file": ("", b"")})
    assert "2 names in what was pasted" in text_of(answer)


def test_rows_without_headings_stand_under_those_of_the_list(browser, folder):
    answer = paste(browser, '010\tIda Quill\telm\n011\t"Bo\nAsh"\t')
    take(browser, answer, "add")
    assert (folder / "names.csv").read_bytes() == NAMES + b'\r\n010;Ida Quill;elm\r\n011;"Bo\nAsh";'


def test_cells_under_no_heading_are_not_lost_silently(browser, folder):
    answer = take(browser, paste(browser, "010\tIda Quill\telm\tlost"), "add")
    assert answer.status_code == 422 and "more cells than there are headings" in answer.text
    assert (folder / "names.csv").read_bytes() == NAMES


def test_problems_of_what_was_pasted_stand_beside_their_rows(browser):
    answer = paste(browser, "name,copies\nWren,two\nIda,\n木村 \U0001f600,\n")
    row = answer.text[answer.text.index("Wren") : answer.text.index("Ida")]
    assert "error" in row and "copies" in row
    assert "a picture cannot be lettered" in answer.text


@pytest.mark.parametrize(
    "text, said",
    [("", "nothing was pasted"), (" \n\n", "nothing was pasted"), ("x" * 6000, "characters, more than 5000")],
)
def test_what_is_no_list_is_told_and_stays_as_it_was_typed(browser, folder, text, said):
    answer = paste(browser, text)
    assert answer.status_code == 422 and said in answer.text
    assert text.strip() in answer.text
    assert (folder / "names.csv").read_bytes() == NAMES


def test_a_dropped_file_becomes_the_list_byte_for_byte_and_is_undone(browser, folder):
    data = "name;tree\r\nZoë;oak\r\n".encode("utf-16")
    answer = drop(browser, "sponsors of May.csv", data)
    assert "1 name in sponsors of May.csv" in text_of(answer)
    take(browser, answer, "use")
    assert (folder / "names.csv").read_bytes() == data
    undo(browser)
    assert (folder / "names.csv").read_bytes() == NAMES


def test_a_spreadsheet_becomes_rows_of_the_list_or_the_list_as_text(browser, folder):
    answer = drop(browser, "list.xlsx", book([["Name", "copies"], ["Ida, Quill", 2], ["Bo", None]]))
    take(browser, answer, "add")
    assert (folder / "names.csv").read_bytes() == (
        NAMES.replace(b";tree\r\n", b";tree;copies\r\n") + b"\r\n;Ida, Quill;;2\r\n;Bo;;"
    )
    take(browser, answer, "use")
    assert (folder / "names.csv").read_bytes() == b'Name,copies\n"Ida, Quill",2\nBo,\n'


def test_a_list_that_is_a_spreadsheet_is_replaced_by_another_one(browser, folder):
    old, new = book([["name"], ["Wren"]]), book([["name"], ["Ida"]])
    (folder / "names.xlsx").write_bytes(old)
    ticket = (folder / "job.toml").read_text(encoding="utf-8")
    (folder / "job.toml").write_text(ticket.replace("names.csv", "names.xlsx"), encoding="utf-8")
    assert "is a spreadsheet" in take(browser, paste(browser, "Bo"), "add").text
    assert (folder / "names.xlsx").read_bytes() == old
    take(browser, drop(browser, "new.xlsx", new), "use")
    assert (folder / "names.xlsx").read_bytes() == new
    undo(browser)
    assert (folder / "names.xlsx").read_bytes() == old


def test_a_job_goes_on_with_its_spreadsheet_as_text_and_back(browser, folder):
    data = book([["name", "copies"], ["Wren, A.", 2], ["Zoë", None]])
    ticket = (folder / "job.toml").read_bytes().replace(b"names.csv", b"list.xlsx")
    (folder / "list.xlsx").write_bytes(data)
    (folder / "list.csv").write_bytes(b"of somebody else")
    (folder / "job.toml").write_bytes(ticket)
    shown = seen(browser)
    browser.post("/sign-off", data={"by": "Ann Ode", "plate": "", "version": version(shown)})
    old = browser.get("/names")
    post(browser, do="text")
    assert (folder / "job.toml").read_bytes() == ticket.replace(b"list.xlsx", b"list-2.csv")
    assert (folder / "list-2.csv").read_bytes() == 'name,copies\n"Wren, A.",2\nZoë,\n'.encode()
    assert (folder / "list.xlsx").read_bytes() == data and (folder / "list.csv").read_bytes() == b"of somebody else"
    assert plates(folder) == [("001", "Wren, A.", "Ann Ode"), ("002", "Zoë", "Ann Ode")]
    answer = browser.post("/names", data={"do": "text", "version": version(old)})
    assert answer.status_code == 422 and "is text already" in answer.text
    assert "Undo in the ticket" in answer.text
    post(browser, do="undo-ticket")
    assert (folder / "job.toml").read_bytes() == ticket


def test_names_that_are_pasted_take_the_place_of_a_spreadsheet_as_text_beside_it(browser, folder):
    data = book([["name"], ["Wren"]])
    (folder / "names.xlsx").write_bytes(data)
    (folder / "names.csv").unlink()
    ticket = (folder / "job.toml").read_bytes().replace(b"names.csv", b"names.xlsx")
    (folder / "job.toml").write_bytes(ticket)
    take(browser, paste(browser, "Ida\nBo"), "use")
    assert (folder / "names.csv").read_bytes() == b"name\nIda\nBo\n"
    assert (folder / "names.xlsx").read_bytes() == data and b'"names.csv"' in (folder / "job.toml").read_bytes()


@pytest.mark.parametrize(
    "name, data, said",
    [
        ("list.xlsx", b"name\nIda\n", "list.xlsx"),
        ("list.ods", b"PK\x03\x04", "save it as .xlsx"),
        ("list.csv", b"PK\x03\x04", "this is a spreadsheet"),
        ("list.csv", b"sponsor\nIda\n", "no heading is `name`"),
        ("list.csv", b"name\n", "no names"),
        ("list.csv", b'name\n"Ida\n', "never closed"),
        ("../../job.toml", b"name\xff\x81\n", "neither UTF-8"),
    ],
)
def test_a_file_that_is_no_list_is_told_as_the_command_line_tells_it(browser, folder, name, data, said):
    answer = drop(browser, name, data)
    assert answer.status_code == 422 and said in html.unescape(answer.text)
    assert sorted(path.name for path in folder.iterdir()) == ["job.toml", "names.csv"]


def test_too_large_a_file_is_refused_before_it_is_read(browser):
    assert drop(browser, "list.csv", b"x" * MOST_UPLOADED).status_code == 413
    assert "no file chosen" in browser.post("/names", data={"do": "bring"}).text


def test_a_form_that_is_broken_is_none(browser):
    kind = {"content-type": "multipart/form-data; boundary=x"}
    assert browser.post("/names", content=b"--y\r\n\r\n", headers=kind).status_code == 413
    assert browser.post("/names", content=b"", headers={"content-type": "multipart/form-data"}).status_code == 413


def test_a_row_is_added_and_another_one_deleted_and_both_are_undone(browser, folder):
    post(browser, do="add", c1="004", c2="Ida", c3="")
    assert (folder / "names.csv").read_bytes() == NAMES + b"\r\n004;Ida;"
    answer = post(browser, do="delete", row=2)
    assert "row 2 deleted: “Wren Abara”" in text_of(answer)
    assert (folder / "names.csv").read_bytes() == (NAMES + b"\r\n004;Ida;").replace(b'001;"Wren Abara";apple\r\n', b"")
    undo(browser)
    undo(browser)
    assert (folder / "names.csv").read_bytes() == NAMES


def test_nothing_is_added_or_deleted_that_is_nothing(browser, folder):
    assert "the new row is empty" in post(browser, do="add", c1=" ", c2="").text
    for row in (0, 1, 9):
        assert post(browser, do="delete", row=row).status_code == 422
    assert (folder / "names.csv").read_bytes() == NAMES


def test_a_job_without_a_list_begins_here(browser, folder):
    (folder / "names.csv").unlink()
    assert "There is no list yet" in browser.get("/names").text
    post(browser, do="add", c1="Ida; Quill")
    assert (folder / "names.csv").read_bytes() == b'name\n"Ida; Quill"\n'
    undo(browser)
    assert not (folder / "names.csv").exists()
    take(browser, paste(browser, "Wren\nBo"), "use")
    assert (folder / "names.csv").read_bytes() == b"name\nWren\nBo\n"


def test_rows_with_columns_begin_a_list_as_well(browser, folder):
    (folder / "names.csv").write_bytes(b"")
    answer = paste(browser, "name\ttree\nWren\toak\nBo\n")
    take(browser, answer, "use")
    assert (folder / "names.csv").read_bytes() == b"name,tree\nWren,oak\nBo,\n"
    (folder / "names.csv").unlink()
    assert "copy the row of headings" in paste(browser, "Wren\toak").text


def test_a_list_that_cannot_be_read_can_still_be_replaced(browser, folder):
    (folder / "names.csv").write_bytes(b"sponsor\nWren\n")
    answer = browser.get("/names")
    assert answer.status_code == 200 and "no heading is `name`" in answer.text
    answer = paste(browser, "Ida")
    assert "Add to the list" not in answer.text and take(browser, answer, "add").status_code == 422
    take(browser, answer, "use")
    assert (folder / "names.csv").read_bytes() == b"name\nIda\n"


def test_of_two_tabs_the_second_adds_nothing_and_keeps_what_it_brought(browser, folder):
    answer = paste(browser, "Ida")
    post(browser, do="add", c2="Bo")
    then = (folder / "names.csv").read_bytes()
    sent = {"do": "take", "how": "use", "incoming": key(answer), "version": version(answer)}
    late = browser.post("/names", data=sent)
    assert late.status_code == 409 and "changed elsewhere" in late.text and key(late) == key(answer)
    assert (folder / "names.csv").read_bytes() == then
    late = browser.post("/names", data={"do": "add", "row": 0, "c2": "Una", "version": version(answer)})
    assert late.status_code == 409 and re.search(r'id="new2" name="c2" value="Una"', late.text)
    assert (folder / "names.csv").read_bytes() == then
    assert "paste them" in browser.post("/names", data={**sent, "incoming": "0"}).text


def test_names_in_two_columns_ask_for_two(browser, folder):
    (folder / "names.csv").write_bytes(b"first name,last name\nWren,Abara\n")
    assert "copy rows with these headings" in html.unescape(take(browser, paste(browser, "Ida Quill"), "add").text)
    take(browser, paste(browser, "last name\tfirst name\nQuill\tIda"), "add")
    assert (folder / "names.csv").read_bytes() == b"first name,last name\nWren,Abara\nIda,Quill\n"


def test_plates_keep_their_ids_and_approvals_whatever_comes_and_goes(browser, folder):
    (folder / "names.csv").write_bytes(b"name\nWren\nJo\nIda\n")
    shown = seen(browser)
    browser.post("/sign-off", data={"by": "Ann Ode", "plate": "", "version": version(shown)})
    post(browser, do="delete", row=3)
    take(browser, paste(browser, "Bo"), "add")
    assert plates(folder) == [("001", "Wren", "Ann Ode"), ("003", "Ida", "Ann Ode"), ("004", "Bo", "")]
    take(browser, paste(browser, "Ida\nWren\nUna"), "use")
    assert plates(folder) == [("003", "Ida", "Ann Ode"), ("001", "Wren", "Ann Ode"), ("005", "Una", "")]
    for _ in range(3):
        undo(browser)
    assert plates(folder) == [("001", "Wren", "Ann Ode"), ("002", "Jo", "Ann Ode"), ("003", "Ida", "Ann Ode")]


def plates(folder):
    job = open_job(folder)
    return [(plate.id, plate.name, ", ".join(plate.approved)) for plate in status_of(job.ticket(), job.record).plates]


OWN_HEADINGS = "Tree no.\tSponsor\tWhich plaque\tVariety\n1\tFenella Quill\tsmall\tBramley\n2\tZoé Luill\tlarge\tCox"


@pytest.mark.parametrize("given", ["pasted", "file"])
def test_headings_that_are_not_known_are_matched_before_anything_is_added(browser, folder, given):
    data = OWN_HEADINGS.replace("\t", ",")
    answer = paste(browser, OWN_HEADINGS) if given == "pasted" else drop(browser, "May.csv", data.encode())
    assert answer.status_code == 422 and 'value="take"' not in answer.text
    assert "no heading is `name` (found: 'Tree no.', 'Sponsor'" in text_of(answer)
    assert re.search(r'name="column1".*?<option selected>name<', answer.text, re.DOTALL)
    kept = re.search(r'name="unmatched" value="(\w+)"', answer.text)[1]
    said = {"do": "match", "unmatched": kept, "column0": "own", "column1": "own", "column2": "design", "column3": ""}
    assert "no column is said to have the names" in browser.post("/names", data=said).text
    answer = browser.post("/names", data=said | {"column1": "name"})
    assert "2 names in " in text_of(answer)
    take(browser, answer, "use")
    assert (folder / "names.csv").read_text() == "Tree no.,name,design\n1,Fenella Quill,small\n2,Zoé Luill,large\n"
    undo(browser)
    answer = browser.post("/names", data=said | {"column1": "name", "column2": "", "first": "1"})
    take(browser, answer, "use")
    assert (folder / "names.csv").read_text().startswith("column 1,name\nTree no.,Sponsor\n1,Fenella")


def test_rows_that_are_matched_keep_their_numbers_and_what_is_doubtful_about_them(browser):
    text = "Our orchard;\nSponsor;Tree\nZoé;elm\nIda\u0009;elm\n"
    answer = drop(browser, "May.csv", text.encode("latin-1"))
    kept = re.search(r'name="unmatched" value="(\w+)"', answer.text)[1]
    said = text_of(browser.post("/names", data={"do": "match", "unmatched": kept, "column0": "name", "column1": "own"}))
    assert "May.csv is not UTF-8" in said and "the headings are in row 2" not in said
    assert re.search(r"\b3\s+Zoé\s+elm\s+4\s+Ida", said)


def test_rows_that_do_not_fit_under_the_headings_of_the_list_are_asked_about(browser, folder):
    (folder / "names.csv").write_text("id,name,copies\n1,Wren Abara,\n")
    rows = [f"{n}\tIda Quill {n}\tapple" for n in range(3)]
    assert "do not fit under those of the list" in text_of(paste(browser, "\n".join(rows)))
    few = [f"{n}\tIda Quill {n}\t2" for n in range(3)]
    assert "3 names in what was pasted" in text_of(paste(browser, "\n".join(few)))


def test_a_cell_that_is_too_long_to_be_one_is_told(browser):
    for length, said in (
        (10_001, "row 3, column 2: a cell of 10001 characters"),
        (200_000, "line 2: a cell is longer"),
    ):
        answer = paste(browser, f"3\tIda\n4\t{'x' * length}")
        assert answer.status_code == 422 and f"what was pasted, {said}" in text_of(answer)


def test_what_the_ticket_refuses_is_told_before_it_is_added(browser, folder):
    ticket = (folder / "job.toml").read_text()
    face = '[face]\nshape = "ellipse"\nwidth = 110\nheight = 80\n'
    assert face in ticket
    designs = '[design.small]\nface = { shape = "ellipse", width = 90, height = 60 }\n'
    (folder / "job.toml").write_text(ticket.replace(face, "") + designs)
    assert "Design of all these" in text_of(paste(browser, "Ida Quill"))
    assert "Design of all these" not in text_of(paste(browser, "name,design\nIda Quill,small"))
    assert "“Ida Quill”: the ticket has no design “ash”" in text_of(paste(browser, "name,design\nIda Quill,ash"))


def test_the_samples_of_a_new_job_are_replaced_by_the_first_button(browser, folder):
    assert re.findall(r'name="how" value="(\w+)"', paste(browser, "Ida").text) == ["add", "use"]
    samples = write_starter(folder / "new")[1].read_bytes()
    (folder / "names.csv").write_bytes(samples)
    assert re.findall(r'name="how" value="(\w+)"', paste(browser, "Ida").text) == ["use", "add"]


def test_a_name_that_is_pasted_with_other_lines_is_no_slip(browser, folder):
    ticket = (folder / "job.toml").read_text(encoding="utf-8")
    lines = '[[line]]\ntext = "{name}"\n[[line]]\ntext = "{tree}"\nscale = 0.5\n'
    (folder / "job.toml").write_text(ticket + lines, encoding="utf-8")
    answer = text_of(
        paste(browser, "name\ttree\nZoë Lindqvist\tQuince\nZoë Lindqvist\tMedlar\nZoë Lindqvist\tQuince\n")
    )
    assert "3 names" in answer and "is also in row 2" in answer and answer.count("is also in row") == 1
