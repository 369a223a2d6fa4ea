"""The medial graph: the middle line of a shape, with the distance to the boundary along it.

Terms. A *node* is a point inside the shape with the same distance (`radius`) to at least three boundary samples; an
*edge* joins two nodes and has the same distance to its two *sites*, one on either side. `apart` is how far the sites
are from one another along the boundary (infinite when they lie on different rings), `chord` how far in a straight line.

Method: sample the boundary evenly, closer in bends and at each corner, take the Voronoi diagram of the samples (from
their Delaunay triangles), keep the ridges inside the shape whose sites are not near neighbours on the boundary. The
discs of the nodes then fill the shape to within the sampling.

Known limits: a radius is too large by up to step^2 / (8 radius); where the shape is narrower than the sampling step
the middle line zigzags by about the width. Spurs towards corners and facets are part of the graph.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
import shapely

from nameplate.geometry.counting import Laid
from nameplate.geometry.region import Array, Flags, Indices, Shape, solids

#: Largest distance of boundary samples (mm). Bounds the error of the radii (see above: 0.007 mm at a web of 1.5 mm);
#: halving it doubles the time.
STEP = 0.2

#: The outline turns by no more than this (radians) between samples: with STEP, an arc of any radius is nowhere farther
#: than 0.009 mm from its samples' polygon. Halving it doubles the samples of tight bends.
BEND = 0.35

#: A vertex that turns by more than this (radians) is a corner and always sampled: the tip of a notch decides how narrow
#: a neck is. Flattened arcs of 0.05 mm radius and more turn by less at each vertex.
CORNER = 0.6

#: Sites nearer than this many steps along the boundary make no edge: those ridges only separate neighbours.
NEIGHBOURS = 2.5

#: A centre lies straight to one side of a sample when this share of its distance is along the normal there.
STRAIGHT_ACROSS = 0.6

#: Indices of spaces nearer than this are equal.
SHORT = 1e-9

#: Edges shorter than this (mm) have no direction: samples on one circle make them.
NO_LENGTH = 1e-9


@dataclass(frozen=True)
class Medial:
    """A medial graph; see the module. Arrays: nodes (n, 2), radius (n,), edges (m, 2), sites (m, 2, 2), apart (m,)."""

    nodes: Array
    radius: Array
    edges: Indices
    sites: Array
    apart: Array

    @cached_property
    def edge_radius(self) -> Array:
        """The least radius along each edge: half the chord where the edge passes between its sites, else at an end."""
        first, last = self.nodes[self.edges[:, 0]], self.nodes[self.edges[:, 1]]
        along, middle = last - first, self.edge_middle
        before, after = ((middle - first) * along).sum(axis=1), ((last - middle) * along).sum(axis=1)
        between = (before >= 0) & (after >= 0) & (np.hypot(*along.T) > NO_LENGTH)
        ends: Array = self.radius[self.edges].min(axis=1)
        chord = np.hypot(*(self.sites[:, 1] - self.sites[:, 0]).T)
        return np.where(between, np.minimum(ends, chord / 2), ends)

    @cached_property
    def edge_middle(self) -> Array:
        """The place between the sites of each edge."""
        middle: Array = self.sites.mean(axis=1)
        return middle

    @cached_property
    def opening(self) -> Array:
        """Chord of the sites over the diameter: 1 between parallel sides, sin(angle / 2) in a corner turned to it."""
        chord = np.hypot(*(self.sites[:, 0] - self.sites[:, 1]).T)
        return np.asarray(chord / np.maximum(2 * self.radius[self.edges].mean(axis=1), 1e-9), dtype=float)

    def scaled(self, factor: float) -> Medial:
        """Give the graph of the region scaled about the origin."""
        return Medial(self.nodes * factor, self.radius * factor, self.edges, self.sites * factor, self.apart * factor)


def medial(shape: Shape, *, step: float = STEP) -> Medial:
    """Build the medial graph of a region.

    >>> from nameplate.geometry.region import EMPTY, rectangle
    >>> graph = medial(rectangle(0, 0, 10, 2))
    >>> round(float(graph.radius.max()), 2)
    1.0
    >>> len(medial(EMPTY).edges)
    0
    """
    if shape.is_empty:
        return _EMPTY
    samples = _samples(shape, step)
    if len(samples.where) < 4 or np.ptp(samples.where, axis=0).min() == 0:
        return _EMPTY
    net = _triangulated(samples.where)
    inside = _inside(shape, samples, net, step)
    a, b = net.between.T
    gap = np.abs(samples.along[a] - samples.along[b])
    length = samples.length[samples.ring[a]]
    apart = np.where(samples.ring[a] == samples.ring[b], np.minimum(gap, length - gap), np.inf)
    keep = (apart > NEIGHBOURS * step) & inside[net.ends].all(axis=1)
    ends, apart, sites = net.ends[keep], apart[keep], samples.where[net.between[keep]]
    used = np.zeros(len(net.centres), dtype=bool)
    used[ends] = True
    return Medial(net.centres[used], net.radius[used], (np.cumsum(used) - 1)[ends], sites, apart)


class _Net(NamedTuple):
    """Delaunay triangles of samples: centres (t, 2) and radius (t,) of their circles, a corner (t,) of each.

    `ends` (r, 2) are the triangles on either side of each inner edge, `between` (r, 2) its samples: the ridges of the
    Voronoi diagram.
    """

    centres: Array
    radius: Array
    corner: Indices
    ends: Indices
    between: Indices


def _triangulated(where: Array) -> _Net:
    from scipy.spatial import Delaunay

    middle = where.mean(axis=0)
    net = Delaunay(where - middle)
    corners = net.points[net.simplices]
    triangle, corner = np.nonzero(net.neighbors > np.arange(len(net.simplices))[:, None])
    ends = np.stack([triangle, net.neighbors[triangle, corner]], axis=1).astype(np.intp)
    between = np.stack([net.simplices[triangle, (corner + turn) % 3] for turn in (1, 2)], axis=1).astype(np.intp)
    centres = _circumcentres(corners)
    radius = np.hypot(*(centres - corners[:, 0]).T)
    return _Net(centres + middle, radius, net.simplices[:, 0].astype(np.intp), ends, between)


def _inside(shape: Shape, samples: _Samples, net: _Net, step: float) -> Flags:
    """Tell which centres lie in the shape.

    No sample is nearer to a centre than the corners of its triangle: when such a corner is not much nearer than the
    next samples are, and the centre lies straight to one side of the outline there, that is its side. The others are
    looked up.
    """
    across = net.centres - samples.where[net.corner]
    with np.errstate(invalid="ignore"):
        side = (across * samples.inward[net.corner]).sum(axis=1)
        finite = np.isfinite(net.radius)
        sure = (np.abs(side) > STRAIGHT_ACROSS * net.radius) & (net.radius > step)
    inside: Flags = finite & sure & (side > 0)
    doubt = np.flatnonzero(finite & ~sure)
    if len(doubt):
        shapely.prepare(shape)
        inside[doubt] = shapely.contains_xy(shape, *net.centres[doubt].T)
    return inside


def _circumcentres(corners: Array) -> Array:
    """Centres of the circles through the corners of triangles given as (n, 3, 2)."""
    origin = corners[:, 0]
    (ux, uy), (vx, vy) = (corners[:, 1] - origin).T, (corners[:, 2] - origin).T
    twice = 2 * (ux * vy - uy * vx)
    flat = np.abs(twice) < 1e-12
    twice = np.where(flat, 1.0, twice)
    u, v = ux * ux + uy * uy, vx * vx + vy * vy
    centres: Array = origin + np.stack([vy * u - uy * v, ux * v - vx * u], axis=1) / twice[:, None]
    centres[flat] = np.inf
    return centres


_EMPTY = Medial(np.zeros((0, 2)), np.zeros(0), np.zeros((0, 2), dtype=np.intp), np.zeros((0, 2, 2)), np.zeros(0))


def necks(graph: Medial, depth: float, *, least: float = 0.0, rings: bool = True) -> Indices:
    """Find the edges at which the shape, shrunk by `depth` mm, parts into bodies or opens a hole.

    Flood from the widest places down: an edge narrower than `depth` that first joins two bodies, or closes a ring, is
    a neck. The graph must be that of the whole shape. Bodies smaller than about `least` mm2 do not count, nor,
    without `rings`, holes. Gives the positions of the edges, narrowest first.
    """
    size = graph.edge_radius
    fat = size >= depth
    a, b = graph.edges[fat].T
    count, home = parted(graph.edges[fat], len(graph.nodes))
    peak = np.zeros(count)
    np.maximum.at(peak, home, graph.radius)
    length = np.hypot(*(graph.nodes[a] - graph.nodes[b]).T)
    area = np.bincount(home[a], length * (graph.radius[a] + graph.radius[b] - 2 * depth), count)
    area = np.maximum(area, np.pi * np.maximum(peak - depth, 0.0) ** 2)  # the middle line of a disc has no length
    thin = np.flatnonzero(~fat)
    thin = thin[np.argsort(-size[thin], kind="stable")]
    found = _floods(home, (peak >= depth) & (area >= least), graph.edges[thin], rings=rings)
    return thin[found][::-1]


def _floods(home: Indices, counts: Flags, edges: Indices, *, rings: bool) -> list[int]:
    """Join the edges' ends in order; give the positions that join two bodies or, if these count, close a ring."""
    parent = list(range(len(counts)))
    body = counts.tolist()

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    found = []
    for position, (a, b) in enumerate(home[edges].tolist()):
        i, j = root(a), root(b)
        if (rings and i == j) or (i != j and body[i] and body[j]):
            found.append(position)
        if i != j:
            parent[j] = i
            body[i] = body[i] or body[j]
    return found


