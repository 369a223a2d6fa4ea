"""Real runs that are stopped at several moments: what they leave, what they say, and what the next run makes of it."""

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from nameplate.cli import screen
from nameplate.cli.commands import main
from nameplate.job import pools
from nameplate.system.digests import digest
from tests.jobs import write_job
from tests.lasting_pool import HereOnce

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")

ROOT = Path(__file__).resolve().parents[2]

#: Moments that can be told by what lies in the job's folder.
STATES = {"writing": ".out-*-new/new", "a sheet": ".out-*-new/new/cut/*.svg"}

#: Seconds after which a test gives up waiting; the job takes about four on one core.
PATIENCE = 120

TICKET = """
job = { title = "Orchard sponsors", roster = "names.csv" }
face = { shape = "ellipse", width = 60, height = 40 }
lettering = { strengthen = false, legibility = "off" }
nest = { engine = "rectangle" }
jig = { style = "none" }
stock = [{ material = "lettering", width = 300, height = 45 }]
"""


@pytest.fixture(scope="module")
def finished(tmp_path_factory):
    """A finished run of the job in an own folder, beside its ticket."""
    folder = tmp_path_factory.mktemp("job")
    write_job(folder, TICKET, "name\nJo\nIda\nMo\nAl\n")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pools, "ProcessPool", HereOnce)
        done = CliRunner().invoke(main, command(folder)[3:])
    assert done.exit_code == 0, done.output
    return folder


def alone(folder):
    """The command with all work in its own process, where it does not matter who works."""
    return command(folder, "tests.alone")


def command(folder, module="nameplate"):
    return [sys.executable, "-m", module, "make", str(folder / "job.toml"), "-o", str(folder / "out")]


def state(folder):
    """Every file in a folder and its digest; hidden ones too."""
    found = (path for path in folder.rglob("*") if path.is_file() and not is_record(path))
    return {path.relative_to(folder).as_posix(): digest(path.read_bytes()) for path in found}


def is_record(path):
    """Tell whether a file is the job's record, whose times differ, or what SQLite keeps beside one of a dead run."""
    return path.name.startswith("job.record")


def stopped_at(folder, moment, how, *, group, workers=2):
    """Start the job, and send it a signal at a moment: after a stage that `--timing` tells, or by its folder.

    Where it is for its sheets that it is stopped, it does not make its plates anew.
    """
    words = command(folder, "tests.hired" if moment == "a sheet" else "nameplate")
    run = subprocess.Popen(
        [*words[:3], "--timing", *words[3:], "--workers", str(workers)],
        cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip
    end = time.monotonic() + PATIENCE
    if moment in STATES:
        while time.monotonic() < end and run.poll() is None and not any(folder.glob(STATES[moment])):
            time.sleep(0.002)
    else:
        while not run.stderr.readline().startswith(f"{moment} "):
            assert run.poll() is None
    (os.killpg if group else os.kill)(run.pid, how)
    out, err = run.communicate(timeout=PATIENCE)
    said = [line for line in err.splitlines() if not re.fullmatch(r"[a-z -]+ \d+\.\d+ s", line)]
    return run, out, said


def still_running(session):
    """The processes of a session that are not dead, where the system tells."""
    found = []
    for entry in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = entry.read_text(encoding="utf-8", errors="replace").rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[3]) == session and fields[0] not in "ZX":
            found.append(entry.parent.name)
    return found


def none_left(session):
    end = time.monotonic() + 10
    while still_running(session) and time.monotonic() < end:
        time.sleep(0.02)
    return not still_running(session)


@pytest.mark.parametrize(
    ("moment", "how", "group", "workers"),
    [
        ("roster", "SIGINT", True, 2),
        ("a sheet", "SIGINT", True, 2),
        ("shared parts", "SIGTERM", False, 2),
        ("writing", "SIGHUP", True, 1),
    ],
)
def test_a_run_that_is_told_to_stop_leaves_everything_as_it_was(finished, moment, how, group, workers):
    before, signum = state(finished), getattr(signal, how)
    run, out, said = stopped_at(finished, moment, signum, group=group, workers=workers)
    assert run.returncode == 128 + signum, said
    word = "interrupted" if how == "SIGINT" else f"ended by {how}"
    assert (out, said) == ("", [f"{word}; nothing was written"])
    assert state(finished) == before
    assert none_left(run.pid)


