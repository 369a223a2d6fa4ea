"""What the stages tell while they work, to a person and on the logger of times."""

from __future__ import annotations

import logging
import time
from collections.abc import Iterator
from contextlib import contextmanager

from nameplate.system.shelf import give_back

_timing = logging.getLogger("nameplate.timing")


class Progress:
    """What the stages tell while they work: the stage's name and how many steps it has, then each step done. As it is
    here it tells nobody."""

    def stage(self, name: str, steps: int) -> None:
        """Begin a stage."""

    def step(self) -> None:
        """End one step of the stage."""


#: Where nobody is to be told anything.
SILENCE = Progress()


@contextmanager
def timed(stage: str) -> Iterator[None]:
    """Log how long a stage took, in seconds, on the logger `nameplate.timing`; give back the memory it needed."""
    start = time.perf_counter()
    yield
    give_back()
    _timing.info("%s %.3f s", stage, time.perf_counter() - start)


def say_start_up() -> None:
    """Log, for a process that has done nothing yet, the CPU seconds that starting it and loading the program took."""
    _timing.info("%s %.3f s", "start-up", time.process_time())
