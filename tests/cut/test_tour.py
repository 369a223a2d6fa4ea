"""Tours against all permutations, and how much work they take."""

from itertools import pairwise, permutations

import numpy as np
import pytest
import shapely

from nameplate.cut import local_search, tour
from nameplate.cut.local_search import LocalSearch, Stop
from nameplate.cut.tour import Visit, _nearest_neighbour, _next, best_ways, short_tour, spread
from nameplate.system.grouping import grouped


def dot(point):
    return Stop(np.array([point]), np.array([point]), np.zeros(1))


def chance(rng, spread=20, ways=5):
    """A stop somewhere in a square of 100 mm: a stroke, or a loop that may begin at several places."""
    points = rng.uniform(0, 100, 2) @ [1, 1j] + rng.uniform(-spread, spread, (ways, 2)) @ [1, 1j]
    if rng.random() < 0.3:
        return Stop(points[:2], points[1::-1], np.zeros(2))
    return Stop(points, points, rng.uniform(0, 10, ways))


def travel(stops, visits, begin, end):
    """Length of the way from `begin` past stops to `end`, without what passing them costs."""
    ins = [complex(stops[v.stop].entries[v.way]) for v in visits]
    outs = [complex(stops[v.stop].exits[v.way]) for v in visits]
    return sum(abs(b - a) for a, b in zip([begin, *outs], [*ins, end], strict=True))


def cost(stops, visits):
    return travel(stops, visits, 0j, 0j) + sum(stops[v.stop].costs[v.way] for v in visits)


def shortest(stops, before=()):
    """The shortest of all orders, each with its best ways."""
    orders = [o for o in permutations(range(len(stops))) if all(o.index(a) < o.index(b) for a, b in before)]
    return min(cost(stops, [*map(Visit, o, best_ways(stops, o, 0j, 0j))]) for o in orders)


def test_the_best_ways_are_the_best_of_all():
    rng = np.random.default_rng(3)
    for _ in range(10):
        stops = [chance(rng, ways=3) for _ in range(4)]
        every = np.array(np.meshgrid(*[range(len(s.costs)) for s in stops])).reshape(4, -1).T.tolist()
        best = min(cost(stops, [*map(Visit, range(4), ways)]) for ways in every)
        assert cost(stops, [*map(Visit, range(4), best_ways(stops, range(4), 0j, 0j))]) == pytest.approx(best)


def test_few_stops_are_passed_nearly_as_short_as_can_be():
    rng = np.random.default_rng(1)
    got, least = [], []
    for count in (1, 2, 3, 4, 5, 5, 6, 6, 6, 7):
        stops = [chance(rng) for _ in range(count)]
        before = [(0, count - 1)] if count > 2 else []
        visits = short_tour(stops, [0] * count, 0j, 0j, before=before)
        order = [v.stop for v in visits]
        assert sorted(order) == list(range(count))
        assert all(order.index(a) < order.index(b) for a, b in before)
        got.append(cost(stops, visits))
        least.append(shortest(stops, before))
    assert all(a <= 1.05 * b for a, b in zip(got, least, strict=True))
    assert sum(got) <= 1.01 * sum(least)


@pytest.mark.parametrize("looks", [10**6, 3000])
def test_stretches_that_were_swapped_in_vain_are_left_alone_until_something_is_kept(monkeypatch, looks):
    rng = np.random.default_rng(5)
    for count in (4, 6, 9, 14):
        stops = [chance(rng) for _ in range(count)]
        given = (stops, [0] * count, [0j, 0j], range(count), [0] * count, {0: [count - 1]})
        whole, kick_by_kick = LocalSearch(*given, looks), LocalSearch(*given, looks)
        whole.shake(300)
        kicks = local_search._kicks(count, 300)
        with monkeypatch.context() as patch:
            for kick in kicks:  # of which each knows nothing of those before
                patch.setattr(local_search, "_kicks", lambda *_, kick=kick: (kick,))
                kick_by_kick.shake(1)
        assert whole.order == kick_by_kick.order and whole.ways == kick_by_kick.ways
        assert whole.looks == kick_by_kick.looks


