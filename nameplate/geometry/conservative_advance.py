"""How far one region may move towards another before it comes too near."""

from __future__ import annotations

import math

import shapely
from shapely import affinity

from nameplate.geometry.region import Shape

#: More steps than this mean two regions that slide along one another; the place reached is safe all the same.
MOST_STEPS = 200


def approached(
    still: Shape, moving: Shape, ux: float, uy: float, gap: float, *, step: float, most: float = math.inf
) -> float:
    """Give how far `moving` may go along the unit vector (ux, uy) until it is `gap` from `still`.

    Advances by as much as the distance allows, so that it stops at the first contact and never passes through, and
    ends within `step` of the gap, from outside. Gives up, with more than `most`, once it has gone further than that.
    All lengths in the unit of the regions.

    >>> from nameplate.geometry.region import EMPTY, rectangle
    >>> round(approached(rectangle(0, 0, 1, 1), rectangle(5, 0, 6, 1), -1.0, 0.0, 0.5, step=1e-3), 3)
    3.5
    >>> approached(rectangle(0, 0, 1, 1), rectangle(5, 0, 6, 1), 1.0, 0.0, 0.5, step=1e-3, most=9.0) > 9
    True
    >>> approached(EMPTY, rectangle(0, 0, 1, 1), 1.0, 0.0, 0.5, step=1e-3)
    inf
    """
    if still.is_empty or moving.is_empty:
        return math.inf
    gone = 0.0
    for _ in range(MOST_STEPS):
        there = affinity.translate(moving, ux * gone, uy * gone)
        room = float(shapely.distance(still, there)) - gap
        if room < step or gone > most:
            break
        gone += room
    return gone
