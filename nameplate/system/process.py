"""How this program behaves as a process: what it prints on is steady, and nobody but itself prints.

A reader that has gone (`| head`), a full disk behind `>`, a closed stream: none of these may end a run that writes
files. What cannot be printed is dropped, and remembered. Warnings and log lines of libraries are not for users.
"""

from __future__ import annotations

import errno
import io
import logging
import os
import sys
import warnings
from contextlib import suppress
from typing import Any

from nameplate.system.interrupts import end_cleanly


class _Steady(io.RawIOBase):
    """A raw stream whose writes never fail; after the first that does, everything is dropped. `lost` says why."""

    def __init__(self, raw: Any, stream: Any) -> None:  # noqa: ANN401 - whatever streams Python has chosen
        self._raw = raw
        self._stream = stream  # which would close the raw one if it went
        self.lost: OSError | None = None

    def writable(self) -> bool:
        return True

    def fileno(self) -> int:
        return int(self._raw.fileno())

    def isatty(self) -> bool:
        return bool(self._raw.isatty())

    def write(self, data: Any) -> int | None:  # noqa: ANN401 - any buffer
        if self.lost is None:
            try:
                written: int | None = self._raw.write(data)
                return written
            except OSError as error:
                self.lost = error
        return len(data)


def begin() -> None:
    """Make streams steady, libraries silent, and let this process end cleanly when it is asked to; call it once.

    Where the streams are somebody else's (a test, a program that calls this one), nothing is touched.
    """
    if sys.stdout is not sys.__stdout__ or sys.stderr is not sys.__stderr__:
        return
    _fill_closed()
    sys.stdout, sys.stderr = _steady(sys.stdout), _steady(sys.stderr)
    silence_libraries()
    end_cleanly()


def lost_output() -> str:
    """Say why what was printed on the standard output could not all be written; nothing for a reader that has gone."""
    with suppress(OSError, ValueError, AttributeError):
        sys.stdout.flush()
    raw = getattr(getattr(sys.stdout, "buffer", None), "raw", None)
    lost = raw.lost if isinstance(raw, _Steady) else None
    if lost is None or lost.errno in (errno.EPIPE, errno.EINVAL):  # Windows calls a closed pipe an invalid argument
        return ""
    return lost.strerror or str(lost)


def silence_libraries() -> None:
    """Keep warnings and log lines of libraries from the user, unless Python was asked for them (`-W`)."""
    if not sys.warnoptions:
        warnings.simplefilter("ignore")
    logging.lastResort = None  # what libraries log where nobody listens
    logging.raiseExceptions = False
    sys.unraisablehook = lambda _: None


def be_silent() -> None:
    """Let this worker process print nothing at all: neither Python nor native code; its parent does the talking."""
    silence_libraries()
    with suppress(OSError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        for stream in (1, 2):
            os.dup2(nowhere, stream)
        os.close(nowhere)


def _fill_closed() -> None:
    """Open the null device on standard streams that came closed, so that no file of ours gets their number."""
    with suppress(OSError):
        while (handle := os.open(os.devnull, os.O_RDWR)) <= 2:
            os.set_inheritable(handle, True)
        os.close(handle)
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: PTH123, SIM115 - lives with the process


def _steady(stream: Any) -> Any:  # noqa: ANN401 - a text stream, as Python made it
    buffer = getattr(stream, "buffer", None)
    if buffer is None:
        return stream
    raw = getattr(buffer, "raw", buffer)  # with `python -u` there is no buffer
    lines = bool(stream.line_buffering) or raw is buffer
    return io.TextIOWrapper(io.BufferedWriter(_Steady(raw, stream)), "utf-8", "replace", line_buffering=lines)
