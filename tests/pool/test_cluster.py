"""A scheduler and two workers of Dask on the loopback, each a process of its own, on ports that the system chooses."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner
from distributed import Client

from nameplate.cli.commands import main
from nameplate.errors import ClusterError
from nameplate.pool import cluster as clusters
from nameplate.pool.cluster import connected
from nameplate.pool.interface import Assignment, Failure, nothing
from nameplate.pool.processes import run_all
from nameplate.pool.versions import versions
from nameplate.typesetting.fonts import bundled_fonts
from tests.jobs import write_job
from tests.pool.items import family_of, limit_of, whose_parents, work

pytestmark = [
    # sockets of a scheduler that was killed are closed by the collector, when it comes to that
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]

TESTS = str(Path(__file__).parent)

#: Longest a test waits for a process of the cluster to come or go, in seconds, on a very busy machine.
WAIT_S = 90


#: What Dask would look at all the time, and no test asks for.
UNWATCHED = {"DASK_DISTRIBUTED__WORKER__PROFILE__ENABLED": "False", "DASK_DISTRIBUTED__ADMIN__TICK__INTERVAL": "1s"}


class Loopback:
    """A scheduler and its workers. Addresses and state go through files and the client; output is dropped."""

    def __init__(self, folder):
        self.folder, self.workers = folder, []
        told = folder / "scheduler.json"
        self.scheduler = self.start("dask", "scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard",
                                    "--no-show", "--scheduler-file", str(told))  # fmt: skip
        wait_for(lambda: told.exists() and told.read_text(encoding="utf-8").rstrip().endswith("}"))
        self.address = json.loads(told.read_text(encoding="utf-8"))["address"]

    def start(self, *command):
        folders = [TESTS, str(Path(clusters.__file__).parents[2]), os.environ.get("PYTHONPATH", "")]
        environment = os.environ | UNWATCHED | {"PYTHONPATH": os.pathsep.join(filter(None, folders))}
        return subprocess.Popen(
            [sys.executable, "-m", *command],
            env=environment, cwd=self.folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip

    def have(self, *kinds):
        """Have a worker of each kind and no other; gives their processes."""
        kept = []
        for kind in kinds:
            there = (w for w in self.workers if kind in w.args and w.poll() is None and w not in kept)
            kept.append(next(there, None) or self.start(
                "dask", "worker", self.address, "--host", "127.0.0.1", "--nthreads", "1", "--no-dashboard",
                "--local-directory", str(self.folder), "--preload", "nothing_ahead", kind,
            ))  # fmt: skip
        for other in self.workers:
            if other not in kept:
                other.terminate()  # and a nanny its worker
                other.wait()
        self.workers = kept
        with Client(self.address, timeout=WAIT_S, set_as_default=False) as client:
            wait_for(lambda: len(client.sync(client.scheduler.identity)["workers"]) == len(kept))
        return kept

    def stop(self):
        for process in (*self.workers, self.scheduler):
            process.kill()
            process.wait()


def wait_for(true):
    end = time.monotonic() + WAIT_S
    while not true():
        assert time.monotonic() < end, "the cluster did not come up"
        time.sleep(0.1)


@pytest.fixture(scope="module")
def loopbacks(tmp_path_factory):
    """The cluster of all tests, which are few that kill a scheduler: the one that there is, in a list."""
    last = []
    yield last
    for loopback in last:
        loopback.stop()


@pytest.fixture
def own(loopbacks, tmp_path_factory, monkeypatch):
    """A cluster, with workers of the test before or without any: a test says which it has."""
    monkeypatch.setattr(clusters, "get_ready", nothing)
    if loopbacks and loopbacks[0].scheduler.poll() is not None:
        loopbacks.pop().stop()
    if not loopbacks:
        loopbacks.append(Loopback(tmp_path_factory.mktemp("dask")))
    return loopbacks[0]


@pytest.fixture
def address(own):
    own.have("--no-nanny", "--nanny")  # the second's worker is a process that by itself may start no other
    return own.address


def test_what_raises_dies_or_hangs_on_a_cluster_costs_itself(address):
    with connected(address, workers=1) as pool:
        items = ["a", "die", "hang", "raise", "b"]
        got = run_all(work, items, "n", workers=pool, limit_s=limit_of, keep=str.upper)
        assert (got[0], got[4]) == ("NA", "NB")
        died, hung, raised = got[1:4]
        assert isinstance(died, Failure) and "stop without a result" in died.reason
        assert isinstance(hung, Failure) and hung.late and "2 seconds" in hung.reason
        assert isinstance(raised, Failure) and "no such letter" in raised.reason
        parents, end = set(), time.monotonic() + 60
        while len(parents) < 2 and time.monotonic() < end:  # both workers take part as soon as they are back
            parents.update(run_all(whose_parents, ["slow"] * 4, None, workers=pool))
        assert len(parents) == 2
        assert pool.here.workers == [] and pool.remarks == []  # and this process none


def test_a_cluster_is_not_lost_while_the_client_looks_at_its_scheduler_for_itself(address):
    """Every so often a client keeps of the scheduler's answer no workers; here a thousand times as often."""
    import dask

    with dask.config.set({"distributed.client.scheduler-info-interval": "1ms"}), connected(address) as pool:
        assert not any(pool.gone() for _ in range(500))


JOB = """
[job]
roster = "names.csv"
dxf = true
[face]
shape = "ellipse"
width = 90
height = 60
[lettering]
font = "own.ttf"
[[stock]]
width = 400
height = 300
[[stock]]
material = "template"
width = 400
height = 300
"""


