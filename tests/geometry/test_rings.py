import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LinearRing

from nameplate.errors import GeometryError
from nameplate.geometry import rings


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=3, max_size=9, unique=True))
def test_a_ring_that_the_library_calls_simple_has_no_crossing(points):
    simple = LinearRing(points).is_simple
    found = rings.crossing(points)
    if simple:
        assert found is None
    elif found is None:
        # only a fold-back of neighbouring edges is left: it encloses nothing
        steps = np.roll(points, -1, axis=0) - np.array(points)
        turns = steps[:, 0] * np.roll(steps[:, 1], -1) - steps[:, 1] * np.roll(steps[:, 0], -1)
        assert (turns == 0).any()


def test_a_pentagram_crosses_itself_five_times():
    turn = np.arange(5) * 4 * np.pi / 5
    found = rings.crossing(np.column_stack([np.cos(turn), np.sin(turn)]))
    assert found is not None
    assert found.times == 5


def test_a_scribble_is_refused_before_it_costs_anything():
    scribble = np.random.default_rng(1).random((3000, 2))
    with pytest.raises(GeometryError, match="500 times or more"):
        rings.untangled(scribble)


def test_repeats_are_dropped():
    assert len(rings.without_repeats(np.empty((0, 2)), 1e-6)) == 0
    assert len(rings.without_repeats([(0, 0), (0, 0)], 1e-6)) == 1
    assert len(rings.without_repeats([(0, 0), (1, 0), (1, 0), (1, 1), (0, 0), (0, 0)], 1e-6)) == 3


def test_crossings_of_a_star_and_of_two_rings_are_counted():
    # a pentagram crosses itself five times; two squares that overlap at a corner cross twice
    turn = np.arange(5) * 2 * math.tau / 5
    star = np.column_stack([np.cos(turn), np.sin(turn)])
    assert rings.crossings([star], most=99, most_near=999) == 5
    square = np.array([(0, 0), (2, 0), (2, 2), (0, 2)], dtype=float)
    assert rings.crossings([square, square + 1], most=99, most_near=999) == 2
    assert rings.crossings([square], most=99, most_near=999) == 0


def test_counting_ends_at_the_most():
    zigzag = np.column_stack([np.arange(999) * 7919 % 97, np.arange(999) * 104_729 % 79]).astype(float)
    assert rings.crossings([zigzag], most=50, most_near=10**9) == 50
    assert rings.crossings([zigzag], most=10**9, most_near=50) == 10**9
