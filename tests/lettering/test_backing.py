import math

import pytest

from nameplate.geometry import region as geo
from nameplate.lettering.backing import ROUND, backing
from nameplate.typesetting.fonts import load_font
from tests.typesetting.ways import settings


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
    ell = geo.from_ring([(0, 0), (60, 0), (60, 5), (5, 5), (5, 60), (0, 60)])
    grown = backing(ell, grow=2, soft=3)
    assert geo.covers(grown, geo.offset(ell, 1.99))
    corner = geo.difference(grown, geo.offset(ell, 2.001))
    assert corner.area == pytest.approx((1 - math.pi / 4) * 6**2, rel=0.02)


@pytest.mark.parametrize("font", ["Pacifico", "Great Vibes"])
def test_a_finger_finds_no_scallop_along_a_name(font):
    (setting,) = settings("Minimum", "", load_font(font), words="tie")
    letters = geo.moved(geo.union(*(g.region for g in setting.glyphs)), scale=20)
    edge = geo.filled(backing(letters, grow=3))
    # a disc rolls along inside and outside without leaving the edge: opening and closing change nothing (Serra 1982)
    assert geo.hausdorff(edge, geo.closed(edge, 3 * 3 - 0.1)) < 0.02
    assert geo.hausdorff(edge, geo.opened(edge, 3 - 0.1)) < 0.02


def test_holes_are_smooth():
    star = geo.union(geo.rectangle(10, 19, 40, 21), geo.rectangle(24, 5, 26, 35), geo.rectangle(18, 14, 32, 26))
    (hole,) = geo.solids(geo.holes(backing(geo.difference(geo.rectangle(0, 0, 50, 40), star), grow=0.5)))
    assert geo.hausdorff(geo.as_region(hole), geo.opened(hole, ROUND - 0.05)) < 0.02


def test_what_is_narrow_of_a_hole_is_filled_as_a_narrow_hole_is():
    keyhole = geo.union(geo.rectangle(10, 10, 30, 30), geo.rectangle(30, 18, 50, 22))  # 3 mm are left of its slot
    frame = geo.difference(geo.rectangle(0, 0, 60, 40), keyhole)
    assert geo.bounds(geo.holes(backing(frame, grow=0.5))).x1 > 45
    assert geo.bounds(geo.holes(backing(frame, grow=0.5, fill_holes_under=4))).x1 < 31


def test_smoothing_stays_in_the_room():
    ell = geo.from_ring([(0, 0), (60, 0), (60, 5), (5, 5), (5, 60), (0, 60)])
    room = geo.difference(geo.rectangle(-10, -10, 70, 70), geo.disc((9, 9), 3))
    smooth = backing(ell, grow=2, room=room)
    assert geo.covers(geo.offset(room, 0.01), smooth) and geo.covers(geo.offset(smooth, 0.01), geo.offset(ell, 2))


def test_nothing_gives_nothing():
    assert backing(geo.EMPTY, grow=4).is_empty
