"""Ctrl-C and other wishes to stop: they end a run cleanly, and wait while something must not be cut in two.

SIGTERM and SIGHUP (on Windows Ctrl-Break) raise Terminated in the main thread as Ctrl-C raises KeyboardInterrupt, so
that every `with` and `finally` tidies up behind it.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

#: The signals that ask a program to end, as far as this system has them; the first is Ctrl-C.
STOPPING = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name))


class Terminated(BaseException):
    """The system or a person asked the program to end; `signum` says how."""

    def __init__(self, signum: int) -> None:
        super().__init__(signum)
        self.signum = signum

    @property
    def exit_code(self) -> int:
        """What a shell reports for that signal: 128 and its number (POSIX.1-2017, 2.8.2: greater than 128)."""
        return 128 + self.signum


def end_cleanly() -> None:
    """Let the signals that would end this process at once raise Terminated; ones that are ignored (nohup) stay so."""
    for signum in STOPPING[1:]:
        if signal.getsignal(signum) is signal.SIG_DFL:
            signal.signal(signum, _terminate)


def _terminate(signum: int, _: FrameType | None) -> None:
    raise Terminated(signum)


@contextmanager
def deferred() -> Iterator[None]:
    """Let a signal that asks to stop wait until the block has ended; outside the main thread nothing needs to."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    came: list[int] = []
    before = {s: handler for s in STOPPING if callable(handler := signal.getsignal(s))}
    for signum in before:
        signal.signal(signum, lambda number, _: came.append(number))
    try:
        yield
    finally:
        for signum, handler in before.items():
            signal.signal(signum, handler)
        if came:
            # not by a signal: that would wait in a thread that has signals blocked
            before[came[0]](came[0], None)


@contextmanager
def blocked() -> Iterator[None]:
    """Let the signals that ask to stop wait, in this thread and in processes it starts meanwhile (not on Windows)."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, STOPPING)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def leave_to_parent() -> None:
    """In a worker process: be deaf to Ctrl-C, which is the parent's to judge, and end at once by any other signal."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, STOPPING)
