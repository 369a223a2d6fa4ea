"""Reading rosters as people have them, and every problem of every row at once."""

from __future__ import annotations

import csv
import datetime
import io
import unicodedata
import zipfile

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nameplate.errors import RosterError
from nameplate.plates.orders import make_orders
from nameplate.roster import delimited_text
from nameplate.roster.characters import Cleaned, clean, emoji_in, stray_marks
from nameplate.roster.delimited_text import read_text_table
from nameplate.roster.reader import read_roster, rows_of
from nameplate.ticket.schema import Ticket

#: Names of our own invention in ten languages that a left-to-right script can set.
NAMES = {
    "English": ["Wren Abara", "Jean-Luc O’Tarn", "Wm. Hollowell III", "Ada Q. Fenwick", "Bo"],
    "French": ["Chloë d’Aubrac", "Éloïse Vaucresson", "François Noël Tilleul", "Ÿves Lœuvre", "Anaïs Ça"],
    "German": ["Jürgen Großapfel", "Käthe Österling", "Familie Grünwald", "Dr. Uwe Süß", "Æmil Birnbaum"],
    "Polish": ["Łukasz Brzoza", "Żaneta Śliwka", "Ćwirko Ńemien", "Bogumiła Gruszczyńska", "Ąda Źdźbło"],
    "Icelandic": ["Þórdís Eplatré", "Ægir Öspinson", "Guðný Ýrsdóttir", "Álfheiður Ár", "Úlfur Íson"],
    "Vietnamese": ["Nguyễn Thị Hạnh", "Lê Mận", "Đỗ Quỳnh Ổi", "Trần Bưởi", "Phạm Ưng"],
    "Turkish": ["İlkay Şeftali", "Gülçin Ağaç", "Ömer Iğdır", "Çağla Ünlü", "Işıl Elma"],
    "Czech": ["Jiří Třešňovský", "Žofie Švestka", "Ďáblík Ňuf", "Růžena Hrušková", "Čeněk Ťupa"],
    "Russian": ["Борис Яблонский", "Ёлка Щавелева", "Юлия Вишнёва", "Фёдор Грушин", "Ъяна Цветова"],
    "Greek": ["Αθηνά Μηλιά", "Σταύρος Αχλαδιάς", "Ευφροσύνη Ώριμη", "Ίων Κερασάς", "Ηλέκτρα Ροδιά"],
}


def _twelve(names):
    """Twelve people of one language: every first name with other last names."""
    split = [n.rpartition(" ") for n in names if " " in n]
    people = [
        f"{first} {last}"
        for step in range(3)
        for (first, _, _), (_, _, last) in zip(split, split[step:] + split[:step], strict=True)
    ]
    return list(dict.fromkeys([*names, *people]))[:12]


PEOPLE = {language: _twelve(names) for language, names in NAMES.items()}
EVERYBODY = [name for names in PEOPLE.values() for name in names]

ENCODINGS = {
    "utf-8": b"",
    "utf-8-sig": b"",
    "utf-16": b"",
    "utf-16-le": "\ufeff".encode("utf-16-le"),
    "utf-16-be": "\ufeff".encode("utf-16-be"),
    "cp1252": b"",
}


def read(data, file="list.csv"):
    return rows_of(read_text_table(data, file), file)


def codes(roster):
    return [(f.row, f.code) for f in roster.findings]


def written(rows, *, delimiter=",", ending="\r\n", encoding="utf-8"):
    """Write rows the way Python's own csv module does: another program than the reader under test."""
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter, lineterminator=ending).writerows(rows)
    return ENCODINGS[encoding] + text.getvalue().encode(encoding)


