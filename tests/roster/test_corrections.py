"""Corrections: what a table of them must be, and which cells of the list they change."""

import pytest

from nameplate.errors import RosterError
from nameplate.roster.corrections import corrected, read_corrections
from nameplate.roster.reader import read_roster


def fixes(tmp_path, text):
    path = tmp_path / "fixes.csv"
    path.write_text(text, encoding="utf-8")
    return read_corrections(path)


def made(tmp_path, names, text, name="names.csv"):
    path = tmp_path / name
    path.write_text(names, encoding="utf-8", newline="")
    rows = {f"{at:03d}": row for at, row in enumerate(read_roster(path).rows, 1)}
    return corrected(path, path.read_bytes(), fixes(tmp_path, text), rows)


def test_the_cells_of_the_named_plates_change_and_are_told(tmp_path):
    names = "tree;name;line2\r\noak;Wren Abara;x\r\n\r\nelm;Ada Pell;y\r\n"
    done = made(tmp_path, names, "id,text,line2\n002,Ada Pel,\n001,,z\n")
    assert done.data == b"tree;name;line2\r\noak;Wren Abara;z\r\n\r\nelm;Ada Pel;y\r\n"
    assert [c.sentence for c in done.changes] == [
        "plate 002, row 4: “Ada Pell” -> “Ada Pel”",
        "plate 001, row 2, line2: “x” -> “z”",
    ]


def test_a_text_that_is_there_already_changes_nothing(tmp_path):
    done = made(tmp_path, "name\nAda\n", "id,name\n001,Ada\n")
    assert done.changes == () and done.data == b"name\nAda\n"


def test_columns_that_choose_nothing_where_there_are_no_designs_may_be_two(tmp_path):
    names = "name,tier,tier\nAda,gold,oak\n"
    assert made(tmp_path, names, "id,text\n001,Ida\n").data == names.replace("Ada", "Ida").encode()
    with pytest.raises(RosterError, match="design"):
        read_roster(tmp_path / "names.csv", designs=True)


def test_of_names_in_two_columns_the_part_that_changes_is_found(tmp_path):
    names = "first name,last name\nWren,Abara\n"
    assert made(tmp_path, names, "id,text\n001,Wren Abbara\n").data == names.replace("Abara", "Abbara").encode()
    with pytest.raises(RosterError, match=r"row 2: plate 001: which part of “Ada Pell” .*'first name' and 'last name'"):
        made(tmp_path, names, "id,text\n001,Ada Pell\n")


def test_every_correction_that_cannot_be_made_is_named(tmp_path):
    with pytest.raises(RosterError) as refused:
        made(tmp_path, "name\nAda\n", "id,text,line2\n009,Bo,\n001,,oak\n")
    assert refused.value.problems == (
        "names.csv: there is no plate 009 in it; its id is the number on the proof",
        "names.csv, row 2: plate 001: the list has no column line2 for “oak”; add one",
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "the first row must be the headings id and text"),
        ("number,name\n1,Ada\n", "the first row must be the headings id and text"),
        ("id,text\n", "there is no correction in it"),
        ("id,text\n,Ada\n", "row 2: “Ada” has no id"),
        ("id,text\n7,\n", "row 2: plate 7 has no new text"),
        ("id,text\n7,Ada\n7,Ida\n", "row 3: plate 7 was corrected in row 2 already"),
        ("id,text\n7,Ada 😀\n", "row 2: “Ada 😀”: a picture cannot be lettered"),
    ],
)
def test_what_is_wrong_with_a_table_of_corrections_is_said_by_row(tmp_path, text, said):
    with pytest.raises(RosterError, match=rf"fixes\.csv.*{said}"):
        fixes(tmp_path, text)
