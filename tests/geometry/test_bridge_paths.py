import math
from itertools import pairwise

import pytest
from shapely.geometry import Point

from nameplate.geometry import region as geo
from nameplate.geometry.bridge_paths import (
    RISE,
    anchor,
    crosses,
    joining_path,
    lean,
    level_path,
    shortest_path,
    slanted_path,
)
from nameplate.geometry.cut_edges import cut_edges
from nameplate.geometry.medial import medial


def solid(shape):
    return geo.solids(shape)[0]


def disc(x, y, r):
    return solid(geo.as_region(Point(x, y).buffer(r, 32)))


def test_the_shortest_way_between_discs_is_on_the_line_of_centres():
    path = shortest_path(disc(0, 0, 2), disc(6, 8, 3))
    assert path.length == pytest.approx(5, abs=0.02)
    assert math.atan2(path.b[1] - path.a[1], path.b[0] - path.a[0]) == pytest.approx(math.atan2(8, 6), abs=0.06)


def test_of_equal_paths_one_in_the_middle_is_taken():
    path = shortest_path(solid(geo.rectangle(0, 0, 6, 2)), solid(geo.rectangle(1, 4, 7, 6)))
    assert path.length == pytest.approx(2)
    assert 2 < path.a[0] < 5


def test_a_joining_way_is_low_between_letters_unless_that_is_far():
    stem = solid(geo.rectangle(0, 0, 3, 20))
    bowl = solid(geo.union(geo.rectangle(7, 0, 10, 20), geo.rectangle(6, 16, 10, 20)))  # nearest at the top
    assert shortest_path(stem, bowl).a[1] > 15
    path = joining_path(stem, bowl)
    assert path.b[0] - path.a[0] == pytest.approx(4)
    assert 2 < (path.a[1] + path.b[1]) / 2 < 6
    far = solid(geo.union(geo.rectangle(11, 0, 14, 20), geo.rectangle(6, 16, 14, 20)))
    assert joining_path(stem, far).a[1] > 15
    above = solid(geo.rectangle(0, 23, 3, 30))
    assert joining_path(stem, above).length == pytest.approx(3)


def test_between_tall_letters_it_is_at_an_end_where_halfway_up_it_would_make_an_h():
    l_stem = solid(geo.rectangle(9, 0, 11, 20))
    arms = geo.union(geo.rectangle(0, 0, 2, 20), geo.rectangle(0, 9, 8, 11), geo.rectangle(0, 18, 7.5, 20))
    assert 9 <= joining_path(solid(arms), l_stem).a[1] <= 11
    assert joining_path(solid(arms), l_stem, tall=True).a[1] > 17
    assert joining_path(solid(arms), l_stem, tall=True, armed=False).a[1] < 12
    feet = geo.union(geo.rectangle(0, 0, 7, 2), geo.rectangle(0, 0, 2, 20), geo.rectangle(0, 9, 8, 11))
    assert joining_path(solid(feet), l_stem, tall=True).b[1] < 4


def test_two_tall_stems_nearer_to_one_another_at_the_top_are_joined_there_only_where_the_left_one_has_an_arm():
    left, right = solid(geo.rectangle(0, 0, 3, 20)), solid(geo.rectangle(6, 0, 8, 20))
    over = solid(geo.union(left, geo.rectangle(0, 17, 4.5, 20)))
    assert joining_path(over, right, tall=True).a[1] > 15
    assert joining_path(over, right, tall=True, armed=False).a[1] < 5


@pytest.mark.parametrize("slant", [0, 12, 26])
def test_a_joining_way_rises_to_the_right_whichever_letter_comes_first(slant):
    # the shortest path between two leaning stems falls to the right, and makes an L of an l
    left, right = (solid(geo.sheared(geo.rectangle(x, 0, x + 2, 12), slant)) for x in (0, 4))
    fall = shortest_path(left, right)
    assert slant == 0 or fall.b[1] < fall.a[1]
    path, back = joining_path(left, right), joining_path(right, left)
    for start, end in ((path.a, path.b), (back.b, back.a)):
        assert end[0] > start[0]
        assert math.degrees(math.atan2(end[1] - start[1], end[0] - start[0])) == pytest.approx(RISE)
        assert start[1] < 4


