"""Killed at any step, record and out folder tell either the state before or the state after, and the same one.

So it is with approvals and corrections, the list itself among them. `python -m tests.job.kills` does the same 100 times
at random moments of whole processes.
"""

import json
import os
import shutil
import sqlite3

import pytest

from nameplate.errors import RecordError
from nameplate.job import desk, out_folder
from nameplate.job import run as runs
from nameplate.job.desk import desk_of
from nameplate.job.kept_plates import EVERYTHING
from nameplate.record import store
from nameplate.record.runs import settled_reading
from tests.job.kept_jobs import NAMES, LastingJob
from tests.job.killed import at
from tests.record.independent import faults, fingerprint, look, lost_rows, sha, states

pytestmark = [
    pytest.mark.usefixtures("once_in_this_process"),
    pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are killed by forking here"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),  # of forking, on newer Pythons
]

#: No command does more to the disk while it hands over.
MOST = 400


def _ready(folder):
    folder.mkdir()
    return LastingJob(folder).write().begun("--all").write({**NAMES, "004": "Jo"})


def on_disk(folder):
    """A digest of all that lies in a folder: what the next command does depends on nothing else."""
    paths = sorted(folder.rglob("*"))
    return sha(repr([(path.relative_to(folder), path.is_file() and path.read_bytes()) for path in paths]).encode())


def healed(job):
    """Let the next commands put right what a dead one left."""
    with settled_reading(job.record):
        pass
    assert job.call("inspect", job.out).exit_code == 0


#: Every so many steps a command is killed; all of them in turn take too long for one that makes names.
STRIDE = {"make": 3, "first make": 7, "mark": 1, "undo": 1}


@pytest.mark.parametrize("what", STRIDE)
def test_a_command_killed_at_any_step_did_all_or_nothing(tmp_path, what):
    start = _ready(tmp_path / "start")
    if what == "first make":
        shutil.rmtree(start.out)
        start.record.unlink()
    seen, left, inspected, here = set(), set(), set(), tmp_path / "here"
    ends = _ends(start, tmp_path / "end", what)
    for step in range(1, MOST, STRIDE[what]):
        shutil.rmtree(here, ignore_errors=True)
        shutil.copytree(start.folder, here)
        job = LastingJob(here)
        killed = at(step, lambda job=job: _do(job, what))
        if killed and on_disk(here) in left:
            continue
        left.add(on_disk(here))
        if what == "first make" and not job.out.exists():
            with settled_reading(job.record):
                pass
            assert not job.record.exists() or job.make().exit_code == 0
            seen.add("nothing")
        else:
            with settled_reading(job.record):
                pass
            assert faults(job.record, job.out) == []
            now = fingerprint(job.record, job.out, job.roster)
            assert now in ends
            beside = (ends.index(now), *sorted(path.name for path in here.iterdir()))
            if beside not in inspected:  # else all files are those that were inspected: their digests are the same
                assert job.call("inspect", job.out).exit_code == 0
            inspected.add(beside)
            seen.add(ends.index(now))
        if not killed:
            break
    else:
        pytest.fail(f"more than {MOST} steps")
    assert len(seen) == 2, "both the state before and the state after were met"
    assert not list(here.glob(".*-new")), "what the dead left is cleared"


def _approved(job):
    """A job of which the record alone knows the ids: made, cut, its first plate approved."""
    job.without_ids().begun("--all")
    assert job.call("approve", job.ticket, "1", "--by", "Ann Ode").exit_code == 0
    return job


@pytest.mark.parametrize("what", ["approve", "correct", "withdraw"])
def test_an_approval_or_a_correction_killed_at_any_step_is_there_or_not_and_no_row_is_lost(tmp_path, what):
    start = _approved(LastingJob(tmp_path).write())
    copies = tmp_path / "copies"
    ends, seen, left = _ends(start, copies / "end", what), set(), set()
    for step in range(1, MOST):
        shutil.rmtree(copies / "here", ignore_errors=True)
        job = _copied(start, copies / "here")
        killed = at(step, lambda job=job: _do(job, what))
        if killed and on_disk(job.folder) in left:
            continue
        left.add(on_disk(job.folder))
        assert faults(job.record, job.out) == []
        assert lost_rows(job.record, job.roster) == []
        now = fingerprint(job.record, job.out, job.roster)
        assert now in ends
        seen.add(ends.index(now))
        if not killed:
            break
        assert list(_names(job)) == ["001", "002", "003"]
        assert _do(job, what).exit_code == (2 if what == "withdraw" and now == ends[1] else 0)
        assert fingerprint(job.record, job.out, job.roster) == ends[1]
    else:
        pytest.fail(f"more than {MOST} steps")
    assert seen == {0, 1}, "both the state before and the state after were met"


def _copied(start, folder):
    folder.mkdir(parents=True)
    for path in (start.ticket, start.roster, start.record):
        shutil.copy(path, folder)
    shutil.copytree(start.out, folder / "out")
    return LastingJob(folder)