def in_cp1252(text):
    try:
        text.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ENCODINGS)
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_ten_languages_in_every_encoding_and_delimiter(encoding, delimiter, ending):
    names = [n for n in EVERYBODY if encoding != "cp1252" or in_cp1252(n)]
    rows = [["Tree", " NAME ", "Position"], *([f"no. {i}, row; |", n, f"A{i}"] for i, n in enumerate(names))]
    roster = read(written(rows, delimiter=delimiter, ending=ending, encoding=encoding))
    assert [r.name for r in roster.rows] == names
    assert [r.number for r in roster.rows] == list(range(2, len(names) + 2))
    assert roster.rows[3].extra == (("Tree", "no. 3, row; |"),)
    assert {f.code for f in roster.findings} <= {"guessed-encoding"}
    assert bool(roster.findings) == (encoding == "cp1252")


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf_16_without_a_mark_is_seen_where_it_is_evident(encoding):
    roster = read("name\tid\nБорис\t7\nAda\t8\n".encode(encoding))
    assert [(r.name, r.id) for r in roster.rows] == [("Борис", "7"), ("Ada", "8")]
    assert roster.findings == ()


NAME = st.text(
    st.characters(min_codepoint=0x21, max_codepoint=0x17F, categories=("Lu", "Ll", "Nd", "Po", "Pd")),
    min_size=1,
    max_size=30,
).map(lambda s: unicodedata.normalize("NFC", s))


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(
    names=st.lists(NAME, min_size=1, max_size=8),
    note=st.text(
        st.characters(categories=("Lu", "Ll", "Po", "Zs", "Sm"), max_codepoint=0x17F) | st.just("\n"), max_size=20
    ),
    delimiter=st.sampled_from(",;\t|"),
    encoding=st.sampled_from(sorted(ENCODINGS)),
    order=st.permutations(["name", "id", "Notes", "copies"]),
)
def test_any_name_survives_the_round_trip(names, note, delimiter, encoding, order):
    cells = [{"name": n, "id": f"p{i}", "Notes": note, "copies": "2"} for i, n in enumerate(names)]
    rows = [order, *([c[key] for key in order] for c in cells)]
    if encoding == "cp1252" and not all(in_cp1252(c) for row in rows for c in row):
        return
    if encoding == "utf-8" and any("".join(row).startswith("\ufeff") for row in rows):
        return
    data = written(rows, delimiter=delimiter, encoding=encoding)
    if encoding == "cp1252" and not data.isascii():
        try:
            data.decode("utf-8")
        except UnicodeDecodeError:
            pass
        else:
            return  # the bytes are valid UTF-8 too: nobody could tell
    roster = read(data)
    assert [r.name for r in roster.rows] == names
    assert [r.id for r in roster.rows] == [f"p{i}" for i in range(len(names))]
    assert all(r.copies == 2 for r in roster.rows)
    expected = unicodedata.normalize("NFC", note).strip()
    assert all(r.extra == (("Notes", expected),) for r in roster.rows)


def test_every_column_and_blank_rows():
    text = (
        "Line_2;NAME; Copies ;Font;Wall;id;Mount;SIZE;position\r\n"
        "since 1999;Ada;3;Lobster;north;a-1;applied;1in;B 7\r\n"
        ";;;;;;;;\r\n"
        "\r\n"
        " ;Bo;;;;;;;\r\n"
    )
    roster = read(text.encode())
    ada, bo = roster.rows
    assert (ada.number, ada.name, ada.line2, ada.copies, ada.font) == (2, "Ada", "since 1999", 3, "Lobster")
    assert (ada.id, ada.mount, ada.size, ada.position, ada.extra) == (
        "a-1",
        "applied",
        25.4,
        "B 7",
        (("Wall", "north"),),
    )
    assert (bo.number, bo.name, bo.copies, bo.size) == (5, "Bo", 1, None)
    assert [f.code for f in roster.findings] == ["trimmed-spaces"]


def test_of_120_names_exactly_those_that_the_font_lacks_are_refused():
    # Greek is absent from Pacifico; it has Latin, Vietnamese and Cyrillic letters
    assert len(EVERYBODY) == 120
    roster = read(written([["name"], *([n] for n in EVERYBODY)]))
    orders = make_orders(roster, Ticket())
    assert [o.name for o in orders.refused] == PEOPLE["Greek"]
    assert [f.row for f in orders.findings] == [o.row for o in orders.refused]
    assert roster.findings == ()


