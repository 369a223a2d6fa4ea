"""Lists as people have them: what their columns are called, in which language, and what stands above them."""

from __future__ import annotations

import csv
import io

import openpyxl
import pytest

from nameplate.errors import RosterError
from nameplate.plates.orders import list_remarks, make_orders
from nameplate.roster.headings import COLUMNS, OTHER_HEADINGS, PAIRS, WHOLE, heading_key, name_options
from nameplate.roster.reader import read_roster
from nameplate.ticket.schema import Ticket


@pytest.fixture(params=["list.csv", "list.xlsx"])
def read(request, tmp_path):
    """Read rows written by another program: as delimited text, and as a spreadsheet."""
    path = tmp_path / request.param

    def _read(*rows, delimiter=","):
        if path.suffix == ".xlsx":
            book = openpyxl.Workbook()
            for row in rows:
                book.active.append([cell if cell != "" else None for cell in row])
            book.save(path)
        else:
            text = io.StringIO(newline="")
            csv.writer(text, delimiter=delimiter).writerows(rows)
            path.write_bytes(text.getvalue().encode("utf-8"))
        return read_roster(path)

    return _read


def names(roster):
    return [row.name for row in roster.rows]


def codes(roster):
    return [(f.row, f.code) for f in roster.findings]


@pytest.mark.parametrize(
    ("first", "last"),
    [
        ("First name", "Last name"),
        ("given_name", "FAMILY NAME"),
        ("First", "Last"),
        ("Vorname", "Nachname"),
        ("Vorname", "Name"),
        ("Prénom", "Nom"),
        ("Nombre", "Apellidos"),
        ("Nome", "Cognome"),
        ("Voornaam", "Achternaam"),
        ("Imię", "Nazwisko"),
        ("Förnamn", "Efternamn"),
        ("Jméno", "Příjmení"),
    ],
)
def test_first_and_last_names_are_joined_whichever_comes_first(read, first, last):
    roster = read([last, "id", first], ["Abara", "7", "Wren"], ["", "8", "Bo"], ["Quill", "9", ""])
    assert names(roster) == ["Wren Abara", "Bo", "Quill"]
    (note,) = roster.findings
    assert (note.code, note.severity) == ("names-from", "note")
    assert f"joined from the columns {first!r} and {last!r}, like “Wren Abara”" in note.message


def test_a_middle_name_stands_in_the_middle(read):
    rows = [["First name", "Last name", "Middle name"], ["Jo", "Dael", "van"], ["Ada", "Pell", ""]]
    assert names(read(*rows)) == ["Jo van Dael", "Ada Pell"]


@pytest.mark.parametrize("heading", ["Name", "Full name", "NAMES", "Nom", "Nombre", "Naam", "name:", "Name *"])
def test_a_column_of_whole_names_by_another_word_is_read_without_a_remark(read, heading):
    roster = read(["tree", heading], ["oak", "Wren Abara"])
    assert (names(roster), roster.findings, roster.extra_columns) == (["Wren Abara"], (), ("tree",))


def test_half_a_name_alone_is_the_name_and_that_is_said(read):
    roster = read(["First name", "tree"], ["Wren", "oak"])
    assert names(roster) == ["Wren"]
    assert codes(roster) == [(None, "names-from")]


@pytest.mark.parametrize(
    "headings",
    [
        ("Name", "Full name"),
        ("First name", "Name"),
        ("Surname", "Name"),
        ("Vorname", "Nachname", "Name"),
        ("First name", "Last name", "Display name"),
        ("Name", "Name"),
    ],
)
def test_two_columns_that_could_be_the_name_are_a_question_that_names_both(read, headings):
    with pytest.raises(RosterError, match="which column holds the names") as caught:
        read(headings, ["Wren"] * len(headings))
    (problem,) = caught.value.problems
    assert all(repr(heading) in problem for heading in headings)
    assert "row 1" in problem


def test_what_may_be_a_name_and_may_be_not_is_left_alone_beside_one(read):
    roster = read(["name", "member", "title"], ["Wren", "yes", "Dr."])
    assert (names(roster), roster.extra_columns) == (["Wren"], ("member", "title"))


