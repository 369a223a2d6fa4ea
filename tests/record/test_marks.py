"""What can be marked, what is refused and why, and what undo puts back; on a record filled by hand."""

import pytest

from nameplate.errors import RecordError
from nameplate.record import marks
from nameplate.record.marks import Wanted, last_mark, steps_of, take, undo
from nameplate.record.store import writing
from tests.record.independent import states

#: Sheets, and what lies on each: plate, kind, copy.
SHEETS = {
    "lettering-01": [("001", "lettering", 1), ("002", "lettering", 1), ("003", "lettering", 1)],
    "lettering-02": [("004", "lettering", 1), ("004", "lettering", 2)],
    "template-01": [("001", "template", 1), ("002", "template", 1), ("carrier", "carrier", 1)],
}


@pytest.fixture
def record(tmp_path):
    path = tmp_path / "job.record"
    with writing(path) as store, store.transaction():
        store.change(
            "INSERT INTO runs (id, at, who, out, state, files_digest, plates) "
            "VALUES (1, '', '', 'out', 'current', '', '[]')"
        )
        versions = {}
        for file, pieces in SHEETS.items():
            material, number = file.split("-")
            sheet = store.change(
                "INSERT INTO sheets (run, file, material, number, state, layout, kerf, figures, nominal) "
                "VALUES (1, ?, ?, ?, 'planned', '', 0.2, '', x'')",
                (f"cut/{file}.svg", material, int(number)),
            )
            for plate, kind, copy in pieces:
                if plate not in versions:
                    versions[plate] = store.change(
                        "INSERT INTO versions (plate, run, look) VALUES (?, 1, '')", (plate,)
                    )
                store.change(
                    "INSERT INTO pieces (version, plate, kind, copy, layer, sheet, state) "
                    "VALUES (?, ?, ?, ?, 1, ?, 'planned')",
                    (versions[plate], plate, kind, copy, sheet),
                )
    return path


def mark(record, state, *things, **more):
    """Mark things; gives how many steps that took."""
    with writing(record) as store:
        steps = steps_of(store, Wanted(state, things, **more))
        with store.transaction():
            take(store, steps, f"{state} {' '.join(things)}", who="wren")
    return len(steps)


def why_not(record, state, *things, **more):
    with pytest.raises(RecordError) as refused:
        mark(record, state, *things, **more)
    return list(refused.value.problems)


def state(record, plate, kind="lettering", copy=1):
    return states(record)[plate, kind, copy, 1]


def test_a_sheet_is_cut_with_all_that_lies_on_it_by_any_of_its_names(record):
    assert mark(record, "cut", "lettering-01") == 4
    assert mark(record, "cut", "out/cut/template-01.svg") == 4
    assert state(record, "001") == state(record, "carrier", "carrier") == "cut"
    assert state(record, "004") == "planned"
    assert mark(record, "cut", "lettering-01") == mark(record, "cut", "lettering-1") == 0
    assert mark(record, "cut", every=True) == 3


def test_states_go_forward(record):
    mark(record, "cut", every=True)
    assert mark(record, "fitted", "001-003") == 3
    assert mark(record, "hung", "001", "004") == 3
    assert state(record, "001") == "hung"
    assert state(record, "004", copy=2) == "hung"
    assert state(record, "001", "template") == "cut"
    assert mark(record, "spoiled", "001") == 1
    assert mark(record, "hung", every=True) == 2
    assert why_not(record, "fitted", "001") == ["plate 001 cannot be fitted: it has no piece that was cut"]


