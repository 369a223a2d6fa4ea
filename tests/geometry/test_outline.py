import math

import numpy as np
import pytest

from nameplate.errors import GeometryError
from nameplate.geometry.outline import drawn_region, winding
from nameplate.geometry.region import bounds, hole_count, solids

KAPPA = 4 * (math.sqrt(2) - 1) / 3


def circle(radius, *, clockwise=False, centre=(0.0, 0.0)):
    cx, cy = centre

    def draw(pen):
        r, k = radius, radius * KAPPA
        arcs = [
            ((r, k), (k, r), (0, r)),
            ((-k, r), (-r, k), (-r, 0)),
            ((-r, -k), (-k, -r), (0, -r)),
            ((k, -r), (r, -k), (r, 0)),
        ]
        if clockwise:
            arcs = [tuple((x, -y) for x, y in arc) for arc in arcs]
        pen.moveTo((cx + r, cy))
        for arc in arcs:
            pen.curveTo(*((cx + x, cy + y) for x, y in arc))
        pen.closePath()

    return draw


def both(*draws):
    def draw(pen):
        for one in draws:
            one(pen)

    return draw


@pytest.mark.parametrize("flatness", [1.0, 0.1, 0.01])
def test_chords_lie_within_the_flatness_of_the_curve(flatness):
    # a circle of four cubics strays at most 2.7e-4 of its radius outwards (Goldapp, CAGD 8, 1991: from memory)
    region = drawn_region(circle(100.0), flatness)
    ring = np.asarray(solids(region)[0].exterior.coords)
    middles = (ring[:-1] + ring[1:]) / 2
    inside = 100.0 - np.hypot(middles[:, 0], middles[:, 1])
    assert inside.max() <= flatness + 1e-3
    assert np.hypot(ring[:, 0], ring[:, 1]).max() <= 100.0 * (1 + 2.8e-4)


def test_finer_flatness_gives_the_area_of_the_circle():
    assert drawn_region(circle(100.0), 0.001).area == pytest.approx(math.pi * 100**2, rel=3e-4)


def test_overlap_in_one_direction_is_filled_and_a_counter_is_not():
    overlapping = drawn_region(both(circle(10.0), circle(10.0, centre=(10.0, 0.0))), 0.001)
    # two circles of radius r, centres r apart: union = 2 pi r^2 - r^2 (2 pi / 3 - sqrt(3) / 2), elementary geometry
    assert overlapping.area == pytest.approx(2 * math.pi * 100 - 100 * (2 * math.pi / 3 - math.sqrt(3) / 2), rel=3e-4)
    assert hole_count(overlapping) == 0
    ring = drawn_region(both(circle(10.0), circle(5.0, clockwise=True)), 0.001)
    assert ring.area == pytest.approx(math.pi * 75, rel=3e-4)
    assert hole_count(ring) == 1


def test_an_island_in_a_counter_is_kept():
    region = drawn_region(both(circle(10.0), circle(6.0, clockwise=True), circle(2.0)), 0.001)
    assert len(solids(region)) == 2
    assert region.area == pytest.approx(math.pi * (100 - 36 + 4), rel=3e-4)


def test_closed_quadratic_outline_without_on_curve_points():
    def draw(pen):  # a TrueType contour may have no point on the curve at all
        pen.qCurveTo((10.0, 0.0), (0.0, 10.0), (-10.0, 0.0), (0.0, -10.0), None)

    # between the square through the mid-points (100) and the square of the controls (200): the quadratic segments
    # add 2/3 of each of the four corner triangles (Archimedes' quadrature of the parabola), 4 * 25 * 2/3
    assert drawn_region(draw, 0.001).area == pytest.approx(100 + 200 / 3, rel=1e-3)


def test_a_figure_of_eight_keeps_both_loops():
    def draw(pen):
        pen.moveTo((0.0, 0.0))
        for point in ((10.0, 10.0), (10.0, 0.0), (0.0, 10.0)):
            pen.lineTo(point)
        pen.closePath()

    assert drawn_region(draw, 0.01).area == pytest.approx(50.0)


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_coordinates_must_be_finite(bad):
    def draw(pen):
        pen.moveTo((0.0, 0.0))
        pen.lineTo((bad, 0.0))
        pen.curveTo((1.0, 0.0), (bad, 1.0), (2.0, 2.0))
        pen.closePath()

    with pytest.raises(GeometryError):
        drawn_region(draw, 0.01)


def test_a_gigantic_outline_is_refused():
    def draw(pen):
        pen.moveTo((0.0, 0.0))
        for i in range(60_000):
            pen.lineTo((float(i), float(i % 2)))
        pen.closePath()

    with pytest.raises(GeometryError, match="more than"):
        drawn_region(draw, 0.01)


def test_lines_alone_draw_nothing():
    def draw(pen):
        pen.moveTo((0.0, 0.0))
        pen.lineTo((1.0, 1.0))
        pen.closePath()

    assert drawn_region(draw, 0.01).is_empty


def test_winding_counts_each_turn():
    square = np.array([(0, 0), (4, 0), (4, 4), (0, 4)], dtype=float)
    where = np.array([(2.0, 2.0), (9.0, 2.0), (2.0, 9.0)])
    assert winding(square, where).tolist() == [1, 0, 0]
    assert winding(square[::-1], where).tolist() == [-1, 0, 0]
    assert winding(np.vstack([square, square]), where).tolist() == [2, 0, 0]


def test_bounds_of_the_region_are_those_of_the_curve():
    box = bounds(drawn_region(circle(10.0, centre=(3.0, 4.0)), 0.001))
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((-7, -6, 13, 14), abs=0.01)
