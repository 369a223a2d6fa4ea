"""How far the beam goes on one sheet, and about how long that takes.

With an acceleration each line is driven from rest to rest by a trapezoidal speed profile: as fast as its speed, as far
ahead as braking allows, and no faster round a bend of radius r than sqrt(acceleration x r). A corner counts as the arc
that rounds it within ROUNDED. Squares of speeds change by at most twice the acceleration a mm, so the profile is the
lower envelope of lines of that slope from every bend: two running minima.

Known limits: between the joints of a flattened curve the beam is taken to gain a little speed, which makes bends of a
millimetre some 2 % too quick; without an acceleration, speeds are taken as reached at once, and script lettering takes
longer; what a machine does besides (jerk, air, its own pauses) is not known, and a measured run's `factor` stands for
it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from nameplate import tolerances
from nameplate.cut.order import APART, Step
from nameplate.cut.read_back import ReadPath
from nameplate.geometry.region import Array

#: How far (mm) a machine may cut a corner. No curve is flattened more coarsely, so that its own radius slows the beam.
ROUNDED = tolerances.FLATTEN


@dataclass(frozen=True, slots=True)
class Speeds:
    """Speeds of one machine in one material, in mm/s, and seconds that the beam takes to start a line.

    `travel` is the speed with the beam off (common practice: a few hundred mm/s); `acceleration` in mm/s2, None where
    speeds are taken as reached at once; `factor` is a measured run's time over the one that was told. A ticket refuses
    what is not above 0.
    """

    cut: float
    score: float
    travel: float = 300.0
    pierce: float = 0.1
    acceleration: float | None = None
    factor: float = 1.0


@dataclass(frozen=True, slots=True)
class BurnTime:
    """What one sheet takes: the length of its cuts in mm, and seconds, where speeds were given."""

    cut_length: float
    seconds: float | None


class _Line(NamedTuple):
    """A line as it is driven: a polyline (n, 2) in mm; a closed one ends where it begins."""

    is_score: bool
    points: Array


def burn_time(
    steps: Sequence[Step], speeds: Speeds | None = None, *, rest: tuple[float, float] = (0.0, 0.0)
) -> BurnTime:
    """Add up the way of the beam over a sheet, from and back to where the head rests (mm).

    >>> burn_time([], Speeds(cut=10, score=100)).seconds
    0.0
    """
    lines = [_Line(step.operation == "score", step.drawn(tolerances.ARC)) for step in steps]
    cut = sum(_length(line.points) for line in lines if not line.is_score)
    return BurnTime(cut, None if speeds is None else _seconds(lines, speeds, rest))


def read_seconds(paths: Iterable[ReadPath], speeds: Speeds, *, rest: tuple[float, float] = (0.0, 0.0)) -> float:
    """Give the seconds that the lines of a cut file take that was read back, in its order."""
    return _seconds([_Line(path.operation == "score", path.points) for path in paths], speeds, rest)


def part_seconds(cuts: Sequence[Array], scores: Sequence[Array], speeds: Speeds) -> float:
    """Give the seconds for polylines (n, 2) to cut and to score, without the way between them but that from one score
    to the next of its row."""
    each = sum(_driven(line, speeds.cut, speeds) for line in cuts)
    each += sum(_driven(line, speeds.score, speeds) for line in scores)
    ways = (math.dist(before[-1], after[0]) for before, after in pairwise(scores))
    each += sum(trapezoid(way, speeds.travel, speeds.acceleration) for way in ways if way <= APART)
    return (each + (len(cuts) + len(scores)) * speeds.pierce) * speeds.factor


def trapezoid(length: float, speed: float, acceleration: float | None) -> float:
    """Give the seconds for a straight way of `length` mm from rest to rest.

    30 mm at 10 mm/s and 10 mm/s2: 1 s to start, 2 s on, 1 s to brake; 2.5 mm never get as fast.

    >>> trapezoid(30, 10, 10), trapezoid(2.5, 10, 10), trapezoid(30, 10, None)
    (4.0, 1.0, 3.0)
    """
    if acceleration is None:
        return length / speed
    if length < speed**2 / acceleration:
        return 2 * math.sqrt(length / acceleration)
    return length / speed + speed / acceleration


def _seconds(lines: Sequence[_Line], speeds: Speeds, rest: tuple[float, float]) -> float:
    cut = sum(_driven(line.points, speeds.cut, speeds) for line in lines if not line.is_score)
    score = sum(_driven(line.points, speeds.score, speeds) for line in lines if line.is_score)
    travel = sum(trapezoid(way, speeds.travel, speeds.acceleration) for way in _travels(lines, rest))
    return (cut + score + travel + len(lines) * speeds.pierce) * speeds.factor


def _driven(points: Array, speed: float, speeds: Speeds) -> float:
    """Give the seconds along a polyline (n, 2), from rest to rest."""
    if speeds.acceleration is None:
        return _length(points) / speed
    steps = np.diff(points, axis=0)
    lengths = np.hypot(*steps.T)
    steps, lengths = steps[lengths > 0], lengths[lengths > 0]
    if not len(lengths):
        return 0.0
    at = np.concatenate([[0.0], np.cumsum(lengths)])
    bends = speeds.acceleration * _radii(steps, lengths)
    squares = _reachable(np.concatenate([[0.0], np.minimum(speed**2, bends), [0.0]]), at, speeds.acceleration)
    return _trapezoids(squares, lengths, speed, speeds.acceleration)


def _radii(steps: Array, lengths: Array) -> Array:
    """Give the radius (mm) on which each joint of a polyline is passed: of the arc that rounds it, or of the curve."""
    ahead, behind = steps[:-1].T, steps[1:].T
    turn = np.abs(np.arctan2(ahead[0] * behind[1] - ahead[1] * behind[0], (ahead * behind).sum(axis=0)))
    half = np.cos(turn / 2)
    with np.errstate(divide="ignore"):  # straight on is no bend
        rounded = ROUNDED * half / (1 - half)
        curved = np.minimum(lengths[:-1], lengths[1:]) / turn  # a curve may be flattened more finely than it asks for
    radii: Array = np.minimum(rounded, curved)
    return radii


def _reachable(squares: Array, at: Array, acceleration: float) -> Array:
    """Lower squares of speeds (n,) at places `at` (mm) along a line to what starting and braking allow."""
    ramp = 2 * acceleration * at
    started = np.minimum.accumulate(squares - ramp) + ramp
    braked = np.minimum.accumulate((squares + ramp)[::-1])[::-1] - ramp
    lower: Array = np.maximum(np.minimum(started, braked), 0.0)
    return lower


def _trapezoids(squares: Array, lengths: Array, speed: float, acceleration: float) -> float:
    """Add up the seconds of straight pieces, each entered and left with the speeds of these squares (n + 1,)."""
    first, last = squares[:-1], squares[1:]
    peak = np.minimum(speed**2, acceleration * lengths + (first + last) / 2)
    top = np.sqrt(peak)
    ramps = (2 * top - np.sqrt(first) - np.sqrt(last)) / acceleration
    level = np.maximum(lengths - (2 * peak - first - last) / (2 * acceleration), 0.0)
    return float((ramps + level / top).sum())


def _length(points: Array) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def _travels(lines: Sequence[_Line], rest: tuple[float, float]) -> list[float]:
    """Give the ways (mm) with the beam off: from rest to each line, and back."""
    if not lines:
        return []
    starts = np.array([*(line.points[0] for line in lines), rest])
    ends = np.array([rest, *(line.points[-1] for line in lines)])
    ways: list[float] = np.hypot(*(starts - ends).T).tolist()
    return ways
