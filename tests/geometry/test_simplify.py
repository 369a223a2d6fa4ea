import math

import numpy as np
import shapely

from nameplate.geometry import region
from nameplate.geometry.simplify import cleaned, simplified


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
