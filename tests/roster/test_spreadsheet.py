"""Spreadsheets part by part: nothing in a cell is lost silently, and nothing in a file makes reading it endless.

Sections are those of ECMA-376 part 1; the files are written here, byte by byte, because no program writes such ones.
"""

from __future__ import annotations

import io
import zipfile
from xml.etree import ElementTree

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.styles.numbers import BUILTIN_FORMATS, is_date_format

from nameplate.errors import RosterError
from nameplate.roster import xml_parts
from nameplate.roster.cells import BUILT_IN, Raw, cell_text, format_kind
from nameplate.roster.delimited_text import read_text_table
from nameplate.roster.doubts import MOST_MARKS_IN_A_ROW
from nameplate.roster.reader import read_roster, rows_of
from nameplate.roster.spreadsheet import read_xlsx_table

MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
LINKS = 'xmlns="http://schemas.openxmlformats.org/package/2006/relationships"'
HEADINGS = '<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c><c r="C1" t="s"><v>2</v></c></row>'
HEADING_TEXTS = "<si><t>name</t></si><si><t>copies</t></si><si><t>note</t></si>"


def link(number, kind, target):
    return f'<Relationship Id="r{number}" Type="{OFFICE}/{kind}" Target="{target}"/>'


def package(
    rows="",
    *,
    sheet=None,
    texts=HEADING_TEXTS,
    formats="",
    own="",
    properties="",
    more_sheets=(),
    first_state="visible",
    place="xl/worksheets/sheet1.xml",
    compression=zipfile.ZIP_DEFLATED,
):
    """Write a workbook whose first sheet has the rows given below the headings name, copies, note."""
    sheet = sheet or f"<worksheet {MAIN}><sheetData>{HEADINGS}{rows}</sheetData></worksheet>"
    named = [("List", first_state), *((name, state) for name, state, _ in more_sheets)]
    targets = ["/" + place, *(f"worksheets/more{n}.xml" for n in range(len(more_sheets)))]
    entries = {
        "_rels/.rels": f"<Relationships {LINKS}>{link(1, 'officeDocument', 'xl/workbook.xml')}</Relationships>",
        "xl/workbook.xml": f'<workbook {MAIN} xmlns:r="{OFFICE}">{properties}<sheets>'
        + "".join(f'<sheet name="{n}" sheetId="{i}" state="{s}" r:id="r{i}"/>' for i, (n, s) in enumerate(named))
        + "</sheets></workbook>",
        "xl/_rels/workbook.xml.rels": f"<Relationships {LINKS}>"
        + "".join(link(i, "worksheet", t) for i, t in enumerate(targets))
        + link("s", "sharedStrings", "sharedStrings.xml")
        + link("f", "styles", "styles.xml")
        + "</Relationships>",
        "xl/sharedStrings.xml": f"<sst {MAIN}>{texts}</sst>",
        "xl/styles.xml": f"<styleSheet {MAIN}><numFmts>{own}</numFmts><cellXfs><xf/>{formats}</cellXfs></styleSheet>",
        place: sheet,
    } | {f"xl/worksheets/more{n}.xml": xml for n, (_, _, xml) in enumerate(more_sheets)}
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", compression) as archive:
        for name, xml in entries.items():
            archive.writestr(name, xml)
    return data.getvalue()


def read(data):
    return rows_of(read_xlsx_table(data, "list.xlsx"), "list.xlsx")


def one(cells, **options):
    """Read a list with one row: Ada in the column of names, and these cells."""
    return read(package(f'<row r="2"><c r="A2" t="inlineStr"><is><t>Ada</t></is></c>{cells}</row>', **options))


def codes(roster):
    return [(f.row, f.code, f.severity) for f in roster.findings]


@pytest.mark.parametrize("error", ["#REF!", "#N/A", "#NAME?", "#VALUE!", "#DIV/0!", "#NULL!", "#NUM!"])
def test_an_error_value_is_never_blank(error):
    # 18.18.11: the cell type `e`; the values are those of 18.17.3
    roster = read(package(f'<row r="2"><c r="A2" t="e"><v>{error}</v></c></row>'))
    assert [(r.number, r.name) for r in roster.rows] == [(2, error)]
    assert (2, "cell-error", "error") in codes(roster)
    in_copies = one(f'<c r="B2" t="e"><v>{error}</v></c>')
    assert (2, "cell-error", "error") in codes(in_copies)
    assert any("“Ada”: column copies: " in f.message and error in f.message for f in in_copies.findings)
    assert codes(one(f'<c r="C2" t="e"><v>{error}</v></c>')) == [(2, "cell-error", "warning")]


