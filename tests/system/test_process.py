"""Nobody but the program prints: no warning or log line of a library, no word from a worker."""

import errno
import os
import signal
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import pytest
from click.testing import CliRunner

from nameplate.cli.commands import main
from nameplate.errors import OutputError
from nameplate.system.writing import write_text_atomic
from nameplate.ticket import starter

ROOT = Path(__file__).resolve().parents[2]


def python(code, *arguments, cwd=ROOT, **options):
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=cwd, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, timeout=120, check=False,
        **options,
    )  # fmt: skip


NOISE = """
import logging, os, sys, warnings
from nameplate.ticket import starter
def noisy(*where, **how):
    import numpy as np
    np.float64(1) / np.float64(0)
    warnings.warn("native", RuntimeWarning)
    warnings.warn("old", DeprecationWarning)
    logging.getLogger("fontTools.ttLib").warning("bad table")
    class Leaving:
        def __del__(self): raise ValueError("unraisable")
    Leaving()
    return ()
starter.write_starter = noisy
if __name__ == "__main__":
    from nameplate.cli.commands import main
    main(sys.argv[1:])
"""


@pytest.mark.parametrize("options", [(), ("--timing",), ("--debug",)])
def test_warnings_and_log_lines_of_libraries_stay_inside(options):
    done = python(NOISE, *options, "new", "nowhere")
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


WORKERS = """
import os, sys, warnings
from nameplate.pool.processes import run_all
if __name__ == "__main__":
    run_all(os.write, [b"noise"] * 4, 1, workers=2)
    run_all(os.write, [b"noise"] * 4, 2, workers=2)
    run_all(warnings.warn, [RuntimeWarning] * 4, "native", workers=2)
"""


def test_workers_print_nothing(tmp_path):
    done = python(WORKERS)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


@contextmanager
def room_of(size):
    """Let no file get larger than so many bytes, as if the disk were full then."""
    import resource

    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, handler)


@pytest.mark.skipif(sys.platform == "win32", reason="limits of POSIX")
@pytest.mark.parametrize("room", [0, 100, 600])
@pytest.mark.parametrize("folder", ["job", "deep/er/job", "."])
def test_new_on_a_full_disk_leaves_nothing_half(tmp_path, monkeypatch, room, folder):
    monkeypatch.chdir(tmp_path)
    with room_of(room):
        done = CliRunner().invoke(main, ["new", folder])
    assert done.exit_code == 2 and "cannot be written" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_new_takes_its_first_file_back_when_the_second_does_not_fit(tmp_path, monkeypatch):
    def second_fails(path, text):
        if path.name == "names.csv":
            raise OutputError("full") from OSError(errno.ENOSPC, "No space left")
        write_text_atomic(path, text)

    monkeypatch.setattr(starter, "write_text_atomic", second_fails)
    done = CliRunner().invoke(main, ["new", str(tmp_path / "job")])
    assert done.exit_code == 2 and "No space left" in done.stderr
    assert list(tmp_path.iterdir()) == []


def list_of(folder):
    """Write a list whose one name cannot be made, and give the words that ask for its job."""
    (folder / "names.csv").write_text("name\nשרה\n", encoding="utf-8")
    return ["make", "names.csv", "--face", "ellipse:60x40", "--sheet", "300x60", "-o"]


@pytest.mark.skipif(sys.platform == "win32", reason="names of POSIX")
def test_a_folder_whose_name_is_no_text_is_made_and_told(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "nameplate", *list_of(tmp_path), b"caf\xe9"],
        cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 1 and b"Traceback" not in done.stderr, done.stderr
    assert (tmp_path / os.fsdecode(b"caf\xe9") / "summary.json").is_file()


@pytest.mark.skipif(sys.platform == "win32", reason="names of POSIX")
@pytest.mark.parametrize("name", ["~nosuchuser", "loop", "x" * 5000, "deep/" * 900, "\x1b[31m"])
def test_odd_folders_end_in_a_sentence_or_a_run(tmp_path, monkeypatch, once_in_this_process, name):
    monkeypatch.chdir(tmp_path)
    Path("loop").symlink_to("loop")
    done = CliRunner().invoke(main, [*list_of(tmp_path), name])
    if name in ("~nosuchuser", "\x1b[31m"):
        assert done.exit_code == 1, done.output
        assert (tmp_path / name / "summary.json").is_file()
    else:
        assert done.exit_code == 2, done.output
        assert "cannot be a folder" in done.stderr or "links" in done.stderr
