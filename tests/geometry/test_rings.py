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
