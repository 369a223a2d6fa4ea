import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPoint, Point, Polygon

from nameplate import tolerances
from nameplate.errors import GeometryError
from nameplate.geometry import region
from nameplate.geometry.box import Box

L_SHAPE = region.from_ring([(0, 0), (4, 0), (4, 1), (1, 1), (1, 3), (0, 3)])
FRAME = region.difference(region.rectangle(0, 0, 10, 10), region.rectangle(3, 3, 7, 7))

points = st.tuples(st.floats(-50, 50), st.floats(-50, 50))
convex = st.lists(points, min_size=3, max_size=20).map(lambda p: MultiPoint(p).convex_hull).filter(lambda g: g.area > 1)


def chord_loss(radius, turn=2 * math.pi):
    """Area between an arc and its chords, no more than the arc's length times the chord error."""
    return turn * radius * tolerances.ARC


class TestOffset:
    # Steiner 1840: for convex K, A(K + rB) = A + P r + pi r^2 and P' = P + 2 pi r; the numbers are for a square of 10
    @pytest.mark.parametrize(("r", "area", "perimeter"), [(0.1, 104.0314159, 40.6283185), (1, 143.1415927, 46.2831853)])
    def test_square_grows_as_steiner_says(self, r, area, perimeter):
        grown = region.offset(region.rectangle(0, 0, 10, 10), r)
        assert grown.area == pytest.approx(area, abs=chord_loss(r))
        assert grown.length == pytest.approx(perimeter, abs=2 * math.pi * tolerances.ARC)

    @settings(max_examples=40, deadline=None)
    @given(shape=convex, r=st.floats(0.05, 20))
    def test_convex_shapes_grow_as_steiner_says(self, shape, r):
        grown = region.offset(shape, r).area
        exact = shape.area + shape.length * r + math.pi * r * r
        assert exact - chord_loss(r) <= grown <= exact + 1e-9 * exact

    # derived from the local Steiner formula (Federer 1959): A(r) = 6 + 14 r + r^2 (5 pi / 4 - 1)
    @pytest.mark.parametrize(("r", "area"), [(0.1, 7.4292699), (0.3, 10.4634292)])
    def test_l_shape(self, r, area):
        assert region.offset(L_SHAPE, r).area == pytest.approx(area, abs=chord_loss(r, 5 * math.pi / 2))

    @pytest.mark.parametrize("r", [0.05, 0.1, 0.5])
    def test_a_ring_grows_by_its_whole_edge_and_nothing_else(self, r):
        # Federer 1959: A(r) = A + L r + pi chi r^2, and chi = 1 piece - 1 hole = 0
        ring = region.difference(
            region.as_region(Point(0, 0).buffer(10, quad_segs=400)),
            region.as_region(Point(0, 0).buffer(6, quad_segs=400)),
        )
        assert region.offset(ring, r).area == pytest.approx(ring.area + ring.length * r, abs=2e-3)

    @pytest.mark.parametrize("r", [0.1, 1, 4.5])
    def test_inner_parallel_of_a_square(self, r):
        # Santalo 1976 (from memory): the inner parallel body of a square a is a square a - 2r
        assert region.offset(region.rectangle(0, 0, 10, 10), -r).area == pytest.approx((10 - 2 * r) ** 2)

    def test_shrinking_past_the_middle_leaves_nothing(self):
        assert region.offset(region.rectangle(0, 0, 10, 2), -1.001).is_empty

    def test_mitre_keeps_corners(self):
        grown = region.offset(region.rectangle(0, 0, 10, 10), 0.1, join="mitre")
        assert region.bounds(grown) == pytest.approx((-0.1, -0.1, 10.1, 10.1))
        assert grown.area == pytest.approx(10.2**2)

    def test_a_limited_mitre_ends_at_the_limit(self):
        needle = region.from_ring([(0, -1), (10, 0), (0, 1)])
        assert region.bounds(region.offset(needle, 0.1, join="mitre", mitre_limit=2.5)).x1 == pytest.approx(10.25)

    @pytest.mark.parametrize("distance", [math.nan, math.inf])
    def test_refuses_what_is_no_distance(self, distance):
        with pytest.raises(GeometryError):
            region.offset(L_SHAPE, distance)

    @given(r=st.floats(0.01, 1000), tolerance=st.floats(0.0005, 0.1))
    def test_arc_steps_keep_the_chord_error(self, r, tolerance):
        # the sagitta of an arc of angle a and radius r is r (1 - cos(a / 2)): elementary geometry
        angle = math.pi / 2 / region.arc_steps(r, tolerance)
        assert r * (1 - math.cos(angle / 2)) <= max(tolerance * (1 + 1e-9), 0) or r <= tolerance


class TestMeasures:
    @settings(max_examples=50, deadline=None)
    @given(shape=convex, r=st.floats(0, 5))
    def test_isoperimetric_inequality(self, shape, r):
        grown = region.offset(shape, r)
        assert grown.length**2 >= 4 * math.pi * grown.area * (1 - 1e-9)

    def test_hausdorff_of_shifted_squares(self):
        a = region.rectangle(0, 0, 10, 10)
        assert region.hausdorff(a, region.moved(a, 0.3, 0)) == pytest.approx(0.3)

    def test_hausdorff_sees_what_only_one_shape_has(self):
        frame = region.difference(region.rectangle(0, 0, 10, 10), region.rectangle(4, 4, 6, 6))
        assert region.hausdorff(frame, region.rectangle(0, 0, 10, 10)) == pytest.approx(4)

    def test_hausdorff_of_nothing(self):
        assert region.hausdorff(region.EMPTY, region.EMPTY) == 0
        assert region.hausdorff(region.EMPTY, L_SHAPE) == math.inf

    def test_distance(self):
        a, b = region.rectangle(0, 0, 1, 1), region.rectangle(4, 5, 6, 6)
        assert region.distance(a, b) == pytest.approx(5)  # 3-4-5 triangle
        assert region.distance(a, region.EMPTY) == math.inf

    def test_bounds_of_nothing_is_an_error(self):
        with pytest.raises(GeometryError):
            region.bounds(region.EMPTY)

    def test_box(self):
        box = region.bounds(L_SHAPE)
        assert (box.width, box.height, box.centre) == (4, 3, (2, 1.5))


