"""The pool at home: functions run over many items in processes of this machine, whatever happens to one of them.

Method: the pool is a few fresh (spawned) processes, each with a pipe of its own, that stay for a whole run and take any
function importable by name. The parent hands a worker one item at a time. A worker that raises, dies or takes longer
than the limit costs the item it held: that item's outcome is a Failure, the worker is replaced and the run goes on.
Results come back in the order of the items, in whatever order they were made.

A worker never outlives its parent: it watches for the parent's end, and a clock outside the interpreter ends it where
native code holds the interpreter so long that it cannot watch.

Known limit: the shared value of a task is sent to every worker once, so it should be small (a few megabytes).
"""

from __future__ import annotations

import faulthandler
import importlib
import multiprocessing
import os
import sys
import threading
import time
import traceback
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing import resource_tracker
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from nameplate.pool.interface import (
    ITEM_LIMIT_MB,
    ITEM_LIMIT_S,
    Assignment,
    Failure,
    Item,
    Limit,
    Pool,
    Result,
    Shared,
    Task,
    as_it_is,
    given_up,
    nothing,
)
from nameplate.system.interrupts import blocked, deferred, leave_to_parent
from nameplate.system.process import be_silent
from nameplate.system.shelf import give_back

if TYPE_CHECKING:
    import psutil

#: Libraries that take longest to load of those that making a plate needs.
HEAVY = ("fontTools.unicodedata", "pathops", "scipy.sparse.csgraph", "scipy.spatial", "uharfbuzz")

#: Below this many items one process is enough: a second costs more (half a second of imports) than it saves.
FEWEST_FOR_PROCESSES = 4

#: The least share of a core that a worker on a busy machine gets. One that had less, for as long as its limit, waits
#: for something that does not come. Less would find that out later, more could hit honest work beside many programs.
LEAST_SHARE = 0.02

#: Seconds between two looks at the memory of a worker, and at the clock of one that is over its limit by the clock on
#: the wall alone.
LOOK_S = 1.0

#: Seconds that the parent waits at a stretch. Longer waits let an interrupt lie, shorter ones take time of the workers.
LONGEST_WAIT_S = 1.0

#: Seconds beyond an item's limit after which a worker ends itself, should its parent be gone by then:
#: longer than its parent, if there is one, would wait for it.
ORPHAN_S = 5.0


@dataclass(slots=True)
class _Worker:
    """A process; it works on the item at `position` since `since`, or waits for one.

    `spent` is the seconds of a core that it had taken before, `look` when to see whether it is late; `held` is the
    memory in MB that it had before, and `weigh` when to see how much it has. What a new one takes to load counts as
    taken before its first item.
    """

    process: SpawnProcess
    pipe: Connection
    task: object = None
    position: int | None = None
    since: float = 0.0
    limit_s: float = 0.0
    spent: float = 0.0
    look: float = 0.0
    held: float = 0.0
    weigh: float = 0.0


class _Loaded:
    """What a new worker says before its first outcome."""


class ProcessPool:
    """Up to `count` worker processes (one a core if left out), started when they are first worth it.

    Use it in a `with` block, at whose end every worker stops at once. `ready` is called in each new worker before its
    first item: a function importable by name that loads what the work needs. `limit_s` is what an item may take where
    its task says nothing else.
    """

    def __init__(
        self, count: int | None = None, *, ready: Callable[[], None] | None = None, limit_s: float = ITEM_LIMIT_S
    ) -> None:
        self.count = count or os.cpu_count() or 1
        self.limit_s = limit_s
        self._ready = ready
        self._context = multiprocessing.get_context("spawn")
        self.workers: list[_Worker] = []

    def __enter__(self) -> ProcessPool:
        return self

    def __exit__(self, *_: object) -> None:
        with deferred():
            for worker in list(self.workers):
                self.dismiss(worker)

    def hire(self, items: int) -> None:
        """Start the workers that this many items are worth, so that they get ready while the parent does."""
        worth = items if items >= FEWEST_FOR_PROCESSES else min(items, 1)
        while len(self.workers) < min(self.count, worth):
            self._hire()

    def bring(self, paths: Iterable[Path]) -> None:
        """Do nothing: a process of this machine reads this machine's disk."""

    def begin(self, assignment: Assignment[Shared, Item, Result]) -> ProcessTask[Shared, Item, Result]:
        """Begin an assignment; one at a time: `finish` it before the next begins."""
        return ProcessTask(self, assignment)

    def _hire(self) -> None:
        ours, theirs = self._context.Pipe()
        process = self._context.Process(target=_serve, args=(theirs, self._ready), daemon=True)
        if sys.platform != "win32":  # its start, in the middle of a worker's, would let signals through again
            resource_tracker.ensure_running()
        with deferred():  # another thread may take a signal that is blocked in this one
            with blocked():
                process.start()
            theirs.close()
            self.workers.append(_Worker(process, ours))

    def replace(self, worker: _Worker) -> None:
        """Stop a worker at once and start another."""
        self.dismiss(worker)
        self._hire()

    def dismiss(self, worker: _Worker) -> None:
        """Stop a worker at once."""
        worker.process.kill()
        worker.process.join()
        worker.pipe.close()
        self.workers.remove(worker)


