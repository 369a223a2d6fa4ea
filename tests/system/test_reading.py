"""Files that other people wrote: what is none, too large, too deep or no number ends in a sentence."""

import os
import sys
from pathlib import Path

import pytest

from nameplate.errors import LayoutError
from nameplate.system.reading import parse_json, read_json, read_regular, shown


def read(path, limit=100):
    return read_regular(path, limit, LayoutError, what="a stored layout")


def test_a_file_of_just_the_limit_is_read_and_one_byte_more_is_not(tmp_path):
    path = tmp_path / "a"
    path.write_bytes(b"x" * 100)
    assert read(path) == b"x" * 100
    path.write_bytes(b"x" * 101)
    with pytest.raises(LayoutError, match=r"larger than 0 kB, which is too large for a stored layout"):
        read(path)


def test_a_folder_and_a_missing_file_are_named(tmp_path):
    with pytest.raises(LayoutError, match="is a folder; a stored layout is expected"):
        read(tmp_path)
    with pytest.raises(LayoutError, match=r"missing cannot be read: .*; a stored layout is expected"):
        read(tmp_path / "missing")


@pytest.mark.skipif(sys.platform == "win32", reason="these devices are those of Linux and macOS")
def test_devices_pipes_and_circles_of_links_end_at_once(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "circle").symlink_to(tmp_path / "circle")
    for path in (tmp_path / "pipe", Path("/dev/zero")):
        with pytest.raises(LayoutError, match="not an ordinary file"):
            read(path)
    with pytest.raises(LayoutError, match="cannot be read"):
        read(tmp_path / "circle")


def test_a_name_that_no_system_has_is_a_sentence():
    for name in ("a\0b", "x" * 5000, "~nosuchuser/x", "\udcff"):
        with pytest.raises(LayoutError, match="cannot be read"):
            read(Path(name))


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("[" * 200_000 + "]" * 200_000, "nested too deep"),
        ("[" + "[]," * 10_000_000 + "[]]", "more than 10000000 values"),
        ("9" * 400, "too large"),
        (str(2**53 + 1), "too large"),
        ("NaN", "not a number"),
        ("-Infinity", "not a number"),
        ("1e999", "not a number"),
        ('"\\ud800"', "half a character"),
        ("{", "not valid JSON"),
    ],
)
def test_json_that_no_program_of_ours_writes_is_refused(text, reason):
    with pytest.raises(LayoutError, match=reason) as caught:
        parse_json(text, LayoutError, name="layout.json")
    assert caught.value.problems[0].startswith("layout.json")
    assert len(caught.value.problems[0]) < 200


def test_json_is_read_with_or_without_a_mark_of_its_encoding(tmp_path):
    path = tmp_path / "a.json"
    for mark in (b"", b"\xef\xbb\xbf"):
        path.write_bytes(mark + '{"a": [1, 2.5, "é\\u00e9"]}'.encode())
        assert read_json(path, 100, LayoutError, what="figures") == {"a": [1, 2.5, "éé"]}
    path.write_bytes(b"\xff")
    with pytest.raises(LayoutError, match="is not UTF-8 text"):
        read_json(path, 100, LayoutError, what="figures")


def test_a_path_is_shown_in_letters_that_can_be_printed():
    assert shown(Path("a\udcffb")).encode("utf-8")
    assert len(shown(Path("x" * 5000))) < 300
