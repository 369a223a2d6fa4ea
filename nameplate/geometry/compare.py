"""Compares and burns: how far two shapes differ and where, which lie too near, which lines run on top of each other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from nameplate.geometry.planar import as_complex, to_chord
from nameplate.geometry.region import Array, Flags, Region, Shape, arc_steps, as_region

#: Chord error (mm) of the ends and joins of burned strips; half a thousandth of what the inspection allows matters not.
STRIP_ARC = 0.001


#: A line that touches a strip's edge only, up to rounding, does not come near: this share of the distance counts.
NEARER = 0.999

#: Share of the tolerance by which each of two outlines is thinned out before a quick comparison.
THIN_SHARE = 0.05


class Deviation(NamedTuple):
    """The largest distance (mm) found, and the point (x, y) where it was found."""

    distance: float
    x: float
    y: float


class Pair(NamedTuple):
    """Two of a list, by position, with a length or distance in mm and a point (x, y) where they meet."""

    first: int
    second: int
    measure: float
    x: float
    y: float


def agree(a: Shape, b: Shape, within: float) -> bool:
    """Tell whether the boundaries are within a Hausdorff distance of `within` mm.

    Both are thinned out first, by a tenth of `within` in all; a pair that differs by just less may be called off.
    """
    if a.is_empty or b.is_empty:
        return bool(a.is_empty and b.is_empty)
    thin = THIN_SHARE * within
    one, two = (shapely.simplify(shape.boundary, thin, preserve_topology=False) for shape in (a, b))
    both = ((shapely.get_coordinates(line), other) for line, other in ((one, two), (two, one)))
    return not any(len(_strays(corners, other, within - 2 * thin)) for corners, other in both)


def strays(places: Array, shape: Shape, within: float) -> Array:
    """Give those of the (n, 2) points that are farther than `within` mm from the outline of a region, not empty.

    >>> strays(np.array([(1.0, 0.5), (1.0, -2.0)]), Region([shapely.box(0, 0, 2, 2)]), 0.6).tolist()
    [[1.0, -2.0]]
    """
    return _strays(places, shape.boundary, within)


def _strays(places: Array, line: BaseGeometry, within: float) -> Array:
    """Give the points that are not within a distance of a line: nearly all by its nearest vertex, the rest exactly."""
    left = places[~_near_a_vertex(places, line, within)]
    if not len(left):
        return left
    shapely.prepare(line)
    return left[~shapely.dwithin(line, shapely.points(left), within)]


def _near_a_vertex(places: Array, line: BaseGeometry, within: float) -> Flags:
    """Tell which (n, 2) points are within a distance of one of the two edges at the line's nearest vertex.

    Nearly all that are near are found; an edge whose ends are farther off than the nearest vertex is not looked at.
    """
    from scipy.spatial import KDTree

    corners, part = shapely.get_coordinates(shapely.get_parts(line), return_index=True)
    _, at = KDTree(corners).query(places)
    before, after = np.maximum(at - 1, 0), np.minimum(at + 1, len(part) - 1)
    points, vertices = as_complex(places), as_complex(corners)
    near = np.zeros(len(points), dtype=bool)
    for other in (before, after):
        other = np.where(part[other] == part[at], other, at)
        near |= to_chord(points, vertices[at], vertices[other]) <= within
    return near


def lines_apart(a: Array, b: Array) -> float:
    """Give the Hausdorff distance (mm) of two (n, 2) polylines, measured from the corners of each.

    >>> lines_apart(np.array([(0, 0), (9, 0)]), np.array([(9, 1), (0, 1)]))
    1.0
    """
    return float(shapely.hausdorff_distance(LineString(a), LineString(b)))


def strips(lines: Sequence[Array], width: float) -> tuple[Region, ...]:
    """Give what a round beam of the given width (mm) burns along each (n, 2) polyline; nothing for a width of 0."""
    steps = arc_steps(width / 2, STRIP_ARC)
    return tuple(map(as_region, shapely.buffer(list(map(LineString, lines)), width / 2, quad_segs=steps)))


def lines_near(
    shapes: Sequence[Shape], lines: Sequence[Array], distance: float, owners: Sequence[int]
) -> tuple[tuple[int, ...], ...]:
    """Give, for each shape, the positions of the (n, 2) polylines of others nearer to it than `distance` mm.

    `owners` tells whose line each is, by the position of the shape. A line that touches a shape is near.
    """
    every, strokes = np.array(list(shapes), dtype=object), np.array(list(map(LineString, lines)), dtype=object)
    if not len(every) or not len(strokes):
        return ((),) * len(every)
    x0, y0, x1, y1 = shapely.bounds(every).T
    boxes = shapely.box(x0 - distance, y0 - distance, x1 + distance, y1 + distance)
    shape, line = shapely.STRtree(strokes).query(boxes)
    others = np.asarray(owners)[line] != shape
    shape, line = shape[others], line[others]
    shapely.prepare(every)
    near = shapely.dwithin(every[shape], strokes[line], NEARER * distance)
    return tuple(tuple(sorted(line[near & (shape == k)].tolist())) for k in range(len(every)))


def near_pairs(shapes: Sequence[Shape], distance: float) -> tuple[Pair, ...]:
    """Give the pairs of shapes nearer to each other than `distance` mm, with their distance and where."""
    if len(shapes) < 2 or distance <= 0:
        return ()
    links = ((i, j, shapely.shortest_line(shapes[i], shapes[j])) for i, j in _pairs_within(shapes, distance))
    return tuple(Pair(i, j, link.length, *shapely.get_coordinates(link).mean(axis=0).tolist()) for i, j, link in links)


def _pairs_within(geometries: Sequence[BaseGeometry], distance: float) -> list[tuple[int, int]]:
    """Give the positions of every two that are at most a distance apart, each pair once, ascending."""
    first, second = shapely.STRtree(geometries).query(geometries, predicate="dwithin", distance=distance)
    once = first < second
    return sorted(zip(first[once].tolist(), second[once].tolist(), strict=True))


def shared_runs(lines: Sequence[Array], within: float, least: float) -> tuple[Pair, ...]:
    """Give the pairs of (n, 2) polylines that run within `within` mm of each other over `least` mm or more.

    A line that runs back along itself is a pair with itself. `measure` is the length shared.
    """
    if not lines:
        return ()
    every = list(map(LineString, lines))
    pairs = _pairs_within(every, within)
    shared = [(i, j, shapely.intersection(every[i], shapely.buffer(every[j], within))) for i, j in pairs]
    shared += [(i, i, _retraced(every[i])) for i in np.flatnonzero(~shapely.is_simple(every)).tolist()]
    return tuple(_pair_of(i, j, g) for i, j, g in shared if shapely.length(g) >= least)


def _pair_of(i: int, j: int, shared: BaseGeometry) -> Pair:
    longest = max(shapely.get_parts(shared), key=lambda part: part.length)
    at = longest.interpolate(0.5, normalized=True)
    return Pair(i, j, shared.length, at.x, at.y)


def _retraced(line: BaseGeometry) -> BaseGeometry:
    """Give the stretches that a line passes more than once: its edges, cut at all crossings, less one of each."""
    corners = shapely.get_coordinates(line)
    edges = np.asarray(shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1)))
    tree = shapely.STRtree(edges)
    first, second = tree.query(edges, predicate="intersects")
    once = first < second
    meets = shapely.intersection(edges[first[once]], edges[second[once]])
    return shapely.union_all(meets[shapely.length(meets) > 0])
