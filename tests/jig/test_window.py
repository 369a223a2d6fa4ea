import math

import pytest

from nameplate import tolerances
from nameplate.geometry import region as rg
from nameplate.jig.window import contour_window, loose_tongues, lost_islands, narrow_webs

OUTLINE = rg.rectangle(0, 0, 100, 60)


@pytest.mark.parametrize(("short", "told"), [(0.5, False), (1.5, True)])
def test_a_web_may_lack_the_slack_but_no_more(short, told):
    left = 2.0 - short * tolerances.WEB_SLACK
    webs = narrow_webs(OUTLINE, rg.rectangle(left, 10, 50, 50), 2.0)
    assert [w.between for w in webs] == ["window and edge"] * told
    between = rg.union(rg.rectangle(10, 10, 40, 50), rg.rectangle(40 + left, 10, 80, 50))
    assert [w.between for w in narrow_webs(OUTLINE, between, 2.0)] == ["two windows"] * told


def test_a_web_is_told_with_its_width_and_its_middle():
    (web,) = narrow_webs(OUTLINE, rg.union(rg.rectangle(20, 10, 40, 50), rg.disc((46, 30), 10)), 2.0)
    assert (web.width, web.x, web.y) == pytest.approx((1.0, 40.5, 30.0), abs=1e-3)


def test_each_window_is_told_once_against_the_edge_and_once_against_each_other():
    windows = [rg.rectangle(1, y, 99, y + 8) for y in (5, 14, 40)]
    told = [w.between for w in narrow_webs(OUTLINE, rg.union(*windows), 1.5)]
    assert told == ["window and edge"] * 3 + ["two windows"]


def test_tongues_that_hang_on_by_too_little_are_found_largest_first():
    frame = rg.difference(rg.rectangle(0, 0, 60, 60), rg.rectangle(10, 10, 50, 50))
    small = rg.union(rg.rectangle(10, 20, 12, 21), rg.rectangle(12, 18, 18, 24))
    large = rg.union(rg.rectangle(49, 40, 50, 41.5), rg.rectangle(30, 36, 49, 46))
    found = loose_tongues(rg.union(frame, small, large), 2.0)
    # what a disc of radius 1 reaches: the block, its corners rounded (4 - pi), and a segment into the neck
    segments = [math.asin(chord / 2) - chord / 2 * math.sqrt(1 - chord**2 / 4) for chord in (1.5, 1.0)]
    blocks = [19 * 10 - (4 - math.pi) + segments[0], 6 * 6 - (4 - math.pi) + segments[1]]
    assert [t.area for t in found] == pytest.approx(blocks, abs=0.01)
    assert loose_tongues(rg.union(frame, small, large), 0.9) == ()


def test_a_gap_that_closes_when_grown_leaves_no_island():
    ring = rg.difference(rg.rectangle(0, 0, 20, 20), rg.rectangle(2, 2, 18, 18))
    open_ring = rg.difference(ring, rg.rectangle(-1, 9.8, 3, 10.2))
    assert rg.hole_count(contour_window(open_ring, 0.3)) == 0
    assert lost_islands(open_ring, 0.3).area == pytest.approx((16 - 0.6) ** 2, abs=0.1)
    assert lost_islands(open_ring, 0.1).is_empty