def components(graph: Medial, keep: Flags) -> Indices:
    """Number the connected groups of the kept edges; -1 for the others."""
    _, home = parted(graph.edges[keep], len(graph.nodes))
    return np.where(keep, home[graph.edges[:, 0]], -1)


def parted(edges: Indices, count: int) -> tuple[int, Indices]:
    """Count the components of a graph of `count` nodes and (m, 2) edges; give the number of each node's (n,)."""
    from scipy.sparse.csgraph import connected_components

    parts, home = connected_components(linked(edges, count), directed=False)
    return int(parts), home.astype(np.intp)


def linked(edges: Indices, count: int) -> Any:  # noqa: ANN401 - a sparse array, of which scipy has no types
    """Give a graph of `count` nodes and (m, 2) edges as a sparse array, for scipy's walks."""
    from scipy.sparse import coo_array

    return coo_array((np.ones(len(edges)), (edges[:, 0], edges[:, 1])), shape=(count, count)).tocsr()


@dataclass(frozen=True, slots=True)
class _Samples:
    """Samples of rings: `where` (n, 2), number of the `ring`, arc length `along` it; the `length` of each ring (r,).

    `inward` (n, 2) points from each sample into the shape; it is shorter than 1 where the outline bends.
    """

    where: Array
    ring: Indices
    along: Array
    length: Array
    inward: Array