class ProcessTask(Task[Shared, Item, Result]):
    """An assignment that processes work on."""

    def __init__(self, pool: ProcessPool, assignment: Assignment[Shared, Item, Result]) -> None:
        super().__init__(assignment, pool.limit_s)
        self._pool = pool
        pool.hire(len(assignment.items))
        self._hand_out()

    def tend(self) -> None:
        """Take what is ready and hand out more, without waiting; for a parent that is busy with other things."""
        self._collect(0.0)
        self._hand_out()

    def finish(self) -> tuple[Result | Failure, ...]:
        """Wait for all items and give their outcomes in order."""
        while self.left:
            self._hand_out()
            self._collect(None)
        return self._in_order()

    def abandon(self) -> None:
        """Stop the workers that are busy with this task, so that the pool can do another."""
        for worker in self._busy():
            self._pool.dismiss(worker)

    def _busy(self) -> list[_Worker]:
        return [worker for worker in self._pool.workers if worker.position is not None]

    def _hand_out(self) -> None:
        for worker in [w for w in self._pool.workers if w.position is None][: len(self._waiting)]:
            self._hand_to(worker, self._waiting.pop())

    def _hand_to(self, worker: _Worker, position: int) -> None:
        worker.position, worker.limit_s = position, self._limit_of(position)
        _start_clock(worker)
        news = None if worker.task is self else (self._assignment.function, self._assignment.shared)
        worker.task = self
        # a worker that is dead is seen by its closed pipe, in _collect
        with suppress(BrokenPipeError, OSError):
            worker.pipe.send((news, self._assignment.items[position], worker.limit_s / LEAST_SHARE + ORPHAN_S))

    def _collect(self, timeout: float | None) -> None:
        """Take in what is ready, and give up who is late; waits for the first of them when `timeout` is None.

        It never waits for long: an interrupt that another thread took, or any on Windows, is seen only between waits.
        """
        busy = {worker.pipe: worker for worker in self._busy()}
        if timeout is None:
            now = time.monotonic()
            timeout = max(0.0, min((w.look - now for w in busy.values()), default=0.0))
            timeout = min(timeout, LONGEST_WAIT_S)
        ready = wait(list(busy), timeout=timeout)
        for pipe, worker in busy.items():
            if pipe in ready:
                self._receive(worker)
            elif _is_late(worker):
                self._give_up(worker, given_up(f"longer than {worker.limit_s:.0f} seconds"))
            elif _is_too_large(worker):
                self._give_up(worker, given_up(f"more than {ITEM_LIMIT_MB:.0f} MB of memory"))

    def _receive(self, worker: _Worker) -> None:
        try:
            outcome, worker.spent = worker.pipe.recv()
        except (EOFError, OSError):
            self._give_up(worker, Failure("made its worker process stop without a result"))
            return
        if isinstance(outcome, _Loaded):
            _start_clock(worker)
            return
        position, worker.position = worker.position, None
        assert position is not None
        self._keep(position, outcome)

    def _give_up(self, worker: _Worker, failure: Failure) -> None:
        assert worker.position is not None
        self._pool.replace(worker)
        self._keep(worker.position, failure)


def _start_clock(worker: _Worker) -> None:
    """Count time and memory of a worker's item from now on."""
    worker.since = time.monotonic()
    worker.look = worker.since + worker.limit_s
    worker.held, worker.weigh = _memory_mb(worker), worker.since + LOOK_S


