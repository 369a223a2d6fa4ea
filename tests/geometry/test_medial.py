import numpy as np
import pytest
import shapely
from shapely.geometry import Point

from nameplate.geometry import region as geo
from nameplate.geometry.medial import _samples, components, medial, necks
from nameplate.typesetting.fonts import load_font
from tests.typesetting.ways import settings


def test_the_middle_of_a_strip_is_straight_and_half_as_wide():
    graph = medial(geo.rectangle(0, 0, 20, 2))
    inner = (graph.nodes[:, 0] > 2) & (graph.nodes[:, 0] < 18) & (graph.radius > 0.9)
    assert inner.sum() > 50
    assert np.allclose(graph.nodes[inner, 1], 1, atol=0.01)
    assert np.allclose(graph.radius[inner], 1, atol=0.01)


def test_radii_are_distances_to_the_boundary():
    shape = geo.difference(geo.rectangle(0, 0, 12, 8), geo.as_region(Point(5, 4).buffer(2, 32)))
    graph = medial(shape)
    edge = shape.boundary
    truth = np.array([edge.distance(Point(p)) for p in graph.nodes])
    # too large by up to step^2 / (8 radius), see the module
    assert (graph.radius - truth > -1e-3).all()
    assert (graph.radius - truth < 0.2**2 / 8 / graph.radius + 0.004).all()


def test_a_ring_is_a_cycle():
    ring = geo.difference(geo.as_region(Point(0, 0).buffer(5, 32)), geo.as_region(Point(0, 0).buffer(3, 32)))
    graph = medial(ring)
    degrees = np.bincount(graph.edges.ravel(), minlength=len(graph.nodes))
    assert (degrees == 2).all()
    assert np.allclose(np.hypot(*graph.nodes.T), 4, atol=0.02)
    assert len(necks(graph, 0.9)) == 0
    assert len(necks(graph, 1.1)) == 1  # all is thinner: cut once, the rest falls away


def test_a_dumbbell_has_one_neck():
    shape = geo.union(geo.rectangle(0, 0, 4, 4), geo.rectangle(3, 1.5, 9, 2.5), geo.rectangle(8, 0, 12, 4))
    graph = medial(shape)
    assert len(necks(graph, 0.45)) == 0
    (edge,) = necks(graph, 0.55)
    assert graph.edge_radius[edge] == pytest.approx(0.5, abs=0.01)
    assert 3.5 < graph.edge_middle[edge][0] < 8.5


def test_a_sharp_neck_is_as_narrow_as_its_tips():
    shape = geo.from_ring([(-9, -3), (-1, -3), (0, -0.4), (1, -3), (9, -3), (9, 3), (1, 3), (0, 0.4), (-1, 3), (-9, 3)])
    graph = medial(shape)
    assert graph.edge_radius[necks(graph, 0.6)[0]] == pytest.approx(0.4, abs=1e-3)


def test_parts_have_no_edges_between_them():
    shape = geo.union(geo.rectangle(0, 0, 4, 2), geo.rectangle(5, 0, 9, 2))
    graph = medial(shape)
    groups = components(graph, graph.edge_radius > 0.8)
    assert set(groups) == {-1, 0, 1}


def test_necks_to_small_bodies_and_those_on_rings_can_be_left_out():
    # two blocks of 10 x 10 mm and a knob of 2.5 x 2.5 mm; shrunk by 0.5 mm they are 9 x 9 and 1.5 x 1.5 mm
    blocks = geo.union(geo.rectangle(0, 0, 10, 10), geo.rectangle(9, 4, 16, 4.6), geo.rectangle(15, 0, 25, 10))
    shape = geo.union(blocks, geo.rectangle(24, 4, 28, 4.7), geo.rectangle(27.5, 3, 30, 5.5))
    graph = medial(shape)
    assert [len(necks(graph, 0.5, least=least)) for least in (0.0, 1.5, 5.0, 150.0)] == [2, 2, 1, 0]
    balls = geo.union(geo.disc((0, 0), 6), geo.rectangle(0, -0.3, 8, 0.3), geo.disc((8, 0), 4))  # 19.6, 7.1 mm2
    assert [len(necks(medial(balls), 0.5, least=least)) for least in (6.5, 8.5)] == [1, 0]
    ring = geo.difference(geo.disc((0, 0), 20), geo.disc((2.6, 0), 14))
    assert len(necks(medial(ring), 0.5)) == 1
    assert len(necks(medial(ring), 0.5, rings=False)) == 0


@pytest.mark.parametrize("shape", [geo.EMPTY, geo.rectangle(0, 0, 1e-3, 1e-3), geo.rectangle(0, 0, 100, 1e-4)])
def test_degenerate_shapes_give_small_graphs(shape):
    assert len(medial(shape).edges) < 3000
    assert len(necks(medial(shape), 0.5)) == 0


@pytest.mark.parametrize("font", ["Pacifico", "Great Vibes", "Playpen Sans ExtraBold"])
def test_the_discs_of_the_nodes_fill_a_word_and_nothing_else(font):
    # the theorem behind the medial axis: a shape is the union of its largest inscribed discs (Blum 1967)
    (setting,) = settings("Ågnes & Bo", "", load_font(font), words="tie")
    word = geo.moved(geo.union(*(g.region for g in setting.glyphs)), scale=30)
    graph = medial(word)
    discs = shapely.union_all(shapely.buffer(shapely.points(graph.nodes), graph.radius + 0.01, quad_segs=32))
    assert discs.difference(word.buffer(0.05)).area < 1e-4 * word.area
    assert word.buffer(-0.05).difference(discs).area < 2e-3 * word.area  # tips of strokes end in no disc


def test_samples_lie_on_the_outline_and_follow_it_closely():
    shape = geo.union(geo.disc((0, 0), 6), geo.rectangle(0, -1, 20, 1), geo.disc((20, 0), 0.7))
    shape = geo.difference(shape, geo.disc((0, 0), 0.6))
    samples = _samples(shape, 0.2)
    assert shape.boundary.distance(shapely.MultiPoint(samples.where)) < 1e-9
    for ring, outline in enumerate([shape.geoms[0].exterior, *shape.geoms[0].interiors]):
        own = samples.where[samples.ring == ring]
        assert shapely.hausdorff_distance(shapely.linearrings(own), outline, densify=0.05) < 0.01
        steps = np.hypot(*(np.roll(own, -1, axis=0) - own).T)
        assert steps.max() <= 0.2 + 1e-9
        assert samples.length[ring] == pytest.approx(outline.length)
    corners = np.array([(20.0, 1.0), (20.0, -1.0)])
    assert all(np.hypot(*(samples.where - c).T).min() < 1e-9 for c in corners)
