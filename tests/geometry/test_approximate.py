import pytest

from nameplate.geometry.approximate import approximately_thickened
from nameplate.geometry.region import EMPTY, capsule, difference, disc, rectangle, union


@pytest.mark.parametrize("width", [0.4, 0.8, 1.2, 1.4])
def test_a_thin_stroke_becomes_about_as_wide_as_asked(width):
    line = [(0.0, 0.0), (60.0, 0.0)]
    exact = capsule(line, 1.5).area  # a stroke of the least width along the same line
    assert approximately_thickened(capsule(line, width), 1.5).area == pytest.approx(exact, rel=0.15)


def test_what_is_wide_enough_is_left_as_it_is():
    ring = difference(disc((0, 0), 30), disc((0, 0), 20))
    assert approximately_thickened(ring, 2.0).equals(ring)
    assert approximately_thickened(EMPTY, 2.0).is_empty


def test_only_the_thin_part_grows():
    head, tail = rectangle(0, 0, 10, 10), rectangle(10, 4.75, 30, 5.25)
    grown = approximately_thickened(union(head, tail), 2.0)
    assert grown.bounds[0] == 0 and grown.bounds[1] == 0 and grown.bounds[3] == 10
    assert 1.5 < difference(grown, head).area / 20 < 2.2