@pytest.mark.parametrize("moment", ["shared parts", "a sheet"])
def test_what_a_killed_run_leaves_is_cleared_by_the_next(finished, moment):
    before = state(finished / "out")
    run, out, said = stopped_at(finished, moment, signal.SIGKILL, group=False, workers=1)
    assert (run.returncode, out, said) == (-signal.SIGKILL, "", [])
    assert none_left(run.pid)
    assert state(finished / "out") == before
    done = CliRunner().invoke(main, ["inspect", str(finished / "out")])
    assert (done.exit_code, done.stderr) == (0, "")
    assert sorted(p.name for p in finished.iterdir() if not is_record(p)) == ["job.toml", "names.csv", "out"]


#: Runs the job in a process that kills itself in the moment in which its folder should take the place of the old one.
KILLED_IN_THE_SWAP = """
import os, pathlib, signal, sys
rename = pathlib.Path.rename
def deadly(self, target):
    if self.name == "new":
        os.kill(os.getpid(), signal.SIGKILL)
    return rename(self, target)
pathlib.Path.rename = deadly
from tests.alone import main
main(sys.argv[1:])
"""


def test_a_run_killed_between_the_two_renames_gives_the_old_folder_back(finished, tmp_path, once_in_this_process):
    before, left = state(finished), tmp_path / "left"
    killed = subprocess.run(
        [sys.executable, "-c", KILLED_IN_THE_SWAP, *alone(finished)[3:]],
        cwd=ROOT, capture_output=True, text=True, timeout=PATIENCE, check=False,
    )  # fmt: skip
    assert killed.returncode == -signal.SIGKILL and not (finished / "out").exists()
    shutil.copytree(finished, left)
    for next_command in (["inspect", str(finished / "out")], command(finished)[3:]):
        shutil.rmtree(finished)
        shutil.copytree(left, finished)
        done = CliRunner().invoke(main, next_command)
        assert done.exit_code == 0 and "is back in its place" in done.stderr
        assert state(finished) == before


def test_ctrl_c_after_the_change_says_where_the_files_are(finished, monkeypatch, once_in_this_process):
    monkeypatch.setattr(screen, "show_findings", lambda *_, **__: os.kill(os.getpid(), signal.SIGINT))
    done = CliRunner().invoke(main, command(finished)[3:])
    assert done.exit_code == 130
    assert done.stderr.splitlines()[-1] == f"interrupted; the finished files are in {finished / 'out'}"


@pytest.mark.parametrize("where", ["full", "gone", "closed"])
def test_a_run_ends_as_it_should_whatever_becomes_of_its_output(finished, where):
    arguments = alone(finished)
    if where == "full":
        if not Path("/dev/full").exists():
            pytest.skip("no device that is always full")
        with Path("/dev/full").open("w", encoding="utf-8") as full:
            done = subprocess.run(
                arguments, cwd=ROOT, stdout=full, stderr=subprocess.PIPE, text=True, timeout=PATIENCE, check=False
            )
        assert "No space left" in done.stderr
    elif where == "gone":
        reader, writer = os.pipe()
        os.close(reader)
        done = subprocess.run(
            arguments, cwd=ROOT, stdout=writer, stderr=subprocess.PIPE, text=True, timeout=PATIENCE, check=False
        )
        os.close(writer)
    else:
        closing = ["sh", "-c", 'exec "$@" >&- 2>&- <&-', "sh", *arguments]
        done = subprocess.run(closing, cwd=ROOT, capture_output=True, text=True, timeout=PATIENCE, check=False)
    assert done.returncode == 0
    assert "Traceback" not in done.stderr and "BrokenPipe" not in done.stderr
    assert (finished / "out" / "summary.json").is_file() and not list(finished.glob(".out*"))


def test_an_answer_that_does_not_get_onto_a_full_disk_is_an_error():
    if not Path("/dev/full").exists():
        pytest.skip("no device that is always full")
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = subprocess.run(
            [sys.executable, "-m", "nameplate", "explain"],
            cwd=ROOT, stdout=full, stderr=subprocess.PIPE, text=True, timeout=PATIENCE, check=False,
        )  # fmt: skip
    assert done.returncode == 2 and "could not be written" in done.stderr
