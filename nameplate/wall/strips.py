"""Drilling strips: card that the laser cuts and scores, to lay on the wall and mark the holes through.

Terms. A *strip* is a piece of a row of holes; near each of its ends it has a *mark*, a diagonal cross with a pin hole,
at a round distance from both lines. The last mark of a strip and the first of the next along its row are one place.

Method: from the top down a row takes all holes within a band, whose height is bounded; along a row a strip is as long
as the card allows, and begins anew where there is no hole for longer than that.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nameplate.geometry.region import Box
from nameplate.wall.hanging import Hanging, Hole

#: Marks and ends of strips are at multiples of this (mm), where a tape has a line.
ROUND = 10.0

#: From a strip's end to its mark, and from its last hole to its end at least (mm).
END, CLEAR = 10.0, 20.0

#: Holes of one row lie within this (mm) of each other, up and down: the two of a plate mostly do. More makes strips
#: higher, less makes more of them.
BAND = 60.0

#: Room (mm) above the highest hole of a row, for what is scored over it, and below the lowest, for what marks say.
ABOVE, BELOW = 15.0, 24.0

#: How far (mm) a mark is above a strip's lower edge at least, where figures stand, and below its upper one.
OVER, UNDER = 13.0, 8.0

#: A strip shorter than this (mm) has no room for what is scored along its lower edge.
SHORTEST = 120.0


@dataclass(frozen=True, slots=True)
class StripHole:
    """A hole on a strip, and the plate that hangs there."""

    hanging: Hanging
    hole: Hole


@dataclass(frozen=True, slots=True)
class DrillingStrip:
    """A strip by its number: its edges, its first and last mark (x, y), its holes, all in mm from the datums."""

    number: int
    box: Box
    marks: tuple[tuple[float, float], tuple[float, float]]
    holes: tuple[StripHole, ...]


def plan_strips(hangings: Sequence[Hanging], length: float, height: float) -> tuple[DrillingStrip, ...]:
    """Give the strips for the holes of a wall, row by row from the top and each from the left.

    None is longer or higher than so many mm, of which the height is more than ABOVE and BELOW, the length at least
    SHORTEST.

    >>> plan_strips((), 500, 100)
    ()
    """
    holes = sorted(
        (StripHole(hanging, hole) for hanging in hangings for hole in hanging.holes),
        key=lambda own: (-own.hole.y, own.hole.x),
    )
    pieces = [piece for row in _rows(holes, min(BAND, height - ABOVE - BELOW)) for piece in _pieces(row, length)]
    return tuple(DrillingStrip(number, *piece) for number, piece in enumerate(pieces, 1))


def _rows(holes: Sequence[StripHole], band: float) -> Iterator[list[StripHole]]:
    """Part holes that come from the top down into rows."""
    row: list[StripHole] = []
    for own in holes:
        if row and row[0].hole.y - own.hole.y > band:
            yield row
            row = []
        row.append(own)
    if row:
        yield row


def _pieces(
    row: Sequence[StripHole], length: float
) -> Iterator[tuple[Box, tuple[tuple[float, float], tuple[float, float]], tuple[StripHole, ...]]]:
    """Part a row into strips, each as long as its holes need, at most so many mm."""
    longest = length // ROUND * ROUND
    low, high = min(own.hole.y for own in row), max(own.hole.y for own in row)
    left = sorted(row, key=lambda own: (own.hole.x, -own.hole.y))
    joint = -math.inf
    while left:
        x0 = joint - END
        if left[0].hole.x > x0 + longest - END:
            x0 = math.floor((left[0].hole.x - CLEAR) / ROUND) * ROUND
        needed = math.ceil((left[-1].hole.x + CLEAR) / ROUND) * ROUND
        x1 = x0 + min(longest, max(needed - x0, SHORTEST))
        joint = x1 - END
        own = tuple(one for one in left if one.hole.x <= joint)
        left = left[len(own) :]
        box = Box(x0, low - BELOW, x1, high + ABOVE)
        y = _clear_height(box, own)
        yield box, ((x0 + END, y), (joint, y)), own


def _clear_height(box: Box, holes: Sequence[StripHole]) -> float:
    """Give the round height for the marks of a strip at which no hole is near them."""
    first = math.ceil((box.y0 + OVER) / ROUND)
    heights = [k * ROUND for k in range(first, math.floor((box.y1 - UNDER) / ROUND) + 1)]
    ends = (box.x0 + END, box.x1 - END)

    def clear(y: float) -> float:
        return min(math.dist((x, y), (own.hole.x, own.hole.y)) for own in holes for x in ends)

    return max(heights, key=lambda y: (round(min(clear(y), END), 6), -y))