def test_letters_are_composed_and_never_replaced_by_compatible_ones():
    # UAX #15: NFC composes; NFKC would also turn the ligature, the circled digit and the long s into other letters
    roster = read("name\nZoe\u0308\nﬁnn ① ſ\nJean‑Luc O’Neil – Tarn\n".encode())
    assert [r.name for r in roster.rows] == ["Zoë", "ﬁnn ① ſ", "Jean‑Luc O’Neil – Tarn"]


def test_a_row_of_invisible_characters_is_blank_but_not_silently():
    roster = read_text_table("name,id\nAda,1\n\u200b,\u2060\n , \n".encode(), "names.csv")
    found = rows_of(roster, "names.csv")
    assert [row.name for row in found.rows] == ["Ada"]
    assert [(f.code, f.severity, f.row) for f in found.findings] == [("invisible-row", "warning", 3)]
    assert "zero width space (U+200B); word joiner (U+2060)" in found.findings[0].message


@pytest.mark.parametrize(
    ("hidden", "result", "told"),
    [
        ("A\u200bda", "Ada", "zero width space (U+200B)"),
        ("A\u00adda", "Ada", "soft hyphen (U+00AD)"),
        ("\ufeffAda", "Ada", "zero width no-break space (U+FEFF)"),
        ("\u202eAda", "Ada", "right-to-left override (U+202E)"),
        ("Ada\u00a0Bo", "Ada Bo", "no-break space (U+00A0)"),
        ("Ada\u2003Bo", "Ada Bo", "em space (U+2003)"),
        ("A\0da", "Ada", "null (U+0000)"),
        ("A\x07da", "Ada", "a character without a name (U+0007)"),
        ("A\u200dda", "Ada", "zero width joiner (U+200D)"),
        ("A\u2060da", "Ada", "word joiner (U+2060)"),
        ("e\u200b\u0301", "é", "zero width space (U+200B)"),
    ],
)
def test_invisible_characters_are_taken_out_and_told(hidden, result, told):
    roster = read(f"id,name\n1,{hidden}\n".encode())
    assert roster.rows[0].name == result
    (finding,) = roster.findings
    assert (finding.code, finding.severity, finding.row) == ("invisible-character", "warning", 2)
    assert told in finding.message


@pytest.mark.parametrize("cell", [b'"Ada\nBa"', b'"Ada\r\n\r\nBa"', b"Ada | Ba", b" Ada  |  Ba | "])
def test_a_cell_may_break_its_name_into_lines(cell):
    roster = read(b"id,name\n1," + cell + b"\n2,Bo|Li\n")
    assert [(r.name, r.lines) for r in roster.rows] == [("Ada Ba", ("Ada", "Ba")), ("Bo|Li", ())]
    assert {f.code for f in roster.findings if f.row == 2} <= {"trimmed-spaces"}


def test_spaces_are_trimmed_with_a_note_and_line_breaks_elsewhere_with_a_warning():
    roster = read(b'name,line2\n"  Ada   Bo ",\nAda Ba,"Oak\nLane"\n')
    assert [r.name for r in roster.rows] == ["Ada Bo", "Ada Ba"]
    assert [(f.code, f.severity) for f in roster.findings] == [("trimmed-spaces", "note"), ("line-break", "warning")]


def test_spaces_of_several_rows_are_told_in_one_note():
    roster = read(b"name,line2\nAda  Bo,\nIda,\nBo, Oak\nUna , Elm\n")
    assert [(f.code, f.row) for f in roster.findings] == [("trimmed-spaces", None)]
    assert "(rows 2, 4-5)" in roster.findings[0].message


