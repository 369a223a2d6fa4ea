"""The first stage alone against fits known exactly, and against the whole search."""

import pytest

from nameplate.geometry.region import EMPTY, difference, disc, from_ring, rectangle
from nameplate.placement.fit import prepared
from nameplate.placement.objective import Standing

ANYWHERE, GIVING, CENTRED = Standing(), Standing("largest"), Standing("centre")

#: Two arms of 40 x 10 and 10 x 40 that share a corner.
CORNER = from_ring([(0, 0), (40, 0), (40, 10), (10, 10), (10, 40), (0, 40)])


def about(shape, zone, standing=ANYWHERE):
    return prepared(zone).about(shape, standing)


@pytest.mark.parametrize(("width", "height", "scale"), [(4, 1, 10.0), (1, 4, 10.0), (1, 1, 10.0)])
def test_a_bar_fills_an_arm(width, height, scale):
    # longer than half the arm, so that neither slants into the other: the arm's width decides
    assert about(rectangle(0, 0, width, height), CORNER) == pytest.approx(scale, rel=0.01)


def test_a_frame_round_a_hole_takes_what_the_wider_side_leaves():
    zone = difference(rectangle(0, 0, 100, 40), disc((70, 20), 20))
    # left of the hole there are 60 mm, so a bar of 6 x 4 is as large as the height of 40 allows
    assert about(rectangle(0, 0, 6, 4), zone) == pytest.approx(10.0, rel=0.02)


def test_a_convex_zone_is_fitted_exactly():
    zone = disc((3, 4), 50)
    shape = rectangle(0, 0, 3, 4)
    assert about(shape, zone) == prepared(zone).growth(shape) == pytest.approx(10.0, rel=1e-3)  # 3 x 4 has diagonal 5


@pytest.mark.parametrize("standing", [GIVING, CENTRED, Standing("centre", "left")])
@pytest.mark.parametrize("zone", [CORNER, difference(rectangle(0, 0, 60, 60), disc((30, 30), 20))])
def test_the_first_stage_is_near_the_whole_search_however_the_shape_stands(zone, standing):
    shape = rectangle(0, 0, 5, 2)
    assert about(shape, zone, standing) == pytest.approx(prepared(zone).growth(shape, standing), rel=0.02)


def test_nothing_fits_nothing():
    assert about(EMPTY, CORNER) == about(rectangle(0, 0, 1, 1), EMPTY) == 0.0
