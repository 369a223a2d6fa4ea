"""The medial graph: the middle line of a shape, with the distance to the boundary along it.

Terms. A *node* is a point inside the shape with the same distance (`radius`) to at least three boundary samples; an
*edge* joins two nodes and has the same distance to its two *sites*, one on either side. `apart` is how far the sites
are from one another along the boundary (infinite when they lie on different rings), `chord` how far in a straight line.

Method: sample the boundary, take the Voronoi diagram of the samples (from their Delaunay triangles), keep the ridges
inside the shape whose sites are not near neighbours on the boundary. The discs of the nodes then fill the shape to
within the sampling.

Known limits: a radius is too large by up to step^2 / (8 radius); where the shape is narrower than the sampling step
the middle line zigzags by about the width. Spurs towards corners and facets are part of the graph.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
import shapely

from nameplate.geometry.region import Array, Region, Shape, arc_steps, as_region, solids

Indices: TypeAlias = npt.NDArray[np.intp]
Flags: TypeAlias = npt.NDArray[np.bool_]

#: Largest distance of boundary samples (mm). Bounds the error of the radii (see above: 0.007 mm at a web of 1.5 mm);
#: halving it doubles the time.
STEP = 0.2

#: Detail below this (mm) is left out of the sampling. Halving it makes about 1.4 times as many samples of arcs.
DETAIL = 0.003

#: Sites nearer than this many steps along the boundary make no edge: those ridges only separate neighbours.
NEIGHBOURS = 2.5

#: A strip's middle line is straightened by up to this much (mm); the strip is as wide all the same.
STRAIGHT = 0.03

#: Edges shorter than this (mm) have no direction: samples on one circle make them.
NO_LENGTH = 1e-9


@dataclass(frozen=True, slots=True)
class Medial:
    """A medial graph; see the module. Arrays: nodes (n, 2), radius (n,), edges (m, 2), sites (m, 2, 2), apart (m,)."""

    nodes: Array
    radius: Array
    edges: Indices
    sites: Array
    apart: Array

    @property
    def edge_radius(self) -> Array:
        """The least radius along each edge: half the chord where the edge passes between its sites, else at an end."""
        return _least_radius(self.nodes[self.edges], self.radius[self.edges], self.sites)

    @property
    def edge_middle(self) -> Array:
        """The place between the sites of each edge."""
        middle: Array = self.sites.mean(axis=1)
        return middle

    @property
    def opening(self) -> Array:
        """Chord of the sites over the diameter: 1 between parallel sides, sin(angle / 2) in a corner turned to it."""
        chord = np.hypot(*(self.sites[:, 0] - self.sites[:, 1]).T)
        return np.asarray(chord / np.maximum(2 * self.radius[self.edges].mean(axis=1), 1e-9), dtype=float)

    def strip(self, keep: Flags, width: float) -> Region:
        """Make a strip of the given width (mm) along the kept edges, straightened by up to STRAIGHT mm."""
        lines = shapely.multilinestrings(self.nodes[self.edges[keep]])
        middle = shapely.simplify(shapely.line_merge(lines), STRAIGHT)
        return as_region(shapely.buffer(middle, width / 2, quad_segs=arc_steps(width / 2)))


def medial(shape: Shape, *, step: float = STEP, reach: float = np.inf) -> Medial:
    """Build the medial graph of a region, only where its radius is below `reach` mm (leaving parts out saves time).

    >>> from nameplate.geometry.region import EMPTY, rectangle
    >>> graph = medial(rectangle(0, 0, 10, 2))
    >>> round(float(graph.radius.max()), 2)
    1.0
    >>> len(medial(EMPTY).edges)
    0
    """
    where, ring, along, length = _samples(shape, step)
    if len(where) < 4 or np.ptp(where, axis=0).min() == 0:
        return _EMPTY
    centres, ends, (a, b) = _voronoi(where)
    gap = np.abs(along[a] - along[b])
    apart = np.where(ring[a] == ring[b], np.minimum(gap, length[ring[a]] - gap), np.inf)
    keep = (apart > NEIGHBOURS * step) & np.isfinite(centres[ends]).all(axis=(1, 2))
    ends, apart, a, b = ends[keep], apart[keep], a[keep], b[keep]
    radius = np.hypot(*(centres[ends] - where[a][:, None, :]).transpose(2, 0, 1))
    sites = where[np.stack([a, b], axis=1)]
    keep = _least_radius(centres[ends], radius, sites) < reach
    return _compact(shape, centres, ends[keep], radius[keep], sites[keep], apart[keep])


def _least_radius(ends: Array, radius: Array, sites: Array) -> Array:
    """Least distance to the sites along edges with the given ends (n, 2, 2), radii there (n, 2) and sites (n, 2, 2)."""
    chord = sites[:, 1] - sites[:, 0]
    middle = sites.mean(axis=1)
    along = ends[:, 1] - ends[:, 0]
    before, after = ((middle - ends[:, 0]) * along).sum(axis=1), ((ends[:, 1] - middle) * along).sum(axis=1)
    between = (before >= 0) & (after >= 0) & (np.hypot(*along.T) > NO_LENGTH)
    least: Array = radius.min(axis=1)
    least[between] = np.minimum(least, np.hypot(*chord.T) / 2)[between]
    return least


def _voronoi(where: Array) -> tuple[Array, Indices, tuple[Indices, Indices]]:
    """Voronoi vertices, the pairs of them that bound a common ridge, and the two samples of each ridge."""
    from scipy.spatial import Delaunay

    middle = where.mean(axis=0)
    net = Delaunay(where - middle)
    corners = net.points[net.simplices]
    triangle, corner = np.nonzero(net.neighbors > np.arange(len(net.simplices))[:, None])
    ends = np.stack([triangle, net.neighbors[triangle, corner]], axis=1).astype(np.intp)
    a, b = (net.simplices[triangle, (corner + turn) % 3].astype(np.intp) for turn in (1, 2))
    return _circumcentres(corners) + middle, ends, (a, b)


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


def necks(graph: Medial, depth: float) -> Indices:
    """Find the edges at which the shape, shrunk by `depth` mm, parts into bodies or opens a hole.

    Flood from the widest places down: an edge narrower than `depth` that first joins two bodies, or closes a ring, is
    a neck. The graph must have been built without `reach`. Gives the positions of the edges, narrowest first.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    size = graph.edge_radius
    fat = size >= depth
    a, b = graph.edges[fat].T
    links = coo_array((np.ones(len(a)), (a, b)), shape=(len(graph.nodes),) * 2)
    count, home = connected_components(links, directed=False)
    peak = np.zeros(count)
    np.maximum.at(peak, home, graph.radius)
    thin = np.flatnonzero(~fat)
    thin = thin[np.argsort(-size[thin], kind="stable")]
    found = _floods(home.astype(np.intp), peak >= depth, graph.edges[thin])
    return thin[found][::-1]