def _is_late(worker: _Worker) -> bool:
    """Tell whether a worker has had its item's time: so many seconds of a core, however busy the machine is.

    One that takes no part of a core, because it waits for something, has had it when so many seconds have gone by.
    """
    now = time.monotonic()
    if now < worker.look:
        return False
    worker.look = now + LOOK_S
    taken = _asked(worker, lambda process: sum(process.cpu_times()[:2])) - worker.spent  # user's and system's
    return taken >= worker.limit_s or taken < LEAST_SHARE * (now - worker.since)


def _is_too_large(worker: _Worker) -> bool:
    """Tell whether a worker has taken more memory for its item than one may; looks once in a while."""
    now = time.monotonic()
    if now < worker.weigh:
        return False
    worker.weigh = now + LOOK_S
    return _memory_mb(worker) > worker.held + ITEM_LIMIT_MB


def _memory_mb(worker: _Worker) -> float:
    return _asked(worker, lambda process: process.memory_info().rss / 1e6)


def _asked(worker: _Worker, what: Callable[[psutil.Process], float]) -> float:
    """Ask the system about the process of a worker; 0 when it is gone."""
    import psutil

    with deferred(), suppress(psutil.Error):  # an interrupt in the middle would leave a file of the system open
        return float(what(psutil.Process(worker.process.pid)))
    return 0.0


def _serve(pipe: Connection, ready: Callable[[], None] | None) -> None:
    """Answer items until the pipe closes (in the worker process)."""
    leave_to_parent()
    be_silent()
    threading.Thread(target=_end_with_parent, daemon=True).start()
    if ready is not None:
        ready()
    with suppress(OSError):  # a parent that is gone is seen below
        pipe.send((_Loaded(), time.process_time()))
    function, shared = None, None
    while True:
        try:
            news, item, seconds = pipe.recv()
        except (EOFError, OSError):
            return
        if news is not None:
            function, shared = news
            give_back()
        # a clock that needs no interpreter; it writes where `be_silent` has put nothing
        faulthandler.dump_traceback_later(seconds, exit=True, file=2)
        outcome = _attempt(function, shared, item)
        faulthandler.cancel_dump_traceback_later()
        try:
            pipe.send((outcome, time.process_time()))
        except OSError:
            return  # the parent is gone


def _end_with_parent() -> None:
    """End this worker at once when its parent dies, even by SIGKILL: it must not write behind its back."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(0)


def _attempt(function: Any, shared: Any, item: Any) -> Any:  # noqa: ANN401 - any values
    try:
        return function(shared, item)
    except Exception as error:
        return Failure(f"failed: {type(error).__name__}: {error}", traceback.format_exc())


#: Who works: so many processes (one a core for None), or a pool that is there already.
Workers: TypeAlias = Pool | int | None


@contextmanager
def pool_of(workers: Workers, *, ready: Callable[[], None] | None = None) -> Iterator[Pool]:
    """Give the pool that is there already, or a new one for the time of the block."""
    if workers is None or isinstance(workers, int):
        with ProcessPool(workers, ready=ready) as pool:
            yield pool
    else:
        yield workers


def load(modules: Sequence[str]) -> None:
    """Load modules, in a worker that still waits for its first item."""
    for name in modules:
        importlib.import_module(name)


def get_ready() -> None:
    """Load what making plates needs, in a worker that still waits for its first order."""
    load(HEAVY)


def run_all(
    function: Callable[[Shared, Item], Result],
    items: Sequence[Item],
    shared: Shared,
    *,
    workers: Workers = None,
    limit_s: Limit = None,
    done: Callable[[], None] = nothing,
    size: Callable[[Item], float] | None = None,
    keep: Callable[[Result], Result] = as_it_is,
) -> tuple[Result | Failure, ...]:
    """Give `function(shared, item)` for every item, in order; a Failure stands where there is no result.

    `done` is called after each item. The largest by `size` go first. `keep` gives what stays of each result as soon as
    it is there.

    >>> run_all(pow, [1, 2, 3], 2, workers=1)
    (2, 4, 8)
    """
    with pool_of(workers) as pool:
        task = pool.begin(Assignment(function, items, shared, limit_s, done, size, keep))
        try:
            return task.finish()
        except BaseException:
            task.abandon()
            raise
