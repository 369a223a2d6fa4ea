"""Whether the lines that are scored are the lines that were to be scored, part by part.

A score takes nothing off a part, so no virtual burn can see it. The lines are compared one with one instead, in either
direction: each that was wanted is in the file within WITHIN, once, and no other is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from nameplate.cut.expectation import ExpectedPart
from nameplate.cut.read_back import ReadPath
from nameplate.findings import Finding
from nameplate.geometry.compare import lines_apart
from nameplate.geometry.region import Array
from nameplate.system.grouping import grouped

#: Farthest (mm) a written line may lie from the line it stands for, in whichever form: well above the rounding of files
#: and records, well below what the virtual burn allows and what anybody sees.
WITHIN = 0.01

#: How many lines with ends and middle in the same places are looked at; scored lines rarely share even one.
_ALIKE = 4


class Unlike(NamedTuple):
    """Which lines have no counterpart, by position in either list."""

    missing: tuple[int, ...]
    extra: tuple[int, ...]


def judge_scores(paths: Sequence[ReadPath], parts: Sequence[ExpectedPart]) -> Iterator[Finding]:
    """Compare the scores of a sheet with those that its parts expect; those of other parts are not looked at."""
    got = grouped((path.key, path.points) for path in paths if path.operation == "score")
    for part in parts:
        if part.marks is not None:
            yield from _judged(part, got.get(part.key, []), (*part.marks, *part.labels))


def _judged(part: ExpectedPart, got: Sequence[Array], want: Sequence[Array]) -> Iterator[Finding]:
    missing, extra = unlike(want, got)
    if not missing and not extra:
        return
    told = []
    if missing:
        told.append(f"{len(missing)} of {len(want)} scored lines are missing, like the one {_place(want[missing[0]])}")
    if extra:
        verb = "is" if len(extra) == 1 else "are"
        told.append(f"{len(extra)} {verb} scored that should not be, like the one {_place(got[extra[0]])}")
    off = f" ({lines_apart(want[missing[0]], got[extra[0]]):.2f} mm off)" if len(told) > 1 else ""
    message = f"plate {part.plate}, {part.kind} (copy {part.copy}): {' and '.join(told)}{off}"
    yield Finding("marks", "error", message, part.plate, None, len(got), len(want))


def _place(line: Array) -> str:
    (x0, y0), (x1, y1) = line[0], line[-1]
    return f"from ({x0:.2f}, {y0:.2f}) to ({x1:.2f}, {y1:.2f})"


def unlike(want: Sequence[Array], got: Sequence[Array]) -> Unlike:
    """Match polylines (n, 2) one with one, in either direction, and give those left over.

    >>> unlike([np.array([[0, 0], [5, 0]])], [np.array([[5, 0], [0, 0]])])
    Unlike(missing=(), extra=())
    >>> unlike([np.array([[0, 0], [5, 0], [5, 3]])], [np.array([[5, 3], [5, 0], [0, 0]])])
    Unlike(missing=(), extra=())
    """
    if not want or not got:
        return Unlike(tuple(range(len(want))), tuple(range(len(got))))
    free = set(range(len(want)))
    extra = []
    for number, candidates in enumerate(_candidates(want, got)):
        match = next((k for k in candidates if k in free and _same(want[k], got[number])), None)
        if match is None:
            extra.append(number)
        else:
            free.remove(match)
    return Unlike(tuple(sorted(free)), tuple(extra))


def _candidates(want: Sequence[Array], got: Sequence[Array]) -> list[list[int]]:
    """Find, for each line of `got`, the lines of `want` with the same ends and the same middle, nearest first."""
    from scipy.spatial import KDTree

    there = np.array([_signature(line) for line in want])
    back = there[:, [2, 3, 0, 1, 4, 5]]
    tree = KDTree(np.vstack([there, back]))
    wanted = np.array([_signature(line) for line in got])
    _, found = tree.query(wanted, k=_ALIKE, distance_upper_bound=WITHIN * 3**0.5)
    return [[k % len(want) for k in row if k < 2 * len(want)] for row in np.asarray(found).tolist()]


def _signature(line: Array) -> Array:
    """Give the start, the end and the middle along the way of a polyline, as six numbers."""
    if len(line) == 2:
        return np.array([*line[0], *line[1], *(line[0] + line[1]) / 2])
    way = np.append(0.0, np.cumsum(np.hypot(*np.diff(line, axis=0).T)))
    middle = [np.interp(way[-1] / 2, way, line[:, axis]) for axis in (0, 1)]
    return np.array([*line[0], *line[-1], *middle])


def _same(a: Array, b: Array) -> bool:
    return len(a) == len(b) == 2 or lines_apart(a, b) <= WITHIN
