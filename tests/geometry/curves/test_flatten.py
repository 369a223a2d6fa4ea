import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPoint
from svgpathtools import CubicBezier, QuadraticBezier

from nameplate.geometry.curves import flatten

points = st.tuples(st.integers(-1000, 1000), st.integers(-1000, 1000)).map(lambda p: (p[0] / 10, p[1] / 10))


@settings(max_examples=60, deadline=None)
@given(control=st.lists(points, min_size=3, max_size=4), tolerance=st.sampled_from([0.005, 0.05, 0.5]))
def test_chords_stay_within_the_tolerance_of_the_curve(control, tolerance):
    # svgpathtools evaluates the curve on its own (Bernstein polynomials)
    kind = CubicBezier if len(control) == 4 else QuadraticBezier
    curve = kind(*(complex(*p) for p in control))
    chords = flatten.bezier(control, tolerance)
    assert chords[0].tolist() == list(control[0])
    assert chords[-1].tolist() == list(control[-1])
    dense = MultiPoint([(z.real, z.imag) for z in (curve.point(t) for t in np.linspace(0, 1, 301))])
    line = LineString(chords)
    assert max(line.distance(p) for p in dense.geoms) <= tolerance * 1.001 + 1e-9


@given(reach=st.floats(0.1, 1e4), tolerance=st.floats(1e-3, 1), delta=st.floats(0.01, 2 * math.pi))
def test_arcs_stay_within_the_tolerance(reach, tolerance, delta):
    # sagitta of a chord over the angle h of a circle: r (1 - cos(h / 2))
    h = delta / flatten.arc_steps(reach, delta, tolerance)
    assert reach * (1 - math.cos(h / 2)) <= tolerance * (1 + 1e-9)


def test_a_point_and_a_line():
    assert flatten.bezier([(1, 1), (1, 1), (1, 1)]).tolist() == [[1, 1], [1, 1]]
    assert flatten.bezier([(0, 0), (1, 0)]).tolist() == [[0, 0], [1, 0]]
    assert flatten.bezier_steps([(0, 0), (5, 5), (10, 10)]) == 1
    assert flatten.arc_steps(0, 1) == 1
    assert flatten.bezier_steps([(0, 0), (0, 1), (1, 1)], 1e-9) == pytest.approx(2**0.25 * 0.5 * 1e9**0.5, rel=0.01)
