import math

import numpy as np
import pytest
import shapely

from nameplate.geometry import region
from nameplate.geometry.simplify import HAIR, cleaned, simplified, without_hairs

SQUARE = region.rectangle(0, 0, 4, 4)


def test_cleaned_drops_slivers():
    crumbs = region.union(region.rectangle(0, 0, 10, 10), region.rectangle(20, 0, 20.1, 0.1))
    assert len(region.solids(cleaned(crumbs, sliver=0.05))) == 1


def test_simplified_stays_within_its_step_and_keeps_every_hole():
    t = np.linspace(0, 2 * math.pi, 2000, endpoint=False)
    circle = np.column_stack([np.cos(t), np.sin(t)])
    ring = region.from_ring(10 * circle, [5 * circle + (4, 0), 0.005 * circle - (8, 0)])
    light = simplified(ring, 0.01)
    assert len(region.points(light)) < 300 and region.hole_count(light) == 2
    assert shapely.hausdorff_distance(ring.boundary, light.boundary) <= 0.01


def test_what_has_no_hairs_stays_as_it_is():
    shape = region.difference(SQUARE, region.disc((2, 2), 1))
    assert without_hairs(shape).equals_exact(shape, 0)
    assert without_hairs(region.EMPTY).is_empty


@pytest.mark.parametrize("out", [1.0, -1.0])
def test_a_spike_is_cut_off_and_a_slit_is_filled(out):
    ring = [(0, 0), (4, 0), (4, 2), (4 + out, 2), (4, 2 + HAIR / 4), (4, 4), (0, 4)]
    assert without_hairs(region.from_ring(ring)).area == pytest.approx(16, abs=1e-6)
    assert region.bounds(without_hairs(region.from_ring(ring))).x1 == 4


def test_a_bent_hair_goes_step_by_step():
    ring = [(0, 0), (4, 0), (4, 2), (5, 2), (6, 2.5), (6, 2.5001), (5, 2.0002), (4, 2.0002), (4, 4), (0, 4)]
    assert region.bounds(without_hairs(region.from_ring(ring))).x1 == pytest.approx(4, abs=1e-9)


def test_hairs_of_holes_go_too_and_tips_stay():
    hole = [(1, 1), (1, 2), (2, 2), (2, 1.5), (3, 1.5), (2, 1.4999), (2, 1)]
    shape = without_hairs(region.from_ring([(0, 0), (4, 0), (4, 4), (0, 4)], [hole]))
    assert shape.area == pytest.approx(15, abs=1e-6) and region.hole_count(shape) == 1
    needle = region.from_ring([(0, 0), (4, 0), (0, 0.1)])
    assert without_hairs(needle).area == pytest.approx(0.2)
