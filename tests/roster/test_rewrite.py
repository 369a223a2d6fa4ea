"""A corrected list differs from the list as it was in the corrected cells and in no other byte."""

import codecs
import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.errors import RosterError
from nameplate.roster.rewrite import rewritten

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