def test_every_problem_of_the_list_is_told_in_one_go():
    roster = read(
        """name,id,copies,size
,x1,,
Ada,x2,0,
ADA,x3,1.5,
Bo,x2,-1,
Cy,a/b:c,two,
Dee,CON,,
Eve,.e,,
Fay,X3,1000,
שרה,x6,,
Zoë 🌳,x7,,
Ed,x8,,tall
Al\ufffd,x9,,
Ida,x10,1,24,5
""".encode()
        + f"{'M' * 61},x11,,\n".encode()
    )
    errors = [(f.row, f.code) for f in roster.findings if f.severity == "error"]
    assert errors == [
        (2, "empty-name"),
        (3, "bad-copies"),
        (4, "bad-copies"),
        (5, "bad-copies"),
        (5, "duplicate-id"),
        (6, "bad-copies"),
        (6, "bad-id"),
        (7, "bad-id"),
        (8, "bad-id"),
        (9, "bad-copies"),
        (9, "duplicate-id"),
        (10, "unsupported-script"),
        (11, "emoji"),
        (12, "bad-size"),
        (13, "lost-character"),
        (14, "too-many-cells"),
        (15, "name-too-long"),
    ]
    assert [(f.row, f.code) for f in roster.findings if f.severity == "warning"] == [(4, "duplicate-name")]
    assert len(roster.rows) == 14
    shown = {r.number: r.name for r in roster.rows}
    assert all(shown[f.row][:40] in f.message for f in roster.findings)


def test_duplicate_names_are_compared_without_case_in_one_form():
    roster = read("name\nÉva\nE\u0301VA\nStraße\nSTRASSE\n".encode())
    assert codes(roster) == [(3, "duplicate-name"), (5, "duplicate-name")]
    assert "also in row 2" in roster.findings[0].message


def of_designs(text, *lettered):
    return [
        (f.row, f.code)
        for f in rows_of(read_text_table(text.encode(), "l.csv"), "l.csv", designs=True, lettered=lettered).findings
    ]


def test_a_name_is_there_twice_only_where_design_and_all_that_is_written_are_the_same():
    plates = "name,design,line2\nZoë Lindqvist,,\nZoë Lindqvist,tag,\nZoë | Lindqvist,Tag,\nZoë Lindqvist,tag,Quince\n"
    assert of_designs(plates) == [(4, "duplicate-name")]
    trees = "name,Tree,Paid\nZoë Lindqvist,Quince,yes\nZoë Lindqvist,Medlar,yes\nZoë Lindqvist,quince,no\n"
    assert of_designs(trees, "tree") == [(4, "duplicate-name")]
    assert of_designs(trees) == [(3, "duplicate-name"), (4, "duplicate-name")]  # nothing of it is written on a plate
    places = "name,position\nZoë Lindqvist,A1\nZoë Lindqvist,A2\n"
    assert of_designs(places) == [(3, "duplicate-name")]
    assert of_designs(places, "position") == []


@pytest.mark.parametrize(
    ("name", "script"),
    [
        ("שרה לוי", "Hebrew"),
        ("ليلى", "Arabic"),
        ("ܫܡܥܘܢ", "Syriac"),
        ("ޢާއިޝާ", "Thaana"),
        ("ߒߞߏ", "Nko"),
        ("अनिता", "Devanagari"),
        ("অনিতা", "Bengali"),
        ("அனிதா", "Tamil"),
        ("อนิตา", "Thai"),
        ("ᠮᠣᠩᠭᠣᠯ", "Mongolian"),
        ("Ada לוי", "Hebrew"),
    ],
)
def test_scripts_that_cannot_be_set_are_refused_by_name(name, script):
    (finding,) = [f for f in read(f"name\n{name}\n".encode()).findings if f.severity == "error"]
    assert finding.code == "unsupported-script"
    assert script in finding.message.replace("N'Ko", "Nko").replace("N’Ko", "Nko")
    assert ("right to left" in finding.message) == (script in ("Hebrew", "Arabic", "Syriac", "Thaana", "Nko"))


@pytest.mark.parametrize("name", EVERYBODY)
def test_no_name_of_ten_languages_is_refused_or_questioned(name):
    assert codes(read(f"name\n{name}\n".encode())) == []


