"""Checks of single rings before they become regions: do they cross themselves, and where.

A *ring* is an (n, 2) array without a repeated last point. A region is repaired by the library underneath when its ring
crosses itself; these functions tell beforehand, so that the repair can be reported, and bound what it may cost.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon

from nameplate.errors import GeometryError
from nameplate.geometry.region import Array, Region, as_region

#: Most crossings that are counted, and repaired: a drawing slip makes a few. Repairing costs time for each.
MOST_CROSSINGS = 500

#: Edges looked up at a time while counting, which bounds the memory used on a scribble.
_BLOCK = 32


class Crossing(NamedTuple):
    """Where a ring crosses or touches itself."""

    x: float
    y: float
    times: int


def crossing(ring: npt.ArrayLike) -> Crossing | None:
    """Tell where a ring crosses or touches itself, and how often (at most `MOST_CROSSINGS` is counted).

    >>> crossing([(0, 0), (2, 2), (2, 0), (0, 2)])
    Crossing(x=1.0, y=1.0, times=1)
    >>> crossing([(0, 0), (2, 0), (2, 2)]) is None
    True
    """
    points = np.asarray(ring, dtype=float)
    edges = edge_lines(points)
    tree = shapely.STRtree(edges)
    n, count, first = len(edges), 0, None
    for start in range(0, n, _BLOCK):
        a, b = tree.query(edges[start : start + _BLOCK], predicate="intersects")
        a = a + start
        apart = (b > a + 1) & ~((a == 0) & (b == n - 1))
        if apart.any():
            count += int(apart.sum())
            if first is None:
                first = shapely.intersection(edges[a[apart][0]], edges[b[apart][0]]).centroid
        if count >= MOST_CROSSINGS:
            break
    return None if first is None else Crossing(float(first.x), float(first.y), min(count, MOST_CROSSINGS))


def without_repeats(ring: npt.ArrayLike, step: float) -> Array:
    """Drop points within `step` mm of the one before, and a repeated first point at the end.

    >>> without_repeats([(0, 0), (0, 0), (1, 0), (1, 1), (0, 0)], 0.001).tolist()
    [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]]
    """
    points = np.asarray(ring, dtype=float).reshape(-1, 2)
    if len(points) == 0:
        return points
    keep = np.hypot(*np.diff(points, axis=0, prepend=np.nan).T) > step
    keep[0] = True
    points = points[keep]
    while len(points) > 1 and np.hypot(*(points[-1] - points[0])) <= step:
        points = points[:-1]
    kept: Array = points
    return kept


def untangled(ring: npt.ArrayLike) -> Region:
    """Make a region from a ring that crosses itself: what lies inside an odd number of times.

    Raises GeometryError when it crosses itself `MOST_CROSSINGS` times or more.
    """
    found = crossing(ring)
    if found is not None and found.times >= MOST_CROSSINGS:
        raise GeometryError(f"a ring crosses itself {MOST_CROSSINGS} times or more")
    return as_region(Polygon(np.asarray(ring, dtype=float)))


def simple_ring(ring: npt.ArrayLike, holes: Sequence[npt.ArrayLike] = ()) -> Region:
    """Make a region as `from_ring` does, of rings that are one already; raises GeometryError, with the place, if not.

    Rings that cross themselves or each other could be read in several ways, and sorting that out takes time that grows
    with the square of their corners; that they do not cross is soon seen.

    >>> simple_ring([(0, 0), (2, 0), (2, 1), (0, 1)]).area
    2.0
    >>> simple_ring([(0, 0), (2, 2), (2, 0), (0, 2)])
    Traceback (most recent call last):
    nameplate.errors.GeometryError: the outline crosses itself or has no inside (Self-intersection[1 1])
    """
    polygon = Polygon(np.asarray(ring, dtype=float).reshape(-1, 2), [np.asarray(h, dtype=float) for h in holes])
    if not polygon.is_valid or polygon.area == 0:
        raise GeometryError(f"the outline crosses itself or has no inside ({shapely.is_valid_reason(polygon)})")
    return as_region(polygon)


def edge_lines(ring: Array) -> npt.NDArray[np.object_]:
    """Give each edge of a ring of (n, 2) corners as a line of two points, the closing one last."""
    return np.asarray(shapely.linestrings(np.stack([ring, np.roll(ring, -1, axis=0)], axis=1)), dtype=object)
