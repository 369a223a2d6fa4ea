"""Reads what other programs and people wrote: ordinary files only, of bounded size, JSON of bounded numbers and depth.

Every reader of a foreign file goes through here, so that a device, a pipe, a link to itself, a file that grows while it
is read, or a document nested 200,000 deep ends in a sentence about that file.
"""

from __future__ import annotations

import codecs
import json
import math
import os
import stat
from pathlib import Path
from typing import Any

from nameplate.errors import NameplateError

#: The largest whole number (its size, not its digits) that a file of ours or another program may state. Ids, counts and
#: coordinates in 1e-4 mm stay far below it; beyond it a float is no longer exact.
LARGEST_NUMBER = 2**53

#: The most values that a JSON file may have: five times those of a run of 20,000 names. An empty list takes two bytes
#: there and sixty in memory.
MOST_VALUES = 10_000_000


def read_regular(path: Path, limit: int, error: type[NameplateError], *, what: str, larger: str = "") -> bytes:
    """Read a file of at most `limit` bytes; raises `error`, naming the file, when it is none or larger.

    `what` says what was expected, like "a list of names"; `larger` what to do about one that is too large.
    """
    # a pipe put there since must not hang the program
    how = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            kind = "a folder" if stat.S_ISDIR(found.st_mode) else "not an ordinary file"
            raise error(f"{shown(path)} is {kind}; {what} is expected")
        with os.fdopen(os.open(path, how), "rb") as file:
            data = file.read(limit + 1)
    except (OSError, ValueError) as problem:
        if isinstance(problem, NameplateError):
            raise
        reason = getattr(problem, "strerror", None) or str(problem)
        raise error(f"{shown(path)} cannot be read: {reason}; {what} is expected") from problem
    if len(data) > limit:
        advice = f"; {larger}" if larger else ""
        most = f"{limit / 1e6:.0f} MB" if limit >= 1e6 else f"{limit / 1e3:.0f} kB"
        raise error(f"{shown(path)} is larger than {most}, which is too large for {what}{advice}")
    return data


def read_json(path: Path, limit: int, error: type[NameplateError], *, what: str) -> Any:  # noqa: ANN401 - JSON
    """Read a JSON file as `read_regular` and `parse_json` do: UTF-8, or UTF-16 with its mark, as some shells write what
    a program prints."""
    data = read_regular(path, limit, error, what=what)
    is_wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        text = data.decode("utf-16" if is_wide else "utf-8-sig")
    except UnicodeDecodeError as problem:
        known = "UTF-16" if is_wide else "UTF-8"
        raise error(f"{shown(path)} is not {known} text (byte {problem.start + 1}); {what} is expected") from problem
    return parse_json(text, error, name=shown(path))


def parse_json(text: str, error: type[NameplateError], *, name: str) -> Any:  # noqa: ANN401 - JSON
    """Parse JSON whose numbers are finite and at most LARGEST_NUMBER, and whose text can be written as UTF-8.

    Raises `error` with a sentence that begins with `name` otherwise.
    """
    if sum(map(text.count, ",[{")) > MOST_VALUES:
        raise error(f"{name} has more than {MOST_VALUES} values, which is too large for a file of this program")
    try:
        document = json.loads(text, parse_int=_whole, parse_float=_finite, parse_constant=_finite)
        if "\\u" in text:
            json.dumps(document, ensure_ascii=False).encode("utf-8")
    except RecursionError as problem:
        raise error(f"{name} is nested too deep to be a file of this program") from problem
    except UnicodeEncodeError as problem:
        raise error(f"{name} holds half a character (a lone surrogate), which no text can have") from problem
    except json.JSONDecodeError as problem:
        where = f"line {problem.lineno}, column {problem.colno}"
        raise error(f"{name} is damaged, or no file of this program: not valid JSON at {where}") from problem
    except ValueError as problem:
        raise error(f"{name} is not valid JSON: {problem}") from problem
    return document


def shown(path: Path) -> str:
    """Give a path as it can be printed: bytes that are no text are shown as escapes, and a very long one is cut."""
    text = str(path).encode("utf-8", "backslashreplace").decode("utf-8")
    return text if len(text) <= 300 else f"{text[:150]}...{text[-100:]}"


def _whole(digits: str) -> int:
    if len(digits) > len(str(LARGEST_NUMBER)) or abs(int(digits)) > LARGEST_NUMBER:
        raise ValueError(f"the number {digits[:20]}{'...' if len(digits) > 20 else ''} is too large")
    return int(digits)


def _finite(digits: str) -> float:
    value = float(digits)
    if not math.isfinite(value):
        raise ValueError(f"{digits[:20]} is not a number")
    return value
