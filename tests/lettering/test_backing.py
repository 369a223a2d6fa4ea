import math

import pytest

from nameplate.geometry import region as geo
from nameplate.lettering.backing import backing


@pytest.mark.parametrize("grow", [0.1, 1.0, 4.0])
def test_convex_shapes_grow_as_steiner_says(grow):
    # Steiner 1840: A(K + rB) = A + P r + pi r^2; a square of 10 with r = 1 gives 143.1415927
    for ring in ([(0, 0), (10, 0), (10, 10), (0, 10)], [(0, 0), (30, 0), (12, 9)]):
        shape = geo.from_ring(ring)
        grown = backing(shape, grow=grow)
        expected = shape.area + shape.length * grow + math.pi * grow**2
        assert grown.area == pytest.approx(expected, rel=1e-3)


def test_small_holes_are_filled_and_large_ones_stay():
    frame = geo.difference(
        geo.rectangle(0, 0, 60, 40), geo.union(geo.rectangle(5, 5, 25, 35), geo.rectangle(40, 10, 50, 30))
    )
    assert geo.hole_count(backing(frame, grow=1)) == 2
    assert geo.hole_count(backing(frame, grow=1, fill_holes_under=10)) == 1
    assert geo.hole_count(backing(frame, grow=1, fill_holes_under=100)) == 0


def test_it_covers_the_lettering_and_inner_corners_are_soft():
    ell = geo.from_ring([(0, 0), (20, 0), (20, 5), (5, 5), (5, 20), (0, 20)])
    grown = backing(ell, grow=2, soft=1)
    assert geo.covers(grown, geo.offset(ell, 1.99))
    corner = geo.difference(grown, geo.offset(ell, 2.001))
    assert corner.area == pytest.approx(1 - math.pi / 4, abs=0.02)


def test_nothing_gives_nothing():
    assert backing(geo.EMPTY, grow=4).is_empty
