"""What lies where about a region: which points are inside or near, which regions are near each other."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import affinity

from nameplate.errors import GeometryError
from nameplate.geometry import region as rg
from nameplate.geometry.counting import members
from nameplate.geometry.region import Array, Flags, Indices, Shape
from nameplate.geometry.rings import edge_lines

#: Points that are not worth an index of an outline's edges.
FEW = 30

#: More steps than this mean two regions that slide along one another; the place reached is safe all the same.
MOST_STEPS = 200


def holds_point(shape: Shape, place: tuple[float, float]) -> bool:
    """Tell whether a point lies in a region or on its edge."""
    return bool(shapely.intersects_xy(shape, *place))


def contains_points(shape: Shape, places: Array) -> Flags:
    """Tell for each of (n, 2) points whether it lies inside a region (not on its boundary).

    >>> contains_points(rg.rectangle(0, 0, 2, 2), np.array([(1.0, 1.0), (3.0, 1.0)])).tolist()
    [True, False]
    """
    shapely.prepare(shape)
    return shapely.contains_xy(shape, places[:, 0], places[:, 1])


def grid_inside(shape: Shape, xs: Array, ys: Array) -> Flags:
    """Tell which points of a grid lie inside a region, as (rows, columns); much quicker than one by one.

    `xs` (columns,) and `ys` (rows,) ascend. Along each row, inside and outside change at every edge that is crossed.

    >>> grid_inside(rg.rectangle(0, 0, 2, 2), np.array([-1.0, 1.0, 3.0]), np.array([1.0, 5.0])).tolist()
    [[False, True, False], [False, False, False]]
    """
    corners, ring = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(shape)), return_index=True)
    edge = np.flatnonzero(ring[1:] == ring[:-1])
    (x0, y0), (x1, y1) = corners[edge].T, corners[edge + 1].T
    first, last = np.searchsorted(ys, np.minimum(y0, y1)), np.searchsorted(ys, np.maximum(y0, y1))
    crossed, nth = members(last - first)
    row = first[crossed] + nth
    share = (ys[row] - y0[crossed]) / (y1 - y0)[crossed]
    column = np.searchsorted(xs, x0[crossed] + share * (x1 - x0)[crossed])
    changes = np.zeros((len(ys), len(xs) + 1), dtype=np.intp)
    np.add.at(changes, (row, column), 1)
    return np.asarray(changes[:, :-1].cumsum(axis=1) % 2 == 1, dtype=bool)


def edge_distances(places: Array, shape: Shape) -> Array:
    """Give the distance (mm) of each of the (n, 2) points to the nearest edge of a region, found through an index.

    Infinite when the region is empty. The library's own distance looks at every edge for every point, which for an
    outline's corners takes twenty times as long, and for a `FEW` points is quicker than to make the index.
    """
    if shape.is_empty:
        return np.full(len(places), math.inf)
    if len(places) <= FEW:
        return np.asarray(shapely.distance(shape.boundary, shapely.points(places)), dtype=float)
    tree = shapely.STRtree(np.concatenate([edge_lines(ring) for ring in rg.all_rings(shape)]))
    found, distances = tree.query_nearest(shapely.points(places), return_distance=True, all_matches=False)
    nearest: Array = np.empty(len(places))
    nearest[found[0]] = distances
    return nearest


def distances(shape: Shape, places: Array) -> Array:
    """Give the distance in mm of each of (n, 2) points to a region; 0 inside, infinite when the region is empty.

    >>> distances(rg.rectangle(0, 0, 2, 2), np.array([(1.0, 1.0), (3.0, 1.0)])).tolist()
    [0.0, 1.0]
    """
    if shape.is_empty:
        return np.full(len(places), math.inf)
    shapely.prepare(shape)
    apart = np.zeros(len(places))
    outside = ~shapely.intersects_xy(shape, places[:, 0], places[:, 1])
    apart[outside] = edge_distances(places[outside], shape)
    return apart


def points_within(shape: Shape, places: Array, distance: float) -> Flags:
    """Tell for each of (n, 2) points whether it lies within `distance` mm of a region; quicker than `distances`.

    >>> points_within(rg.rectangle(0, 0, 2, 2), np.array([(3.0, 1.0), (5.0, 1.0)]), 1.5).tolist()
    [True, False]
    """
    shapely.prepare(shape)
    return np.asarray(shapely.dwithin(shape, shapely.points(places), distance))


def within(a: Shape, b: Shape, distance: float) -> bool:
    """Tell whether two regions are at most `distance` mm apart; much quicker than their distance, `a` being prepared.

    >>> [within(rg.rectangle(0, 0, 2, 2), rg.rectangle(3, 0, 4, 2), room) for room in (1.0, 0.9)]
    [True, False]
    """
    shapely.prepare(a)
    return bool(shapely.dwithin(a, b, distance))


def line_within(a: Shape, b: Shape, distance: float) -> bool:
    """Tell whether the boundary of b comes within `distance` mm of a region.

    >>> [line_within(rg.rectangle(2, 2, 4, 4), rg.rectangle(0, 0, 6, 6), room) for room in (2.1, 1.9)]
    [True, False]
    """
    shapely.prepare(a)
    return bool(shapely.dwithin(a, b.boundary, distance))


def boxes_within(inner: Array, outer: Array) -> tuple[Indices, Indices]:
    """Give all pairs of an inner and an outer box (x0, y0, x1, y1) that holds it, as two lists of numbers, by inner.

    Edges may lie on each other. Both are (n, 4); an index of the outer ones saves comparing every box with every other.

    >>> own, other = boxes_within(np.array([(1.0, 1, 2, 2)]), np.array([(5.0, 5, 9, 9), (0, 0, 2, 2)]))
    >>> own.tolist(), other.tolist()
    ([0], [1])
    """
    own, other = shapely.STRtree(np.asarray(shapely.box(*outer.T))).query(shapely.box(*inner.T))
    low, high = (inner[own, :2] >= outer[other, :2]).all(axis=1), (inner[own, 2:] <= outer[other, 2:]).all(axis=1)
    own, other = own[low & high], other[low & high]
    order = np.lexsort((other, own))
    return own[order], other[order]


def prepare(shape: Shape) -> None:
    """Make later questions about what a region covers or meets quicker."""
    shapely.prepare(shape)


def nearest(a: Shape, b: Shape) -> tuple[Array, Array]:
    """Give the point of a and the point of b, (2,) each, between which their distance is least.

    Raises GeometryError when one is empty.
    """
    if a.is_empty or b.is_empty:
        raise GeometryError("an empty shape is not near anything")
    ends: Array = shapely.get_coordinates(shapely.shortest_line(a, b))
    return ends[0], ends[1]


def approached(
    still: Shape, moving: Shape, ux: float, uy: float, gap: float, *, step: float, most: float = math.inf
) -> float:
    """Give how far `moving` may go along the unit vector (ux, uy) until it is `gap` from `still`.

    Advances by as much as the distance allows (conservative advancement), so that it stops at the first contact and
    never passes through, and ends within `step` of the gap, from outside. Gives up, with more than `most`, once it has
    gone further than that. All lengths in the unit of the regions.

    >>> round(approached(rg.rectangle(0, 0, 1, 1), rg.rectangle(5, 0, 6, 1), -1.0, 0.0, 0.5, step=1e-3), 3)
    3.5
    >>> approached(rg.rectangle(0, 0, 1, 1), rg.rectangle(5, 0, 6, 1), 1.0, 0.0, 0.5, step=1e-3, most=9.0) > 9
    True
    >>> approached(rg.EMPTY, rg.rectangle(0, 0, 1, 1), 1.0, 0.0, 0.5, step=1e-3)
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


