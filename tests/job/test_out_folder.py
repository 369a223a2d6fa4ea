import errno
import json
import os

import pytest

from nameplate.errors import OutputError
from nameplate.job.holdings import GENERATOR, seal
from nameplate.job.out_folder import check_folder, staged, write_file


def earlier_run(out, *names):
    for name in names:
        path = out / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("old", encoding="utf-8")
    out.mkdir(exist_ok=True)
    (out / "summary.json").write_text(json.dumps({"generator": GENERATOR, "files": list(names)}), encoding="utf-8")
    seal(out)


def test_a_new_folder_appears_whole(tmp_path):
    out = tmp_path / "deep" / "out"
    with staged(out) as stage:
        write_file(stage, "cut/a.svg", "ä")
        assert not out.exists()
    assert (out / "cut" / "a.svg").read_text(encoding="utf-8") == "ä"
    assert [p.name for p in out.parent.iterdir()] == ["out"]


def test_an_earlier_run_is_replaced_and_its_files_are_gone(tmp_path):
    out = tmp_path / "out"
    earlier_run(out, "cut/old.svg")
    with staged(out) as stage:
        write_file(stage, "cut/new.svg", "new")
    assert [p.relative_to(out).as_posix() for p in out.rglob("*.svg")] == ["cut/new.svg"]


@pytest.mark.parametrize("name", ["notes.txt", "cut/mine.svg"])
def test_files_of_the_user_are_never_overwritten(tmp_path, name):
    out = tmp_path / "out"
    earlier_run(out, "cut/old.svg")
    (out / name).write_text("mine", encoding="utf-8")
    with pytest.raises(OutputError, match=name):
        check_folder(out)
    assert (out / name).read_text(encoding="utf-8") == "mine"


def test_a_folder_of_someone_else_is_refused_and_named(tmp_path):
    (tmp_path / "thesis.odt").write_text("years of work", encoding="utf-8")
    with pytest.raises(OutputError, match=r"thesis\.odt"):
        check_folder(tmp_path)


def test_a_file_is_no_folder(tmp_path):
    (tmp_path / "out").write_text("", encoding="utf-8")
    with pytest.raises(OutputError, match="is a file"):
        check_folder(tmp_path / "out")


@pytest.mark.parametrize("error", [RuntimeError("inspection"), KeyboardInterrupt()])
def test_a_run_that_fails_leaves_the_earlier_one_as_it_was(tmp_path, error):
    out = tmp_path / "out"
    earlier_run(out, "cut/old.svg")
    with pytest.raises(type(error)), staged(out) as stage:
        write_file(stage, "cut/new.svg", "new")
        raise error
    assert (out / "cut" / "old.svg").read_text(encoding="utf-8") == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_a_full_disk_is_said_in_words_and_nothing_is_changed(tmp_path, monkeypatch):
    out = tmp_path / "out"
    earlier_run(out, "cut/old.svg")

    def full(descriptor):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    says = r"out/cut/new\.svg: No space left on device[^$]*nothing was changed"
    with pytest.raises(OutputError, match=says), staged(out) as stage:
        write_file(stage, "cut/new.svg", "new")
    assert [p.name for p in tmp_path.iterdir()] == ["out"]
    assert (out / "cut" / "old.svg").exists()


def test_a_swap_that_fails_halfway_puts_the_old_folder_back(tmp_path, monkeypatch):
    out = tmp_path / "out"
    earlier_run(out, "cut/old.svg")
    rename = type(out).rename

    def jammed(self, target):
        if self.name == "new" and target == out:
            raise OSError(errno.EACCES, "in use")
        return rename(self, target)

    monkeypatch.setattr(type(out), "rename", jammed)
    with pytest.raises(OutputError, match="in use"), staged(out) as stage:
        write_file(stage, "cut/new.svg", "new")
    assert (out / "cut" / "old.svg").exists()
    assert (tmp_path / "out-2" / "cut" / "new.svg").read_text(encoding="utf-8") == "new"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out", "out-2"]


@pytest.mark.parametrize("name", ["file/out", "file/deep/out", "x" * 300])
def test_a_place_where_no_folder_can_be_is_refused_before_the_work(tmp_path, name):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(OutputError, match="choose a"):
        check_folder(tmp_path / name)


@pytest.mark.parametrize("locked", ["out", "."])
def test_a_folder_that_may_not_be_written_is_refused_before_the_work(tmp_path, monkeypatch, locked):
    earlier_run(tmp_path / "out", "cut/old.svg")
    closed = (tmp_path / locked).resolve()
    monkeypatch.setattr(os, "access", lambda place, mode: place != closed)
    with pytest.raises(OutputError, match="may be written"):
        check_folder(tmp_path / "out")
