import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from nameplate.geometry.curves.curve import Curve, flatten, polygon
from nameplate.geometry.curves.fit import fit_rings
from nameplate.geometry.curves.fit_check import faults


def wavy(steps=400):
    t = np.linspace(0, 2 * math.pi, steps, endpoint=False)
    r = 10 + np.cos(3 * t) + 0.4 * np.sin(7 * t)
    return np.column_stack([r * np.cos(t), r * np.sin(t)])


RING = wavy()
CURVE = fit_rings([RING], 0.02)[0]


def pushed(segment, dx, dy):
    """The curve with one segment's control points shifted."""
    segments = CURVE.segments.copy()
    segments[segment, 1:3] += (dx, dy)
    return Curve(segments, CURVE.lines)


def far(curve, ring):
    """The Hausdorff distance of the two lines by shapely alone, from dense points of both."""
    line, outline = shapely.linearrings(flatten(curve, 1e-4)), shapely.linearrings(ring)
    lines = (line, outline)
    points = [shapely.points(shapely.get_coordinates(shapely.segmentize(g, 0.1))) for g in lines]
    return max(shapely.distance(outline, points[0]).max(), shapely.distance(line, points[1]).max())


def test_a_good_fit_has_none():
    assert not len(faults(CURVE, RING, 0.02))


@settings(max_examples=20, deadline=None)
@given(segment=st.integers(0, len(CURVE.segments) - 1), angle=st.floats(0, 6.28), size=st.floats(0, 0.1))
def test_straying_is_found_as_by_measuring_everything(segment, angle, size):
    curve = pushed(segment, size * math.cos(angle), size * math.sin(angle))
    truth = far(curve, RING)
    places = faults(curve, RING, 0.02)
    if abs(truth - 0.02) > 0.0005:  # the measured points are not the same ones
        assert bool(len(places)) == (truth > 0.02)
    if len(places):
        middle = curve.segments[segment].mean(axis=0)
        assert np.hypot(*(places - middle).T).max() < 8, "a fault far from where the curve was pushed"


@pytest.mark.parametrize("start", [0, 1, 57])
def test_where_the_ring_starts_does_not_matter(start):
    assert not len(faults(CURVE, np.roll(RING, start, axis=0), 0.02))
    assert len(faults(pushed(2, 0.2, 0.2), np.roll(RING, start, axis=0), 0.02))


def test_a_curve_without_a_vertex_of_the_ring_is_measured_all_the_same():
    slightly, far_off = (Curve(CURVE.segments + np.array([dx, 0]), CURVE.lines) for dx in (0.005, 0.05))
    assert not len(faults(slightly, RING, 0.02 + 0.005))
    assert len(faults(far_off, RING, 0.02))


def test_a_ring_run_the_other_way_is_no_fault():
    assert not len(faults(CURVE, RING[::-1], 0.02))


def test_a_crossing_is_a_fault():
    bow = np.array([(0, 0), (4, 4), (4, 0), (0, 4)], float)
    assert len(faults(polygon(bow), bow, 0.02))
    square = np.array([(0, 0), (4, 0), (4, 4), (0, 4)], float)
    assert not len(faults(polygon(square), square, 0.02))
