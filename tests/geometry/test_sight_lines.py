from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import settings as tried
from hypothesis import strategies as st

from nameplate.geometry import region as geo
from nameplate.geometry.sight_lines import BIN, STEP, outline_points, sight_lines

BOXES = st.builds(
    lambda x, y, w, h: geo.rectangle(x, y, x + w, y + h),
    st.floats(0, 12),
    st.floats(0, 12),
    st.floats(1.5, 6),
    st.floats(1.5, 6),
)


@pytest.mark.parametrize("lean", [-60.0, -20.0, 0.0, 20.0, 60.0, 90.0])
def test_two_bars_see_one_another_along_a_lean_and_a_bar_between_them_hides_them(lean):
    low, between, high = (geo.solids(geo.moved(geo.rectangle(-30, y, 30, y + 1), turn=-lean))[0] for y in (0, 4, 8))
    for solids, gap in (([low, high], 7.0), ([low, between, high], 3.0)):
        points, owners = outline_points(solids)
        seen = sight_lines(points, owners, [lean])
        steps = np.diff(points[seen], axis=1)[:, 0]
        assert len(seen) > 100
        assert np.hypot(*steps.T) == pytest.approx(gap, abs=BIN)
        assert steps @ (np.sin(np.radians(lean)), np.cos(np.radians(lean))) == pytest.approx(gap, abs=BIN)


@given(st.lists(BOXES, min_size=2, max_size=4))
@tried(max_examples=30)
def test_what_sees_one_another_has_nothing_in_between_and_the_nearest_points_do(boxes):
    assume(all(geo.distance(a, b) > 2 * BIN for a, b in combinations(boxes, 2)))
    solids = [geo.solids(box)[0] for box in boxes]
    points, owners = outline_points(solids)
    seen = sight_lines(points, owners, [*range(-88, 91, 2)])
    lines = shapely.linestrings(points[seen])
    for n, solid in enumerate(solids):
        inside = shapely.length(shapely.intersection(lines, solid.buffer(-STEP - BIN)))
        assert not inside.any(), n
    near = min(combinations(range(len(solids)), 2), key=lambda pair: solids[pair[0]].distance(solids[pair[1]]))
    found = (np.sort(owners[seen], axis=1) == near).all(axis=1)
    least = solids[near[0]].distance(solids[near[1]])
    assert shapely.length(lines[found]).min() == pytest.approx(least, abs=2 * BIN)


def test_points_lie_close_together_on_outer_outlines_alone():
    ring = geo.difference(geo.rectangle(0, 0, 10, 10), geo.rectangle(3, 3, 7, 7))
    points, owners = outline_points([*geo.solids(ring), *geo.solids(geo.rectangle(20, 0, 21, 1))])
    assert np.hypot(*np.diff(points[owners == 0], axis=0).T).max() <= STEP + 1e-9
    assert set(owners.tolist()) == {0, 1} and (owners == 0).sum() == pytest.approx(40 / STEP, abs=5)
    assert not ((points > 2) & (points < 8)).all(axis=1).any()


def test_nothing_sees_nothing():
    assert sight_lines(np.empty((0, 2)), np.empty(0, dtype=int), [0.0]).shape == (0, 2)
    assert sight_lines(np.zeros((2, 2)), np.array([0, 1]), []).shape == (0, 2)
