"""Whether another form of a drawing has the same lines: the DXF of a sheet, the PDF of a jig."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from nameplate.cut.read_back import ReadPath
from nameplate.findings import Finding
from nameplate.geometry.compare import lines_apart

#: Farthest (mm) a line may lie from the same line in another form: far above the rounding of either, far below what the
#: virtual burn allows.
WITHIN = 0.01


def judge_same_lines(
    got: Sequence[ReadPath], want: Sequence[ReadPath], name: str, of: str, *, count: int | None = None
) -> Iterator[Finding]:
    """Compare the lines of one form with those of another, in order; `name` and `of` are the files'.

    `count` is how many lines there are where `got` has only those that may be compared.
    """
    count = len(got) if count is None else count
    if count != len(want):
        message = f"{name} has {count} line{'' if count == 1 else 's'}, and {of} has {len(want)}"
        yield Finding("other-form", "error", message, None, None, count, len(want))
    for number, (one, other) in enumerate(zip(got, want, strict=False), 1):
        why = _unlike(one, other)
        if why:
            message = f"{name}: line {number} is not that of {of}: {why}"
            yield Finding("other-form", "error", message, other.plate)
            return  # from there on every line may be another


def _unlike(one: ReadPath, other: ReadPath) -> str:
    if (one.operation, one.key, one.closed) != (other.operation, other.key, other.closed):
        return f"{_told(one)} in place of {_told(other)}"
    if one.points.shape == other.points.shape and np.abs(one.points - other.points).max() <= WITHIN / 2:
        return ""
    apart = lines_apart(one.points, other.points)
    x, y = one.points.mean(axis=0)
    return "" if apart <= WITHIN else f"{_told(one)} near ({x:.1f}, {y:.1f}) is {apart:.3f} mm off"


def _told(path: ReadPath) -> str:
    ends = "closed" if path.closed else "open"
    return f"{ends} {path.operation} of plate {path.plate}, {path.kind} (copy {path.copy}, layer {path.layer})"
