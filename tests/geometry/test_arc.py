import math

import numpy as np
import pytest

from nameplate.geometry.arc import Arc
from nameplate.geometry.region import bounds, rectangle, solids


@pytest.mark.parametrize("radius", [50.0, -50.0])
@pytest.mark.parametrize("angle", [0.0, 0.3, -0.3, 1.2])
def test_what_stands_on_a_point_of_the_line_is_turned_as_the_line_is(radius, angle):
    arc = Arc(3.0, 7.0, radius)
    x, y = arc.point(angle)
    assert math.dist((x, y), (3.0, 7.0)) == pytest.approx(50)
    assert arc.turn_at(x, y) == pytest.approx(math.degrees(-angle))
    # turned back about the centre it comes to the apex
    assert arc.turned_point((x, y), math.degrees(angle)) == pytest.approx((3.0, arc.y + arc.radius))


@pytest.mark.parametrize("radius", [30.0, -30.0])
def test_a_bent_bar_is_the_sector_of_a_ring(radius):
    bar = rectangle(-10, -1, 10, 2)
    xs = [-20.0, 20.0]
    bent = Arc(0.0, -radius, radius).bent(bar, xs, [x / radius for x in xs])
    inner, outer = sorted((abs(radius - 1), abs(radius + 2)))
    assert bent.area == pytest.approx((outer**2 - inner**2) / 2 * (20 / 30), rel=1e-4)
    top = bounds(bent).y1 if radius > 0 else bounds(bent).y0
    assert top == pytest.approx(2 if radius > 0 else -1, abs=2e-3)


@pytest.mark.parametrize("radius", [30.0, -30.0])
def test_what_is_bent_round_an_arc_lies_straight_once_it_is_unrolled(radius):
    arc, bar = Arc(3.0, 7.0, radius), rectangle(-10, -1, 10, 2)
    xs = np.array([-20.0, 20.0])
    [bent] = solids(arc.bent(bar, xs, xs / radius))
    flat = arc.unrolled(np.array(bent.exterior.coords))
    apex = 7.0 + radius
    assert flat.min(axis=0) == pytest.approx((-7, apex - 1)) and flat.max(axis=0) == pytest.approx((13, apex + 2))
