"""What all tests share: how hypothesis works here, and a pool that is this process."""

import gc
import os
import shutil
import signal
import tempfile
from functools import partial, wraps
from pathlib import Path

import pytest
from hypothesis import settings

from nameplate.job import pools, prepare
from nameplate.paperwork import cards, worklist
from nameplate.pool import processes
from nameplate.record import store
from nameplate.ticket.workshop import CONFIG_VARIABLE
from tests.lasting_pool import MADE, MEMORY, Here, HereOnce, LastingPool, dismiss_all
from tests.once import once

# tests of interrupts send them: a shell that starts the tests in the background has them ignored
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

# a busy machine is slow, not wrong; and a continuous run must end the same way twice
settings.register_profile("here", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "here")


def pytest_configure():
    if "PYTEST_XDIST_WORKER" not in os.environ:
        os.environ[MADE] = tempfile.mkdtemp(prefix="nameplate-tests-")


def pytest_collection_finish():
    """Leave all modules and tests out of what is searched for garbage: 2 of the 62 s of CPU of `cut` and `face`."""
    gc.freeze()


def pytest_unconfigure():
    if "PYTEST_XDIST_WORKER" not in os.environ:
        shutil.rmtree(os.environ.pop(MADE), ignore_errors=True)


@pytest.fixture(autouse=True)
def no_workshop_of_their_own(tmp_path_factory, monkeypatch):
    """Keep the workshop file of whoever runs the tests out of them, in processes that they start, too."""
    monkeypatch.setenv(CONFIG_VARIABLE, str(tmp_path_factory.getbasetemp() / "no-configuration"))


def _connected_in_haste(connect, *given):
    """Open a record that does not wait for the disk: 20 ms a change."""
    connection = connect(*given)
    connection.execute("PRAGMA synchronous = OFF")
    return connection


@pytest.fixture(autouse=True, scope="session")
def lasting_workers():
    """Have the workers of one job, of whatever test, work on the next, and make nothing that was made before."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(MEMORY, "folder", Path(os.environ[MADE]))
        patch.setattr(os, "fsync", lambda handle: None)  # no test pulls the plug, and each waits for the disk
        patch.setattr(store, "_connected", partial(_connected_in_haste, store._connected))
        patch.setattr(processes, "ProcessPool", LastingPool)
        patch.setattr(pools, "ProcessPool", LastingPool)
        yield
    dismiss_all()


@pytest.fixture
def made_anew(monkeypatch):
    """Have workers make everything, whatever was made before."""
    monkeypatch.setattr(MEMORY, "folder", None)
    monkeypatch.delenv(MADE)


@pytest.fixture
def in_this_process(monkeypatch):
    """Have all work done in this process: a worker's, which is a fresh one, knows nothing of a test's changes."""
    monkeypatch.setattr(processes, "ProcessPool", Here)
    monkeypatch.setattr(pools, "ProcessPool", Here)


def _once_unless_anew(function):
    remembered = once(function)
    return wraps(function)(lambda *given, **named: (remembered if MEMORY.folder else function)(*given, **named))


#: What a run works out beside the work of its pool, most of it for paper: the same for the same plates and sheets.
BESIDE = [
    (module, name, _once_unless_anew(getattr(module, name)))
    for module, name in ((cards, "glue_dots"), (worklist, "map_of"), (prepare, "room_left"))
]


@pytest.fixture
def once_in_this_process(monkeypatch):
    """Have all work done in this process, for tests that change nothing about making: what was made is remembered."""
    for module, name, asked in BESIDE:
        monkeypatch.setattr(module, name, asked)
    monkeypatch.setattr(processes, "ProcessPool", HereOnce)
    monkeypatch.setattr(pools, "ProcessPool", HereOnce)
