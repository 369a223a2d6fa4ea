"""The pool: who does the work of a run, seen from the stages, which do not care where that is.

Terms. A *pool* takes assignments, each a function importable by name with many items; a *task* is an assignment under
way. A *home* of the pool is where the work is done: processes of this machine (`processes.py`) or machines of a cluster
(`cluster.py`). Whatever the home, an item that raises, kills its process or takes too long costs itself: a
`Failure` stands where its result would be. Results come in the order of the items, so the home never shows in a file.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, Protocol, TypeAlias, TypeVar

Item = TypeVar("Item")
Shared = TypeVar("Shared")
Result = TypeVar("Result")

#: Seconds of a core that one item may take before it is given up; a plate of more than 60 letters may take more.
#: Measured on a busy machine: a usual name takes 0.2 to 0.3 s; 60 letters with `strengthen` and a template 1.9 to 2.4 s
#: on 110 x 80 mm and up to 3.1 s on 300 x 40, in the slowest of the bundled fonts; 110 letters in two lines on 600 x 80
#: up to 20 s, and 60 letters on 2000 x 150 up to 34 s. More makes a hostile font cost more time; less gives up more of
#: the longest honest names on large boards, which need --name-limit.
ITEM_LIMIT_S = 20.0

#: Memory (MB) that one item may take beyond what its worker had before; looked at about once a second. A worker that
#: nests 250 parts has some 380 MB, its libraries included. More lets a hostile font fill the memory of the machine.
ITEM_LIMIT_MB = 500.0

#: Seconds an item may take: the same for all, or by the item; the pool's own limit for None.
Limit: TypeAlias = float | Callable[[Any], float] | None


@dataclass(frozen=True, slots=True)
class Failure:
    """Why an item has no result. `reason` is a sentence for the user, `detail` a traceback for a bug report.

    `late` tells that the item was given up at its limit of time or memory.
    """

    reason: str
    detail: str = ""
    late: bool = False


def given_up(limit: str) -> Failure:
    """Give the outcome of an item that passed a limit.

    >>> given_up("longer than 20 seconds").reason
    'took longer than 20 seconds and was given up'
    """
    return Failure(f"took {limit} and was given up", late=True)


def nothing() -> None:
    """Do nothing."""


def as_it_is(result: Result) -> Result:
    """Keep all of a result."""
    return result


@dataclass(frozen=True, slots=True)
class Assignment(Generic[Shared, Item, Result]):
    """What a pool is to do: `function(shared, item)` for all items, those of the largest `size` first.

    `keep` gives what stays of each result as soon as it is there, `done` is called after it; both in the process that
    began the assignment.
    """

    function: Callable[[Shared, Item], Result]
    items: Sequence[Item]
    shared: Shared
    limit_s: Limit = None
    done: Callable[[], None] = nothing
    size: Callable[[Item], float] | None = None
    keep: Callable[[Result], Result] = as_it_is


class Pool(Protocol):
    """Does work; one task at a time, each of which is finished or abandoned before the next begins."""

    limit_s: float

    def hire(self, items: int) -> None:
        """Get ready for this many items, without waiting for that."""

    def bring(self, paths: Iterable[Path]) -> None:
        """Let workers read these files; a home that does not share this disk takes them along."""

    def begin(self, assignment: Assignment[Shared, Item, Result]) -> Task[Shared, Item, Result]:
        """Begin an assignment."""


class Task(ABC, Generic[Shared, Item, Result]):
    """An assignment under way: what is common to all homes. `limit_s` is the pool's own."""

    def __init__(self, assignment: Assignment[Shared, Item, Result], limit_s: float) -> None:
        self._assignment, items, size = assignment, assignment.items, assignment.size
        self._limit = limit_s if assignment.limit_s is None else assignment.limit_s
        order = sorted(range(len(items)), key=lambda i: -size(items[i])) if size else list(range(len(items)))
        self._waiting = order[::-1]
        self._outcomes: dict[int, Result | Failure] = {}

    @property
    def left(self) -> int:
        """Number of items that have no outcome yet."""
        return len(self._assignment.items) - len(self._outcomes)

    @abstractmethod
    def tend(self) -> None:
        """Take what is ready and hand out more, without waiting; for a parent that is busy with other things."""

    @abstractmethod
    def finish(self) -> tuple[Result | Failure, ...]:
        """Wait for all items and give their outcomes in order."""

    @abstractmethod
    def abandon(self) -> None:
        """Stop what is under way, so that the pool can do another task."""

    def _limit_of(self, position: int) -> float:
        return self._limit(self._assignment.items[position]) if callable(self._limit) else self._limit

    def _keep(self, position: int, outcome: Result | Failure) -> None:
        self._outcomes[position] = outcome if isinstance(outcome, Failure) else self._assignment.keep(outcome)
        self._assignment.done()

    def _in_order(self) -> tuple[Result | Failure, ...]:
        return tuple(self._outcomes[i] for i in range(len(self._assignment.items)))
