import math

import numpy as np
import pytest

from nameplate.errors import FaceError
from nameplate.face.drawing.units import ViewBox, fit_view_box, length, numbers, transform, view_box

# W3C SVG 2, section 8.2: a viewport of 21 x 10 and the viewBox "11 13 3 2"
BOX = ViewBox(11, 13, 3, 2)


@pytest.mark.parametrize(
    ("aspect", "equivalent"),
    [
        (None, "translate(-52 -65) scale(5)"),
        ("xMidYMid meet", "translate(-52 -65) scale(5)"),
        ("xMidYMid", "translate(-52 -65) scale(5)"),
        ("none", "translate(-77 -65) scale(7 5)"),
        ("xMinYMin slice", "translate(-77 -91) scale(7)"),
        # derived from the same section: the free space is 21 - 3 * 5 = 6 across, 10 - 2 * 7 = -4 up
        ("xMinYMin meet", "translate(-55 -65) scale(5)"),
        ("xMaxYMax meet", "translate(-49 -65) scale(5)"),
        ("xMidYMax slice", "translate(-77 -95) scale(7)"),
    ],
)
def test_view_box_fits_its_viewport(aspect, equivalent):
    assert np.allclose(fit_view_box(BOX, 21, 10, aspect), transform(equivalent), atol=1e-12)


@pytest.mark.parametrize(
    ("text", "pixels"),
    # CSS Values and Units 4, section 6.2: 1 in = 2.54 cm = 96 px = 72 pt = 6 pc, 1 Q = 1/40 cm
    [("1in", 96), ("2.54cm", 96), ("25.4mm", 96), ("72pt", 96), ("6pc", 96), ("96px", 96), ("96", 96), ("101.6Q", 96)],
)
def test_absolute_lengths(text, pixels):
    assert length(text, 0) == pytest.approx(pixels)


@pytest.mark.parametrize(
    "text", ["1em", "2rem", "3vw", "1 in 2", "", "auto", "nan", "inf", "1e400", "0x10", "calc(1px)"]
)
def test_lengths_without_a_fixed_size_are_refused(text):
    with pytest.raises(FaceError):
        length(text, 100)


@pytest.mark.parametrize(
    ("text", "point", "image"),
    # CSS Transforms 1, sections 7 and 13, worked by hand
    [
        ("translate(3)", (1, 2), (4, 2)),
        ("translate(3,4)", (1, 2), (4, 6)),
        ("scale(2)", (1, 2), (2, 4)),
        ("scale(2 -1)", (1, 2), (2, -2)),
        ("rotate(90)", (1, 0), (0, 1)),
        ("rotate(90 10 10)", (11, 10), (10, 11)),
        ("skewX(45)", (1, 2), (3, 2)),
        ("skewY(45)", (1, 2), (1, 3)),
        ("matrix(1 2 3 4 5 6)", (1, 1), (9, 12)),
        ("translate(10 0) rotate(90)", (1, 0), (10, 1)),
        ("rotate(90),translate(10,0)", (1, 0), (0, 11)),
        ("  ", (1, 2), (1, 2)),
    ],
)
def test_transforms(text, point, image):
    assert np.allclose(transform(text) @ (*point, 1), (*image, 1))


@pytest.mark.parametrize(
    "text", ["rotate(45deg)", "scale()", "matrix(1 2 3)", "spin(4)", "translate(1 2 3)", "rotate(1"]
)
def test_transforms_that_are_not_understood_are_refused(text):
    with pytest.raises(FaceError, match="is not understood"):
        transform(text)


def test_rotation_keeps_lengths():
    assert math.hypot(*(transform("rotate(33)") @ (3, 4, 0))[:2]) == pytest.approx(5)


def test_number_lists_and_view_boxes():
    assert numbers("1-2.5.5e1,3") == (1, -2.5, 5, 3)
    assert view_box("0,0 10,20") == ViewBox(0, 0, 10, 20)
    assert view_box(None) is None
    for text in ("0 0 10", "0 0 0 10", "0 0 -1 1", "a b c d", "0 0 1e300 1"):
        with pytest.raises(FaceError):
            view_box(text)
