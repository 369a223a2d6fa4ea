"""Runs one function over many items in worker processes, whatever happens to a worker.

Method: each worker is a fresh (spawned) process with a pipe of its own; the parent hands it one item at a time. A
worker that raises, dies or takes longer than the limit costs the item it held: that item's outcome is a Failure, the
worker is replaced and the run goes on. Results come back in the order of the items.

Known limit: the shared value is sent to every worker once, so it should be small (a few megabytes).
"""

from __future__ import annotations

import multiprocessing
import os
import time
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from typing import Any, Generic, TypeVar

Item = TypeVar("Item")
Shared = TypeVar("Shared")
Result = TypeVar("Result")

#: Seconds one item may take before its worker is given up. A name takes well under one second; a larger value only
#: makes a hung worker cost more time.
ITEM_LIMIT_S = 120.0

#: Below this many items a process costs more (half a second of imports) than it saves.
FEWEST_FOR_PROCESSES = 4


@dataclass(frozen=True, slots=True)
class Failure:
    """Why an item has no result. `reason` is a sentence for the user, `detail` a traceback for a bug report."""

    reason: str
    detail: str = ""


@dataclass(slots=True)
class _Worker:
    process: SpawnProcess
    pipe: Connection
    item: int | None = None
    since: float = 0.0


class Crew(Generic[Shared, Item, Result]):
    """Worker processes for one function `function(shared, item)`; both must be importable by name."""

    def __init__(self, function: Callable[[Shared, Item], Result], shared: Shared, *, limit_s: float) -> None:
        self._function = function
        self._shared = shared
        self._limit_s = limit_s
        self._context = multiprocessing.get_context("spawn")
        self._workers: list[_Worker] = []

    def hire(self) -> None:
        """Start one more worker."""
        ours, theirs = self._context.Pipe()
        process = self._context.Process(target=_serve, args=(theirs, self._function, self._shared), daemon=True)
        process.start()
        theirs.close()
        self._workers.append(_Worker(process, ours))

    def dismiss(self, worker: _Worker) -> None:
        """Stop one worker at once."""
        worker.process.kill()
        worker.process.join()
        worker.pipe.close()
        self._workers.remove(worker)

    def dismiss_all(self) -> None:
        """Stop every worker at once."""
        for worker in list(self._workers):
            self.dismiss(worker)

    def run(self, items: Sequence[Item], done: Callable[[int, Result | Failure], None]) -> None:
        """Hand out all items and call `done(position, outcome)` once for each, as they finish."""
        waiting = list(reversed(range(len(items))))
        while waiting or any(w.item is not None for w in self._workers):
            for worker in [w for w in self._workers if w.item is None and waiting]:
                self._hand(worker, waiting.pop(), items)
            for position, outcome in self._collect():
                done(position, outcome)

    def _hand(self, worker: _Worker, position: int, items: Sequence[Item]) -> None:
        worker.item, worker.since = position, time.monotonic()
        try:
            worker.pipe.send(items[position])
        except (BrokenPipeError, OSError):
            return  # the worker is dead; _collect sees its closed pipe

    def _collect(self) -> list[tuple[int, Result | Failure]]:
        busy = {w.pipe: w for w in self._workers if w.item is not None}
        oldest = min((w.since for w in busy.values()), default=time.monotonic())
        ready = wait(list(busy), timeout=max(0.0, oldest + self._limit_s - time.monotonic()))
        outcomes = [self._receive(w) for p, w in busy.items() if p in ready]
        late = [w for p, w in busy.items() if p not in ready and time.monotonic() - w.since >= self._limit_s]
        outcomes += [self._replace(w, f"took longer than {self._limit_s:.0f} seconds and was given up") for w in late]
        return outcomes

    def _receive(self, worker: _Worker) -> tuple[int, Result | Failure]:
        try:
            outcome: Result | Failure = worker.pipe.recv()
        except (EOFError, OSError):
            return self._replace(worker, "made its worker process stop without a result")
        position = worker.item
        assert position is not None
        worker.item = None
        return position, outcome

    def _replace(self, worker: _Worker, reason: str) -> tuple[int, Failure]:
        position = worker.item
        assert position is not None
        self.dismiss(worker)
        self.hire()
        return position, Failure(reason)


def _serve(pipe: Connection, function: Callable[[Any, Any], Any], shared: Any) -> None:  # noqa: ANN401 - any values
    """Answer items until the pipe closes (in the worker process)."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides what an interrupt means
    while True:
        try:
            item = pipe.recv()
        except (EOFError, OSError):
            return
        pipe.send(_attempt(function, shared, item))


def _attempt(function: Callable[[Any, Any], Any], shared: Any, item: Any) -> Any:  # noqa: ANN401 - any values
    try:
        return function(shared, item)
    except Exception as error:
        return Failure(f"failed: {type(error).__name__}: {error}", traceback.format_exc())


def run_all(
    function: Callable[[Shared, Item], Result],
    items: Sequence[Item],
    shared: Shared,
    *,
    workers: int | None = None,
    limit_s: float = ITEM_LIMIT_S,
    done: Callable[[], None] = lambda: None,
) -> tuple[Result | Failure, ...]:
    """Give `function(shared, item)` for every item, in order; a Failure stands where there is no result.

    `workers` defaults to the machine's cores; with one worker, or fewer than FEWEST_FOR_PROCESSES items, everything
    runs in this process (then a hung item hangs the run). `done` is called after each item.
    """
    count = min(workers or os.cpu_count() or 1, len(items))
    outcomes: dict[int, Result | Failure] = {}

    def keep(position: int, outcome: Result | Failure) -> None:
        outcomes[position] = outcome
        done()

    if count <= 1 or len(items) < FEWEST_FOR_PROCESSES:
        for position, item in enumerate(items):
            keep(position, _attempt(function, shared, item))
    else:
        crew: Crew[Shared, Item, Result] = Crew(function, shared, limit_s=limit_s)
        try:
            for _ in range(count):
                crew.hire()
            crew.run(items, keep)
        finally:
            crew.dismiss_all()
    return tuple(outcomes[i] for i in range(len(items)))