@pytest.mark.parametrize("sign", ["🌳", "❤️", "1️⃣", "👩‍🌾", "🇮🇸", "👍🏽", "⭐"])
def test_pictures_are_refused_by_name(sign):
    (finding,) = [f for f in read(f"name\nAda {sign}\n".encode()).findings if f.severity == "error"]
    assert finding.code == "emoji"
    assert unicodedata.name(sign[0]).capitalize() in finding.message


def test_signs_are_questioned_and_joined_people_are_not():
    assert codes(read("name\nAda + Bo & Cy\nO´Tarn\nAda €\n".encode())) == [(3, "odd-character"), (4, "odd-character")]


def test_a_wrongly_decoded_list_is_noticed():
    once_wrong = "Zoë Grünwald".encode().decode("cp1252")
    polish = "Łukasz Żak".encode("cp1250")
    assert "Zoë Grünwald" in read(f"name\n{once_wrong}\n".encode()).findings[0].message
    assert "odd-character" in [f.code for f in read(b"name\n" + polish).findings]


@pytest.mark.parametrize("name", ["Mich?le Durand", "?loïse", "Ren? Petit", "Andr?"])
def test_a_letter_that_became_a_question_mark_is_noticed(name):
    (finding,) = read(f"name\n{name}\n".encode()).findings
    assert (finding.code, finding.severity) == ("garbled", "warning")
    assert "a letter may have been lost" in finding.message


def test_a_question_mark_behind_a_word_of_a_second_line_asks_something():
    second = read(b"name,line2\nAda,Who planted it? Tilo did\nBo,In m?moire\n")
    assert codes(second) == [(3, "garbled")]
    assert codes(read(b"name,line2\nAda,1931 - ?\nBo,1931?\n")) == []


def test_a_bar_that_breaks_no_line_is_told_with_what_does():
    # in a name a bar between spaces ends a line, and nowhere else
    told = read(b"name,line2\nAda | Bo,\nA|B,\nTilo,Rose | Ash\n").findings
    assert [(f.row, f.code) for f in told] == [(3, "line-break"), (4, "line-break")]
    assert "only between spaces; write them, like Wren | Abara" in told[0].message
    assert "line2 “Rose | Ash”: only a name is broken at |" in told[1].message
    assert all("encoding" not in f.message for f in told)
    both = read("name,line2\nA|B €,\n".encode()).findings
    assert ["between spaces" in f.message for f in both] == [True, False] and "unusual in a name: €" in both[1].message


def test_letters_of_two_scripts_in_one_word_are_questioned():
    assert codes(read("name\nАnna\nАнна Smith\n".encode())) == [(2, "mixed-scripts")]


def test_no_letter_of_unicode_has_more_marks_than_may_stand_on_one():
    # of the Unicode Character Database: the Greek omega with breathing, circumflex and iota below has three
    letters = [c for c in map(chr, range(0x3000)) if unicodedata.category(c).startswith("L")]
    assert not any(map(stray_marks, letters))
    assert max(sum(map(bool, map(unicodedata.combining, unicodedata.normalize("NFD", c)))) for c in letters) == 3


@pytest.mark.parametrize("name", ["\u0301Ada", "A" + "\u0323" * 4])
def test_marks_without_a_letter_and_piles_of_marks_are_refused(name):
    assert (2, "stray-mark") in codes(read(f"name\n{name}\n".encode()))