def _floods(home: Indices, counts: Flags, edges: Indices) -> list[int]:
    """Join the edges' ends in order; give the positions that join two bodies or close a ring."""
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
        if i == j or (body[i] and body[j]):
            found.append(position)
        if i != j:
            parent[j] = i
            body[i] = body[i] or body[j]
    return found


def components(graph: Medial, keep: Flags) -> Indices:
    """Number the connected groups of the kept edges; -1 for the others."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    a, b = graph.edges[keep].T
    links = coo_array((np.ones(len(a)), (a, b)), shape=(len(graph.nodes),) * 2)
    _, home = connected_components(links, directed=False)
    group = np.full(len(graph.edges), -1, dtype=np.intp)
    group[keep] = home[a]
    return group


def _samples(shape: Shape, step: float) -> tuple[Array, Indices, Array, Array]:
    """Sample the rings: points, ring number and arc length of each point, length of each ring."""
    rings = [r for s in solids(shape) for r in (s.exterior, *s.interiors)] if not shape.is_empty else []
    where: list[Array] = []
    along: list[Array] = []
    length: list[float] = []
    for ring in shapely.segmentize(shapely.simplify(rings, DETAIL), step):
        points = shapely.get_coordinates(ring)
        arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
        where.append(points[:-1])
        along.append(arc[:-1])
        length.append(float(arc[-1]))
    if not where:
        return np.zeros((0, 2)), np.zeros(0, dtype=np.intp), np.zeros(0), np.zeros(0)
    ring_of = np.repeat(np.arange(len(where)), [len(w) for w in where])
    return np.concatenate(where), ring_of, np.concatenate(along), np.asarray(length)


def _compact(shape: Shape, vertices: Array, ends: Indices, radius: Array, sites: Array, apart: Array) -> Medial:
    """Keep the edges inside the shape and number their nodes afresh."""
    used, index = np.unique(ends, return_inverse=True)
    index = index.reshape(-1, 2)
    inside = np.zeros(len(used), dtype=bool)
    if len(used):
        shapely.prepare(shape)
        inside = shapely.contains_xy(shape, vertices[used, 0], vertices[used, 1])
    keep = inside[index].all(axis=1)
    at = np.zeros(len(used))
    at[index[:, 0]], at[index[:, 1]] = radius[:, 0], radius[:, 1]
    final, edges = np.unique(index[keep], return_inverse=True)
    return Medial(vertices[used[final]], at[final], edges.reshape(-1, 2), sites[keep], apart[keep])
