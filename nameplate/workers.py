"""Runs functions over many items in worker processes, whatever happens to a worker.

Method: a crew is a few fresh (spawned) processes, each with a pipe of its own, that stay for a whole run and take any
function importable by name. The parent hands a worker one item at a time. A worker that raises, dies or takes longer
than the limit costs the item it held: that item's outcome is a Failure, the worker is replaced and the run goes on.
Results come back in the order of the items, in whatever order they were made.

Known limit: the shared value of a job is sent to every worker once, so it should be small (a few megabytes).
"""

from __future__ import annotations

import importlib
import multiprocessing
import os
import threading
import time
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from typing import Any, Generic, TypeAlias, TypeVar

from nameplate.interrupts import blocked, deferred, leave_to_parent
from nameplate.process import be_silent
from nameplate.shelf import give_back

Item = TypeVar("Item")
Shared = TypeVar("Shared")
Result = TypeVar("Result")

#: Seconds one item may take before its worker is given up. A name takes well under one second; a larger value only
#: makes a hung worker cost more time.
ITEM_LIMIT_S = 120.0

#: Items that wait for a worker while the parent, which lends a hand, is busy with one of its own.
AHEAD = 1

#: Below this many items a process costs more (half a second of imports) than it saves.
FEWEST_FOR_PROCESSES = 4


@dataclass(frozen=True, slots=True)
class Failure:
    """Why an item has no result. `reason` is a sentence for the user, `detail` a traceback for a bug report."""

    reason: str
    detail: str = ""


@dataclass(slots=True)
class _Worker:
    """A process; it works on the first of `items` (positions) since `since`, the others wait in its pipe."""

    process: SpawnProcess
    pipe: Connection
    job: object = None
    items: list[int] = field(default_factory=list)
    since: float = 0.0


class Crew:
    """Up to `count` worker processes (one a core if left out), started when they are first worth it.

    With `lend` the parent is one of the `count`: it works too while it waits, on items that are small and cannot hang.
    Use it in a `with` block, at whose end every worker stops at once. `ready` is called in each new worker before its
    first item: a function importable by name that loads what the work needs.
    """

    def __init__(
        self, count: int | None = None, *, ready: Callable[[], None] | None = None, lend: bool = False
    ) -> None:
        self.count = count or os.cpu_count() or 1
        self.lend = lend
        self._ready = ready
        self._context = multiprocessing.get_context("spawn")
        self.workers: list[_Worker] = []

    def __enter__(self) -> Crew:
        return self

    def __exit__(self, *_: object) -> None:
        with deferred():
            for worker in list(self.workers):
                self.dismiss(worker)

    def hire(self, items: int) -> None:
        """Start the workers that this many items are worth, so that they get ready while the parent does."""
        if self.count > 1 and (self.workers or items >= FEWEST_FOR_PROCESSES):
            while len(self.workers) < min(self.count - self.lend, items):
                self._hire()

    def _hire(self) -> None:
        ours, theirs = self._context.Pipe()
        process = self._context.Process(target=_serve, args=(theirs, self._ready), daemon=True)
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