@pytest.mark.parametrize(
    "text", ["=cmd|' /C calc'!A0", "+1+1", "@SUM(A1)", "-2+3", "<script>", "'); DROP TABLE x", "%s{0}"]
)
def test_what_another_program_would_run_stays_text(text):
    roster = read(written([["name", "note"], ["Ada", text]]))
    assert roster.rows[0].extra == (("note", text),)


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (b"", "the list is empty"),
        (b"\n\n  \n", "the list is empty"),
        (b"name,id\n", "no names"),
        (b"name\n\n", "no names"),
        (b"Ada\nBo\n", "add a first line that says: name"),
        (b"Sponsor,Tree\nAda,oak\n", "if 'Sponsor' is the column of names, rename it"),
        (b"Nmae,Tree\nAda,oak\n", "if 'Nmae' is the column"),
        (b"name,Name\nAda,Bo\n", "from 'name' or from 'Name'"),
        (b'name,id\n"Ada,1\nBo,2\n', "row 2: a quotation mark"),
        (b'name,id\n"Ada"x,1\n', "row 2: there is text behind"),
        (b"name\n" + b"x" * 200_000, "row 2: a cell is longer than 5000 characters"),
        (b"name,note\nAda," + b"x" * 6000, "row 2, column 2: a cell of 6000 characters"),
        (b"name\n" + b"x" * 6_000, "6000 characters"),
        (b"name\n" + b"A\n" * 20_001, "more than 20000 rows"),
        (b"name" + b"," * 300, "more than 200 columns"),
        (b"name\nAda\x81\n", "0x81"),
        ("name\nAda\n".encode("utf-16")[:-1], "UTF-16"),
        (b"\xef\xbb\xbfname\n\xff", "UTF-8"),
        (b"PK\x05\x06" + b"\0" * 200, "no heading"),
        (b"\0" * 1000, "the list is empty"),
    ],
)
def test_what_is_no_list_of_names_is_refused_clearly(data, part):
    with pytest.raises(RosterError) as caught:
        read(data)
    assert part in str(caught.value)
    assert "list.csv" in str(caught.value)


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=300) | st.binary(max_size=200).map(lambda b: b"name,id\n" + b))
def test_no_bytes_end_in_anything_but_a_roster_or_a_clear_refusal(data):
    try:
        roster = read(data)
    except RosterError as error:
        assert "list.csv" in str(error)
    else:
        assert roster.rows
        assert all(f.message for f in roster.findings)


@pytest.mark.parametrize(
    ("limit", "most", "within", "beyond", "said"),
    [
        ("delimited_text.MOST_ROWS", 3, "name\nAda\nBo", "\nCy", "more than 3 rows"),
        ("delimited_text.MOST_COLUMNS", 3, "name,note,tree", ",bed", "row 1: more than 3 columns"),
        ("delimited_text.MOST_CELLS", 4, "name,note\nAda,oak", "\nBo", "more than 4 cells"),
        ("delimited_text.LONGEST_CELL", 5, "name\nAdele", "s", "a cell of 6 characters, more than 5"),
        ("reader.MOST_PIECES", 9, "name,copies\nAda,8\nBo,1", "\nCy,1", "add up to 10 pieces, more than 9"),
    ],
)
def test_a_list_may_be_as_large_as_the_limit_and_no_larger(monkeypatch, limit, most, within, beyond, said):
    monkeypatch.setattr(f"nameplate.roster.{limit}", most)
    rest = "" if "\n" in within else "\nAda"
    assert read(f"{within}{rest}\n".encode()).rows
    with pytest.raises(RosterError, match=said):
        read(f"{within}{beyond}{rest}\n".encode())


def test_files_that_are_too_large_missing_or_of_another_kind(tmp_path, monkeypatch):
    large = tmp_path / "large.csv"
    large.write_bytes(b"name\n" * 100)
    with monkeypatch.context() as patch:
        patch.setattr("nameplate.roster.reader.MOST_BYTES", 100)
        with pytest.raises(RosterError, match="larger than"):
            read_roster(large)
    with pytest.raises(RosterError, match="cannot be read"):
        read_roster(tmp_path / "none.csv")
    with pytest.raises(RosterError, match="is a folder"):
        read_roster(tmp_path)
    for name, part in (("a.ods", "save it as .xlsx"), ("a.XLS", "save it as .xlsx")):
        (tmp_path / name).write_bytes(b"x")
        with pytest.raises(RosterError, match=part):
            read_roster(tmp_path / name)
    (tmp_path / "b.csv").write_bytes(b"PK\x03\x04")
    with pytest.raises(RosterError, match="this is a spreadsheet"):
        read_roster(tmp_path / "b.csv")


def test_a_line_that_names_the_delimiter_is_no_row():
    roster = read(b"sep=;\r\nname;id\r\nAda, Bo;7\r\n")
    assert [(r.number, r.name, r.id) for r in roster.rows] == [(2, "Ada, Bo", "7")]


