import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nameplate.errors import FaceError
from nameplate.face.shapes import SHAPES, outline
from nameplate.geometry import region

lengths = st.floats(5, 400)


@settings(max_examples=40, deadline=None)
@given(shape=st.sampled_from(sorted(SHAPES)), width=lengths, height=lengths)
def test_every_shape_measures_exactly_what_was_asked_and_is_centred(shape, width, height):
    height = width if shape == "circle" else height
    face = outline(shape, width, height)
    assert face.bounds == (-width / 2, -height / 2, width / 2, height / 2)
    assert len(region.solids(face)) == 1
    assert region.hole_count(face) == 0
    assert face.is_valid


@settings(max_examples=40, deadline=None)
@given(shape=st.sampled_from(sorted(SHAPES)), width=lengths, height=lengths)
def test_every_shape_is_its_own_mirror_image(shape, width, height):
    face = outline(shape, width, width if shape == "circle" else height)
    assert region.hausdorff(face, region.mirrored(face)) < 1e-9 * width


def test_ellipse_has_the_area_of_an_ellipse():
    # pi a b; a flattened outline within 0.005 mm loses at most 0.005 mm times the circumference (Ramanujan, 1914)
    a, b = 55, 40
    around = math.pi * (3 * (a + b) - math.sqrt((3 * a + b) * (a + 3 * b)))
    area = outline("ellipse", 2 * a, 2 * b).area
    assert math.pi * a * b - 0.005 * around < area < math.pi * a * b


def test_rounded_has_the_area_of_a_grown_rectangle():
    # Steiner (1840): a rectangle grown by r has area A + P r + pi r^2
    inner_width, inner_height, r = 90, 50, 10
    expected = inner_width * inner_height + 2 * (inner_width + inner_height) * r + math.pi * r * r
    area = outline("rounded", inner_width + 2 * r, inner_height + 2 * r, r).area
    assert expected - 0.005 * 2 * math.pi * r < area < expected


def test_regular_hexagon_has_equal_sides():
    # a regular hexagon of side s is 2 s wide and sqrt(3) s high; its area is 3 sqrt(3) / 2 s^2 (Euclid IV.15)
    side = 30
    assert outline("hexagon", 2 * side, math.sqrt(3) * side).area == pytest.approx(1.5 * math.sqrt(3) * side**2)


def test_leaf_has_two_points_and_shield_one():
    tips = {"leaf": [(-50, 0), (50, 0)], "shield": [(0, -30)]}
    for shape, places in tips.items():
        corners = region.outer_rings(outline(shape, 100, 60))[0].tolist()
        for place in places:
            assert list(place) in [[round(x, 9), round(y, 9)] for x, y in corners]


def test_radius_nought_is_a_rectangle_and_the_largest_makes_a_stadium():
    assert outline("rounded", 60, 40, 0).area == 2400
    assert outline("rounded", 60, 40, 20).area == pytest.approx(20 * 40 + math.pi * 400, abs=0.005 * 2 * math.pi * 20)


def test_a_radius_that_is_too_large_is_refused_in_words():
    with pytest.raises(FaceError, match="radius 21 mm is too large for a face of 60 x 40 mm; the most is 20 mm"):
        outline("rounded", 60, 40, 21)
