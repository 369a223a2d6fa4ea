"""The record's file, looked at by sqlite3 alone where what is in it counts."""

import re
import sqlite3
import subprocess
import sys

import pytest

from nameplate.errors import RecordError
from nameplate.nest.layout import Placement, SheetLayout
from nameplate.record import clock, schema, store
from nameplate.record.overview import sheet_states
from nameplate.record.rebuild import _keep_superseded
from nameplate.record.runs import (
    NewRun,
    NewSheet,
    NewVersion,
    folder_of,
    place_of,
    settled_reading,
    settled_writing,
    written_down,
)
from nameplate.record.store import reading, record_of, well_formed, writing
from nameplate.system.digests import LIST


@pytest.fixture
def path(tmp_path):
    return tmp_path / "orchard.record"


def plain(path):
    """An independent look at the file."""
    return sqlite3.connect(path)


def put_plate(found, name):
    found.change("INSERT INTO plates (id, position, name, texts) VALUES (?, 1, ?, '[]')", (name, name))


def names(found):
    return [row["name"] for row in found.rows("SELECT name FROM plates ORDER BY id")]


def test_a_record_is_made_when_it_is_first_written_and_says_what_it_is(path):
    with reading(path) as nothing:
        assert nothing is None
    with writing(path) as found, found.transaction():
        put_plate(found, "wren")
    with plain(path) as look:
        assert look.execute("PRAGMA application_id").fetchone()[0] == schema.APPLICATION_ID
        assert look.execute("PRAGMA user_version").fetchone()[0] == len(schema.MIGRATIONS)
        assert look.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        strict = {name: flag for _, name, kind, _, _, flag in look.execute("PRAGMA table_list") if kind == "table"}
    assert all(flag for name, flag in strict.items() if not name.startswith("sqlite_"))
    with reading(path) as found:
        assert names(found) == ["wren"]


def test_nothing_stays_beside_a_record_that_is_closed(path):
    with writing(path) as found, found.transaction():
        put_plate(found, "wren")
    with reading(path) as found:
        names(found)
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_a_record_and_its_out_folder_may_move_together(tmp_path):
    for folder in (tmp_path / "here", tmp_path / "there" / "deeper"):
        (folder / "job" / "out").mkdir(parents=True)
        with writing(folder / "job" / "orchard.record") as found:
            beside, above = (place_of(found, out) for out in (folder / "job" / "out", folder / "out"))
            assert (beside, above) == ("out", "../out")
            assert folder_of(found, beside).samefile(folder / "job" / "out")


def test_a_transaction_is_all_or_nothing(path):
    with writing(path) as found:
        with pytest.raises(KeyboardInterrupt), found.transaction():
            put_plate(found, "wren")
            raise KeyboardInterrupt
        assert names(found) == []
        with found.transaction():
            put_plate(found, "finch")
        assert names(found) == ["finch"]


def test_a_reader_sees_the_last_whole_state_while_somebody_writes(path):
    with writing(path) as found, found.transaction():
        put_plate(found, "wren")
        with reading(path) as other:
            assert names(other) == []
    with reading(path) as other:
        assert names(other) == ["wren"]


def test_a_second_writer_is_told_in_a_sentence(path, monkeypatch):
    monkeypatch.setattr(store, "WAIT_S", 0.05)
    with (
        writing(path) as first,
        first.transaction(),
        writing(path) as second,
        pytest.raises(RecordError, match="is being written by another command; wait until"),
        second.transaction(),
    ):
        pass


def test_what_is_read_cannot_be_written(path):
    with writing(path) as found, found.transaction():
        put_plate(found, "wren")
    with reading(path) as found, pytest.raises(RecordError), found.transaction():
        put_plate(found, "finch")


def test_a_file_that_is_no_record_is_left_as_it_is(path):
    for content, why in (
        (b"Names,of,trees\n" * 99, "is no record of a job"),
        (None, "is a database of another program"),
    ):
        if content is None:
            path.unlink()
            with plain(path) as other:
                other.execute("CREATE TABLE birds (name)")
            other.close()
        else:
            path.write_bytes(content)
        before = path.read_bytes()
        for way in (reading, writing):
            with pytest.raises(RecordError, match=why) as told, way(path):
                pass
            assert "orchard.record" in str(told.value)
        assert path.read_bytes() == before


def test_a_folder_in_its_place_is_told(path):
    path.mkdir()
    with pytest.raises(RecordError, match="is not an ordinary file"), writing(path):
        pass