@pytest.mark.parametrize(
    "cell", ["<f>A1</f>", "<f>A1</f><v></v>", "<f>A1</f><v/>", '<f t="shared" si="0"/>', "<f/>", "<f>A1</f><v> </v>"]
)
def test_a_formula_without_its_value_is_never_blank(cell):
    # 18.3.1.40: the value of a formula is that of the last calculation, and may be missing
    roster = read(package(f'<row r="2"><c r="A2">{cell}</c></row>'))
    assert [r.number for r in roster.rows] == [2]
    assert (2, "no-value", "error") in codes(roster)
    assert (2, "no-value", "error") in codes(one(f'<c r="B2">{cell}</c>'))


def test_a_formula_whose_value_is_an_empty_text_is_blank():
    assert codes(one('<c r="B2" t="str"><f>IF(1,"","")</f><v></v></c>')) == []
    assert one('<c r="B2"><f>1+2</f><v>3</v></c>').rows[0].copies == 3


def test_a_program_that_saves_no_values_is_noticed(tmp_path):
    # openpyxl writes formulas and never their values
    book = openpyxl.Workbook()
    book.active.append(["name", "id", "copies"])
    book.active.append(["Ada", '="A-"&1', "=1+2"])
    book.save(tmp_path / "list.xlsx")
    assert codes(read_roster(tmp_path / "list.xlsx"))[:2] == [(2, "no-value", "error")] * 2


@pytest.mark.parametrize(
    ("cell", "name"),
    [
        ('<c r="A2" t="inlineStr"><is><t>Ada</t></is></c>', "Ada"),
        ('<c r="A2" t="inlineStr"><is><r><t>Ad</t></r><r><rPr><b/></rPr><t>a</t></r></is></c>', "Ada"),
        ('<c r="A2" t="str"><f>B1</f><v>Ada</v></c>', "Ada"),
        ('<c t="inlineStr"><is><t>Ada</t></is></c>', "Ada"),
        ('<c r="a2" t="inlineStr"><is><t>Ada</t></is></c>', "Ada"),
        ('<c r = "A2"\n t = "inlineStr"><is><t>Ada</t></is></c>', "Ada"),
        ('<c r="A2" t="s"><v> 3 </v></c>', "Ada"),
        ('<c r="A2" t="s"><v>4</v></c>', "Zoë"),
        ('<c r="A2" t="s"><v>5</v></c>', "Ay"),
        ('<c r="A2" t="inlineStr"><is><t>A_x0064_a</t></is></c>', "Ada"),
        ('<c r="A2" t="inlineStr"><is><t>Ay</t><rPh sb="0" eb="1"><t>phonetic</t></rPh></is></c>', "Ay"),
    ],
)
def test_texts_in_all_their_forms(cell, name):
    texts = (
        "<si><t>name</t></si><si><t>copies</t></si><si><t>note</t></si><si><t>Ada</t></si>"
        "<si><r><t>Zo</t></r><r><rPr><i/></rPr><t>ë</t></r></si>"
        '<si><t>Ay</t><rPh sb="0" eb="1"><t>phonetic</t></rPh></si>'
    )
    assert [r.name for r in read(package(f'<row r="2">{cell}</row>', texts=texts)).rows] == [name]


@pytest.mark.parametrize(
    ("cell", "code"),
    [
        ('<c r="A2" t="s"><v>99</v></c>', "bad-cell"),
        ('<c r="A2" t="s"><v>-1</v></c>', "bad-cell"),
        ('<c r="A2" t="s"><v>x</v></c>', "bad-cell"),
        ('<c r="A2" t="n"><v>nan</v></c>', "bad-cell"),
        ('<c r="A2" t="n"><v>1e999</v></c>', "bad-cell"),
        ('<c r="A2" t="n"><v>1_0</v></c>', "bad-cell"),
        (f'<c r="A2"><v>{"9" * 400}</v></c>', "bad-cell"),
        ('<c r="A2" t="zz"><v>1</v></c>', "bad-cell"),
        ('<c r="A2" t="b"><v>7</v></c>', "bad-cell"),
        ('<c r="A2" t="d"><v>today</v></c>', "bad-cell"),
        ('<c r="A2" t="b"><v>1</v></c>', "not-a-text"),
        ('<c r="A2" t="d"><v>2024-05-01T00:00:00Z</v></c>', "not-a-text"),
        ('<c r="A2" s="1"><v>45413</v></c>', "not-a-text"),
        ('<c r="A2"><v>12345678901234567</v></c>', "long-number"),
        ('<c r="A2" s="3"><v>7</v></c>', "number-format"),
    ],
)
def test_a_cell_that_may_not_be_what_it_seems_is_told(cell, code):
    formats = '<xf numFmtId="14"/><xf numFmtId="164"/><xf numFmtId="165"/>'
    own = '<numFmt numFmtId="164" formatCode="0000"/><numFmt numFmtId="165" formatCode="&quot;A-&quot;000"/>'
    roster = read(package(f'<row r="2">{cell}</row>', formats=formats, own=own))
    assert len(roster.rows) == 1
    assert (2, code) in [(f.row, f.code) for f in roster.findings]


