from nameplate.cli import screen
from nameplate.findings import Finding, kinds_of


def fragile(row, stress):
    return Finding("fragile", "note", f"{stress} MPa at its neck", f"{row:03d}", row, stress, 49.0)


NOTES = [fragile(row, stress) for row, stress in ((2, 55.0), (3, 126.0), (4, 70.0))]
OTHERS = [
    Finding("empty-name", "error", "the name is empty", None, 5),
    Finding("small-letters", "warning", "3 mm", "001", 2),
    Finding("small-letters", "warning", "4 mm", "002", 3),
    Finding("assumed", "note", "kerf 0.18"),
    Finding("assumed", "note", "kerf 0.15"),
]


def test_a_kind_shows_its_worst_figure_first_whichever_way_is_worse():
    (kind,) = kinds_of(NOTES)
    assert [f.row for f in kind] == [3, 4, 2]
    thin = [Finding("thin", "note", "", measured=m, allowed=1.5) for m in (1.4, 0.3, 1.0)]
    assert kinds_of(thin)[0][0].measured == 0.3


def test_a_kind_on_rows_is_one_line_and_errors_are_in_full(capsys):
    screen.show_findings([*OTHERS[:3], *NOTES, *OTHERS[3:]], where="notes.html")
    assert capsys.readouterr().err.splitlines() == [
        "error: row 5: the name is empty",
        "warning: row 2, plate 001: 3 mm (1 more like this: row 3)",
        "note: row 3, plate 003: 126.0 MPa at its neck (2 more like this: rows 2, 4)",
        "note: kerf 0.18",
        "note: kerf 0.15",
        "all of them: notes.html",
    ]


def test_every_note_is_printed_when_asked_for(capsys):
    screen.show_findings([*NOTES], every=True, where="notes.html")
    assert capsys.readouterr().err.count("MPa") == 3


def test_many_rows_are_not_all_named(capsys):
    screen.show_findings([fragile(row, 60.0) for row in range(2, 60)])
    said = capsys.readouterr().err
    assert "(57 more like this: rows 3-59)\n" in said


def test_of_thousands_of_errors_of_a_kind_the_first_are_in_full_and_the_rest_are_counted(capsys):
    bad = [Finding("bad-copies", "error", f"copies “{row}”", None, row) for row in range(2, 20_002)]
    other = [Finding("empty-name", "error", "the name is empty", None, 30_000)]
    screen.show_findings([*bad, *other], where="notes.html")
    said = capsys.readouterr().err.splitlines()
    assert len(said) == screen.IN_FULL + 2
    assert said[-3:] == [
        f"error: row {1 + screen.IN_FULL}: copies “{1 + screen.IN_FULL}” ({20_000 - screen.IN_FULL} more like this: "
        f"rows {2 + screen.IN_FULL}-20001)",
        "error: row 30000: the name is empty",
        "all of them: notes.html",
    ]


def low(row, height=2.4):
    words = f"“Name {row}”: letters are {height} mm high, 3 mm are needed"
    return Finding("letters-too-small", "error", words, f"{row - 1:03d}", row)


UNIT = Finding("drawing-no-unit", "warning", "face.svg: the drawing names no unit")


def test_errors_that_say_the_same_of_several_rows_are_one_sentence_below_what_is_said_of_the_face(capsys):
    small = [low(2), low(3, 2.8), low(9), low(4, 0.9)]
    lost = Finding("no-stock", "error", "there is no [[stock]] of felt")
    screen.show_findings([lost, *small, *OTHERS, UNIT], where="notes.html")
    assert capsys.readouterr().err.splitlines() == [
        "error: there is no [[stock]] of felt",
        "warning: face.svg: the drawing names no unit",
        "error: 4 names: letters are 0.9 to 2.8 mm high, 3 mm are needed: rows 2-4, 9",
        "error: row 5: the name is empty",
        "warning: row 2, plate 001: 3 mm (1 more like this: row 3)",
        "note: kerf 0.18",
        "note: kerf 0.15",
        "all of them: notes.html",
    ]


def test_all_errors_are_printed_when_asked_for_and_the_face_comes_first_all_the_same(capsys):
    screen.show_findings([low(2), low(3), low(4), UNIT], every=True, where="notes.html")
    first, *rest = capsys.readouterr().err.splitlines()
    assert first.startswith("warning: face.svg") and len(rest) == 3
    assert rest[2] == "error: row 4, plate 003: “Name 4”: letters are 2.4 mm high, 3 mm are needed"


def test_two_errors_that_are_alike_and_a_face_that_may_not_be_why_are_told_as_they_come(capsys):
    screen.show_findings([low(2), low(3), UNIT], where="notes.html")
    assert [line[:14] for line in capsys.readouterr().err.splitlines()] == [
        "error: row 2, ",
        "error: row 3, ",
        "warning: face.",
    ]


def test_scattered_rows_are_not_all_named(capsys):
    screen.show_findings([fragile(row, 60.0) for row in range(2, 80, 2)])
    assert capsys.readouterr().err.endswith(
        "(38 more like this: rows 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 26, ...)\n"
    )