def test_points_on_a_circle_are_passed_round_it():
    # the shortest tour of points in convex position is their hull
    angles = np.random.default_rng(2).permutation(np.linspace(0, 2 * np.pi, 90, endpoint=False))
    stops = [dot(complex(50 + 40 * np.cos(a), 50 + 40 * np.sin(a))) for a in angles]
    visits = short_tour(stops, [0] * 90, 90 + 50j, 90 + 50j)
    assert travel(stops, visits, 90 + 50j, 90 + 50j) == pytest.approx(90 * 80 * np.sin(np.pi / 90))


def test_a_uniform_crowd_is_passed_near_the_length_that_is_known_for_it():
    # 0.7124 sqrt(n A) for very many points (Johnson and McGeoch; from memory), a little more in a square with edges
    rng = np.random.default_rng(4)
    stops = [dot(complex(*p)) for p in rng.uniform(0, 100, (600, 2))]
    length = travel(stops, short_tour(stops, [0] * 600, 0j, 0j), 0j, 0j)
    assert length < 1.1 * 0.7124 * np.sqrt(600 * 100**2)


def test_blocks_come_one_after_the_other_and_pairs_in_their_order():
    rng = np.random.default_rng(6)
    stops = [chance(rng) for _ in range(80)]
    blocks = rng.integers(0, 3, 80).tolist()
    before = [(a, b) for a, b in rng.integers(0, 80, (60, 2)).tolist() if a < b and blocks[a] == blocks[b]]
    order = [v.stop for v in short_tour(stops, blocks, 0j, 0j, before=before)]
    assert sorted(order) == list(range(80))
    assert [blocks[k] for k in order] == sorted(blocks)
    assert all(order.index(a) < order.index(b) for a, b in before)


def test_every_step_makes_the_way_shorter():
    rng = np.random.default_rng(7)
    stops = [chance(rng) for _ in range(60)]
    lengths = [
        cost(stops, short_tour(stops, [0] * 60, 0j, 0j, turns=turns, kicks=kicks))
        for turns, kicks in ((0, 0), (1, 0), (3, 0), (3, 300))
    ]
    assert all(later <= earlier + 1e-9 for earlier, later in pairwise(lengths))
    assert lengths[-1] < 0.9 * lengths[0]


def test_what_a_search_tells_that_it_saved_is_what_the_way_is_shorter():
    rng = np.random.default_rng(11)
    ends = [0j, 100 + 0j]
    for blocks, before in (([0] * 50, []), ([0] * 20 + [1] * 30, [(k, k + 1) for k in range(0, 50, 5)])):
        stops, order, ways = [chance(rng) for _ in range(50)], [*range(50)], [0] * 50
        search = LocalSearch(stops, blocks, ends, order, ways, grouped(before), 10**6)

        def length(search=search):
            legs = sum(abs(search.outs[a] - search.ins[b]) for a, b in pairwise(search.sequence))
            return legs + sum(search.stops[k].costs[way] for k, way in search.ways.items())

        at_first = length()
        saved = search.improve(order)
        assert 0.3 * at_first < saved == pytest.approx(at_first - length())
        improved = length()
        search.shake(200)
        assert length() < improved
        assert [blocks[k] for k in search.order] == sorted(blocks) and sorted(search.order) == order
        assert all(search.order.index(a) < search.order.index(b) for a, b in before)


def test_the_work_grows_with_the_number_of_stops(monkeypatch):
    """Counted in edges looked at, for points of equal density: an order whose way is searched costs as much a stop."""
    looked = {}
    for count in (200, 400, 800):
        made = []
        monkeypatch.setattr(tour, "LocalSearch", lambda *given, own=made: own.append(LocalSearch(*given)) or own[-1])
        rng = np.random.default_rng(8)
        stops = [dot(complex(*p)) for p in rng.uniform(0, np.sqrt(count) * 10, (count, 2))]
        short_tour(stops, [0] * count, 0j, 0j, kicks=0)
        looked[count] = tour.MOST_LOOKS - made[-1].looks
        monkeypatch.undo()
    assert 0 < looked[800] < 5 * looked[200]


