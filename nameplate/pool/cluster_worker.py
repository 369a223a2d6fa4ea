"""What runs on the machines of a cluster: each item in a process of its own kind, with its time limit.

Method: the cluster's worker hands each item on to a process that it starts with the pool of `processes.py`, so that an
item that hangs or kills its process costs itself there as it does at home, and the cluster's worker goes on. Such a
process is kept for the items that follow in the same run.

Known limit: a run that is killed leaves its idle processes behind until another run has been here for IDLE_S, or the
cluster's worker ends.
"""

from __future__ import annotations

import multiprocessing
import os
import pickle
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from nameplate.pool.interface import Failure
from nameplate.pool.processes import ProcessPool, get_ready, run_all
from nameplate.pool.versions import versions
from nameplate.system.carried import take_along

#: Seconds after which the idle processes of another run are ended. Less would end those of a run that does something
#: at home for a while, which then waits for new ones.
IDLE_S = 600.0


@dataclass(frozen=True, slots=True)
class Brief:
    """What the items of a task share: function and shared value, and the sender's font files and home folder."""

    function: Callable[[Any, Any], Any]
    shared: Any
    files: Mapping[Path, bytes]
    home: str


@dataclass(frozen=True, slots=True)
class Stranger:
    """The answer of a worker whose versions are not those that the run was begun with."""

    versions: Mapping[str, str]


@dataclass(slots=True)
class _Desk:
    """The processes of one run that wait for an item, and when one of them was last needed."""

    idle: list[ProcessPool] = field(default_factory=list)
    used: float = 0.0


_desks: dict[str, _Desk] = {}
_lock = threading.Lock()


def versions_here() -> dict[str, str]:
    """Say what this worker works with."""
    return versions()


def do_item(run: str, wanted: Mapping[str, str], brief: bytes, item: bytes, limit_s: float) -> bytes:
    """Do one item of a run and give its pickled outcome: a result, a Failure or a Stranger."""
    if versions() != wanted:
        return pickle.dumps(Stranger(versions()))
    pool = _pool(run)
    try:
        (outcome,) = run_all(do_pickled, [item], brief, workers=pool, limit_s=limit_s)
    finally:
        _put_back(run, pool)
    return pickle.dumps(outcome) if isinstance(outcome, Failure) else outcome


def do_pickled(brief: bytes, item: bytes) -> bytes:
    """Do one item (in the process that the cluster's worker started for it)."""
    told = _opened(brief)
    return pickle.dumps(told.function(told.shared, pickle.loads(item)), protocol=pickle.HIGHEST_PROTOCOL)


@lru_cache(maxsize=1)
def _opened(brief: bytes) -> Brief:
    told: Brief = pickle.loads(brief)
    take_along(told.files)
    os.environ["HOME"] = os.environ["USERPROFILE"] = told.home  # `~` in a path is the sender's
    return told


def leave(run: str) -> None:
    """End the processes that wait for items of this run."""
    with _lock:
        desk = _desks.pop(run, _Desk())
    for pool in desk.idle:
        pool.__exit__()


def _pool(run: str) -> ProcessPool:
    """Give a process that waits for an item of this run, or a new one."""
    multiprocessing.current_process().daemon = False  # one that a nanny started may have no children otherwise
    now = time.monotonic()
    with _lock:
        old = [other for other, desk in _desks.items() if other != run and now - desk.used > IDLE_S]
        desk = _desks.setdefault(run, _Desk())
        desk.used = now
        pool = desk.idle.pop() if desk.idle else ProcessPool(1, ready=get_ready)
    for other in old:
        leave(other)
    return pool


def _put_back(run: str, pool: ProcessPool) -> None:
    with _lock:
        desk = _desks.get(run)
        if desk is not None:
            desk.idle.append(pool)
            return
    pool.__exit__()  # the run has left meanwhile
