"""What of an out folder may be replaced, and what of it is the user's."""

import json
import os
import platform
import sys
from pathlib import Path

import pytest

from nameplate.errors import OutputError
from nameplate.job import work_folder as wf
from nameplate.job.holdings import GENERATOR, clear, seal, survey
from nameplate.job.out_folder import check_folder, put_back, staged, write_file
from tests.jobs import json_of

posix = pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")


@pytest.fixture
def out(tmp_path):
    """A finished run of two files."""
    with staged(tmp_path / "out") as stage:
        write_file(stage, "cut/a.svg", "old")
        write_file(stage, "summary.json", json.dumps({"generator": GENERATOR, "files": ["cut/a.svg", "files.json"]}))
    return tmp_path / "out"


def replace(out, meanwhile=lambda: None):
    placed = []
    with staged(out, placed=lambda where, said: placed.append((where, *said))) as stage:
        write_file(stage, "cut/b.svg", "new")
        meanwhile()
    return placed


def beside(out):
    return sorted(p.name for p in out.parent.iterdir() if p != out)


def mine(out):
    (out / "mine.txt").write_text("years of work", encoding="utf-8")


def edited(out):
    (out / "cut" / "a.svg").write_text("moved by hand", encoding="utf-8")


def empty_folder(out):
    (out / "photos").mkdir()


def nested_folder(out):
    (out / "cut" / "more").mkdir()


def link_to_file(out):
    (out.parent / "treasure").write_text("gold", encoding="utf-8")
    (out / "link").symlink_to(out.parent / "treasure")


def link_for_our_file(out):
    (out / "cut" / "a.svg").rename(out.parent / "a.svg")
    (out / "cut" / "a.svg").symlink_to(out.parent / "a.svg")


def link_for_our_folder(out):
    (out / "cut").rename(out.parent / "cut")
    (out / "cut").symlink_to(out.parent / "cut")


def pipe(out):
    os.mkfifo(out / "pipe")


def other_case(out):
    (out / "cut" / "B.SVG").write_text("mine", encoding="utf-8")


TOUCHED = [
    (mine, "mine.txt"),
    (edited, "cut/a.svg"),
    (empty_folder, "photos/"),
    (nested_folder, "cut/more/"),
    (other_case, "cut/B.SVG"),
    pytest.param(link_to_file, "link", marks=posix),
    pytest.param(link_for_our_file, "cut/a.svg", marks=posix),
    pytest.param(link_for_our_folder, "cut", marks=posix),
    pytest.param(pipe, "pipe", marks=posix),
]


def tree(folder):
    """Everything under a folder, links as links, with the text of files."""
    return {
        p.relative_to(folder).as_posix(): str(p.readlink())
        if p.is_symlink()
        else p.read_text(encoding="utf-8")
        if p.is_file()
        else None
        for p in sorted(folder.rglob("*"))
    }


@pytest.mark.parametrize(("touch", "named"), TOUCHED)
def test_what_the_user_left_stops_a_run_before_its_work(out, touch, named):
    touch(out)
    before = tree(out.parent)
    with pytest.raises(OutputError, match=named):
        check_folder(out)
    assert tree(out.parent) == before


@pytest.mark.parametrize(("touch", "named"), TOUCHED)
def test_what_comes_while_a_run_works_stays_and_the_run_is_put_beside_it(out, touch, named):
    with pytest.raises(OutputError, match=rf"{named}.*is as it was, and the finished run is in .*out-2"):
        replace(out, lambda: touch(out))
    assert (out / "cut" / "a.svg").read_text(encoding="utf-8") == ("moved by hand" if touch is edited else "old")
    assert (out.parent / "out-2" / "cut" / "b.svg").read_text(encoding="utf-8") == "new"
    assert not [name for name in beside(out) if name.startswith(".")]
    assert survey(out.parent / "out-2").foreign == ()


@pytest.mark.parametrize(("touch", "named"), TOUCHED)
def test_nothing_of_the_users_is_deleted_when_the_rest_is_cleared(out, touch, named):
    touch(out)
    before = tree(out.parent)
    assert not clear(out)
    after = tree(out.parent)
    assert set(before) - set(after) <= {f"out/{n}" for n in ("cut", "cut/a.svg", "files.json", "summary.json")}
    assert after.items() <= before.items() and os.path.lexists(out / named)