def test_a_spent_budget_leaves_a_whole_order(monkeypatch):
    monkeypatch.setattr(tour, "MOST_LOOKS", 500)
    rng = np.random.default_rng(9)
    stops = [chance(rng) for _ in range(200)]
    assert sorted(v.stop for v in short_tour(stops, [0] * 200, 0j, 0j)) == list(range(200))


def test_all_at_one_place():
    assert len(short_tour([dot(5 + 5j)] * 40, [0] * 40, 0j, 0j)) == 40


def plainly_spread(order, boxes, before, apart):
    """What `spread` says that it does, line by line."""
    left, done = list(range(len(order))), []
    while left:
        free = [k for k in left if not any(b == order[k] and a in [order[n] for n in left] for a, b in before)]
        if not done:
            chosen = free[0]
        else:
            far = {k: shapely.box(*boxes[done[-1]]).distance(shapely.box(*boxes[k])) for k in free}
            chosen = next((k for k in free if far[k] >= apart), max(free, key=lambda k: far[k]))
        done.append(chosen)
        left.remove(chosen)
    return [order[k] for k in done]


def test_lines_are_spread_as_a_plain_search_spreads_them():
    rng = np.random.default_rng(5)
    for _ in range(10):
        order, low = rng.permutation(9).tolist(), rng.uniform(0, 60, (9, 2))
        boxes = np.hstack([low, low + rng.uniform(1, 20, (9, 2))]).tolist()
        before = [tuple(sorted(rng.choice(9, 2, replace=False).tolist(), key=order.index)) for _ in range(3)]
        for apart in (0.5, 15, 40):
            assert spread(order, boxes, before, apart) == plainly_spread(order, boxes, before, apart)


def test_the_nearest_neighbour_of_those_that_may_come_is_next():
    rng = np.random.default_rng(8)
    for _ in range(5):
        places = rng.uniform(0, 6, (12, 2)) @ [1, 1j]
        before = [(0, 5), (5, 7), (3, 7), (2, 9)]
        wanted, at = [], 0j
        for block in (range(8), range(8, 12)):
            left = set(block)
            while left:
                free = [k for k in left if not any(b == k and a in left for a, b in before)]
                wanted.append(min(free, key=lambda k: abs(places[k] - at)))
                at = places[wanted[-1]]
                left.remove(wanted[-1])
        later = grouped(pair for pair in before if pair != (2, 9))
        assert _nearest_neighbour([dot(p) for p in places], [0] * 8 + [1] * 4, 0j, later) == wanted


def test_lines_that_touch_are_each_burned_once_however_far_apart_they_should_be():
    touching = [(0.0, 0.0, 1.0, 1.0)] * 3
    assert _next(np.array(touching), 0, np.array([False, True, True]), 5.0) == 1
    assert sorted(spread([0, 1, 2], touching, [], 5.0)) == [0, 1, 2]


def test_what_was_moved_is_looked_at_again_until_hardly_anything_makes_the_way_shorter():
    rng, saved = np.random.default_rng(11), []
    for _ in range(5):
        stops = [chance(rng) for _ in range(30)]
        search = LocalSearch(stops, [0] * 30, [0j, 0j], [*range(30)], [0] * 30, {}, 10**6)
        saved.append([search.improve(range(30)) for _ in range(2)])
    first, then = np.sum(saved, axis=0)
    assert then < 0.01 * first


def _legs(search):
    return sum(abs(search.outs[a] - search.ins[b]) for a, b in pairwise(search.sequence))


def test_two_stretches_that_are_swapped_make_the_way_as_much_longer_as_is_told():
    rng = np.random.default_rng(4)
    stops = [chance(rng) for _ in range(7)]
    search = LocalSearch(stops, [0] * 7, [0j, 100 + 0j], [*range(7)], [0] * 7, {}, 10)
    for low, middle, high in ((1, 2, 2), (1, 4, 7), (2, 3, 6), (3, 6, 7)):
        old, before = search.sequence[:], _legs(search)
        told = search._swapped(low, middle, high)
        assert search.sequence == [*old[:low], *old[middle : high + 1], *old[low:middle], *old[high + 1 :]]
        assert told == pytest.approx(_legs(search) - before)
