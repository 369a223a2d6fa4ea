import math

import numpy as np
import pytest

from nameplate.geometry.region import EMPTY, from_ring, rectangle
from nameplate.geometry.ruggedness import crossings, ruggedness


def comb(teeth):
    x = np.arange(teeth) * 100 / teeth
    return from_ring(np.vstack([[(0, 70)], np.column_stack([x, np.arange(teeth) % 2 * 5]), [(100, 70)]]))


def test_four_times_as_much_for_twice_as_many_teeth():
    assert ruggedness(comb(2000), 6) == pytest.approx(4 * ruggedness(comb(1000), 6), rel=0.05)


def test_smooth_and_plain_outlines_have_hardly_any():
    turn = np.linspace(0, math.tau, 50_000, endpoint=False)
    assert ruggedness(from_ring(100 * np.column_stack([np.cos(turn), np.sin(turn)])), 6) < 20
    assert ruggedness(EMPTY, 6) == 0
    assert ruggedness(rectangle(0.5, 0.5, 99.5, 99.5), 0.1) == pytest.approx(4)


def test_crossings_of_a_star_and_of_two_rings_are_counted():
    # a pentagram crosses itself five times; two squares that overlap at a corner cross twice
    turn = np.arange(5) * 2 * math.tau / 5
    star = np.column_stack([np.cos(turn), np.sin(turn)])
    assert crossings([star], most=99, most_near=999) == 5
    square = np.array([(0, 0), (2, 0), (2, 2), (0, 2)], dtype=float)
    assert crossings([square, square + 1], most=99, most_near=999) == 2
    assert crossings([square], most=99, most_near=999) == 0


def test_counting_ends_at_the_most():
    zigzag = np.column_stack([np.arange(999) * 7919 % 97, np.arange(999) * 104_729 % 79]).astype(float)
    assert crossings([zigzag], most=50, most_near=10**9) == 50
    assert crossings([zigzag], most=10**9, most_near=50) == 10**9
