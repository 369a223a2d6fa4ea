from nameplate import screen
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
    assert [f.row for f in kind.findings] == [3, 4, 2]
    thin = [Finding("thin", "note", "", measured=m, allowed=1.5) for m in (1.4, 0.3, 1.0)]
    assert kinds_of(thin)[0].worst.measured == 0.3


def test_notes_on_rows_are_one_entry_a_kind_all_else_in_full(capsys):
    screen.show_findings([*OTHERS[:3], *NOTES, *OTHERS[3:]], where="proof.html")
    assert capsys.readouterr().err.splitlines() == [
        "error: row 5: the name is empty",
        "warning: row 2, plate 001: 3 mm",
        "warning: row 3, plate 002: 4 mm",
        "note: kerf 0.18",
        "note: kerf 0.15",
        "note: row 3, plate 003: 126.0 MPa at its neck",
        "      and 2 more like this, in rows 4, 2",
        "every note in full: proof.html",
    ]


def test_every_note_is_printed_when_asked_for(capsys):
    screen.show_findings([*NOTES], every=True, where="proof.html")
    assert capsys.readouterr().err.count("MPa") == 3


def test_many_rows_are_not_all_named(capsys):
    screen.show_findings([fragile(row, 60.0) for row in range(2, 60)])
    said = capsys.readouterr().err
    assert "and 57 more like this, in rows 3, 4" in said and said.endswith(", ...\n")
