import itertools
import string

import numpy as np
import pytest
from shapely.geometry import LineString, MultiLineString

from nameplate.geometry.engraving_font import TAIL, can_draw, label, label_width

LETTERS = string.ascii_uppercase + string.digits
SIGNS = "°×·•«»‹›¡¿"


def drawn(text, height=3.0):
    return MultiLineString([LineString(line) for line in label(text, height)])


@pytest.mark.parametrize("letter", LETTERS)
def test_letters_and_digits_stand_on_the_baseline_and_have_the_stated_height_and_width(letter):
    box = drawn(letter).bounds
    tail = 3.0 * TAIL if letter == "Q" else 0.0
    assert box[0] == pytest.approx(0, abs=1e-9)
    assert box[1] == pytest.approx(-tail, abs=1e-9)
    assert box[2] == pytest.approx(label_width(letter, 3.0))
    assert box[3] == pytest.approx(3.0)


def test_no_sign_reaches_lower_than_its_tail():
    lowest = [drawn(sign).bounds[1] for sign in string.printable + SIGNS if sign.strip()]
    assert min(lowest) == pytest.approx(-3.0 * TAIL)


def test_any_two_letters_scored_3_mm_high_differ_by_more_than_a_scored_line():
    # a scored line in card is 0.15 to 0.3 mm wide (common practice)
    for a, b in itertools.combinations(LETTERS, 2):
        assert drawn(a).segmentize(0.1).hausdorff_distance(drawn(b).segmentize(0.1)) > 0.3, f"{a} and {b} look alike"


def test_signs_of_names_are_no_boxes_and_as_wide_as_is_said():
    for sign in SIGNS:
        assert can_draw(sign)
        assert drawn(sign).bounds[2] == pytest.approx(label_width(sign, 3.0))
        assert not drawn(sign).equals(drawn("ж"))


def test_letters_keep_apart():
    for a, b in itertools.product("LTAVWY0J", repeat=2):
        first, second = drawn(a), label(a + b, 3.0)[len(label(a, 3.0)) :]
        assert first.distance(MultiLineString([LineString(s) for s in second])) > 0.5


def test_case_and_accents_are_folded_and_nfc_equals_nfd():
    assert len(label("É", 3)) == len(label("e", 3)) == 2
    for a, b in (("Nguyễn", "NGUYEN"), ("Nguyễn", "Nguyễn"), ("Łódź", "lodz"), ("Bjørn", "BJORN"), ("Groß", "GROSS")):
        for p, q in zip(label(a, 3), label(b, 3), strict=True):
            assert np.array_equal(p, q)


def test_an_unknown_letter_is_a_box_that_takes_room():
    (box,) = label("ж", 8)
    assert box[0].tolist() == box[-1].tolist()
    assert label_width("жж", 8) > label_width("ж", 8) > 0


def test_width_adds_up_and_scales():
    assert label_width("007", 3) == pytest.approx(3 * label_width("007", 1))
    assert drawn("007").bounds[2] == pytest.approx(label_width("007", 3))
    assert label(" ", 3) == () and label_width(" ", 3) > 0