@pytest.mark.parametrize(
    ("column", "heading", "cell", "value"),
    [
        ("copies", "Qty", "3", 3),
        ("copies", "quantity", "3", 3),
        ("copies", "COUNT", "3", 3),
        ("copies", "Quantité", "3", 3),
        ("line2", "Second line", "since 1999", "since 1999"),
        ("font", "Typeface", "Lobster", "Lobster"),
        ("hold", "On hold", "yes", True),
    ],
)
def test_columns_by_other_words(read, column, heading, cell, value):
    roster = read(["name", heading], ["Wren", cell])
    assert getattr(roster.rows[0], column) == value
    assert (roster.findings, roster.extra_columns) == ((), ())


def test_a_columns_own_word_goes_before_another(read):
    roster = read(["name", "count", "copies"], ["Wren", "12", "2"])
    assert (roster.rows[0].copies, roster.extra_columns) == (2, ("count",))


def test_two_other_words_for_one_column_are_refused(read):
    with pytest.raises(RosterError, match="'qty' and 'count' could each be the column `copies`"):
        read(["name", "qty", "count"], ["Wren", "1", "2"])


def test_no_heading_means_two_things():
    words = [key for keys in OTHER_HEADINGS.values() for key in keys]
    assert len(words) == len(set(words))
    halves = {key for pair in PAIRS for keys in pair for key in keys}
    assert not (set(words) | set(COLUMNS) - {"name"}) & (WHOLE | halves)
    assert all(heading_key(key) == key for key in (*words, *WHOLE, *halves))


@pytest.mark.parametrize("delimiter", [",", ";"])
def test_titles_above_the_headings_are_skipped_and_said_once(read, delimiter):
    rows = [
        ["Names, 2026", "", ""],
        ["", "", ""],
        ["printed on", "2026-05-01", ""],
        ["", "", ""],
        ["Name", "Tree", "Qty"],
        ["Wren", "oak", "2"],
    ]
    roster = read(*rows, delimiter=delimiter)
    assert [(r.number, r.name, r.copies) for r in roster.rows] == [(6, "Wren", 2)]
    (note,) = roster.findings
    assert (note.code, note.severity) == ("title-rows", "note")
    assert "'Names, 2026', ..." in note.message and "rows 1, 3" in note.message


def test_a_title_that_reads_like_a_heading_is_none(read):
    roster = read(["Names", ""], ["Name", "Tree"], ["Wren", "oak"])
    assert [(r.number, r.name) for r in roster.rows] == [(3, "Wren")]


def test_names_far_down_are_no_headings(read):
    with pytest.raises(RosterError, match="row 1: no heading is `name`"):
        read(*([f"remark {n}"] for n in range(10)), ["name"], ["Wren"])


@pytest.mark.parametrize(
    "cell", ["In memory of\nTilo Abara", "In memory of | Tilo Abara", "In memory of \r\n\n Tilo Abara"]
)
def test_a_line_break_or_a_bar_in_the_cell_breaks_the_name_there(read, cell):
    roster = read(["name"], [cell])
    (row,) = roster.rows
    assert (row.name, row.lines) == ("In memory of Tilo Abara", ("In memory of", "Tilo Abara"))
    assert roster.findings == ()
    assert make_orders(roster, Ticket()).orders[0].lines == row.lines


@pytest.mark.parametrize("cell", ["Wren\n", "Wren|Bo", "\nWren"])
def test_breaks_with_nothing_behind_them_and_bars_in_a_word_break_nothing(read, cell):
    assert read(["name", "tree"], [cell, "oak"]).rows[0].lines == ()


@pytest.mark.parametrize("word", ["yes", "Y", "TRUE", "1", "x", "Ja", "oui", "sí", "✓", True])
def test_a_row_on_hold_is_kept_and_not_made(read, word):
    roster = read(["name", "hold"], ["Wren", word], ["Bo", ""])
    assert [row.hold for row in roster.rows] == [True, False]
    orders = make_orders(roster, Ticket())
    assert [o.name for o in orders.orders] == ["Bo"]
    assert [(o.id, o.name) for o in orders.held] == [("001", "Wren")]
    assert orders.refused == ()
    assert "1 name is on hold and not made (row 2)" in [f.message for f in list_remarks(roster)]
    assert roster.findings == ()


