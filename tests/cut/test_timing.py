import math

import numpy as np
import pytest

from nameplate.cut.kerf import toolpath
from nameplate.cut.order import PlacedToolpath, burning_order
from nameplate.cut.timing import Speeds, burn_time, line_length
from nameplate.geometry import region
from nameplate.model import Part


def steps(shape, marks=(), kerf=0.0):
    return burning_order([PlacedToolpath(toolpath(Part("1", "blank", "b", shape, marks), kerf), 1, 0, 0)])


def test_a_square_and_a_score():
    mark = np.array([(0.0, 0), (3, 4)])
    got = burn_time(steps(region.rectangle(0, 0, 10, 10), (mark,)), Speeds(cut=10, score=50, travel=100, pierce=0.5))
    # worked by hand: the score from the corner to (3, 4), 5 mm back to the corner, and there round the square
    assert (got.cut_length, got.lines) == (pytest.approx(40), 2)
    assert got.seconds == pytest.approx(40 / 10 + 5 / 50 + 5 / 100 + 2 * 0.5)


def test_a_circle_is_as_long_as_its_perimeter(disc):
    assert burn_time(steps(disc)).cut_length == pytest.approx(2 * math.pi * 10, abs=0.02)


def test_cut_length_does_not_depend_on_the_place(sheet):
    lengths = [sum(line_length(c.curve) for c in p.toolpath.contours) for p in sheet.placed()]
    assert burn_time(burning_order(sheet.placed())).cut_length == pytest.approx(sum(lengths))


def test_without_speeds_there_is_no_time():
    assert burn_time(steps(region.rectangle(0, 0, 9, 9))).seconds is None


@pytest.mark.parametrize(
    "wrong", [{"cut": 0}, {"score": -1}, {"travel": math.nan}, {"pierce": -0.1}, {"cut": math.inf}]
)
def test_speeds_that_are_none(wrong):
    with pytest.raises(ValueError, match="must be"):
        Speeds(**{"cut": 10, "score": 10, **wrong})
