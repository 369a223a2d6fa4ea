"""Drilling strips: card that the laser cuts and scores, to lay on the wall and mark the holes through.

Terms. A *strip* is a piece of a row of holes; near each of its ends it has a *mark*, a diagonal cross with a pin hole,
at a round distance from both lines. The last mark of a strip and the first of the next along its row are one place.

Method: from the top down a row takes all holes within a band, whose height is bounded; along a row a strip is as long
as the card allows, or ends sooner where its last mark would lie on a hole, and begins anew where there is no hole for
longer than that. All marks of a row are at one height.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nameplate.geometry.box import Box
from nameplate.wall.hanging import Hanging, PlateHole, holes_of

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

#: No mark is nearer (mm) to a hole's middle: else their crosses are one, and the wrong one is drilled.
NEAR = 10.0

#: How much farther left (mm) the first strip of a row may begin, so that marks between strips are clear of holes.
BEFORE = (0.0, 10.0, 20.0)

#: A strip shorter than this (mm) has no room for what is scored along its lower edge.
SHORTEST = 120.0


@dataclass(frozen=True, slots=True)
class DrillingStrip:
    """A strip by its number: its edges, its first and last mark (x, y), its holes, all in mm from the datums."""

    number: int
    box: Box
    marks: tuple[tuple[float, float], tuple[float, float]]
    holes: tuple[PlateHole, ...]


#: A strip without its number.
_Piece = tuple[Box, tuple[tuple[float, float], tuple[float, float]], tuple[PlateHole, ...]]


def plan_strips(hangings: Sequence[Hanging], length: float, height: float) -> tuple[DrillingStrip, ...]:
    """Give the strips for the holes of a wall, row by row from the top and each from the left.

    None is longer or higher than so many mm, of which the height is more than ABOVE and BELOW, the length at least
    SHORTEST.

    >>> plan_strips((), 500, 100)
    ()
    """
    holes = sorted(holes_of(hangings), key=lambda own: (-own.hole.y, own.hole.x))
    pieces = [piece for row in _rows(holes, min(BAND, height - ABOVE - BELOW)) for piece in _pieces(row, length)]
    return tuple(DrillingStrip(number, *piece) for number, piece in enumerate(pieces, 1))


def _rows(holes: Sequence[PlateHole], band: float) -> Iterator[list[PlateHole]]:
    """Part holes that come from the top down into rows."""
    row: list[PlateHole] = []
    for own in holes:
        if row and row[0].hole.y - own.hole.y > band:
            yield row
            row = []
        row.append(own)
    if row:
        yield row


def _pieces(row: Sequence[PlateHole], length: float) -> Sequence[_Piece]:
    """Part a row into strips of at most so many mm, whose marks are clear of its holes, as few as will do."""
    holes = sorted(row, key=lambda own: (own.hole.x, -own.hole.y))
    edges = min(own.hole.y for own in row) - BELOW, max(own.hole.y for own in row) + ABOVE
    first, last = math.ceil((edges[0] + OVER) / ROUND), math.floor((edges[1] - UNDER) / ROUND)
    ways = [
        tuple(_parted(holes, edges, length // ROUND * ROUND, height * ROUND, before))
        for before in BEFORE
        for height in range(first, last + 1)
    ]

    def clear(pieces: Sequence[_Piece]) -> float:
        return min(_clear(mark, holes) for _, marks, _ in pieces for mark in marks)

    return max(ways, key=lambda pieces: (clear(pieces), -len(pieces)))


def _parted(
    left: Sequence[PlateHole], edges: tuple[float, float], longest: float, y: float, before: float
) -> Iterator[_Piece]:
    """Part a row with all its marks at a height; where no strip is before it, one begins so much farther left."""
    every, joint = left, -math.inf
    while left:
        x0 = joint - END
        if left[0].hole.x > x0 + longest - END:
            x0 = math.floor((left[0].hole.x - CLEAR) / ROUND) * ROUND - before
        needed = math.ceil((left[-1].hole.x + CLEAR) / ROUND) * ROUND
        x1 = x0 + min(longest, max(needed - x0, SHORTEST))
        least = max(x0 + SHORTEST - END, left[0].hole.x)
        ends = [x1 - END - k * ROUND for k in range(int((x1 - END - least) / ROUND) + 1)]
        joint = max(ends, key=lambda x: _clear((x, y), every))
        own = left[: bisect_right(left, joint, key=lambda one: one.hole.x)]
        left = left[len(own) :]
        yield Box(x0, edges[0], joint + END, edges[1]), ((x0 + END, y), (joint, y)), tuple(own)


def _clear(mark: tuple[float, float], holes: Sequence[PlateHole]) -> float:
    """Give how far (mm) the nearest of some holes, from the left, is from a mark: NEAR where it is farther."""
    first = bisect_left(holes, mark[0] - NEAR, key=lambda own: own.hole.x)
    last = bisect_right(holes, mark[0] + NEAR, key=lambda own: own.hole.x)
    return min([NEAR, *(round(math.dist(mark, (own.hole.x, own.hole.y)), 6) for own in holes[first:last])])
