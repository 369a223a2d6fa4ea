"""The innermost loop of the search for free places, compiled: the same answers as numpy's, about twice as fast.

numba (an optional extra) is loaded only once a process has looked often enough to be worth its start; without it
everything works, more slowly. What it compiled is kept in the user's cache for the next run.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

Bytes = npt.NDArray[np.uint8]
Spots = npt.NDArray[np.int64]

#: Looks at some columns before the loop compiled by an earlier run is loaded. Loading takes about as long (half a
#: second to one) as it saves in so many looks, 0.06 ms each, so it never costs more than waiting would have; small
#: batches do without.
WARM_UP = 15_000

#: The same where the loops were never compiled on this machine, which takes about 4 s.
COLD_START = 60_000

#: Tests of a column between looks whether it is all blocked.
ROUND = 4


@dataclass(frozen=True, slots=True)
class Kernel:
    """The compiled loop, and whether an earlier run compiled them; see `_open` for what it takes."""

    open: Callable[..., int]
    kept: bool


class _Counter:
    """Counts the looks of this process."""

    def __init__(self) -> None:
        self.count = 0


_LOOKS = _Counter()


def kernel() -> Kernel | None:
    """Count one look, and give the compiled loop when enough were counted; None before that or without numba."""
    _LOOKS.count += 1
    if _LOOKS.count <= WARM_UP:
        return None
    loops = compiled()
    return loops if loops and (loops.kept or _LOOKS.count > COLD_START) else None


@lru_cache(maxsize=1)
def compiled() -> Kernel | None:
    """Give the loop, to be compiled at their first call unless an earlier run did; None without numba."""
    if importlib.util.find_spec("numba") is None:
        return None
    import numba

    try:
        loop: Any = numba.njit(cache=True, nogil=True)(_open)
    except RuntimeError:  # there is nowhere to keep what is compiled, and compiling anew each time is not worth it
        return None
    return Kernel(loop, any(Path(loop.stats.cache_path).glob(f"*{loop.__name__}-*.nbi")))


def _open(planes: Bytes, offsets: Spots, forbidden: Bytes, first: int, columns: int, out: Spots) -> int:
    """Write the positions at which no plane has a bit set into `out`; give how many.

    Position p is bit p % 8 of byte p // 8. Looked at are `columns` columns of as many bytes as `forbidden` has, from
    byte `first` on; the plane of each test starts at its offset.
    """
    count = 0
    size = len(forbidden)
    blocked = np.empty(size, dtype=np.uint8)
    for column in range(columns):
        start = first + column * size
        blocked[:] = forbidden
        number = 0
        while number < len(offsets):
            for offset in offsets[number : number + ROUND]:
                plane = planes[start + offset : start + offset + size]
                for row in range(size):
                    blocked[row] |= plane[row]
            number += ROUND
            every = np.uint8(255)
            for row in range(size):
                every &= blocked[row]
            if every == 255:
                break
        else:
            for row in range(size):
                if blocked[row] != 255:
                    for bit in range(8):
                        if not (blocked[row] >> bit) & 1:
                            out[count] = (start + row) * 8 + bit
                            count += 1
    return count
