import numpy as np
import pytest
from shapely.geometry import Point

from nameplate.geometry import region as geo
from nameplate.geometry.curves.fit import fit_rings
from nameplate.geometry.medial import medial
from nameplate.geometry.ribbons import EVEN, ribbon


def ring(radius, width):
    outer, inner = (geo.as_region(Point(0, 0).buffer(radius + side * width / 2, 48)) for side in (1, -1))
    return geo.difference(outer, inner)


@pytest.mark.parametrize("radius", [1.5, 3.0, 10.0])
@pytest.mark.parametrize("width", [0.3, 1.0])
def test_a_ribbon_along_a_ring_is_an_even_and_smooth_ring(radius, width):
    # the middle line of a circular ring is a circle; its parallel curves are circles too (elementary geometry)
    graph = medial(ring(radius, width))
    made = ribbon(graph, np.isinf(graph.apart), 2.0)
    for points, size in ((geo.outer_rings(made)[0], radius + 1), (geo.hole_rings(made)[0], radius - 1)):
        assert np.hypot(*points.T) == pytest.approx(size, abs=0.02)
        steps = np.roll(points, -1, axis=0) - points
        turn = np.diff(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0])))
        assert np.degrees(np.abs(turn).max()) < 15
    # four cubics make a circle to 2.7e-4 of its radius (common knowledge); facets would take one each
    assert sum(len(c.segments) for c in fit_rings([*geo.outer_rings(made), *geo.hole_rings(made)], 0.02)) <= 32


def test_ends_stay_where_they_are_and_short_lines_are_kept():
    graph = medial(geo.rectangle(0, 0, 20, 1))
    inside = (np.abs(graph.nodes[graph.edges][:, :, 1] - 0.5) < 0.05).all(axis=1)
    box = geo.bounds(ribbon(graph, inside, 1.0))
    assert box.x0 == pytest.approx(graph.nodes[graph.edges[inside]][..., 0].min() - 0.5, abs=EVEN)
    one = np.zeros(len(graph.edges), dtype=bool)
    one[np.flatnonzero(inside)[0]] = True
    assert geo.bounds(ribbon(graph, one, 1.0)).height == pytest.approx(1.0, abs=0.02)
    assert ribbon(graph, np.zeros(len(graph.edges), dtype=bool), 1.0).is_empty
