"""What hangs on each narrow place of a shape: the tree structure of its medial graph.

Terms. A *cut edge* of the graph is one whose removal parts it; the smaller part is the *limb* that hangs on it. Its
*lever* is the distance from the middle of the edge to the farthest point of the limb. Edges on a ring of strokes are no
cut edges: what hangs there is held from two sides.

Method: one depth-first walk numbers the nodes so that every subtree is a run of numbers, and finds the cut edges
(Tarjan 1974). Sizes of subtrees follow from sums over the runs, levers from maxima over them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nameplate.geometry.medial import Flags, Indices, Medial
from nameplate.geometry.region import Array


@dataclass(frozen=True, slots=True)
class Limbs:
    """The cut edges of a graph (positions) and, for each, the run of walked nodes that hangs on it."""

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
        middle = self.graph.edge_middle[self.edges]
        found = np.zeros(len(chosen))
        for i, k in enumerate(chosen):
            far = [slice(self.first[k], self.last[k])]
            if not self.lighter[k]:
                far = [slice(self.start[k], self.first[k]), slice(self.last[k], self.end[k])]
            reach = [float((np.hypot(*(where[s] - middle[k]).T) + radius[s]).max()) for s in far if s.stop > s.start]
            found[i] = max(reach, default=0.0)
        return found


def limbs(graph: Medial) -> Limbs:
    """Find the cut edges of a medial graph and what hangs on them.

    >>> from nameplate.geometry.medial import medial
    >>> from nameplate.geometry.region import rectangle, union
    >>> hanging = limbs(medial(union(rectangle(0, 0, 4, 4), rectangle(3, 1.5, 13, 2.5))))
    >>> bool(len(hanging.edges) > 20), round(float(hanging.levers(np.arange(len(hanging.edges))).max()))
    (True, 9)
    """
    walk = _walk(graph)
    ends = graph.edges
    length = np.hypot(*(graph.nodes[ends[:, 0]] - graph.nodes[ends[:, 1]]).T)
    area = length * graph.radius[ends].sum(axis=1)
    weight = np.bincount(ends[:, 0], area, len(graph.nodes)) + np.bincount(ends[:, 1], area, len(graph.nodes))
    total = np.concatenate([[0.0], np.cumsum(weight[walk.order])])
    inner = total[walk.last] - total[walk.first]
    return Limbs(
        graph,
        walk.edges,
        walk.order,
        walk.first,
        walk.last,
        walk.start,
        walk.end,
        inner <= (total[walk.end] - total[walk.start]) / 2,
    )


@dataclass(frozen=True, slots=True)
class _Walk:
    """A depth-first walk: nodes in order; for each cut edge its subtree's and its component's run of numbers."""

    order: Indices
    edges: Indices
    first: Indices
    last: Indices
    start: Indices
    end: Indices


def _walk(graph: Medial) -> _Walk:
    count = len(graph.nodes)
    beside: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    for edge, (a, b) in enumerate(graph.edges.tolist()):
        beside[a].append((b, edge))
        beside[b].append((a, edge))
    number, low = [-1] * count, [0] * count
    order: list[int] = []
    cuts: list[tuple[int, int, int, int]] = []  # edge, first, last, start of the component
    ends: dict[int, int] = {}
    for root in range(count):
        if number[root] < 0:
            start = len(order)
            cuts += _walk_from(root, beside, number, low, order, start)
            ends[start] = len(order)
    table = np.array([(*c, ends[c[3]]) for c in cuts], dtype=np.intp).reshape(-1, 5)
    edges, first, last, begin, end = table.T
    return _Walk(np.array(order, dtype=np.intp), edges, first, last, begin, end)


def _walk_from(
    root: int,
    beside: list[list[tuple[int, int]]],
    number: list[int],
    low: list[int],
    order: list[int],
    start: int,
) -> list[tuple[int, int, int, int]]:
    """Walk one component without recursion; fills the tables and gives its cut edges."""
    cuts = []
    number[root] = low[root] = len(order)
    order.append(root)
    stack = [(root, -1, iter(beside[root]))]
    while stack:
        node, came_by, rest = stack[-1]
        for other, edge in rest:
            if number[other] < 0:
                number[other] = low[other] = len(order)
                order.append(other)
                stack.append((other, edge, iter(beside[other])))
                break
            if edge != came_by:
                low[node] = min(low[node], number[other])
        else:
            stack.pop()
            if stack:
                parent = stack[-1][0]
                low[parent] = min(low[parent], low[node])
                if low[node] > number[parent]:
                    cuts.append((came_by, number[node], len(order), start))
    return cuts
