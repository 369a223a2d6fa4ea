"""Runs a command in a process of its own and kills it (SIGKILL) at the n-th thing that it does to the disk.

Things that count: every statement of the record, every name that changes, every file that goes, as soon as the command
is about to hand over; `at(...)` gives how a command ended, and whether it came so far.
"""

import os
import signal
import sqlite3
import sys
from pathlib import Path

from nameplate.job import approving, out_folder
from nameplate.record import marks

#: Calls of these can be the last of a process.
NAMES = ("rename", "unlink", "rmdir", "mkdir")


class _Fuse:
    """Burns a step with every thing that is done, once it is lit, and kills the process before step `last`."""

    def __init__(self, last):
        self.last, self.done, self.lit = last, 0, False

    def burn(self):
        if self.lit:
            self.done += 1
            if self.done == self.last:
                os.kill(os.getpid(), signal.SIGKILL)


def _watched(fuse, function):
    def call(*args, **more):
        fuse.burn()
        return function(*args, **more)

    return call


def _lay(fuse):
    """Put the fuse at everything that changes the disk, and light it when a command is about to hand over."""

    class Watched(sqlite3.Connection):
        def execute(self, *args):
            fuse.burn()
            return super().execute(*args)

        def executemany(self, *args):
            fuse.burn()
            return super().executemany(*args)

    connect = sqlite3.connect
    sqlite3.connect = lambda *args, **more: connect(*args, factory=Watched, **more)
    for name in NAMES:
        setattr(Path, name, _watched(fuse, getattr(Path, name)))
    os.replace = _watched(fuse, os.replace)

    def lights(function):
        def call(*args, **more):
            fuse.lit = True
            return function(*args, **more)

        return call

    out_folder.seal = lights(out_folder.seal)
    marks.steps_of = lights(marks.steps_of)
    marks.last_mark = lights(marks.last_mark)
    approving.settled_writing = lights(approving.settled_writing)


def at(last, command):
    """Run `command` (a function) and kill it at its step `last`: True when it was killed, False when it ended before.

    Raises AssertionError when it failed by itself.
    """
    pid = os.fork()
    if pid == 0:
        try:
            sys.stdout = sys.stderr = open(os.devnull, "w")  # noqa: SIM115, PTH123 - until the process ends
            _lay(_Fuse(last))
            os._exit(0 if command().exit_code == 0 else 9)
        finally:
            os._exit(8)
    status = os.waitpid(pid, 0)[1]
    if os.WIFSIGNALED(status):
        assert os.WTERMSIG(status) == signal.SIGKILL
        return True
    assert os.WEXITSTATUS(status) == 0, f"the command ended with {os.WEXITSTATUS(status)}"
    return False
