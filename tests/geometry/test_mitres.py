import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nameplate.geometry import region as rg
from nameplate.geometry.elliptic import squarely_grown
from nameplate.geometry.nearby import distances
from nameplate.tolerances import ARC


def test_corners_stay_square_but_for_needles():
    assert squarely_grown(rg.rectangle(0, 0, 2, 2), 0.5).area == pytest.approx(9)
    needle = squarely_grown(rg.from_ring([(0, 0), (10, 0), (0, 0.5)]), 0.1)
    assert rg.bounds(needle).x1 < 10.3
    assert squarely_grown(rg.rectangle(0, 0, 2, 2), 0.0).area == 4


@settings(max_examples=60)
@given(st.lists(st.tuples(st.floats(0.05, 0.3), st.floats(0, 0.3)), min_size=8, max_size=40), st.floats(0, 360))
def test_no_point_is_nearer_than_the_distance(steps, turn):
    """Ragged outlines with pockets narrower than twice the distance, any way up."""
    x = np.cumsum([dx for dx, _ in steps])
    teeth = np.column_stack([x, 2 - np.array([dy for _, dy in steps])])
    ring = np.vstack([[(0, 0), (x[-1] + 1, 0), (x[-1] + 1, 2)], teeth[::-1], [(0, 2)]])
    shape = rg.moved(rg.from_ring(ring), turn=turn)
    grown = squarely_grown(shape, 0.15)
    assert grown.is_valid and rg.covers(grown, shape)
    assert distances(shape, rg.points(grown)).min() > 0.15 - 3 * ARC