def test_a_record_of_a_newer_version_is_left_as_it_is(path):
    with writing(path):
        pass
    with plain(path) as look:
        look.execute(f"PRAGMA user_version = {len(schema.MIGRATIONS) + 1}")
    look.close()
    with pytest.raises(RecordError, match="newer version of this program"), reading(path):
        pass


def test_a_damaged_record_is_told(path):
    with writing(path) as found, found.transaction():
        for number in range(2000):
            put_plate(found, f"{number:04d} {'bird' * 20}")
    data = bytearray(path.read_bytes())
    for page in range(5, len(data) // 4096 - 5):
        data[page * 4096 + 100 : page * 4096 + 200] = b"\xff" * 100
    path.write_bytes(data)
    with pytest.raises(RecordError, match=re.escape("is damaged (")), reading(path):
        pass


def test_only_what_cannot_be_taken_apart_is_called_damage(path):
    with pytest.raises(RecordError, match=r"orchard\.record is damaged \(KeyError: 'look'\)"), well_formed(path):
        {}["look"]
    with pytest.raises(RecordError) as told, well_formed(path):
        raise RecordError("another command writes the record")
    assert told.value.problems == ("another command writes the record",)


def test_older_records_are_brought_up_to_date(path, monkeypatch):
    with writing(path) as found, found.transaction():
        put_plate(found, "wren")
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, "ALTER TABLE plates ADD COLUMN nest TEXT;"))
    monkeypatch.setattr(store, "MIGRATIONS", schema.MIGRATIONS)
    with reading(path) as found:
        assert found.row("SELECT name, nest FROM plates")["nest"] is None
    with plain(path) as look:
        assert look.execute("PRAGMA user_version").fetchone()[0] == len(schema.MIGRATIONS)


def test_an_empty_file_left_by_a_killed_command_is_as_good_as_none(path):
    path.touch()
    with reading(path) as nothing:
        assert nothing is None
    with writing(path) as found:
        assert names(found) == []


@pytest.mark.parametrize("how", ["says so", "fails"])
def test_a_disk_without_a_log_is_used_with_a_journal_and_said(path, monkeypatch, how):
    connect = sqlite3.connect

    class WithoutLog(sqlite3.Connection):
        def execute(self, statement, *values):
            if how == "fails" and "= WAL" in statement:
                raise sqlite3.OperationalError("disk I/O error")
            return super().execute(statement.replace("= WAL", "= TRUNCATE"), *values)

    monkeypatch.setattr(sqlite3, "connect", lambda *args, **more: connect(*args, factory=WithoutLog, **more))
    said = []
    with writing(path, say=said.append) as found, found.transaction():
        put_plate(found, "wren")
    assert "does not allow a write-ahead log" in said[0]
    assert path.read_bytes()[18:20] == b"\x01\x01"  # the file format's numbers for a rollback journal


def test_a_process_killed_while_it_writes_leaves_the_state_before(path):
    with writing(path) as found, found.transaction():
        put_plate(found, "wren")
    program = (
        "import os, signal, sys, pathlib\n"
        "from nameplate.record.store import writing\n"
        "with writing(pathlib.Path(sys.argv[1])) as found, found.transaction():\n"
        "    found.change(\"INSERT INTO plates (id, position, name, texts) VALUES ('9', 1, 'x', '[]')\")\n"
        "    os._exit(9)\n"
    )
    assert subprocess.run([sys.executable, "-c", program, str(path)], check=False).returncode == 9
    with reading(path) as found:
        assert names(found) == ["wren"]


def test_the_record_lies_beside_its_ticket(tmp_path):
    assert record_of(tmp_path / "orchard.toml") == tmp_path / "orchard.record"


def test_time_is_utc_and_who_is_said_or_the_login_name(monkeypatch):
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", clock.now())
    assert clock.user(" Wren  Abara ") == "Wren Abara"
    monkeypatch.setenv("LOGNAME", "finch")
    assert clock.user() == "finch"
    monkeypatch.setattr("getpass.getuser", lambda: (_ for _ in ()).throw(OSError("no name")))
    assert clock.user("") == clock.NOBODY


