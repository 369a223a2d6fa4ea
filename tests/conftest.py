"""What all tests share: how hypothesis works here, and a pool that is this process."""

import os
import signal

import pytest
from hypothesis import settings

from nameplate.job import pools
from nameplate.pool import processes
from nameplate.pool.interface import Task
from nameplate.ticket.workshop import CONFIG_VARIABLE

# tests of interrupts send them: a shell that starts the tests in the background has them ignored
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

# a busy machine is slow, not wrong; and a continuous run must end the same way twice
settings.register_profile("here", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "here")


@pytest.fixture(autouse=True)
def no_workshop_of_their_own(tmp_path_factory, monkeypatch):
    """Keep the workshop file of whoever runs the tests out of them, in processes that they start, too."""
    monkeypatch.setenv(CONFIG_VARIABLE, str(tmp_path_factory.getbasetemp() / "no-configuration"))


#: Workers that wait for the next pool.
AT_LEISURE = []


class LastingPool(processes.ProcessPool):
    """Processes as users have them, but that workers at leisure stay for the next pool instead of ending with theirs.

    To start one takes four times the CPU of a small job.
    """

    def _hire(self):
        try:
            worker = AT_LEISURE.pop()
        except IndexError:
            return super()._hire()
        self.workers.append(worker)
        if not worker.process.is_alive():
            self.replace(worker)

    def __exit__(self, *reason):
        for worker in [worker for worker in self.workers if worker.position is None]:
            self.workers.remove(worker)
            worker.task = None
            AT_LEISURE.append(worker)
        super().__exit__(*reason)


@pytest.fixture(autouse=True, scope="session")
def lasting_workers():
    """Have the workers of one job, of whatever test, work on the next."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(processes, "ProcessPool", LastingPool)
        patch.setattr(pools, "ProcessPool", LastingPool)
        yield
    while AT_LEISURE:
        pool = processes.ProcessPool()
        pool.workers.append(AT_LEISURE.pop())
        pool.dismiss(pool.workers[0])


class Here:
    """A third home of the pool: this process, which knows what a test has put in place of something."""

    def __init__(self, count=None, *, ready=None, limit_s=0.0):
        self.limit_s = limit_s

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass

    def hire(self, items):
        pass

    def bring(self, paths):
        pass

    def begin(self, assignment):
        return _AtOnce(assignment, self.limit_s)


class _AtOnce(Task):
    def tend(self):
        pass

    def abandon(self):
        pass

    def finish(self):
        do = self._assignment
        while self._waiting:
            position = self._waiting.pop()
            self._keep(position, processes._attempt(do.function, do.shared, do.items[position]))
        return self._in_order()


@pytest.fixture
def in_this_process(monkeypatch):
    """Have all work done in this process: a worker's, which is a fresh one, knows nothing of a test's changes."""
    monkeypatch.setattr(processes, "ProcessPool", Here)
    monkeypatch.setattr(pools, "ProcessPool", Here)