class Job(Generic[Shared, Item, Result]):
    """All items of one function, under way. A crew does one job at a time; `finish` it before the next begins."""

    def __init__(
        self,
        crew: Crew,
        function: Callable[[Shared, Item], Result],
        items: Sequence[Item],
        shared: Shared,
        *,
        limit_s: float = ITEM_LIMIT_S,
        done: Callable[[], None] = lambda: None,
        size: Callable[[Item], float] | None = None,
        keep: Callable[[Result], Result] = lambda result: result,
    ) -> None:
        """Hand out the first items. Those of the largest `size` go first, so that the last to end is a small one.

        `keep` gives what stays of each result, as soon as it is there (here, not in the worker).
        """
        self._crew, self._function, self._items, self._shared = crew, function, items, shared
        self._limit_s, self._done, self._kept = limit_s, done, keep
        order = sorted(range(len(items)), key=lambda i: -size(items[i])) if size else list(range(len(items)))
        self._waiting = order[::-1]
        self._outcomes: dict[int, Result | Failure] = {}
        crew.hire(len(items))
        self._hand_out()

    @property
    def left(self) -> int:
        """Number of items that have no outcome yet."""
        return len(self._items) - len(self._outcomes)

    def tend(self) -> None:
        """Take what is ready and hand out more, without waiting; for a parent that is busy with other things."""
        self._collect(0.0)
        self._hand_out()

    def finish(self) -> tuple[Result | Failure, ...]:
        """Wait for all items and give their outcomes in order; without workers, do them here."""
        while self.left:
            lends = self._waiting and (self._crew.lend or not self._crew.workers)
            if lends:
                position = self._waiting.pop()
                self._keep(position, _attempt(self._function, self._shared, self._items[position]))
            if self._crew.workers:
                self._collect(0.0 if lends else None)
                self._hand_out()
        return tuple(self._outcomes[i] for i in range(len(self._items)))

    def abandon(self) -> None:
        """Stop the workers that are busy with this job, so that the crew can do another."""
        for worker in [worker for worker in self._crew.workers if worker.items]:
            self._crew.dismiss(worker)

    def _keep(self, position: int, outcome: Result | Failure) -> None:
        self._outcomes[position] = outcome if isinstance(outcome, Failure) else self._kept(outcome)
        self._done()

    def _hand_out(self) -> None:
        for depth in range(1 + (AHEAD if self._crew.lend else 0)):
            for worker in [w for w in self._crew.workers if len(w.items) == depth][: len(self._waiting)]:
                self._hand_to(worker, self._waiting.pop())

    def _hand_to(self, worker: _Worker, position: int) -> None:
        if not worker.items:
            worker.since = time.monotonic()
        worker.items.append(position)
        news = None if worker.job is self else (self._function, self._shared)
        worker.job = self
        try:
            worker.pipe.send((news, self._items[position]))
        except (BrokenPipeError, OSError):
            return  # the worker is dead; _collect sees its closed pipe

    def _collect(self, timeout: float | None) -> None:
        """Take in what is ready, and give up who is late; waits for the first of them when `timeout` is None."""
        busy = {w.pipe: w for w in self._crew.workers if w.items}
        if timeout is None:
            oldest = min((w.since for w in busy.values()), default=time.monotonic())
            timeout = max(0.0, oldest + self._limit_s - time.monotonic())
        ready = wait(list(busy), timeout=timeout)
        for pipe, worker in busy.items():
            if pipe in ready:
                self._receive(worker)
            elif time.monotonic() - worker.since >= self._limit_s:
                self._give_up(worker, f"took longer than {self._limit_s:.0f} seconds and was given up")

    def _receive(self, worker: _Worker) -> None:
        try:
            outcome: Result | Failure = worker.pipe.recv()
        except (EOFError, OSError):
            self._give_up(worker, "made its worker process stop without a result")
            return
        position, worker.since = worker.items.pop(0), time.monotonic()
        self._keep(position, outcome)

    def _give_up(self, worker: _Worker, reason: str) -> None:
        position, *behind = worker.items
        self._crew.replace(worker)
        self._waiting += behind[::-1]
        self._keep(position, Failure(reason))


def _serve(pipe: Connection, ready: Callable[[], None] | None) -> None:
    """Answer items until the pipe closes (in the worker process)."""
    leave_to_parent()
    be_silent()
    threading.Thread(target=_end_with_parent, daemon=True).start()
    if ready is not None:
        ready()
    function, shared = None, None
    while True:
        try:
            news, item = pipe.recv()
        except (EOFError, OSError):
            return
        if news is not None:
            function, shared = news
            give_back()
        outcome = _attempt(function, shared, item)
        try:
            pipe.send(outcome)
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


#: Who works: so many processes (one a core for None), or a crew that is there already.
Workers: TypeAlias = Crew | int | None


@contextmanager
def crew_of(workers: Workers, *, ready: Callable[[], None] | None = None, lend: bool = False) -> Iterator[Crew]:
    """Give the crew that is there already, or a new one for the time of the block."""
    if isinstance(workers, Crew):
        yield workers
    else:
        with Crew(workers, ready=ready, lend=lend) as crew:
            yield crew


def load(modules: Sequence[str]) -> None:
    """Load modules, in a worker that still waits for its first item."""
    for name in modules:
        importlib.import_module(name)


def run_all(
    function: Callable[[Shared, Item], Result],
    items: Sequence[Item],
    shared: Shared,
    *,
    workers: Workers = None,
    limit_s: float = ITEM_LIMIT_S,
    done: Callable[[], None] = lambda: None,
    size: Callable[[Item], float] | None = None,
    keep: Callable[[Result], Result] = lambda result: result,
) -> tuple[Result | Failure, ...]:
    """Give `function(shared, item)` for every item, in order; a Failure stands where there is no result.

    With one worker, or fewer than FEWEST_FOR_PROCESSES items and nobody hired yet, everything runs in this process
    (then a hung item hangs the run). `done` is called after each item. The largest by `size` go first. `keep` gives
    what stays of each result as soon as it is there.

    >>> run_all(pow, [1, 2, 3], 2, workers=1)
    (2, 4, 8)
    """
    with crew_of(workers) as crew:
        job = Job(crew, function, items, shared, limit_s=limit_s, done=done, size=size, keep=keep)
        try:
            return job.finish()
        except KeyboardInterrupt:
            job.abandon()
            raise
