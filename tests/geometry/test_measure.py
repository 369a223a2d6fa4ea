import math

import pytest
from shapely import affinity
from shapely.geometry import Point

from nameplate.geometry import region as geo
from nameplate.geometry.measure import inscribed, without_dust, without_pinholes


def test_inscribed_circle_of_a_right_triangle():
    # radius (a + b - c) / 2 of the 3-4-5 triangle (Euclid IV 4): 1, touching both legs
    circle = inscribed(geo.from_ring([(0, 0), (4, 0), (0, 3)]))
    assert circle.r == pytest.approx(1, abs=0.01)
    assert (circle.x, circle.y) == pytest.approx((1, 1), abs=0.02)


def test_inscribed_circle_avoids_holes():
    ring = geo.difference(geo.as_region(Point(0, 0).buffer(5, 64)), geo.as_region(Point(0, 0).buffer(3, 64)))
    circle = inscribed(ring)
    assert circle.r == pytest.approx(1, abs=0.02)
    assert math.hypot(circle.x, circle.y) == pytest.approx(4, abs=0.05)


def test_pinholes_are_judged_by_their_width_not_by_their_area():
    plate = geo.rectangle(0, 0, 30, 10)
    slot = geo.rectangle(1, 5, 20, 5.5)
    disc = geo.as_region(Point(25, 5).buffer(0.35, 32))
    left = without_pinholes(geo.difference(plate, geo.union(slot, disc)), 0.6)
    assert geo.hole_count(left) == 1
    assert left.area == pytest.approx(300 - disc.area)


@pytest.mark.parametrize("stretch", [1.0, 1.5, 3.0, 8.0])
@pytest.mark.parametrize("width", [0.55, 0.59, 0.61, 0.7, 2.0])
def test_holes_of_any_length_are_judged_by_the_circle_inside(width, stretch):
    oval = affinity.scale(Point(10, 5).buffer(width / 2, 64), stretch, 1)
    plate = geo.difference(geo.rectangle(0, 0, 20, 10), geo.as_region(oval))
    assert geo.hole_count(without_pinholes(plate, 0.6)) == (width > 0.6)


def test_dust_goes_and_small_things_stay():
    shape = geo.union(geo.rectangle(0, 0, 5, 5), geo.rectangle(9, 9, 9.1, 9.1), geo.rectangle(20, 0, 20.001, 0.5))
    assert len(geo.solids(without_dust(shape))) == 2
    assert without_dust(geo.EMPTY).is_empty
