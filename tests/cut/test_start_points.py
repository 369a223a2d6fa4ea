import numpy as np
import pytest
import shapely

from nameplate.cut.kerf import toolpath
from nameplate.cut.start_points import MOST, SEEN, THIN, WEAK, start_points
from nameplate.geometry import region
from nameplate.model import Part


def candidates(shape, kind="lettering"):
    """The candidates of every line of a part, as points (n, 2) with their costs."""
    path = toolpath(Part("1", kind, "m", shape), 0.2)
    (found,) = start_points([path])
    return [(c.curve.segments[s.knots, 0], s.costs) for c, s in zip(path.contours, found, strict=True)]


def lobes(neck=12.0):
    """Two discs of 30 mm, 40 mm apart, joined by a strip."""
    return region.union(region.disc((0, 0), 30), region.disc((40, 0), 30), region.rectangle(0, -neck / 2, 40, neck / 2))


def test_few_candidates_all_round_the_line():
    ((points, costs),) = candidates(region.disc((0, 0), 60))
    assert 4 <= len(points) <= MOST and len(costs) == len(points)
    assert shapely.MultiPoint(points).convex_hull.area > 0.5 * np.pi * 30**2


def test_of_very_many_knots_each_stretch_has_one():
    angles = np.linspace(0, 2 * np.pi, 150, endpoint=False)
    far = np.where(np.arange(150) % 2, 28.0, 30.0)
    gear = region.from_ring(np.column_stack([far * np.cos(angles), far * np.sin(angles)]))
    ((points, _),) = candidates(gear, "template")
    turns = np.sort(np.arctan2(points[:, 1], points[:, 0]))
    assert len(points) == MOST and np.diff(turns, append=turns[0] + 2 * np.pi).max() <= 2 * 2 * np.pi / MOST


def test_nobody_looks_at_a_jig():
    for _, costs in candidates(
        region.difference(region.rectangle(0, 0, 50, 30), region.disc((25, 15), 10)), "template"
    ):
        assert (costs == 0).all()


def test_a_name_begins_where_two_letters_meet():
    ((points, costs),) = candidates(lobes())
    nooks = np.array([(x, y) for x in (13.6, 26.4) for y in (6.1, -6.1)])  # where the strip leaves the discs
    near = np.array([np.hypot(*(p - nooks).T).min() for p in points])
    assert set(costs[near < 0.5]) == {0.0}
    assert set(costs[near > 5]) <= {SEEN}


@pytest.mark.parametrize(("neck", "cost"), [(THIN - 0.5, WEAK), (THIN + 1.0, 0.0)])
def test_a_name_does_not_begin_at_a_thin_tie(neck, cost):
    """A straight tie has knots at its ends only, which would be nooks."""
    ((points, costs),) = candidates(lobes(neck))
    ends = (points[:, 0] > 13) & (points[:, 0] < 27)
    assert ends.any() and set(costs[ends]) == {cost}


def test_a_name_does_not_begin_at_a_tip_and_a_plaque_begins_at_a_corner():
    needle = region.from_ring([(0, 0), (40, 3), (0, 6)])
    for kind in ("lettering", "blank"):
        ((points, costs),) = candidates(needle, kind)
        assert set(costs[points[:, 0] > 38]) == {WEAK}
    square = region.rectangle(0, 0, 20, 20)
    assert set(candidates(square, "blank")[0][1]) == {0.0}
    assert set(candidates(square)[0][1]) == {WEAK}


def test_a_small_counter_hides_the_mark():
    ring = region.difference(region.disc((0, 0), 30), region.disc((0, 0), 2.4))
    (_, hole), (_, outline) = candidates(ring)
    assert set(hole) == {0.0} and set(outline) == {SEEN}


def test_copies_and_turned_parts_have_the_same_candidates():
    one, other = lobes(), region.moved(lobes(), 200, 100, turn=90)
    ((_, a),), ((_, b),) = candidates(one), candidates(other)
    assert sorted(a) == sorted(b)