def test_a_delimiter_inside_names_does_not_win():
    assert read(b"id;name\n1;Ada, Bo, Cy\n2;De, Ed, Fy\n").rows[0].name == "Ada, Bo, Cy"


def test_one_column_with_a_delimiter_in_a_name_is_a_refused_row_not_a_guess():
    roster = read(b"name\nAda, Bo\nCy\n")
    assert codes(roster) == [(2, "too-many-cells")]


def test_quotes_behind_a_space_are_quotes():
    assert [r.extra for r in read(b'name, note\nAda, "x, y"\n').rows] == [(("note", "x, y"),)]


def test_quotes_inside_a_name_stay():
    assert read(b'name\nAda "Nan" Bo\n"Ada ""Bee"" Cy"\n').rows[1].name == 'Ada "Bee" Cy'


def test_headings_nobody_knows_are_kept_and_near_misses_told():
    roster = read(b"name,copys,Tree,Tree,,\nAda,2,oak,elm,x,\n")
    assert [title for title, _ in roster.rows[0].extra] == ["copys", "Tree", "Tree 2", "column 5"]
    assert roster.rows[0].copies == 1
    (finding,) = roster.findings
    assert (finding.code, finding.severity) == ("unknown-column", "warning")
    assert "'copies'" in finding.message


@pytest.mark.parametrize("heading", ["Site", "Game", "Fond"])  # size, name, font
def test_a_short_word_that_differs_in_one_letter_is_another_word(heading):
    assert not read(f"name,{heading}\nAda,oak\n".encode()).findings


def test_signs_shown_as_pictures_are_those_that_unicode_makes_wide():
    """All emoji with presentation by default are wide (UAX #11); of the signs before U+1F000 no others are."""
    wide = {c for c in map(chr, range(0x2300, 0x2C00)) if unicodedata.east_asian_width(c) == "W"}
    brackets = {c for c in wide if unicodedata.category(c) in ("Ps", "Pe")}
    trigrams = {chr(c) for c in (*range(0x2630, 0x2638), *range(0x268A, 0x2690))}  # wide since Unicode 16
    assert {c for c in map(chr, range(0x2300, 0x2C00)) if emoji_in(c)} == wide - brackets - trigrams


# spreadsheets, written by openpyxl, another program than the reader


@pytest.fixture
def sheet(tmp_path):
    def _sheet(rows, name="list.xlsx", before=None):
        book = openpyxl.Workbook()
        page = book.active
        for row in rows:
            page.append(row)
        if before:
            before(book)
        book.save(tmp_path / name)
        return tmp_path / name

    return _sheet


def test_a_spreadsheet_reads_like_text(sheet):
    rows = [
        ["ID", "Name", "copies", "since", "share", "member"],
        [7, "Łukasz Brzoza", 2, datetime.date(2024, 5, 1), 2.5, True],
        [None, None, None, None, None, None],
        ["a-8", "Борис", None, datetime.datetime(2024, 5, 1, 8, 30), None, None],
    ]
    roster = read_roster(sheet(rows))
    first, second = roster.rows
    assert (first.number, first.id, first.name, first.copies) == (2, "7", "Łukasz Brzoza", 2)
    assert first.extra == (("since", "2024-05-01"), ("share", "2.5"), ("member", "TRUE"))
    assert (second.number, second.id, second.extra[0]) == (4, "a-8", ("since", "2024-05-01 08:30:00"))
    assert roster.findings == ()


def test_row_numbers_count_empty_rows_above_the_headings(sheet):
    def before(book):
        book.active.insert_rows(1, 2)

    assert [r.number for r in read_roster(sheet([["name"], ["Ada"]], before=before)).rows] == [4]


def test_the_first_visible_sheet_is_read(sheet):
    def before(book):
        book.active.sheet_state = "hidden"
        book.create_sheet("shown").append(["name"])
        book["shown"].append(["Bo"])

    assert [r.name for r in read_roster(sheet([["name"], ["Ada"]], before=before)).rows] == ["Bo"]


