"""Nobody but the program prints: no warning or log line of a library, no word from a worker."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


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


STARTER = """
import resource, signal, sys
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]), resource.RLIM_INFINITY))
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
from nameplate.cli.commands import main
main(["new", sys.argv[2]])
"""


@pytest.mark.skipif(sys.platform == "win32", reason="limits of POSIX")
@pytest.mark.parametrize("room", [0, 100, 600])
@pytest.mark.parametrize("folder", ["job", "deep/er/job", "."])
def test_new_on_a_full_disk_leaves_nothing_half(tmp_path, room, folder):
    done = python(STARTER, str(room), folder, cwd=tmp_path)
    assert done.returncode == 2 and "cannot be written" in done.stderr and "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="limits of POSIX")
def test_new_takes_its_first_file_back_when_the_second_does_not_fit(tmp_path):
    code = (
        "from nameplate.ticket import starter\n"
        "from nameplate.system.writing import write_text_atomic as write\n"
        "import errno\n"
        "from nameplate.errors import OutputError\n"
        "def second_fails(path, text):\n"
        "    if path.name == 'names.csv': raise OutputError('full') from OSError(errno.ENOSPC, 'No space left')\n"
        "    write(path, text)\n"
        "starter.write_text_atomic = second_fails\n"
        "from nameplate.cli.commands import main\n"
        "main(['new', 'job'])\n"
    )
    done = python(code, cwd=tmp_path)
    assert done.returncode == 2 and "No space left" in done.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="names of POSIX")
@pytest.mark.parametrize("name", [b"caf\xe9", b"~nosuchuser", b"loop", b"x" * 5000, b"deep/" * 900, b"\x1b[31m"])
def test_odd_folders_end_in_a_sentence_or_a_run(tmp_path, name):
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    (tmp_path / "names.csv").write_text("name\nשרה\n", encoding="utf-8")
    arguments = ["make", "names.csv", "--face", "ellipse:60x40", "--sheet", "300x60", "-o"]
    done = subprocess.run(
        [sys.executable, "-m", "nameplate", *arguments, name],
        cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, timeout=120, check=False,
    )  # fmt: skip
    possible = name in (b"caf\xe9", b"~nosuchuser", b"\x1b[31m")
    assert done.returncode == (1 if possible else 2), done.stderr
    assert b"Traceback" not in done.stderr
    if possible:
        assert (tmp_path / os.fsdecode(name) / "summary.json").is_file()
    else:
        assert b"cannot be a folder" in done.stderr or b"links" in done.stderr