def test_everything_that_is_wrong_is_told_at_once_and_nothing_is_marked(record):
    mark(record, "cut", "lettering-01")
    before = states(record)
    assert why_not(record, "spoiled", "001", "004", "777", "lettering-02", "lettering-09") == [
        "plate 004 cannot be spoiled: not marked as cut yet: lettering on lettering-02",
        "777: there is no plate of that id, and no such sheet",
        "lettering-02 was not marked as cut, so nothing on it can be spoiled",
        "lettering-09: there is no plate of that id, and no such sheet",
    ]
    assert why_not(record, "cut", "001", "lettering-09") == [
        "001 is a plate; sheets are cut: its pieces lie on lettering-01, template-01",
        "lettering-09: there is no such sheet; there are lettering-01, lettering-02, template-01",
    ]
    assert why_not(record, "fitted", "002", "004") == [
        "plate 004 cannot be fitted: not marked as cut yet: lettering on lettering-02"
    ]
    assert states(record) == before


def test_a_part_is_said_where_it_is_not_the_name(record):
    mark(record, "cut", every=True)
    assert mark(record, "spoiled", "002", part="template") == 1
    assert (state(record, "002", "template"), state(record, "002")) == ("spoiled", "cut")
    assert mark(record, "spoiled", "carrier") == 1
    assert why_not(record, "spoiled", "003", part="template") == [
        "plate 003 cannot be spoiled: it has no template that was cut; its parts are lettering (name)"
    ]
    assert why_not(record, "spoiled", "003", part="lid") == [
        "--part lid: there is no such part; there are carrier, lettering (name), template"
    ]
    assert why_not(record, "fitted", every=True, part="lid")[0].startswith("--part lid: ")
    assert mark(record, "spoiled", "003", part="name") == 1 and state(record, "003") == "spoiled"


def test_of_several_copies_the_spoiled_one_is_said(record):
    mark(record, "cut", every=True)
    assert why_not(record, "spoiled", "004") == [
        "plate 004: 2 copies of it were cut; say which is spoiled: --copy 1 or --copy 2"
    ]
    assert mark(record, "spoiled", "004", copy=2) == 1
    assert mark(record, "spoiled", "004") == 1  # only one was left
    assert mark(record, "spoiled", "004") == 0


def test_a_whole_sheet_can_be_spoiled_but_not_everything(record):
    mark(record, "cut", every=True)
    assert mark(record, "spoiled", "lettering-01") == 3
    assert why_not(record, "spoiled", every=True)[0].startswith("spoiled: name what is spoiled")


def test_undo_takes_back_one_mark_after_the_other(record):
    before = [states(record)]
    for one in (("cut", "lettering-01"), ("fitted", "001"), ("spoiled", "001")):
        mark(record, *one)
        before.append(states(record))
    with writing(record) as store:
        for wanted, what in zip(reversed(before[:-1]), ("spoiled 001", "fitted 001", "cut lettering-01"), strict=True):
            last = last_mark(store)
            assert (last.what, last.who) == (what, "wren")
            with store.transaction():
                undo(store, last)
            assert states(record) == wanted
        assert last_mark(store) is None


def test_what_changed_since_cannot_be_undone(record):
    mark(record, "cut", "lettering-01")
    with writing(record) as store:
        last = last_mark(store)
        with store.transaction():
            store.change("UPDATE pieces SET state = 'hung' WHERE plate = '001'")
        with pytest.raises(RecordError, match="was changed since"), store.transaction():
            undo(store, last)
    assert state(record, "002") == "cut"


def test_steps_that_are_no_longer_true_are_not_taken(record):
    with writing(record) as store:
        steps = steps_of(store, Wanted("cut", ("lettering-01",)))
    mark(record, "cut", "lettering-01")
    with (
        writing(record) as store,
        pytest.raises(RecordError, match="another command changed the record meanwhile"),
        store.transaction(),
    ):
        take(store, steps, "cut", who="wren")


def test_nothing_can_be_marked_of_a_job_that_was_not_made(tmp_path):
    with writing(tmp_path / "new.record") as store, pytest.raises(RecordError, match="the job was not made yet"):
        steps_of(store, Wanted("cut", every=True))


def test_every_state_that_can_be_marked_says_from_where():
    assert set(marks.FROM) == {"cut", "spoiled", "fitted", "hung"}