def test_a_file_that_unfolds_without_end_is_damage_and_not_unfolded(path, monkeypatch):
    with writing(path) as found:
        with found.transaction():
            found.change(
                "INSERT INTO runs (at, who, out, state, files_digest, plates) VALUES ('', '', '', 'past', '', '[]')"
            )
            found.change(
                "INSERT INTO sheets (run, file, material, number, state, layout, kerf, figures, nominal) "
                "VALUES (1, 'cut/a.svg', 'lettering', 1, 'cut', '{}', 0.1, '{}', x'')"
            )
            found.put_file(1, "cut/a.svg", b"\0" * 1000)
        assert found.file(1, "cut/a.svg") == b"\0" * 1000
        monkeypatch.setattr(store, "LARGEST_FILE", 999)
        with pytest.raises(RecordError, match=r"damaged: it has lost the bytes of cut/a\.svg"):
            found.file(1, "cut/a.svg")


def test_a_sheet_costs_its_price_unless_it_was_on_hand(path):
    kinds = [{"price": 12.5}, {}, {"price": 12.5, "on_hand": True}]
    laid = [SheetLayout("ply", 300, 200, 0, number=number, **kind) for number, kind in enumerate(kinds, 1)]
    (path.parent / LIST).write_text("{}")
    with writing(path) as found, found.transaction():
        run = NewRun(sheets=tuple(NewSheet(sheet, 0.2, {}, b"", ()) for sheet in laid))
        written_down(found, run, path.parent, path.parent, who="wren")
    with reading(path) as found:
        assert [sheet.cost for sheet in sheet_states(found)] == [12.5, 0.0, 0.0]
        # of none is it known how many there were on hand
        assert [row["on_hand"] for row in found.rows("SELECT on_hand FROM sheets")] == [0, 0, 0]


@pytest.mark.parametrize("version", range(1, len(schema.MIGRATIONS) + 1))
def test_a_record_of_any_version_is_brought_up_to_date(path, version, monkeypatch):
    with monkeypatch.context() as then:
        then.setattr(store, "MIGRATIONS", schema.MIGRATIONS[:version])
        with writing(path) as found, found.transaction():
            put_plate(found, "wren")
    with reading(path) as found:
        assert names(found) == ["wren"]
    with plain(path) as look:
        assert look.execute("PRAGMA user_version").fetchone()[0] == len(schema.MIGRATIONS)


@pytest.mark.parametrize("settled", [settled_writing, settled_reading])
@pytest.mark.parametrize(("lies_there", "states"), [(True, ["current"]), (False, [])])
def test_a_run_that_was_killed_counts_where_its_files_lie_in_its_folder(path, settled, lies_there, states):
    (path.parent / LIST).write_text("{}")
    with writing(path) as found, found.transaction():
        written_down(found, NewRun(), path.parent, path.parent, who="wren")
    if not lies_there:
        (path.parent / LIST).write_text('{"cut/ply-01.svg": "1"}')
    with settled(path) as found:
        assert [row["state"] for row in found.rows("SELECT state FROM runs")] == states


def test_a_version_that_only_one_piece_was_cut_of_is_kept(path):
    (path.parent / LIST).write_text("{}")
    as_cut, anew = (NewVersion({"name": name}, b"", (("lettering", 1),)) for name in ("Gruffudd", "Gruffydd"))
    sheet = SheetLayout("ply", 300, 200, 0, placements=(Placement("001", "lettering", 1, 1, 0.0, 0.0, 0.0),))
    run = NewRun(versions={"001": anew}, sheets=(NewSheet(sheet, 0.2, {}, b"", ()),))
    with writing(path) as found, found.transaction():
        number = written_down(found, run, path.parent, path.parent, who="wren")
        _keep_superseded(found, number, [(as_cut, [("001", "lettering", 1, 1)])])
        (row,) = found.rows("SELECT look, superseded FROM versions JOIN pieces ON pieces.version = versions.id")
    assert "Gruffudd" in row["look"] and row["superseded"]


def test_a_folder_where_nothing_may_be_written_is_named_with_what_to_do(tmp_path):
    with pytest.raises(RecordError) as caught, writing(tmp_path / "none" / "orchard.record"):
        pass
    (problem,) = caught.value.problems
    assert problem.startswith(f"nothing may be written in {tmp_path / 'none'}, where the record of the job is kept")
    assert "(orchard.record)" in problem and "into a folder of your own" in problem and "database" not in problem


def test_what_else_keeps_a_record_from_being_opened_is_told_as_it_is(path, monkeypatch):
    path.write_bytes(b"")
    monkeypatch.setattr(store, "_connected", lambda *_: sqlite3.connect(f"{path.parent.as_uri()}?mode=rw", uri=True))
    with pytest.raises(RecordError) as caught, writing(path):
        pass
    assert "cannot be written or read (unable to open database file); look whether" in caught.value.problems[0]