@pytest.mark.parametrize(
    ("value", "code", "since_1904", "text"),
    [
        # 18.17.4.1 and 18.17.4.2: day 1 is 1 January 1900, or day 0 is 1 January 1904
        ("1", "yyyy-mm-dd", False, "1900-01-01"),
        ("59", "yyyy-mm-dd", False, "1900-02-28"),
        ("61", "yyyy-mm-dd", False, "1900-03-01"),
        ("2958465", "yyyy-mm-dd", False, "9999-12-31"),
        ("1462", "yyyy-mm-dd", True, "1908-01-02"),
        ("45413.354166666664", "d/m/yy h:mm", False, "2024-05-01 08:30:00"),
        ("0.5", "hh:mm", False, "12:00:00"),
        ("1.5", "[h]:mm", False, "36:00:00"),
        ("7", "000", False, "007"),
        ("0.5", "0%", False, "50%"),
        ("2.5", "0.00", False, "2.5"),
        ("0.30000000000000004", "General", False, "0.3"),
        ("1E3", "General", False, "1000"),
        ("123456789012345", "General", False, "123456789012345"),
    ],
)
def test_numbers_are_read_as_they_are_shown(value, code, since_1904, text):
    assert cell_text(Raw(format=code, value=value), since_1904=since_1904)[0] == text


def test_built_in_formats_are_times_where_another_library_has_times():
    for number, code in BUILTIN_FORMATS.items():
        known = BUILT_IN.get(number, "General")
        assert (format_kind(known) in ("moment", "elapsed")) == is_date_format(code), number
        assert ("y" in known) == any(day in code for day in ("d-", "-d", "/d", "yy")), number


@pytest.mark.parametrize(("value", "code"), [("60", "yyyy"), ("-1", "yyyy"), ("1e15", "yyyy"), ("1e300", "[h]")])
def test_days_that_never_were_are_told(value, code):
    _, doubt = cell_text(Raw(format=code, value=value))
    assert doubt.code == "bad-cell"


@given(
    st.text(max_size=30), st.text(max_size=20), st.sampled_from(["n", "s", "str", "b", "e", "d", "x"]), st.booleans()
)
def test_no_cell_is_silently_blank(value, code, kind, since_1904):
    text, doubt = cell_text(Raw(kind, code, value), since_1904=since_1904)
    assert text or doubt or not value.strip()
    assert format_kind(code)


def test_hidden_rows_columns_and_sheets_are_said():
    sheet = (
        f'<worksheet {MAIN}><cols><col min="2" max="2" hidden="1"/><col min="9" max="9" width="0"/></cols><sheetData>'
        f"{HEADINGS}"
        + "".join(
            f'<row r="{n}"{hidden}><c r="A{n}" t="inlineStr"><is><t>N{n}</t></is></c></row>'
            for n, hidden in ((2, ' hidden="1"'), (3, ' hidden="true"'), (4, ""), (5, ' ht="0"'))
        )
        + '<row r="6" hidden="1"/></sheetData></worksheet>'
    )
    filled = f"<worksheet {MAIN}><sheetData><row><c><v>1</v></c></row></sheetData></worksheet>"
    blank = f'<worksheet {MAIN}><sheetData><row><c s="1"/></row></sheetData></worksheet>'
    roster = read(
        package(
            sheet=sheet, more_sheets=[("Old", "hidden", filled), ("Two", "visible", filled), ("x", "visible", blank)]
        )
    )
    assert [r.name for r in roster.rows] == ["N2", "N3", "N4", "N5"]
    assert [f.code for f in roster.findings] == ["hidden-rows", "hidden-columns", "other-sheets"]
    rows, columns, sheets = (f.message for f in roster.findings)
    assert "3 hidden rows" in rows and "(rows 2-3, 5)" in rows
    assert columns.endswith(": copies")
    assert "'List', was read; not read: 'Old' (hidden), 'Two'" in sheets


