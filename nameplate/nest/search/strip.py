"""A strip solver in worker processes that can be killed: many parts, one strip of fixed height, as short as it gets.

The solver (spyrrow, an optional extra) is a native library with habits that need a wall round it: bad input ends in an
exception that is no `Exception`; it ignores interrupts; it runs past its time limit, now and then without end. So each
job runs in a process of its own, sends every better solution as it finds it, and is killed when its time is up; what
it sent by then counts. A worker that dies, hangs or refuses costs its own job only.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import multiprocessing.connection
import signal
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

#: Seconds a worker has to start (a fresh interpreter and its imports) before its working time counts.
START = 20.0

#: Share of its time the solver is told it has: it starts the clock late and overruns.
SOLVING = 0.85

#: What a worker sends first, when it has started.
READY = "ready"

#: How often (s) a worker looks for news, and the parent looks at the clock.
TICK = 0.1


Ring = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """One job: outlines near the origin, each a tuple of (x, y), laid in a strip `height` mm high.

    `turns` are the allowed angles; none at all means any angle. `seconds` is the working time.
    """

    height: float
    outlines: tuple[Ring, ...]
    turns: tuple[float, ...]
    seconds: float
    seed: int = 0


@dataclass(frozen=True, slots=True)
class Solved:
    """Where each outline lies: (turn in degrees, x, y) in the order given; `length` of the strip in mm."""

    length: float
    lies: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a job: the best solution sent, if any, and in words what went wrong, if anything."""

    solved: Solved | None
    trouble: str = ""


class Interrupted(KeyboardInterrupt):
    """An interrupt while workers were busy; `outcomes` is what they had come to."""

    def __init__(self, outcomes: tuple[Outcome, ...]) -> None:
        super().__init__()
        self.outcomes = outcomes


Worker = Callable[[Any, Strip], None]


def available() -> bool:
    """Tell whether the solver is installed."""
    import importlib.util

    return importlib.util.find_spec("spyrrow") is not None


def solve_strip(link: Any, job: Strip) -> None:  # noqa: ANN401 - a pipe's end; its type differs by platform
    """Work on one job in a process of its own; send each better `Solved`, at the end None, or a text of trouble."""
    with contextlib.suppress(ValueError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # an interrupt is for the parent, which then kills
    import spyrrow

    link.send(READY)
    whole = max(2, round(job.seconds * SOLVING))
    items = [spyrrow.Item(str(i), list(ring), 1, list(job.turns) or None) for i, ring in enumerate(job.outlines)]
    news = spyrrow.ProgressQueue()
    trouble: list[str] = []

    def work() -> None:
        try:
            config = spyrrow.StripPackingConfig(
                early_termination=True,
                exploration_time=max(1, round(whole * 0.7)),
                compression_time=max(1, round(whole * 0.3)),
                total_computation_time=None,
                num_workers=1,
                seed=job.seed,
            )
            spyrrow.StripPackingInstance("strip", job.height, items).solve(config, news)
        except BaseException as error:  # the library panics with an exception that is no Exception
            trouble.append(f"{type(error).__name__}: {error}")

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    best = float("inf")
    while True:
        running = thread.is_alive()
        for kind, solution in news.drain():
            good = kind in (spyrrow.ReportType.ExplFeas, spyrrow.ReportType.CmprFeas, spyrrow.ReportType.Final)
            if good and solution.width < best:
                best = solution.width
                link.send(_solved(solution, len(items)))
        if not running:
            break
        thread.join(TICK)
    link.send(trouble[0] if trouble else None)


def _solved(solution: Any, count: int) -> Solved:  # noqa: ANN401
    lies: list[tuple[float, float, float]] = [(0.0, 0.0, 0.0)] * count
    for item in solution.placed_items:
        lies[int(item.id)] = (float(item.rotation), float(item.translation[0]), float(item.translation[1]))
    return Solved(float(solution.width), tuple(lies))


def solve_strips(
    jobs: Sequence[Strip],
    *,
    go_on: Callable[[], bool] = lambda: True,
    worker: Worker = solve_strip,
    start: float = START,
) -> tuple[Outcome, ...]:
    """Work on jobs side by side, each in its own process, and give what each came to when its time was up.

    `go_on` is asked again and again (it may do some work of its own meanwhile); when it says no, the workers are
    killed and what they sent counts. An interrupt kills them too and is passed on as `Interrupted`, with the outcomes.
    """
    context = multiprocessing.get_context("spawn")
    runs = [_Run(context, job, worker, start) for job in jobs]
    try:
        while any(run.running for run in runs) and go_on():
            links = [run.link for run in runs if run.running]
            multiprocessing.connection.wait(links, timeout=TICK)
            for run in runs:
                run.look()
    except KeyboardInterrupt as stop:
        for run in runs:
            run.look()
        raise Interrupted(_outcomes(runs)) from stop
    finally:
        for run in runs:
            run.kill()
    return _outcomes(runs)


def _outcomes(runs: Sequence[_Run]) -> tuple[Outcome, ...]:
    return tuple(Outcome(run.best, run.trouble) for run in runs)


class _Run:
    """One worker and what it has sent."""

    def __init__(self, context: Any, job: Strip, worker: Worker, start: float) -> None:  # noqa: ANN401
        self.link, far = context.Pipe(duplex=False)
        self.process = context.Process(target=worker, args=(far, job), daemon=True)
        self.best: Solved | None = None
        self.trouble = ""
        self.running = True
        self.process.start()
        far.close()
        self.seconds = job.seconds
        self.deadline = time.monotonic() + start + job.seconds

    def look(self) -> None:
        """Take what the worker sent; stop listening when it is done, dead, or out of time."""
        try:
            while self.running and self.link.poll():
                self._take(self.link.recv())
        except (EOFError, OSError):
            self.running = False
            self.process.join(1.0)
            self.trouble = self.trouble or f"the worker ended by itself (exit code {self.process.exitcode})"
        except Exception as error:  # a message that cannot be unpickled is the worker's trouble, not ours
            self.running, self.trouble = False, f"the worker sent nonsense: {error}"
        if self.running and time.monotonic() > self.deadline:
            self.running = False
            if self.best is None:
                self.trouble = f"the worker found nothing in its {self.seconds:.0f} s and was stopped"

    def _take(self, message: object) -> None:
        if message == READY:  # from now on its working time counts
            self.deadline = time.monotonic() + self.seconds
        elif isinstance(message, Solved):
            if self.best is None or message.length < self.best.length:
                self.best = message
        else:
            self.running = False
            self.trouble = str(message) if message else ""

    def kill(self) -> None:
        """End the worker, whatever it does."""
        if self.process.is_alive():
            self.process.kill()
        self.process.join(5.0)
        self.link.close()