def test_a_way_between_words_does_not_climb():
    left, right = (solid(geo.rectangle(x, 0, x + 2, 12)) for x in (0, 8))
    path = joining_path(left, right)
    assert path.a[1] == pytest.approx(path.b[1])


@pytest.mark.parametrize(("height", "stands"), [(3.4, False), (12.0, True)])
def test_a_level_way_stands_on_the_baseline_but_sinks_where_it_would_fill_what_is_under_the_arm_of_a_small_r(
    height, stands
):
    arm = geo.rectangle(0, height - 1, 2.6, height)
    r, stem = solid(geo.union(geo.rectangle(0, 0, 1, height), arm)), solid(geo.rectangle(4, 0, 5, 2 * height))
    path = level_path(r, stem, 0.0, 1.6)
    strip = geo.union(*(geo.capsule(pair, 1.6) for pair in pairwise(path.points)))
    assert geo.distance(strip, arm) > 0.4 * (height - 1)
    assert path.a[1] == pytest.approx(0.8) if stands else 0 <= path.a[1] < 0.6


@pytest.mark.parametrize("turn", [-35, -15, 0, 25])
def test_the_lean_of_a_stroke_is_how_far_it_was_turned(turn):
    stroke = geo.moved(geo.rectangle(-1, -4, 1, 4), 3, 5, turn=turn)
    assert lean(solid(stroke)) == pytest.approx(-turn)
    assert lean(solid(geo.moved(stroke, turn=90))) is None


def test_a_leaning_way_goes_through_the_middle_of_the_smaller_along_the_slant():
    path = slanted_path(disc(0, 10, 1), solid(geo.rectangle(-20, 0, 20, 4)), 20)
    assert path.b[1] == pytest.approx(4)
    assert path.b[0] == pytest.approx(-6 * math.tan(math.radians(20)), abs=1e-6)
    assert math.dist(path.a, (0, 10)) == pytest.approx(1, abs=0.01)
    assert slanted_path(disc(0, 10, 1), disc(30, 0, 2), 0) is None


def test_an_anchor_is_deep_enough_where_there_is_room():
    block = solid(geo.rectangle(0, 0, 20, 20))
    place = anchor(block, (10, 20), 3)
    assert 20 - place[1] >= 1.5 - 1e-6
    thin = solid(geo.rectangle(0, 0, 20, 0.4))
    x, y = anchor(thin, (10, 0.4), 3)
    assert 0.1 < y < 0.35
    assert abs(x - 10) < 0.5


def test_a_way_is_seen_to_cross():
    path = shortest_path(disc(0, 0, 1), disc(10, 0, 1))
    assert crosses(path, disc(5, 0.5, 1))
    assert not crosses(path, disc(5, 3, 1))


def test_every_limb_of_a_tree_is_found_with_its_lever():
    # a T of strokes 1 mm wide: arms of 10 mm, a stem of 20 mm
    graph = medial(geo.union(geo.rectangle(-10, 0, 10, 1), geo.rectangle(-0.5, -20, 0.5, 0.5)))
    hanging = cut_edges(graph)
    middle = graph.edge_middle[hanging.edges]
    levers = hanging.levers(range(len(hanging.edges)))
    for at, expected in (((5, 0.5), 5), ((-5, 0.5), 5), ((0, -15), 5)):
        k = min(range(len(middle)), key=lambda i: math.dist(middle[i], at))
        assert levers[k] == pytest.approx(expected, abs=0.4)


def test_a_ring_has_no_limbs_but_its_tail_has():
    ring = geo.difference(disc(0, 0, 8), disc(0, 0, 6))
    assert len(cut_edges(medial(ring)).edges) == 0
    tailed = geo.union(ring, geo.rectangle(7, -0.5, 18, 0.5))
    graph = medial(tailed)
    hanging = cut_edges(graph)
    assert len(hanging.edges) > 20
    assert (graph.edge_middle[hanging.edges][:, 0] > 6).all()
