"""The cut edges of a graph and what hangs on them, against the definition: take an edge out, look what falls off."""

import numpy as np
import pytest
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from nameplate.geometry import region as geo
from nameplate.geometry.cut_edges import cut_edges
from nameplate.geometry.medial import Medial, medial


def random_graph(seed: int) -> Medial:
    """A forest with a few edges more, at random places; its sites are its nodes."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(2, 40))
    pairs = {(int(rng.integers(max(0, i - 4), i)), i) for i in range(1, count) if rng.random() < 0.9}
    pairs |= {tuple(sorted(rng.choice(count, 2, replace=False).tolist())) for _ in range(rng.integers(0, 5))}
    edges = rng.permutation(np.array(sorted(pairs), dtype=np.intp).reshape(-1, 2))
    nodes, radius = rng.uniform(0, 30, (count, 2)), rng.uniform(0.2, 2, count)
    return Medial(nodes, radius, edges, nodes[edges], np.full(len(edges), np.inf))


def parts_without(graph: Medial, edge: int) -> list[np.ndarray]:
    """The nodes on either side of an edge once it is taken out; one entry when they still hang together."""
    kept = np.delete(graph.edges, edge, axis=0)
    links = coo_array((np.ones(len(kept)), kept.T), shape=(len(graph.nodes),) * 2)
    _, home = connected_components(links, directed=False)
    a, b = graph.edges[edge]
    return [np.flatnonzero(home == h) for h in dict.fromkeys((home[a], home[b]))]


def ink(graph: Medial) -> np.ndarray:
    """Half the area of the strips at each node."""
    a, b = graph.edges.T
    area = np.hypot(*(graph.nodes[a] - graph.nodes[b]).T) * (graph.radius[a] + graph.radius[b])
    return np.bincount(a, area, len(graph.nodes)) + np.bincount(b, area, len(graph.nodes))


@pytest.mark.parametrize("seed", range(60))
def test_cut_edges_and_levers_are_those_of_the_definition(seed):
    graph = random_graph(seed)
    hanging = cut_edges(graph)
    cut = {e: sides for e in range(len(graph.edges)) if len(sides := parts_without(graph, e)) == 2}
    assert sorted(hanging.edges.tolist()) == sorted(cut)
    levers, weight = hanging.levers(np.arange(len(hanging.edges))), ink(graph)
    for position, edge in enumerate(hanging.edges.tolist()):
        sides = sorted(cut[edge], key=lambda nodes: weight[nodes].sum())
        middle = graph.edge_middle[edge]
        reach = [(np.hypot(*(graph.nodes[s] - middle).T) + graph.radius[s]).max() for s in sides]
        even = weight[sides[1]].sum() - weight[sides[0]].sum() < 1e-9
        assert min(abs(levers[position] - r) for r in (reach if even else reach[:1])) < 1e-9


@pytest.mark.parametrize("seed", range(60))
def test_the_bound_of_a_lever_is_never_below_it_and_at_most_eight_per_cent_above(seed):
    hanging = cut_edges(random_graph(seed))
    levers = hanging.levers(np.arange(len(hanging.edges)))
    assert (hanging.most_levers >= levers - 1e-9).all()
    assert (hanging.most_levers <= levers * 1.083 + 1e-9).all()


def test_nothing_hangs_in_an_empty_graph():
    hanging = cut_edges(medial(geo.EMPTY))
    assert len(hanging.edges) == 0 and len(hanging.most_levers) == 0


def test_a_flag_hangs_on_its_pole_and_a_ring_on_nothing():
    pole, flag = geo.rectangle(0, 0, 4, 4), geo.rectangle(3, 1.5, 23, 2.5)
    hanging = cut_edges(medial(geo.union(pole, flag)))
    thin = np.flatnonzero(hanging.graph.edge_radius[hanging.edges] < 0.55)
    assert hanging.levers(thin).max() == pytest.approx(19, abs=0.5)  # from the pole to the flag's end
    ring = geo.difference(geo.disc((0, 0), 10), geo.disc((0, 0), 6))
    assert len(cut_edges(medial(ring)).edges) == 0
