"""What hangs on each narrow place of a shape: the tree structure of its medial graph.

Terms. A *cut edge* of the graph (a bridge, in graph theory) is one whose removal parts it; the smaller part is the
*lighter side* that hangs on it. Its *lever* is the distance from the middle of the edge to the farthest point of the
lighter side. What hangs on a ring of strokes is held from two sides: no edge of a ring is a cut edge.

Method: a depth-first search numbers the nodes so that every subtree of its tree is a run of numbers, and every edge
that is not of the tree leads from a node to one above it (Tarjan 1974). It closes a ring with the tree's edges between
the two; all other edges of the tree are cut edges. The farthest point of a subtree in some directions, which bounds the
lever from both sides, is a range maximum, looked up in a sparse table (Bender & Farach-Colton 2000).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from nameplate.geometry.medial import Medial, linked, parted
from nameplate.geometry.region import Array, Flags, Indices, unit_vectors

#: Directions in which the farthest points are kept: levers are known to within 1 / cos(180 / 8 degrees), 8 %. More
#: directions save a few exact looks and cost as much more each time.
DIRECTIONS = 8


@dataclass(frozen=True)
class CutEdges:
    """The cut edges of a graph (positions) and, for each, the run of walked nodes that hangs on it.

    `order` are the nodes as walked; the subtree of cut edge i is `order[first[i]:last[i]]`, its component
    `order[start[i]:end[i]]`; `lighter` tells whether the subtree is the lighter side, or the rest of the component.
    """

    graph: Medial
    edges: Indices
    order: Indices
    first: Indices
    last: Indices
    start: Indices
    end: Indices
    lighter: Flags

    def levers(self, chosen: Indices) -> Array:
        """Give the lever (mm) of some of the cut edges, by their position in `edges`."""
        where, radius = self.graph.nodes[self.order], self.graph.radius[self.order]
        middle = self.graph.edge_middle[self.edges[chosen]]
        found = np.zeros(len(chosen))
        for i, k in enumerate(chosen):
            far = [slice(self.first[k], self.last[k])]
            if not self.lighter[k]:
                far = [slice(self.start[k], self.first[k]), slice(self.last[k], self.end[k])]
            reach = [float((np.hypot(*(where[s] - middle[i]).T) + radius[s]).max()) for s in far if s.stop > s.start]
            found[i] = max(reach, default=0.0)
        return found

    @cached_property
    def most_levers(self) -> Array:
        """Give for every cut edge a length (mm) that its lever does not exceed, and that is at most 8 % over it."""
        if not len(self.edges):
            return np.zeros(0)
        towards = unit_vectors(2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS).T
        reach = self.graph.nodes[self.order] @ towards + self.graph.radius[self.order, None]
        table = _SparseTable(reach)
        rest = np.maximum(table.over(self.start, self.first), table.over(self.last, self.end))
        farthest = np.where(self.lighter[:, None], table.over(self.first, self.last), rest)
        lever = (farthest - self.graph.edge_middle[self.edges] @ towards).max(axis=1)
        return np.asarray(np.maximum(lever, 0.0) / math.cos(math.pi / DIRECTIONS))


class _SparseTable:
    """Greatest values over runs of rows, from those of the runs of 1, 2, 4... rows."""

    def __init__(self, rows: Array) -> None:
        self._doubled = [rows]
        while (width := 1 << (len(self._doubled) - 1)) * 2 <= len(rows):
            last = self._doubled[-1]
            self._doubled.append(np.maximum(last[:-width], last[width:]))

    def over(self, start: Indices, end: Indices) -> Array:
        """Give the greatest of the rows from each start to before each end, columnwise; minus infinity of none."""
        size = end - start
        level = np.frexp(np.maximum(size, 1))[1] - 1
        found = np.full((len(start), self._doubled[0].shape[1]), -np.inf)
        for i, rows in enumerate(self._doubled):
            here = np.flatnonzero((level == i) & (size > 0))
            found[here] = np.maximum(rows[start[here]], rows[end[here] - (1 << i)])
        return found


def cut_edges(graph: Medial) -> CutEdges:
    """Find the cut edges of a medial graph and what hangs on them.

    >>> from nameplate.geometry.medial import medial
    >>> from nameplate.geometry.region import rectangle, union
    >>> hanging = cut_edges(medial(union(rectangle(0, 0, 4, 4), rectangle(3, 1.5, 13, 2.5))))
    >>> bool(len(hanging.edges) > 20), round(float(hanging.levers(np.arange(len(hanging.edges))).max()))
    (True, 9)
    """
    tree = _depth_first(graph)
    cut = np.flatnonzero((tree.edge >= 0) & ~_on_rings(graph, tree))
    first, order = tree.first - 1, tree.order[1:]  # without the root, which stands before all
    last, start = first[cut] + tree.size[cut], first[tree.top[cut]]
    end = start + tree.size[tree.top[cut]]
    ends = graph.edges
    length = np.hypot(*(graph.nodes[ends[:, 0]] - graph.nodes[ends[:, 1]]).T)
    area = length * graph.radius[ends].sum(axis=1)
    weight = np.bincount(ends[:, 0], area, len(graph.nodes)) + np.bincount(ends[:, 1], area, len(graph.nodes))
    total = np.concatenate([[0.0], np.cumsum(weight[order])])
    lighter = total[last] - total[first[cut]] <= (total[end] - total[start]) / 2
    return CutEdges(graph, tree.edge[cut], order, first[cut], last, start, end, lighter)


@dataclass(frozen=True, slots=True)
class _Tree:
    """A depth-first tree below a root of its own (the last node), whose children are one node of each component.

    `order` are the nodes in preorder. For each node: its place `first` in that order, the `edge` to its parent (-1 from
    the root), the `size` of its subtree, the `top` node of its component.
    """

    order: Indices
    first: Indices
    edge: Indices
    size: Indices
    top: Indices


def _depth_first(graph: Medial) -> _Tree:
    from scipy.sparse.csgraph import depth_first_order

    count = len(graph.nodes)
    _, home = parted(graph.edges, count)
    tops = np.unique(home, return_index=True)[1]
    edges = np.vstack([graph.edges, np.column_stack([np.full(len(tops), count), tops])])
    a, b = edges.T
    walked, before = depth_first_order(linked(edges, count + 1), count, directed=False)
    order, parent = walked.astype(np.intp), before.astype(np.intp)
    first = np.empty(count + 1, dtype=np.intp)
    first[order] = np.arange(count + 1)
    keys = np.minimum(a, b) * (count + 1) + np.maximum(a, b)
    by_key = np.argsort(keys, kind="stable")
    nodes = np.arange(count)
    wanted = np.minimum(nodes, parent[:-1]) * (count + 1) + np.maximum(nodes, parent[:-1])
    edge = by_key[np.searchsorted(keys[by_key], wanted)]
    edge = np.append(np.where(edge < len(graph.edges), edge, -1), -1)
    size, up = [1] * (count + 1), parent.tolist()
    for node in order[:0:-1].tolist():
        size[up[node]] += size[node]
    return _Tree(order, first, edge, np.array(size, dtype=np.intp), np.append(tops[home], count))


def _on_rings(graph: Medial, tree: _Tree) -> Flags:
    """Tell for each node whether the tree's edge to it lies on a ring: another edge leads from below it to above it."""
    left_out = np.ones(len(graph.edges), dtype=bool)
    left_out[tree.edge[tree.edge >= 0]] = False
    ends = np.sort(tree.first[graph.edges[left_out]], axis=1)
    closed = np.zeros(len(tree.first) + 1, dtype=np.intp)  # rings that begin less those that end, summed in preorder
    np.add.at(closed, ends[:, 1] + 1, 1)
    np.add.at(closed, ends[:, 0] + 1, -1)
    total = closed.cumsum()
    return np.asarray(total[tree.first + tree.size] > total[tree.first], dtype=bool)