def test_a_list_on_a_hidden_sheet_only_is_refused():
    with pytest.raises(RosterError, match="no sheet of this spreadsheet is visible"):
        read(package(first_state="hidden"))


def test_what_is_merged_down_into_a_row_refuses_it():
    sheet = (
        f"<worksheet {MAIN}><sheetData>{HEADINGS}"
        + "".join(
            f'<row r="{n}"><c r="A{n}" t="inlineStr"><is><t>N{n}</t></is></c>{copies}</row>'
            for n, copies in ((2, '<c r="B2"><v>3</v></c>'), (3, ""), (4, ""))
        )
        + '</sheetData><mergeCells><mergeCell ref="B2:B3"/><mergeCell ref="C2:C4"/></mergeCells></worksheet>'
    )
    assert codes(read(package(sheet=sheet))) == [(3, "merged-cells", "error")]


@pytest.mark.parametrize("place", ["xl/worksheets/sheet1.xml", "elsewhere/a.bin", "XL/Worksheets/S.XML"])
@pytest.mark.parametrize(
    "cell", ['<c r="XFD1048576"><v>1</v></c>', "<c r = 'xfd1048576' ><v>1</v></c>", '<c r="A1048576"><v>1</v></c>']
)
def test_a_cell_far_out_is_refused_wherever_and_however_it_is_written(place, cell):
    with pytest.raises(RosterError, match=r"1048576 is filled, beyond 20000 rows or 200 columns"):
        read(package(f'<row r="1048576">{cell}</row>', place=place))


def test_blank_cells_far_out_do_no_harm():
    assert one('</row><row r="1048576"><c r="XFD1048576" s="1"/>').rows[0].name == "Ada"


@pytest.mark.parametrize(
    "cells",
    [
        '<c r="B2"><v>1</v></c><c r="B2"><v>2</v></c>',
        '<c r="A1048577"><v>1</v></c>' * 2,
        '<c r=""><v>1</v></c>',
        '<c r="12"><v>1</v></c>',
        '<c r="B2"><v>1</v>',
        '</row><row r="-1">',
        f'</row><row r="{"9" * 400}">',
        '</row></sheetData><mergeCells><mergeCell ref="x"/></mergeCells><sheetData><row>',
        "</row></sheetData><mergeCells>" + '<mergeCell ref="A1:C1048576"/>' * 500 + "</mergeCells><sheetData><row>",
    ],
)
def test_what_contradicts_itself_is_refused(cells):
    with pytest.raises(RosterError, match=r"list\.xlsx: "):
        one(cells)


def test_entities_are_refused_before_they_grow():
    laughs = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
    bomb = f'<!DOCTYPE x [<!ENTITY l0 "ha">{laughs}]><worksheet {MAIN}><sheetData>&l9;</sheetData></worksheet>'
    with pytest.raises(RosterError, match="a document type"):
        read(package(sheet=bomb))


class Counting(zipfile.ZipExtFile):
    """Counts what is unpacked."""

    unpacked = 0

    def read(self, n=-1):
        piece = super().read(n)
        Counting.unpacked += len(piece)
        return piece


def test_an_archive_that_unpacks_without_end_is_left_at_the_limit(monkeypatch):
    # it says itself to be small: only what comes out counts
    data = bytearray(package("<!-- -->" + " " * 3_000_000))
    monkeypatch.setattr(xml_parts, "MOST_UNPACKED", 500_000)
    monkeypatch.setattr(zipfile, "ZipExtFile", Counting)
    Counting.unpacked = 0
    with pytest.raises(RosterError, match="unpacks to more than"):
        read(bytes(data))
    assert Counting.unpacked < 500_000 + 2 * 65_536


@pytest.mark.parametrize(
    ("rows", "part"),
    [
        ("<x>" * 200, "too deep"),
        ('<row r="2" spans="' + "1" * 3_000_000 + '"/>', "a tag in .* is longer"),
        ("<!--" + "-x" * 2_000_000 + "-->", "a tag in .* is longer"),
    ],
)
def test_a_tag_or_a_depth_without_end_is_refused(rows, part):
    with pytest.raises(RosterError, match=part):
        read(package(rows))