def digests(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.fixture
def job(tmp_path):
    """A job with a font of its own, which lies beside the ticket and nowhere else."""
    folder = tmp_path / "job"
    folder.mkdir()
    job = write_job(folder, JOB, "name,copies\nJo,2\nIda,1\n")
    font = next(info.path for info in bundled_fonts() if info.name == "Pacifico")
    (folder / "own.ttf").write_bytes(font.read_bytes())
    return job


def test_a_cluster_makes_the_same_bytes(address, job, tmp_path, in_this_process):
    for out, more in (("here", ()), ("there", ("--cluster", address))):
        done = CliRunner().invoke(main, ["make", str(job), "-o", str(tmp_path / out), *more])
        assert done.exit_code == 0, done.output
        assert "warning: the cluster" not in done.output
    here, there = digests(tmp_path / "here"), digests(tmp_path / "there")
    assert sorted(here) == sorted(there)
    assert [name for name in here if here[name] != there[name]] == []
    assert any(name.endswith(".dxf") for name in here)


def test_a_font_file_travels_with_the_work(address, job):
    """The worker is told of a path that is nowhere on its disk, like one on another machine."""
    from nameplate.system.carried import carried

    absent = Path("/nowhere/own.ttf")
    with connected(address, workers=1) as pool:
        pool.bring([job.parent / "own.ttf"])
        pool.files[absent] = pool.files.pop(job.parent / "own.ttf")
        (got,) = run_all(family_of, [str(absent)], None, workers=pool)
    assert got == "Pacifico"
    assert carried(absent) is None  # here nothing was changed


def test_an_estimate_says_the_same_from_a_cluster(address, job, in_this_process):
    runs = [CliRunner().invoke(main, ["estimate", str(job), "--json", *more]) for more in ((), ("--cluster", address))]
    assert [r.exit_code for r in runs] == [0, 0], runs[1].output
    assert runs[0].stdout == runs[1].stdout


def test_other_versions_are_refused_with_a_sentence_that_names_both(address, monkeypatch):
    monkeypatch.setattr(clusters, "versions", lambda: versions() | {"numpy": "1.0.0"})
    with pytest.raises(ClusterError) as refused, connected(address):
        pass
    theirs = versions()["numpy"]
    assert f"numpy is {theirs} there and 1.0.0 here" in str(refused.value)
    assert "the same bytes" in str(refused.value)


def test_a_worker_that_joins_later_with_other_versions_is_not_used(address, monkeypatch):
    with connected(address, workers=1) as pool:
        monkeypatch.setattr(clusters, "versions", lambda: versions() | {"numpy": "1.0.0"})
        assert run_all(work, ["a", "b", "c"], "n", workers=pool) == ("na", "nb", "nc")
        assert "numpy is" in pool.remarks[0] and "was not used" in pool.remarks[0]


def test_a_worker_that_is_killed_costs_time_only(own):
    first, _ = own.have("--no-nanny", "--no-nanny")
    with connected(own.address, workers=1) as pool:
        task = pool.begin(Assignment(whose_parents, ["slow"] * 6, None))
        time.sleep(0.5)
        first.kill()
        got = task.finish()
        assert pool.remarks == []
    assert not [outcome for outcome in got if isinstance(outcome, Failure)]
    assert first.pid not in got[-1:]


@pytest.mark.skipif(sys.platform == "win32", reason="a process cannot be stopped there")
def test_a_cluster_that_falls_silent_is_done_without(own, monkeypatch):
    (worker,) = own.have("--no-nanny")
    monkeypatch.setattr(clusters, "PATIENCE_S", 0.2)
    with connected(own.address, workers=1) as pool:
        task = pool.begin(Assignment(work, ["a", "b"], "n", limit_s=2))
        worker.send_signal(signal.SIGSTOP)
        try:
            got = task.finish()
        finally:
            worker.send_signal(signal.SIGCONT)
    assert got == ("na", "nb")


@pytest.mark.parametrize("victim", ["workers", "scheduler"])
def test_what_a_lost_cluster_had_is_made_here_and_that_is_said(own, victim, monkeypatch):
    (worker,) = own.have("--no-nanny")
    monkeypatch.setattr(clusters, "CONNECT_S", 3.0)
    with connected(own.address, workers=2) as pool:
        task = pool.begin(Assignment(work, [str(i) for i in range(40)], "n"))
        (own.scheduler if victim == "scheduler" else worker).kill()
        assert task.finish() == tuple(f"n{i}" for i in range(40))
        assert len(pool.remarks) == 1 and own.address in pool.remarks[0] and "made on this machine" in pool.remarks[0]
        assert run_all(work, ["a"], "n", workers=pool) == ("na",)  # here, at once
        assert len(pool.remarks) == 1


def test_no_scheduler_or_no_workers_is_said_in_a_sentence(own, job, tmp_path, monkeypatch):
    own.have()
    none = CliRunner().invoke(main, ["make", str(job), "-o", str(tmp_path / "out"), "--cluster", own.address])
    assert none.exit_code == 2 and "has no workers" in none.stderr
    own.stop()
    monkeypatch.setattr(clusters, "CONNECT_S", 0.3)
    for where in (own.address, "nonsense", "tcp://127.0.0.1:99999", "tcp://"):
        gone = CliRunner().invoke(main, ["make", str(job), "-o", str(tmp_path / "out"), "--cluster", where])
        assert gone.exit_code == 2 and f"no scheduler answers at {where}" in gone.stderr, (where, gone.output)
    assert not (tmp_path / "out").exists()
