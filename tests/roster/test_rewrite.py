"""A corrected list differs from the list as it was in the corrected cells and in no other byte."""

import codecs
import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.errors import RosterError
from nameplate.roster.rewrite import new_list, rewritten, with_rows, without_rows

LIST = 'id;name;note\r\n1;Zoë;"a;b"\r\n\r\n2;"Lê ""Bo"" Ash";  kept  \r\n3;Ida\r\n'
ENCODINGS = {
    "utf-8": b"",
    "utf-8 ": codecs.BOM_UTF8,
    "utf-16-le": codecs.BOM_UTF16_LE,
    "utf-16-be": codecs.BOM_UTF16_BE,
    "utf-16-le ": b"",
    "utf-32-le": codecs.BOM_UTF32_LE,
}


@pytest.mark.parametrize("codec", ENCODINGS)
@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
def test_only_the_bytes_of_the_cell_change_whatever_the_encoding_and_line_ends(codec, end):
    def coded(text):
        return ENCODINGS[codec] + text.replace("\r\n", end).encode(codec.strip())

    new = rewritten(coded(LIST), {(2, 2): "Zoé"}, "x.csv")
    assert new == coded(LIST.replace("Zoë", "Zoé"))
    new = rewritten(coded(LIST), {(4, 2): 'Le "Bo" Ash', (5, 3): "new"}, "x.csv")
    assert new == coded(LIST.replace("Lê", "Le").replace("3;Ida", "3;Ida;new"))


def test_a_list_of_an_old_code_page_stays_one_and_a_letter_that_it_lacks_is_named():
    data = "name,id\nZoë,1\n".encode("cp1252")
    assert rewritten(data, {(2, 1): "Zoé"}, "x.csv") == "name,id\nZoé,1\n".encode("cp1252")
    with pytest.raises(
        RosterError,
        match=r"x\.csv: ő \(Latin small letter o with double acute\) .*Windows-1252; save the list as CSV in UTF-8",
    ):
        rewritten(data, {(2, 1): "Ernő"}, "x.csv")


def test_a_cell_is_quoted_where_it_was_or_where_it_must_be():
    data = b'sep=,\nname,note\n"Ada",x\nBo,y\n'
    assert rewritten(data, {(2, 1): "Ida", (3, 1): 'Bo, "B"'}, "x.csv") == (
        b'sep=,\nname,note\n"Ida",x\n"Bo, ""B""",y\n'
    )


def test_spaces_before_quotation_marks_are_the_cells_own():
    data = b'name, note\nAda, "x, y"\nBo, z\n'
    assert rewritten(data, {(2, 1): "Ida"}, "x.csv") == b'name, note\nIda, "x, y"\nBo, z\n'
    assert rewritten(data, {(2, 2): "w"}, "x.csv") == b'name, note\nAda, "w"\nBo, z\n'


def test_a_row_that_is_not_there_is_refused():
    with pytest.raises(RosterError, match="do not let single cells be changed"):
        rewritten(b"name\nAda\n", {(3, 1): "Bo"}, "x.csv")


def test_columns_that_a_row_has_not_are_added_in_one_go():
    data = b"name;tree\nAda;pear\nBo\n"
    assert rewritten(data, {(1, 3): "dx", (1, 4): "dy", (3, 3): "1", (3, 4): "-2"}, "x.csv") == (
        b"name;tree;dx;dy\nAda;pear\nBo;;1;-2\n"
    )


@pytest.mark.parametrize("codec", ENCODINGS)
@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
def test_rows_come_to_the_end_and_go_from_the_middle_in_the_lists_own_form(codec, end):
    def coded(text):
        return ENCODINGS[codec] + text.replace("\r\n", end).encode(codec.strip())

    longer = with_rows(coded(LIST), [["4", "Zoë; Bo"], ["5", "Jo"]], "x.csv")
    assert longer == coded(LIST + '4;"Zoë; Bo"\r\n5;Jo\r\n')
    assert without_rows(longer, {6, 7}, "x.csv") == coded(LIST)
    assert without_rows(coded(LIST), {2, 3}, "x.csv") == coded(LIST.replace('1;Zoë;"a;b"\r\n\r\n', ""))


def test_a_name_alone_in_its_row_is_not_parted_by_what_it_holds():
    assert with_rows(b"name\nAda\n", [["Bo; Ida"], ["Pell, Jo"]], "x.csv") == b'name\nAda\n"Bo; Ida"\n"Pell, Jo"\n'
    assert rewritten(b"name\nAda\n", {(2, 1): "Bo; Ida"}, "x.csv") == b'name\n"Bo; Ida"\n'


def test_the_first_row_and_the_last_can_go_and_what_is_not_there_cannot():
    assert without_rows(b"name\nAda\n", {1}, "x.csv") == b"Ada\n"
    assert without_rows(b"name\nAda\n", {2}, "x.csv") == b"name\n"
    for numbers in ({3}, {0}):
        with pytest.raises(RosterError, match="do not let"):
            without_rows(b"name\nAda\n", numbers, "x.csv")


CELLS = st.text(st.sampled_from('ab,;"\n\r\té'), max_size=6)


@given(st.lists(st.lists(CELLS, min_size=2, max_size=2), min_size=1, max_size=5), st.data())
def test_the_csv_module_reads_what_was_written(rows, data):
    """The csv module of Python's library writes the list and reads it back: an outside reader."""
    table = [["name", "note"], *rows]
    file = io.StringIO()
    csv.writer(file, delimiter=";", lineterminator="\r\n").writerows(table)
    row, column = data.draw(st.integers(2, len(table))), data.draw(st.integers(1, 2))
    text = data.draw(CELLS)
    raw = file.getvalue().encode()
    new = rewritten(raw, {(row, column): text}, "x.csv").decode()
    table[row - 1][column - 1] = text
    assert list(csv.reader(io.StringIO(new, newline=""), delimiter=";")) == table


@given(st.lists(st.lists(CELLS, min_size=2, max_size=2), min_size=1, max_size=5), st.data())
def test_the_csv_module_reads_rows_that_came_and_went(rows, data):
    """The csv module of Python's library reads the list: an outside reader."""
    table = [["name", "note"], *rows]
    raw = new_list(table, "x.csv")
    assert list(csv.reader(io.StringIO(raw.decode(), newline=""))) == table
    more = data.draw(st.lists(st.lists(CELLS, min_size=2, max_size=2), max_size=3))
    gone = data.draw(st.sets(st.integers(2, len(table))))
    new = without_rows(with_rows(raw, more, "x.csv"), gone, "x.csv").decode()
    left = [row for number, row in enumerate(table, 1) if number not in gone]
    assert list(csv.reader(io.StringIO(new, newline=""))) == [*left, *more]


def test_a_cell_that_is_added_is_quoted_where_it_must_be_and_not_for_another_delimiter():
    data = b"id,name,note\n1,Ada\n2,Bo\n"
    new = rewritten(data, {(2, 3): "pear; 2 m | left", (3, 3): "pear, 2 m"}, "x.csv")
    assert new == b'id,name,note\n1,Ada,pear; 2 m | left\n2,Bo,"pear, 2 m"\n'
