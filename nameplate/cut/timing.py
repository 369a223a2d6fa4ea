"""How far the beam goes on one sheet, and about how long that takes.

Known limit: a machine slows down in tight curves and speeds up again, which is not counted. On script lettering it
takes longer than this; time one sheet and put the ratio into the speeds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nameplate import tolerances
from nameplate.cut.order import Step
from nameplate.geometry.curves.curve import Curve, flatten
from nameplate.geometry.region import Array


@dataclass(frozen=True, slots=True)
class Speeds:
    """Speeds of one machine in one material, in mm/s, and seconds that the beam takes to start a line.

    `travel` is the speed with the beam off (common practice: a few hundred mm/s). Raises ValueError for speeds that are
    not above 0.
    """

    cut: float
    score: float
    travel: float = 300.0
    pierce: float = 0.1

    def __post_init__(self) -> None:
        for name in ("cut", "score", "travel"):
            speed = getattr(self, name)
            if not (math.isfinite(speed) and speed > 0):
                raise ValueError(f"the {name} speed is {speed}; it must be above 0 mm/s")
        if not (math.isfinite(self.pierce) and self.pierce >= 0):
            raise ValueError(f"the time to start a line is {self.pierce}; it must be 0 s or more")


@dataclass(frozen=True, slots=True)
class BurnTime:
    """What one sheet takes: the length of its cuts in mm, the number of lines, and seconds, where speeds were given."""

    cut_length: float
    lines: int
    seconds: float | None


def burn_time(steps: Sequence[Step], speeds: Speeds | None = None) -> BurnTime:
    """Add up the way of the beam over a sheet, from and back to its lower left corner.

    >>> burn_time([], Speeds(cut=10, score=100)).seconds
    0.0
    """
    cut = sum(line_length(s.line) for s in steps if s.operation != "score")
    if speeds is None:
        return BurnTime(cut, len(steps), None)
    score = sum(line_length(s.line) for s in steps if s.operation == "score")
    seconds = cut / speeds.cut + score / speeds.score + _travel(steps) / speeds.travel + len(steps) * speeds.pierce
    return BurnTime(cut, len(steps), seconds)


def line_length(line: Curve | Array) -> float:
    """Give the length in mm of a closed curve or of a polyline (n, 2)."""
    if isinstance(line, Curve):
        ring = flatten(line, tolerances.ARC)
        line = np.vstack([ring, ring[:1]])
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def _travel(steps: Sequence[Step]) -> float:
    at = np.zeros(2)
    length = 0.0
    for step in steps:
        start, end = (step.line.start,) * 2 if isinstance(step.line, Curve) else (step.line[0], step.line[-1])
        length += float(np.hypot(*(start - at)))
        at = end
    return length + (float(np.hypot(*at)) if steps else 0.0)