def test_an_untouched_run_is_replaced_and_nothing_is_left_of_it(out):
    (out / ".DS_Store").write_text("", encoding="utf-8")
    assert replace(out) == [(out,)]
    assert sorted(tree(out)) == ["cut", "cut/b.svg", "files.json"] and beside(out) == []


def test_a_file_that_the_user_took_away_is_no_reason_to_stop(out):
    (out / "cut" / "a.svg").unlink()
    assert check_folder(out) == ()


@pytest.mark.parametrize("damage", ["", "[]", '{"generator": "nameplate", "files": {"cut/a.svg": 5}}', "[" * 200_000])
def test_a_run_without_digests_is_replaced_but_kept(out, damage):
    (out / "files.json").write_text(damage, encoding="utf-8")
    ((where, said),) = replace(out)
    assert where == out and "out-kept-2" in said
    assert tree(out.parent / "out-kept-2")["cut/a.svg"] == "old"


@pytest.mark.parametrize("name", ["files.json", "summary.json"])
def test_a_file_of_another_program_with_that_name_makes_no_folder_ours(tmp_path, name):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / name).write_text('{"files": {"a": "b"}, "generator": "other"}', encoding="utf-8")
    with pytest.raises(OutputError, match="not an earlier run's"):
        check_folder(tmp_path / "out")


def test_a_folder_of_the_users_is_named_and_not_looked_into(tmp_path, monkeypatch):
    (tmp_path / "out" / "photos" / "deep").mkdir(parents=True)
    looked = []
    scandir = os.scandir
    monkeypatch.setattr(os, "scandir", lambda place: looked.append(Path(place).name) or scandir(place))
    with pytest.raises(OutputError, match=r"\(photos/\)"):
        check_folder(tmp_path / "out")
    assert looked == ["out"]


def test_a_list_of_files_reaches_nowhere_else(out):
    (out.parent / "treasure").write_text("gold", encoding="utf-8")
    record = json_of(out / "files.json")
    record["files"] |= {"../treasure": record["files"]["cut/a.svg"], "/etc/passwd": record["files"]["cut/a.svg"]}
    (out / "files.json").write_text(json.dumps(record), encoding="utf-8")
    replace(out)
    assert (out.parent / "treasure").read_text(encoding="utf-8") == "gold"


@posix
def test_an_out_folder_behind_a_link_is_replaced_where_it_is(out):
    link = out.parent / "link"
    link.symlink_to(out)
    assert replace(link) == [(link,)]
    assert link.is_symlink() and (out / "cut" / "b.svg").is_file()


@posix
def test_a_link_that_leads_to_itself_is_no_folder(tmp_path):
    (tmp_path / "out").symlink_to(tmp_path / "out")
    for place in (tmp_path / "out", tmp_path / "out" / "deep"):
        with pytest.raises(OutputError, match="cannot be a folder"):
            check_folder(place)


@pytest.mark.parametrize("name", ["~nosuchuser", "n\u00fcl\u200b", pytest.param(os.fsdecode(b"caf\xe9"), marks=posix)])
def test_odd_names_are_folders_like_any_other(tmp_path, name):
    assert replace(tmp_path / name / "out") == [(tmp_path / name / "out",)]
    check_folder(tmp_path / name / "out")


def test_the_folder_one_is_in_is_refused_before_the_work(out, monkeypatch):
    monkeypatch.chdir(out)
    with pytest.raises(OutputError, match="you are in"):
        check_folder(Path())


def test_a_run_that_fails_leaves_no_new_parents(tmp_path):
    with pytest.raises(ZeroDivisionError), staged(tmp_path / "a" / "b" / "out"):
        raise ZeroDivisionError
    assert list(tmp_path.iterdir()) == []


# --- what dead runs leave -------------------------------------------------------------------------------------------