def along(shape: Shape, step: float) -> Array:
    """Give points on the boundary of a region, (n, 2): its corners, and more where edges are longer than `step`.

    >>> len(along(rg.rectangle(0, 0, 4, 4), 2.0))
    9
    """
    return shapely.get_coordinates(shapely.segmentize(shape, step))


def depths(shape: Shape, places: Array) -> Array:
    """Give how deep each of (n, 2) places lies inside a region, in mm; negative outside.

    >>> depths(rg.rectangle(0, 0, 4, 4), np.array([(1.0, 2.0), (9.0, 4.0)])).tolist()
    [1.0, -5.0]
    """
    far = edge_distances(places, shape)
    return np.where(contains_points(shape, places), far, -far)


class Segments:
    """Many straight segments, prepared for finding those near a point."""

    def __init__(self, starts: Array, ends: Array) -> None:
        self._tree = shapely.STRtree(np.asarray(shapely.linestrings(np.stack([starts, ends], axis=1))))

    def within(self, places: Array, reach: float) -> tuple[Indices, Indices]:
        """Give all pairs of a place and a segment at most `reach` apart, as two lists of numbers, by place.

        >>> near = Segments(np.array([(0.0, 0.0), (0.0, 9.0)]), np.array([(4.0, 0.0), (4.0, 9.0)]))
        >>> [n.tolist() for n in near.within(np.array([(1.0, 2.0), (1.0, 5.0)]), 4.0)]
        [[0, 1], [0, 1]]
        """
        place, segment = self._tree.query(shapely.points(places), predicate="dwithin", distance=reach)
        order = np.lexsort((segment, place))
        return place[order], segment[order]


def coarse_ring(ring: Array, step: float) -> Array:
    """Drop points of a ring, (n, 2), that lie within `step` of the line between those kept.

    The result may cross itself by up to `step`: it is for looking, not for cutting.

    >>> coarse_ring(np.array([(0.0, 0.0), (1.0, 0.01), (2.0, 0.0), (2.0, 2.0)]), 0.1).tolist()
    [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0]]
    """
    kept: Array = shapely.get_coordinates(shapely.simplify(shapely.linearrings(ring), step, preserve_topology=False))
    return kept[:-1] if len(kept) > 3 else ring


class Index:
    """Finds which of many regions lie near a given one, without looking at each."""

    def __init__(self, shapes: Sequence[Shape]) -> None:
        self.shapes = tuple(shapes)
        self._tree = shapely.STRtree(list(shapes))

    def near(self, shape: Shape, distance: float = 0.0) -> tuple[int, ...]:
        """Give the positions of the regions within `distance` mm of `shape`, ascending."""
        found = self._tree.query(shape, predicate="dwithin", distance=distance)
        return tuple(sorted(int(i) for i in found))