def test_a_spreadsheet_that_claims_a_huge_table_is_refused(sheet):
    def before(book):
        book.active["XFD1048576"] = "x"

    with pytest.raises(RosterError, match="XFD1048576"):
        read_roster(sheet([["name"], ["Ada"]], before=before))


def test_a_spreadsheet_that_unpacks_to_very_much_is_refused(sheet, monkeypatch):
    monkeypatch.setattr("nameplate.roster.xml_parts.MOST_UNPACKED", 1000)
    with pytest.raises(RosterError, match="unpacks to more"):
        read_roster(sheet([["name"], ["Ada"]]))


@pytest.mark.parametrize("data", [b"", b"name\nAda\n", b"PK\x03\x04" + b"x" * 50, b"\xd0\xcf\x11\xe0" + b"\0" * 600])
def test_what_is_no_spreadsheet_is_refused(tmp_path, data):
    (tmp_path / "list.xlsx").write_bytes(data)
    with pytest.raises(RosterError, match=r"list\.xlsx"):
        read_roster(tmp_path / "list.xlsx")


def test_damaged_spreadsheets_never_end_in_a_traceback(sheet, tmp_path):
    whole = sheet([["name"], ["Ada"]]).read_bytes()
    for at in range(0, len(whole), 97):
        damaged = bytearray(whole)
        damaged[at] ^= 0xFF
        (tmp_path / "d.xlsx").write_bytes(bytes(damaged))
        try:
            assert read_roster(tmp_path / "d.xlsx").rows
        except RosterError as error:
            assert "d.xlsx" in str(error)


def test_a_spreadsheet_without_its_sheets_is_refused(tmp_path):
    with zipfile.ZipFile(tmp_path / "list.xlsx", "w") as archive:
        archive.writestr("xl/workbook.xml", "<workbook/>")
    with pytest.raises(RosterError, match=r"list\.xlsx"):
        read_roster(tmp_path / "list.xlsx")


def test_the_limits_are_documented():
    assert (delimited_text.MOST_BYTES, delimited_text.MOST_ROWS) == (20_000_000, 20_000)


def test_copies_without_end_are_refused_with_a_figure():
    with pytest.raises(RosterError, match=r"add up to 199800 pieces, more than 100000"):
        read(b"name,copies\n" + b"".join(b"A%d,999\n" % n for n in range(200)))


def test_a_row_is_moved_by_lengths_with_a_unit_and_a_sign_and_both_slips_of_a_row_are_said(tmp_path):
    file = tmp_path / "names.csv"
    file.write_text('name,dx,dy\nAda,-1/8in,"1,5"\nBea,,\nCyd,right,4000\n', encoding="utf-8")
    roster = read_roster(file)
    assert [(row.dx, row.dy) for row in roster.rows] == [(-3.175, 1.5), (0.0, 0.0), (0.0, 0.0)]
    assert [(f.row, f.code) for f in roster.findings] == [(4, "bad-shift"), (4, "bad-shift")]
    assert "dx “right”" in roster.findings[0].message and "dy “4000”" in roster.findings[1].message


def test_every_variation_selector_is_taken_out():
    for number in range(1, 257):
        selector = unicodedata.lookup(f"VARIATION SELECTOR-{number}")
        assert clean(f"Ada{selector} Pell") == Cleaned("Ada Pell", (selector,))


def test_what_is_nearly_a_heading_for_names_parts_the_columns_that_are_told():
    with pytest.raises(RosterError, match=r"found: 'plot', 'names of whoever sponsors it'\)"):
        read(b"plot,names of whoever sponsors it\n4,Ada Pell; Bo; Cy\n")


def test_what_is_said_of_the_list_comes_before_what_is_said_of_its_rows():
    # of its headings, of all of it, of a row
    said = read("name,copys\nZoë,2\nZoë,1\n".encode("cp1252")).findings
    assert [f.row for f in said] == sorted((f.row for f in said), key=lambda row: row or 0)
    assert {f.row for f in said} > {None, 1}