def _names(job):
    done = job.call("status", job.ticket, "--json")
    assert done.exit_code == 0, done.output
    return {plate["id"]: plate["name"] for plate in json.loads(done.stdout)["plates"]}


def _do(job, what):
    if what == "approve":
        return job.call("approve", job.ticket, "--all", "--by", "Bo Lark")
    if what == "withdraw":
        return job.call("approve", job.ticket, "1", "--withdraw", "--by", "Ann Ode")
    if what == "correct":
        return job.call("approve", job.ticket, "--corrections", job.fixes(), "--apply")
    if what == "mark":
        return job.mark("spoiled", "001", "002")
    return job.call("mark", "undo", job.ticket, "--yes") if what == "undo" else job.make()


def _ends(start, folder, what):
    """The states before and after."""
    job = _copied(start, folder) if start.out.exists() else LastingJob(shutil.copytree(start.folder, folder))
    before = [fingerprint(job.record, job.out, job.roster)] if job.out.exists() else []
    assert _do(job, what).exit_code == 0
    return [*before, fingerprint(job.record, job.out, job.roster)]


def test_two_at_once_the_second_is_told_and_changes_nothing(tmp_path, monkeypatch):
    job = _ready(tmp_path / "job")
    before = fingerprint(job.record, job.out, job.roster)
    monkeypatch.setattr(store, "WAIT_S", 0.05)
    with desk_of(job.record, EVERYTHING, say=print):  # a run that is still working
        for second in (job.make(), job.mark("spoiled", "001")):
            assert second.exit_code == 2
            assert "trees.record is being written by another command; wait until that has finished" in second.stderr
        assert job.call("estimate", job.ticket, "--workers", 1).exit_code == 0
    assert fingerprint(job.record, job.out, job.roster) == before
    assert job.make().exit_code == 0


def test_of_two_first_runs_the_one_that_ends_second_changes_nothing(tmp_path, monkeypatch):
    job = _ready(tmp_path / "job")
    job.record.unlink()
    late = runs.staged

    def another_ends_first(*args, **more):
        monkeypatch.setattr(runs, "staged", late)
        assert job.make(out=tmp_path / "job" / "other").exit_code == 0
        return late(*args, **more)

    monkeypatch.setattr(runs, "staged", another_ends_first)
    before = sha((job.out / "files.json").read_bytes())
    done = job.make()
    assert done.exit_code == 2
    assert "another command changed" in done.stderr
    assert sha((job.out / "files.json").read_bytes()) == before
    assert faults(job.record, tmp_path / "job" / "other") == []


@pytest.mark.parametrize("what", ["make", "mark"])
def test_a_disk_that_is_full_leaves_the_state_before(tmp_path, monkeypatch, what):
    job = _ready(tmp_path / "job")
    before = fingerprint(job.record, job.out, job.roster)
    connect = sqlite3.connect

    class Full(sqlite3.Connection):
        """A disk without room for one page more."""

        def execute(self, statement, *values):
            if statement == "BEGIN IMMEDIATE":
                pages = super().execute("PRAGMA page_count").fetchone()[0]
                super().execute(f"PRAGMA max_page_count = {pages}")
            if statement.startswith("INSERT INTO marks"):
                statement, values = statement.replace("?)", "? || hex(zeroblob(9000000)))"), values
            return super().execute(statement, *values)

    monkeypatch.setattr(sqlite3, "connect", lambda *args, **more: connect(*args, factory=Full, **more))
    done = _do(job, what)
    assert done.exit_code == 2, done.output
    assert "trees.record cannot be written: the disk is full; nothing was changed in it" in done.stderr
    monkeypatch.setattr(sqlite3, "connect", connect)
    assert fingerprint(job.record, job.out, job.roster) == before
    assert faults(job.record, job.out) == []


def test_a_disk_that_is_full_once_the_files_are_there_is_told_and_put_right_by_the_next_command(tmp_path, monkeypatch):
    job = _ready(tmp_path / "job")

    def full(*_, **__):
        raise RecordError("the disk is full")

    monkeypatch.setattr(desk, "make_good", full)
    done = job.make()
    assert done.exit_code == 2
    assert "the finished files are in" in done.stderr
    assert "and the next command completes the record" in done.stderr
    monkeypatch.undo()
    healed(job)
    assert faults(job.record, job.out) == []
    assert ("004", "lettering", 1, 1) in states(job.record)


def test_a_run_that_lands_beside_its_folder_is_recorded_where_it_lies(tmp_path, monkeypatch):
    job = _ready(tmp_path / "job")
    seal = out_folder.seal

    def somebody_writes(stage):
        seal(stage)
        (job.out / "mine.txt").write_text("a note of mine", encoding="utf-8")

    monkeypatch.setattr(out_folder, "seal", somebody_writes)
    done = job.make()
    assert done.exit_code == 2
    assert faults(job.record, job.folder / "out-2") == []
    with look(job.record) as db:
        assert db.execute("SELECT out FROM runs WHERE state = 'current'").fetchone()[0] == "out-2"