def test_cells_and_elements_are_counted(monkeypatch):
    monkeypatch.setattr(xml_parts, "MOST_ELEMENTS", 1000)
    with pytest.raises(RosterError, match="more than 1000 cells and marks"):
        read(package('<row r="2">' + "<c/>" * 1000 + "</row>"))
    monkeypatch.setattr("nameplate.roster.spreadsheet.MOST_CELLS", 5)
    monkeypatch.setattr(xml_parts, "MOST_ELEMENTS", 10_000)
    with pytest.raises(RosterError, match="more than 5 filled cells"):
        one('<c r="C2"><v>1</v></c><c r="D2"><v>1</v></c><c r="E2"><v>1</v></c>')


def sheet_of(cells, above=""):
    """A sheet with the heading name in A1 and cells with a 1 where they are told, below what stands `above` them."""
    filled = "".join(f'<row><c r="{place}"><v>1</v></c></row>' for place in cells)
    heading = '<row r="1"><c r="A1" t="s"><v>0</v></c></row>'
    return f"<worksheet {MAIN}>{above}<sheetData>{heading}{filled}</sheetData></worksheet>"


HIDDEN = '<col min="1" max="1" hidden="1"/>'


@pytest.mark.parametrize(
    ("limit", "most", "within", "beyond", "said"),
    [
        ("MOST_ROWS", 4, sheet_of(["A4"]), sheet_of(["A5"]), "A5 is filled, beyond 4 rows"),
        ("MOST_COLUMNS", 4, sheet_of(["A2", "D2"]), sheet_of(["A2", "E2"]), "E2 is filled, beyond .* or 4 columns"),
        ("MOST_CELLS", 3, sheet_of(["A2", "B2"]), sheet_of(["A2", "B2", "C2"]), "more than 3 filled cells"),
        # each hides as many places as there may be columns; twice the largest sheet may be hidden or merged
        ("MOST_ROWS", 3, *(sheet_of(["A2"], f"<cols>{HIDDEN * n}</cols>") for n in (6, 7)), "lie over one another"),
    ],
)
def test_a_sheet_may_be_as_large_as_the_limit_and_no_larger(monkeypatch, limit, most, within, beyond, said):
    monkeypatch.setattr(f"nameplate.roster.spreadsheet.{limit}", most)
    assert read(package(sheet=within)).rows
    with pytest.raises(RosterError, match=said):
        read(package(sheet=beyond))


def test_an_archive_may_have_as_many_parts_and_elements_as_the_limit_and_no_more(monkeypatch):
    data = package('<row r="2"><c r="A2"><v>1</v></c></row>')
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = archive.namelist()
        elements = sum(len(list(ElementTree.fromstring(archive.read(part)).iter())) for part in parts)
    for limit, count, said in (("MOST_PARTS", len(parts), "6 parts"), ("MOST_ELEMENTS", elements, "cells and marks")):
        with monkeypatch.context() as patch:
            patch.setattr(xml_parts, limit, count)
            assert read(data).rows
            patch.setattr(xml_parts, limit, count - 1)
            with pytest.raises(RosterError, match=said):
                read(data)


def test_a_text_without_end_is_a_cell_that_is_too_long():
    with pytest.raises(RosterError, match="more than 5000"):
        read(package(f'<row r="2"><c r="A2" t="inlineStr"><is><t>{"x" * 3_000_000}</t></is></c></row>'))


def test_of_a_text_of_many_runs_no_more_is_put_together_than_shows_that_it_is_too_long():
    runs = f"<r><t>{'x' * 3_000}</t></r>" * 400
    with pytest.raises(RosterError, match="a cell of 5001 characters"):
        read(package(f'<row r="2"><c r="A2" t="inlineStr"><is>{runs}</is></c></row>'))
    with pytest.raises(RosterError, match="a cell of 5001 characters"):
        read(package('<row r="2"><c r="A2" t="s"><v>3</v></c></row>', texts=f"{HEADING_TEXTS}<si>{runs}</si>"))


@pytest.mark.parametrize("compression", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_packing_that_no_spreadsheet_has_is_refused(compression):
    with pytest.raises(RosterError, match="packed in a way"):
        read(package(compression=compression))


def test_a_part_that_is_there_twice_is_refused():
    data = io.BytesIO(package())
    with zipfile.ZipFile(data, "a") as archive:
        archive.writestr("XL/worksheets/SHEET1.xml", "<worksheet/>")
    with pytest.raises(RosterError, match="is there twice"):
        read(data.getvalue())


@given(st.data())
def test_no_damage_ends_in_anything_but_a_roster_or_a_refusal(data):
    whole = bytearray(package('<row r="2"><c r="A2" t="s"><v>0</v></c></row>', compression=zipfile.ZIP_STORED))
    for _ in range(data.draw(st.integers(1, 4))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))
    try:
        assert read(bytes(whole)).rows
    except RosterError as error:
        assert "list.xlsx" in str(error)


