import os
import sys

import pytest

from nameplate.errors import OutputError
from nameplate.system.writing import write_text_atomic


def test_writes_utf8_with_plain_line_feeds(tmp_path):
    path = tmp_path / "new" / "a.svg"
    write_text_atomic(path, "ü\nß\n")
    assert path.read_bytes() == "ü\nß\n".encode()


def test_replaces_an_older_file_and_leaves_nothing_else(tmp_path):
    path = tmp_path / "a.svg"
    path.write_text("old")
    write_text_atomic(path, "new")
    assert path.read_text() == "new" and list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_full_disk_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch, step):
    path = tmp_path / "a.svg"
    path.write_text("old")

    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, step, fail)
    with pytest.raises(OutputError, match=r"a\.svg: No space left"):
        write_text_atomic(path, "new")
    assert path.read_text() == "old" and list(tmp_path.iterdir()) == [path]


def test_a_folder_that_is_a_file(tmp_path):
    (tmp_path / "cut").write_text("in the way")
    with pytest.raises(OutputError, match="choose another folder"):
        write_text_atomic(tmp_path / "cut" / "a.svg", "new")


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no permission bits for others")
def test_the_file_is_as_readable_as_any_other(tmp_path):
    write_text_atomic(tmp_path / "a.svg", "x")
    (tmp_path / "b.svg").write_text("x")
    assert (tmp_path / "a.svg").stat().st_mode == (tmp_path / "b.svg").stat().st_mode
