"""The pools of the tests: workers that stay for the next job, and none makes what was made before.

What a worker gives is a function of what it is sent: it is a fresh process, which knows nothing of a test's changes. So
what any test of the session has had made lies in a folder of the session, by a digest of what was asked for. Tests that
compare two runs have the fixture `made_anew`. Functions of tests, failures, and what depends on a font's file besides
what is sent are not remembered.
"""

import hashlib
import os
import pickle
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from nameplate.plates.make import PlateContext
from nameplate.pool import processes
from nameplate.pool.interface import Failure, Task
from nameplate.pool.processes import ProcessPool, ProcessTask

#: The variable that tells the processes of a session where what was made lies.
MADE = "NAMEPLATE_TESTS_MADE"

#: Workers that wait for the next pool.
AT_LEISURE = []

#: What is asked for depends on a test's function or on a font's file where this occurs in it.
OF_THEIR_OWN = (b"tests", b"test_", b".ttf", b".otf", b".TTF", b".OTF")


class Memory:
    """Outcomes by what was asked for, in a folder; without one there are none, and none of the functions `anew`."""

    folder = None
    anew = ()

    def place_of(self, assignment, item, limit_s):
        """Give the file of an outcome; None where it is not to be remembered."""
        if self.folder is None:
            return None
        function = pickle.dumps(assignment.function)
        if any(name.encode() in function for name in self.anew):
            return None
        asked = pickle.dumps((function, _anywhere(assignment.shared), item, limit_s))
        if b"nameplate." not in function or any(own in asked for own in OF_THEIR_OWN):
            return None
        return self.folder / hashlib.sha256(asked).hexdigest()

    @staticmethod
    def write(place, outcome):
        ours = place.with_suffix(f".{os.getpid()}")
        ours.write_bytes(pickle.dumps(outcome))
        with suppress(OSError):  # on Windows another process may read it just now
            ours.replace(place)


def _anywhere(shared):
    """Give what is shared without the ticket's folder: nothing but fonts is read from there."""
    if not isinstance(shared, dict) or not all(isinstance(own, PlateContext) for own in shared.values()):
        return shared
    return {name: replace(own, folder=Path()) for name, own in shared.items()}


MEMORY = Memory()


class Remembering(Task):
    """Has only made what nobody has made yet; the rest is there when it is looked for."""

    def __init__(self, assignment, limit_s):
        Task.__init__(self, assignment, limit_s)
        self._places = [MEMORY.place_of(assignment, own, self._limit_of(at)) for at, own in enumerate(assignment.items)]
        self._there = [at for at in self._waiting if self._places[at] and self._places[at].exists()]
        self._waiting = [at for at in self._waiting if at not in self._there]

    def _remember(self):
        while self._there:
            at = self._there.pop()
            super()._keep(at, pickle.loads(self._places[at].read_bytes()))

    def _keep(self, position, outcome):
        if self._places[position] and not isinstance(outcome, Failure):
            MEMORY.write(self._places[position], outcome)
        super()._keep(position, outcome)


class LastingTask(Remembering, ProcessTask):
    """Work of a pool that lasts."""

    def __init__(self, pool, assignment):
        Remembering.__init__(self, assignment, pool.limit_s)
        self._pool = pool
        ProcessPool.hire(pool, len(self._waiting))
        self._hand_out()

    def tend(self):
        self._remember()
        ProcessTask.tend(self)

    def finish(self):
        self._remember()
        return ProcessTask.finish(self)


class LastingPool(ProcessPool):
    """Processes as users have them, but that they stay for the next pool instead of ending with theirs.

    To start one takes four times the CPU of a small job, so none is hired before there is something to make.
    """

    def hire(self, items):
        pass

    def begin(self, assignment):
        return LastingTask(self, assignment)

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


class HiredPool(ProcessPool):
    """Processes as users have them, who are not given what was made before."""

    def begin(self, assignment):
        return LastingTask(self, assignment)


def dismiss_all():
    """Stop all workers at leisure."""
    pool = ProcessPool()
    pool.workers += AT_LEISURE
    AT_LEISURE.clear()
    pool.__exit__()


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
        return AtOnce(assignment, self.limit_s)


class AtOnce(Task):
    """Work that is done when its end is waited for."""

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


class HereOnce(Here):
    """This process for tests that change nothing about making: what was made before is there."""

    def begin(self, assignment):
        return OnceAtOnce(assignment, self.limit_s)


class OnceAtOnce(Remembering, AtOnce):
    """Work that is done at once where nobody has done it."""

    def finish(self):
        self._remember()
        return AtOnce.finish(self)