def stray(out, **owner):
    """The working folder of a run that was killed while names changed, as it lies on the disk."""
    work = out.parent / f".{out.name}-{'0' * 16}-new"
    (work / "new").mkdir(parents=True)
    (work / "new" / "b.svg").write_text("half", encoding="utf-8")
    (work / "lock").write_text(json.dumps({"host": platform.node(), "pid": 1, "start": "", **owner}), encoding="utf-8")
    out.rename(work / "old")
    return work


def test_the_old_folder_is_put_back_and_the_stray_is_gone(out):
    before = tree(out)
    stray(out)
    (said,) = put_back(out)
    assert "is back in its place" in said and tree(out) == before and beside(out) == []


def test_the_stray_of_another_computer_is_told_and_left_alone(out):
    work = stray(out, host="orchard-2")
    (said,) = put_back(out)
    assert "orchard-2" in said and str(work / "old") in said and (work / "old" / "cut" / "a.svg").is_file()


def test_an_old_folder_whose_place_is_taken_is_cleared_only_as_far_as_it_is_ours(out):
    mine(out)
    stray(out)
    assert replace(out) == [(out,)]
    (said,) = put_back(out)
    assert "out-kept-2" in said and tree(out.parent / "out-kept-2") == {"mine.txt": "years of work"}
    assert beside(out) == ["out-kept-2"]


def test_a_run_that_lives_keeps_its_folder(out):
    with staged(out) as stage:
        write_file(stage, "cut/b.svg", "new")
        assert put_back(out) == () and (stage / "cut" / "b.svg").is_file()


@pytest.mark.parametrize(("alive", "left"), [(True, True), (False, False)])
def test_without_locks_a_run_counts_as_dead_when_its_process_is_gone(out, monkeypatch, alive, left):
    work = stray(out, pid=os.getpid(), start=wf._start_of(os.getpid()) if alive else "long ago")
    monkeypatch.setattr(wf, "_lock", lambda handle: None)
    if not alive and not wf._start_of(os.getpid()):
        pytest.skip("this system does not tell when a process started")
    put_back(out)
    assert (work.exists(), out.exists()) == (left, not left)


@pytest.mark.parametrize("lock", [None, "", "{", "[" * 9000])
def test_a_stray_that_does_not_say_whose_it_is_is_cleared(out, lock):
    work = out.parent / f".{out.name}-{'0' * 16}-new"
    (work / "new" / "cut").mkdir(parents=True)
    (work / "new" / "cut" / "b.svg").write_text("half", encoding="utf-8")
    if lock is not None:
        (work / "lock").write_text(lock, encoding="utf-8")
    put_back(out)
    assert beside(out) == []


@pytest.mark.parametrize("name", [".out-new", ".out-0123-new", f".out-{'0' * 16}-old", f".outer-{'0' * 16}-new"])
def test_a_folder_with_a_like_name_is_not_taken_for_a_stray(out, name):
    (out.parent / name / "new").mkdir(parents=True)
    put_back(out)
    assert beside(out) == [name]


def test_the_folder_of_a_very_long_name_finds_its_stray_again(tmp_path):
    out = tmp_path / ("ä" * 120)
    assert replace(out) == [(out,)]
    (tmp_path / f".{wf._short(out.name)}-{'0' * 16}-new" / "new").mkdir(parents=True)
    put_back(out)
    assert beside(out) == []


def test_a_swap_that_cannot_be_taken_back_says_where_everything_is(out, monkeypatch):
    rename = Path.rename

    def jammed(self, target):
        if Path(target) == out:
            raise PermissionError(13, "in use")
        return rename(self, target)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "rename", jammed)
        with pytest.raises(OutputError) as caught:
            replace(out)
    said = str(caught.value)
    assert "nothing was changed" not in said and "comes back with the next run" in said and "out-2" in said
    put_back(out)
    assert tree(out)["cut/a.svg"] == "old" and beside(out) == ["out-2"]


def test_seal_and_survey_agree_with_a_digest_made_elsewhere(out):
    import hashlib

    record = json_of(out / "files.json")
    assert record["files"]["cut/a.svg"] == hashlib.new("sha256", b"old").hexdigest()
    seal(out)
    assert survey(out).changed == ()
