"""Checks of single rings before they become regions: do they cross themselves, and where.

A *ring* is an (n, 2) array without a repeated last point. A region is repaired by the library underneath when its ring
crosses itself; these functions tell beforehand, so that the repair can be reported, and bound what it may cost.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon

from nameplate.errors import GeometryError
from nameplate.geometry.region import Array, Region, as_region

#: Most crossings that are counted, and repaired: a drawing slip makes a few. Repairing costs time for each.
MOST_CROSSINGS = 500

#: Edges looked up at a time while counting, which bounds the memory used on a scribble.
_BLOCK = 64


Edges: TypeAlias = npt.NDArray[np.object_]


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
    count, first = 0, None
    for _, one, other in _crossing_edges([np.asarray(ring, dtype=float)]):
        if first is None and len(one):
            first = shapely.intersection(one[0], other[0]).centroid
        count += len(one)
        if count >= MOST_CROSSINGS:
            break
    return None if first is None else Crossing(float(first.x), float(first.y), min(count, MOST_CROSSINGS))


def crossings(rings: Sequence[Array], *, most: int, most_near: int) -> int:
    """Count where edges of some rings cross or touch, neighbours left out; `most` and more are not told apart.

    It ends when `most_near` pairs of edges were near enough to be looked at, which counts as `most` too.

    >>> crossings([np.array([(0, 0), (2, 2), (2, 0), (0, 2)], dtype=float)], most=9, most_near=99)
    1
    """
    count = near = 0
    for looked_at, one, _ in _crossing_edges(rings):
        count, near = count + len(one), near + looked_at
        if count >= most or near >= most_near:
            return most
    return count


def _crossing_edges(rings: Sequence[Array]) -> Iterator[tuple[int, Edges, Edges]]:
    """Give, for some edges at a time, how many pairs with others were near, and the pairs that cross or touch.

    Edges that follow one another are left out, and a pair comes once.
    """
    edges = np.concatenate([edge_lines(ring) for ring in rings])
    starts = np.cumsum([0, *map(len, rings)])
    following = np.concatenate([np.roll(np.arange(a, b), -1) for a, b in itertools.pairwise(starts)])
    tree = shapely.STRtree(edges)
    for start in range(0, len(edges), _BLOCK):
        a, b = tree.query(edges[start : start + _BLOCK])
        a = a + start
        a, b = a[b > a], b[b > a]
        apart = (following[a] != b) & (following[b] != a)
        one, other = edges[a[apart]], edges[b[apart]]
        meet = shapely.intersects(one, other)
        yield len(a), one[meet], other[meet]


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


def edge_lines(ring: Array) -> Edges:
    """Give each edge of a ring of (n, 2) corners as a line of two points, the closing one last."""
    return np.asarray(shapely.linestrings(np.stack([ring, np.roll(ring, -1, axis=0)], axis=1)), dtype=object)