def test_the_steps_of_reading_grow_with_the_file_alone():
    # counted in calls of our own handlers: twice the cells, twice the calls
    import sys

    def calls(rows):
        count = 0

        def count_calls(_frame, event, _argument):
            nonlocal count
            count += event == "call"

        data = package("".join(f'<row><c t="inlineStr"><is><t>N{n}</t></is></c><c/></row>' for n in range(rows)))
        sys.setprofile(count_calls)
        try:
            read(data)
        finally:
            sys.setprofile(None)
        return count

    calls(200)  # what is loaded or compiled once
    once, twice = calls(400), calls(800)
    assert twice < 2.1 * once


# what other programs leave in text files


@pytest.mark.parametrize("text", ["#REF!", "#N/A", "#NAME?", "#BEZUG!", "#NV", "#¡REF!", "########", "Err:502"])
def test_an_error_value_in_a_text_file_is_no_name(text):
    roster = rows_of(read_text_table(f"name,copies\n{text},1\nAda,{text}\n".encode(), "list.csv"), "list.csv")
    assert [f.row for f in roster.findings if f.code == "cell-error" and f.severity == "error"] == [2, 3]


def test_of_the_cells_that_mean_nothing_two_a_row_are_told_and_the_others_counted():
    table = read_text_table(b"name,a,b,c,d\nAda,#REF!,#N/A,#REF!,#N/A\nBo,,#REF!,,\n", "list.csv")
    found = [f for f in rows_of(table, "list.csv").findings if f.code in ("cell-error", "more-cells")]
    assert [f.code for f in found if f.row == 2] == ["cell-error", "cell-error", "more-cells"]
    assert [f.code for f in found if f.row == 3] == ["cell-error"]
    assert any("2 more cells" in f.message for f in found)


def test_a_number_that_lost_its_digits_is_questioned():
    roster = rows_of(read_text_table(b"name,id\nAda,1.23457E+11\n", "list.csv"), "list.csv")
    assert (2, "long-number", "warning") in codes(roster)


def test_a_pile_of_accents_is_cut_before_it_costs_time():
    # sorting the marks of a letter takes the square of their number, so that a list of such cells took minutes
    pile = ("\u0301\u0323" * 2000)[:4000]
    table = read_text_table(f"name,note\nAda{pile},x\nBo,{pile}\n".encode(), "list.csv")
    roster = rows_of(table, "list.csv")
    assert [(f.row, f.severity) for f in roster.findings if "accents on one letter" in f.message] == [
        (2, "error"),
        (3, "warning"),
    ]
    assert len(roster.rows[1].extra[0][1]) <= MOST_MARKS_IN_A_ROW


def test_another_reader_finds_the_same_texts(tmp_path):
    # python-calamine, a reader of its own
    import python_calamine

    book = openpyxl.Workbook()
    rows = [
        ["name", "id", "note"],
        ["Łukasz Brzoza", "007", "x" * 300],
        ["Борис", "a b", "two\nlines"],
        ["Zoë & <Bo>", "9", ""],
    ]
    for row in rows:
        book.active.append(row)
    book.save(tmp_path / "list.xlsx")
    theirs = python_calamine.load_workbook(str(tmp_path / "list.xlsx")).get_sheet_by_index(0).to_python()
    ours = read_xlsx_table((tmp_path / "list.xlsx").read_bytes(), "list.xlsx").rows
    assert [[c for c in row if c] for row in ours] == [[c for c in row if c] for row in theirs]


def test_a_list_may_unpack_to_just_the_limit(monkeypatch):
    data = package("")
    whole = sum(info.file_size for info in zipfile.ZipFile(io.BytesIO(data)).infolist())

    def unpacked(most):
        monkeypatch.setattr(xml_parts, "MOST_UNPACKED", most)
        parts = xml_parts.Package(data, "list.xlsx")
        for info in zipfile.ZipFile(io.BytesIO(data)).infolist():
            parts.read(info.filename, lambda path, attributes: None)

    unpacked(whole)
    with pytest.raises(RosterError, match="unpacks to more"):
        unpacked(whole - 1)