@pytest.mark.parametrize("word", ["no", "N", "FALSE", "0", "nein", "-", False])
def test_a_no_holds_nothing(read, word):
    roster = read(["name", "hold"], ["Wren", word])
    assert (roster.rows[0].hold, roster.findings) == (False, ())


def test_what_is_neither_yes_nor_no_is_refused_with_its_row(read):
    roster = read(["name", "hold"], ["Wren", "maybe"])
    assert [(f.row, f.code, f.severity) for f in roster.findings] == [(2, "bad-hold", "error")]
    assert make_orders(roster, Ticket()).refused[0].name == "Wren"


def test_what_is_wrong_with_a_row_on_hold_is_no_error_yet(read):
    roster = read(["name", "hold"], ["שרה", "yes"], ["", "yes"])
    assert {(f.code, f.severity) for f in roster.findings} == {
        ("unsupported-script", "warning"),
        ("empty-name", "warning"),
    }


def test_ids_by_the_order_of_the_list_and_columns_on_no_plate_are_said_once(read):
    roster = read(["name", "tree", "id", "Wall"], ["Wren", "oak", "", "N"], ["Bo", "ash", "7", "S"], ["Jo", "", "", ""])
    notes = {f.code: f.message for f in list_remarks(roster, ["wall"])}
    assert notes.keys() == {"ids-by-order", "unused-columns"}
    assert "column 'tree';" in notes["unused-columns"]
    assert "2 plates (1 to 2)" in notes["ids-by-order"] and "column id" in notes["ids-by-order"]


def test_of_a_column_of_designs_that_the_ticket_lacks_it_is_said_how_they_are_made(read):
    roster = read(["id", "name", "Tier", "tree"], ["7", "Wren", "small", "oak"], ["8", "Bo", "large", "ash"])
    notes = {f.code: f.message for f in list_remarks(roster)}
    assert notes.keys() == {"no-designs", "unused-columns"}
    assert "'Tier'" in notes["no-designs"] and "([design.small], [design.large])" in notes["no-designs"]
    assert "column 'tree';" in notes["unused-columns"]


def test_with_ids_nothing_is_said_of_them(read):
    assert list(list_remarks(read(["name", "id"], ["Wren", "7"]))) == []


def test_a_plain_list_with_a_bar_in_a_name_stays_one_column(tmp_path):
    (tmp_path / "list.txt").write_text("name\nIn memory of | Tilo\nWren | Bo\n", encoding="utf-8")
    assert names(read_roster(tmp_path / "list.txt")) == ["In memory of Tilo", "Wren Bo"]


def test_without_a_heading_for_names_the_row_that_looks_most_like_headings_is_named(read):
    with pytest.raises(RosterError, match=r"row 3: no heading is `name`.*if 'Sponsor' is the column of names"):
        read(["Sponsors", ""], ["", ""], ["Sponsor", "qty"], ["Wren", "2"])


class Counted(list):
    """Headings that count how often one of them is looked at."""

    looks = 0

    def __iter__(self):
        for key in super().__iter__():
            self.looks += 1
            yield key


def test_looking_for_the_names_takes_steps_in_proportion_to_the_headings():
    looks = []
    for count in (1000, 2000):
        keys = Counted(["firstname", *(f"c{n}" for n in range(count - 2)), "lastname"])
        assert name_options(keys) == [(0, count - 1)]
        looks.append(keys.looks)
    assert looks[1] <= 2 * looks[0]


def test_a_list_of_very_many_columns_is_refused_and_not_tried_for_ever(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text(",".join(["name", *(f"c{n}" for n in range(50_000))]) + "\nAda\n", encoding="utf-8")
    with pytest.raises(RosterError, match="row 1: more than 200 columns"):
        read_roster(path)


def test_of_very_many_ways_to_take_the_names_some_are_named(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text(",".join(["first", "last", "copies"] * 60) + "\nAda,Lo\n", encoding="utf-8")
    with pytest.raises(RosterError) as refused:
        read_roster(path)
    assert any("in 3594 more ways" in problem for problem in refused.value.problems)
    assert all(len(problem) < 600 for problem in refused.value.problems)
