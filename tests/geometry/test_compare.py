import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from nameplate.geometry import region
from nameplate.geometry.compare import agree, lines_near, near_pairs, shared_runs, strips

SQUARE = region.rectangle(0, 0, 10, 10)


def box_line(x, y, size):
    return np.array([(x, y), (x + size, y), (x + size, y + size), (x, y + size), (x, y)], float)


class TestAgree:
    @settings(max_examples=30, deadline=None)
    @given(dx=st.floats(-0.1, 0.1), dy=st.floats(-0.1, 0.1))
    def test_shapes_agree_whose_hausdorff_distance_in_geos_is_small(self, dx, dy):
        other = region.moved(SQUARE, dx, dy)
        off = shapely.hausdorff_distance(SQUARE.boundary, other.boundary)
        if off < 0.026:
            assert agree(SQUARE, other, 0.03)
        if off > 0.03:
            assert not agree(SQUARE, other, 0.03)

    def test_nothing(self):
        assert agree(region.EMPTY, region.EMPTY, 1) and not agree(SQUARE, region.EMPTY, 1)


class TestStrips:
    def test_a_closed_line_burns_its_length_and_rounds_four_corners(self):
        # outer side: Steiner 1840, P r + pi r^2; inner side: P r - 4 r^2 (mitred inner parallel of a square)
        (strip,) = strips([box_line(0, 0, 10)], 0.4)
        assert strip.area == pytest.approx(40 * 0.2 + math.pi * 0.04 + 40 * 0.2 - 4 * 0.04, abs=0.003)

    def test_no_width_burns_nothing(self):
        assert strips([box_line(0, 0, 10)], 0.0)[0].is_empty
        assert strips([], 0.2) == ()


class TestNear:
    def test_pairs_with_distance_and_place(self):
        squares = [region.moved(SQUARE, x, 0) for x in (0, 11, 30)]
        (pair,) = near_pairs(squares, 1.5)
        assert (pair.first, pair.second) == (0, 1)
        assert pair.measure == pytest.approx(1) and pair.x == pytest.approx(10.5)

    def test_no_pairs(self):
        assert near_pairs([], 1) == near_pairs([SQUARE], 1) == near_pairs([SQUARE, SQUARE], 0) == ()

    def test_only_lines_of_others(self):
        shapes = [SQUARE, region.moved(SQUARE, 10.2, 0)]
        lines = [box_line(-0.1, -0.1, 10.2), box_line(10.1, -0.1, 10.2), box_line(50, 50, 5)]
        assert lines_near(shapes, lines, 0.11, [0, 1, 1]) == ((1,), (0,))
        assert lines_near(shapes, lines, 0.05, [0, 1, 1]) == ((), ())
        assert lines_near([], [], 1, []) == ()


class TestSharedRuns:
    def test_lines_on_top_of_each_other(self):
        (pair,) = shared_runs([box_line(0, 0, 10), box_line(10, 4, 10)], 0.02, 0.25)
        assert pair.measure == pytest.approx(6, abs=0.05) and (pair.x, pair.y) == pytest.approx((10, 7), abs=0.05)

    def test_a_crossing_is_not_a_run(self):
        assert shared_runs([box_line(0, 0, 10), box_line(5, 5, 10)], 0.02, 0.25) == ()

    def test_a_line_that_runs_back(self):
        line = np.array([(0, 0), (10, 0), (10, 5), (10, 0), (10, -9), (0, -9), (0, 0)], float)
        (pair,) = shared_runs([line], 0.02, 0.25)
        assert (pair.first, pair.second) == (0, 0) and pair.measure == pytest.approx(5)

    def test_nothing(self):
        assert shared_runs([], 0.02, 0.25) == ()
