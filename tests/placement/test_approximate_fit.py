"""Rough fits against fits known exactly, and against the exact search."""

import pytest

from nameplate.geometry.region import EMPTY, difference, disc, from_ring, rectangle
from nameplate.placement.approximate_fit import rough_growth
from nameplate.placement.fit import growth

#: Two arms of 40 x 10 and 10 x 40 that share a corner.
CORNER = from_ring([(0, 0), (40, 0), (40, 10), (10, 10), (10, 40), (0, 40)])


@pytest.mark.parametrize(("width", "height", "scale"), [(4, 1, 10.0), (1, 4, 10.0), (1, 1, 10.0)])
def test_a_bar_fills_an_arm(width, height, scale):
    # longer than half the arm, so that neither slants into the other: the arm's width decides
    assert rough_growth(rectangle(0, 0, width, height), CORNER) == pytest.approx(scale, rel=0.01)


def test_a_frame_round_a_hole_takes_what_the_wider_side_leaves():
    zone = difference(rectangle(0, 0, 100, 40), disc((70, 20), 20))
    # left of the hole there are 60 mm, so a bar of 6 x 4 is as large as the height of 40 allows
    assert rough_growth(rectangle(0, 0, 6, 4), zone) == pytest.approx(10.0, rel=0.02)


def test_a_convex_zone_is_fitted_exactly():
    zone = disc((3, 4), 50)
    shape = rectangle(0, 0, 3, 4)
    assert rough_growth(shape, zone) == growth(shape, zone) == pytest.approx(10.0, rel=1e-3)  # 3 x 4 has diagonal 5


def test_a_glance_is_within_some_per_cent():
    exact = growth(rectangle(0, 0, 5, 2), CORNER)
    assert rough_growth(rectangle(0, 0, 5, 2), CORNER, glance=True) == pytest.approx(exact, rel=0.08)


@pytest.mark.parametrize("zone", [CORNER, difference(rectangle(0, 0, 60, 60), disc((30, 30), 20))])
def test_what_is_given_up_to_stand_in_the_middle_is_about_the_same(zone):
    shape = rectangle(0, 0, 5, 2)
    assert rough_growth(shape, zone, give=0.1) == pytest.approx(growth(shape, zone, give=0.1), rel=0.03)


def test_nothing_fits_nothing():
    assert rough_growth(EMPTY, CORNER) == rough_growth(rectangle(0, 0, 1, 1), EMPTY) == 0.0