def _samples(shape: Shape, step: float) -> _Samples:
    """Sample the rings: every corner, and evenly between corners, at most `step` mm and a turn of BEND apart."""
    rings = [r for s in solids(shape) for r in (s.exterior, *s.interiors)]
    points, number = shapely.get_coordinates(shapely.remove_repeated_points(rings), return_index=True)
    edge = np.flatnonzero(number[1:] == number[:-1])  # by its first point
    start, ring, run = points[edge], number[edge].astype(np.intp), points[edge + 1] - points[edge]
    size = np.hypot(*run.T)
    laid = Laid.of(np.bincount(ring))
    corner = (turn := _turn(run[laid.before], run)) > CORNER
    corner[laid.first] = True
    bend = np.where(corner, 0.0, turn)
    spaces = np.maximum(size / step, (bend + bend[laid.next]) / (2 * BEND))
    place, total = _numbered(spaces, np.flatnonzero(corner))
    wanted = np.arange(total)
    at = np.searchsorted(place, wanted, side="right") - 1
    part = np.clip((wanted - place[at]) / np.diff(place, append=total)[at], 0.0, 1.0)
    arc = np.cumsum(size) - size
    arc -= arc[laid.first][ring]
    where = start[at] + part[:, None] * run[at]
    filled_left = np.array([1.0 if shapely.is_ccw(r) else -1.0 for r in rings])
    is_hole = np.array([k > 0 for s in solids(shape) for k in range(1 + len(s.interiors))])
    inward = _normals(where, ring[at]) * np.where(is_hole, -filled_left, filled_left)[ring[at], None]
    return _Samples(where, ring[at], arc[at] + part * size[at], np.add.reduceat(size, laid.first), inward)


def _turn(coming: Array, going: Array) -> Array:
    """Give the angles (radians) between steps (n, 2)."""
    (ux, uy), (vx, vy) = coming.T, going.T
    return np.asarray(np.abs(np.arctan2(ux * vy - uy * vx, ux * vx + uy * vy)))


def _normals(where: Array, ring: Indices) -> Array:
    """Give the mean of the normals to the left before and after each sample."""
    after = Laid.of(np.bincount(ring)).next
    run = where[after] - where
    run /= np.maximum(np.hypot(*run.T), NO_LENGTH)[:, None]
    mean = np.empty_like(run)
    mean[after] = (run + run[after]) / 2
    return np.column_stack([-mean[:, 1], mean[:, 0]])


def _numbered(spaces: Array, corners: Indices) -> tuple[Array, int]:
    """Number places along edges so that corners have whole numbers: where each edge begins, and the last number.

    `spaces` (n,) is how many spaces between samples each edge wants; between corners it gets a few more.
    """
    stretch = np.cumsum(np.bincount(corners, minlength=len(spaces))) - 1
    wanted = np.add.reduceat(spaces, corners)
    given = np.maximum(np.ceil(wanted - SHORT), 1.0)
    base = np.cumsum(given) - given
    done = np.cumsum(spaces) - spaces
    inside = (done - done[corners][stretch]) * (given / wanted)[stretch]
    return base[stretch] + np.minimum(inside, given[stretch] - SHORT), int(given.sum())