class TestRings:
    def test_outer_rings_run_left_and_holes_right(self):
        (outer,), (hole,) = region.outer_rings(FRAME), region.hole_rings(FRAME)
        assert Polygon(outer).exterior.is_ccw and not Polygon(hole).exterior.is_ccw
        assert len(outer) == len(hole) == 4

    def test_holes(self):
        assert region.hole_count(FRAME) == 1
        assert region.holes(FRAME).area == 16
        assert region.filled(FRAME).area == 100

    def test_a_bow_tie_keeps_both_wings(self):
        # a bow-tie has area 0 by the shoelace formula; what is meant are its two triangles of 1/4 each
        assert region.from_ring([(0, 0), (1, 1), (1, 0), (0, 1)]).area == pytest.approx(0.5)

    @pytest.mark.parametrize("ring", [[], [(0, 0)], [(0, 0), (1, 1)], [(0, 0), (1, 1), (2, 2)]])
    def test_rings_without_area_are_empty(self, ring):
        assert region.from_ring(ring).is_empty

    def test_lines_and_points_are_dropped(self):
        assert region.as_region(LineString([(0, 0), (1, 1)])).is_empty
        assert region.intersection(region.rectangle(0, 0, 1, 1), region.rectangle(1, 0, 2, 1)).is_empty

    def test_none_and_nan_are_errors(self):
        with pytest.raises(GeometryError):
            region.as_region(None)
        with pytest.raises(GeometryError):
            region.from_ring([(0, 0), (math.nan, 0), (1, 1)])


class TestMoving:
    @pytest.mark.parametrize("turn", [0, 90, 180, 270, -90, 450])
    def test_right_angles_are_exact(self, turn):
        moved = region.points(region.moved(region.rectangle(0, 0, 0.1, 0.3), turn=turn))
        assert set(np.abs(moved).ravel()) == {0.0, 0.1, 0.3}

    @given(turn=st.floats(-720, 720), dx=st.floats(-100, 100), scale=st.floats(0.1, 10))
    def test_area_goes_by_the_square_of_the_scale(self, turn, dx, scale):
        moved = region.moved(L_SHAPE, dx, -dx, turn=turn, scale=scale)
        assert moved.area == pytest.approx(L_SHAPE.area * scale**2, rel=1e-6)

    def test_turns_counter_clockwise(self):
        assert region.bounds(region.moved(region.rectangle(0, 0, 2, 1), turn=90)) == pytest.approx((-1, 0, 0, 2))

    def test_mirror_and_shear_keep_the_area(self):
        assert region.mirrored(L_SHAPE).area == L_SHAPE.area
        assert region.bounds(region.mirrored(L_SHAPE)).x1 == 0
        assert region.sheared(L_SHAPE, 20).area == pytest.approx(L_SHAPE.area)


class TestOpeningAndClosing:
    def test_opening_takes_thin_parts_away(self):
        handle = region.union(region.rectangle(0, 0, 10, 10), region.rectangle(10, 4.6, 20, 5.4))
        # a disc of radius 0.5 stuck in a mouth 0.8 wide has its middle 0.3 before it (3-4-5 triangle)
        assert region.bounds(region.opened(handle, 0.5)).x1 == pytest.approx(10.2, abs=0.01)

    def test_closing_fills_thin_slits(self):
        slit = region.difference(region.rectangle(0, 0, 10, 10), region.rectangle(5, 2, 5.2, 10))
        assert region.closed(slit, 0.15).area == pytest.approx(100, abs=0.02)


@given(dx=st.floats(-1e4, 1e4), turn=st.floats(0, 360), scale=st.floats(1e-3, 1e3))
def test_a_valid_region_moved_is_valid_without_being_looked_at_again(dx, turn, scale):
    # a hole that touches the outline in a point, and pieces that touch in one: the least that rounding would part
    touching = region.difference(region.rectangle(0, 0, 3, 3), region.from_ring([(0, 1.1), (1, 0.7), (1.3, 2.1)]))
    pieces = region.union(touching, region.from_ring([(3, 3), (4.1, 3.3), (3.7, 4.9)]))
    for shape in (touching, pieces):
        assert region.moved(shape, dx, -dx, turn=turn, scale=scale).is_valid


@pytest.mark.parametrize("step", [math.nan, math.inf])
def test_nothing_is_moved_to_nowhere(step):
    with pytest.raises(GeometryError, match="finite"):
        region.moved(L_SHAPE, step)
    with pytest.raises(GeometryError, match="finite"):
        region.moved(L_SHAPE, scale=step)


def test_a_window_that_leaves_no_area_of_a_needle_is_empty():
    needle = region.from_ring(
        [
            (24.934963441929078, 5.827411258039781),
            (25.580553496795, 5.581849396679732),
            (25.263854215700803, 5.702311699918019),
        ]
    )
    assert region.window(needle, Box(25.279417213406205, 4.0, 30.361090560480363, 9.4)).area < 1e-9
