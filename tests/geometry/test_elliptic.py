"""An elliptical beam, compared with its Minkowski sum made otherwise.

The sum of an edge and a convex body is the convex hull of the body at both ends of the edge (as in any textbook of
computational geometry); shapely makes the hulls here, of ellipses that numpy draws. Nothing is stretched.
"""

from itertools import pairwise

import numpy as np
import pytest
import shapely

from nameplate.geometry import region as rg
from nameplate.geometry.beam import Kerf, Strip
from nameplate.geometry.elliptic import beam_grown, beam_shrunk, beam_strips

#: An ellipse drawn by so many points is off by under 0.0001 mm here.
ROUND = np.linspace(0, 2 * np.pi, 181)
WIDE = Strip(0.6, 0.35)

SHAPES = {
    "a bent bar": rg.from_ring([(0, 0), (9, 1), (8, 4), (5, 2.5), (4, 7), (1, 6)]),
    "a frame": rg.difference(rg.rectangle(0, 0, 12, 9), rg.from_ring([(3, 3), (9, 4), (7, 7)])),
    "a ring with an island": rg.union(
        rg.difference(rg.disc((0, 0), 20), rg.disc((0, 0), 14)), rg.rectangle(-3, -2, 3, 2)
    ),
}


def swept(line, strip):
    """Burn along a polyline."""
    ellipse = np.column_stack([np.cos(ROUND) * strip.x / 2, np.sin(ROUND) * strip.y / 2])
    ends = (shapely.multipoints([*(ellipse + a), *(ellipse + b)]) for a, b in pairwise(line))
    return shapely.union_all([shapely.convex_hull(both) for both in ends])


def left(shape, kerf):
    """Burn along all edges of a shape."""
    for solid in shape.geoms:
        shape = shape.difference(swept(np.asarray(solid.exterior.coords), kerf.outside))
        for hole in solid.interiors:
            shape = shape.difference(swept(np.asarray(hole.coords), kerf.inside))
    return shape


def apart(a, b):
    return shapely.hausdorff_distance(a.boundary, b.boundary)


@pytest.mark.parametrize("kerf", [Kerf.of_strip(WIDE), Kerf(WIDE, Strip(0.3, 0.5)), Kerf(Strip(0.2, 0.2), WIDE)])
@pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES)
def test_what_is_left_of_a_shape_is_what_an_ellipse_leaves(shape, kerf):
    assert apart(beam_shrunk(shape, kerf), left(shape, kerf)) < 0.005


#: Corners of the shapes that no round beam can cut sharp.
INNER = shapely.buffer(shapely.multipoints([(5, 2.5), (3, 3), (9, 4), (7, 7)]), 2 * WIDE.widest)


@pytest.mark.parametrize("kerf", [Kerf.of_strip(WIDE), Kerf(WIDE, Strip(0.3, 0.5)), Kerf(Strip(0.2, 0.2), WIDE)])
@pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES)
def test_a_beam_led_round_a_shape_leaves_it_with_its_outer_corners(shape, kerf):
    came = left(beam_grown(shape, kerf), kerf)
    assert came.buffer(0.005).covers(shape)
    assert came.difference(shape.buffer(0.005)).difference(INNER).is_empty


def test_a_wrong_axis_shows():
    shape = SHAPES["a bent bar"]
    came = left(beam_grown(shape, Kerf.of_strip(WIDE)), Kerf.of_strip(Strip(WIDE.y, WIDE.x)))
    assert not came.buffer(0.05).covers(shape)


def test_strips_are_what_an_ellipse_burns_along_lines():
    line = np.array([(0, 0), (5, 1), (4, 4)], dtype=float)
    (burned,) = beam_strips([line], WIDE)
    assert apart(burned, swept(line, WIDE)) < 0.005


def test_a_round_beam_is_the_one_of_before():
    shape = SHAPES["a frame"]
    assert beam_shrunk(shape, Kerf.of(0.2)).equals(rg.offset(shape, -0.1))
