"""Orders by rule and by seeded chance, checked against their definitions."""

import pytest

from nameplate.geometry.region import bounds, from_ring, rectangle
from nameplate.nest.search.budget import LARGEST_FIRST, SearchBudget
from nameplate.nest.search.orders import AMONG, LEEWAY, LEEWAYS, SHUFFLE, WIDE_LEEWAY, filling_orders, largest_first

from ..letters import piece, words


def ways_of(pieces, count):
    return filling_orders(pieces, SearchBudget(looks=4 * count * len(pieces)), 4)


def box_area(part):
    box = bounds(part.region)
    return box.width * box.height


#: By box: frame (144), slab (100), wedge (96), though by area: slab (100), wedge (48), frame (44).
SHAPES = [
    piece("wedge", from_ring([(0, 0), (12, 0), (0, 8)])),
    piece("frame", from_ring([(0, 0), (12, 0), (12, 12), (0, 12)], [[(1, 1), (11, 1), (11, 11), (1, 11)]])),
    piece("slab", rectangle(0, 0, 10, 10)),
]


def test_size_is_the_area_of_the_box():
    assert largest_first(SHAPES) == [1, 2, 0]


def test_equal_pieces_stay_as_given():
    assert largest_first([piece(str(i), rectangle(i, 0, i + 5, 5)) for i in range(4)]) == [0, 1, 2, 3]


@pytest.mark.parametrize("count", [1, 2, 7])
def test_there_are_as_many_ways_as_asked_for_the_largest_first_in_the_first(count):
    ways = ways_of(words(20), count)
    assert len(ways) == count
    assert ways[0].order == largest_first(words(20))


def test_equal_pieces_have_one_order_and_every_leeway():
    equal = [piece(str(i), rectangle(i, 0, i + 5, 5)) for i in range(4)]
    assert [way.order for way in ways_of(equal, 2)] == [[0, 1, 2, 3]] * 3
    assert {way.leeway for way in ways_of(equal, 2)} == {WIDE_LEEWAY, *LEEWAYS}


def test_a_budget_of_the_largest_first_chooses_nothing():
    assert filling_orders(SHAPES, LARGEST_FIRST, 4) == [([1, 2, 0], LEEWAY, 1)]


def test_a_budget_too_small_for_a_second_way_gives_one():
    assert len(filling_orders(words(20), SearchBudget(looks=2 * 4 * 20 - 1), 4)) == 1


def test_the_next_of_few_pieces_is_chosen_among_half_of_them():
    assert {way.choice for way in ways_of(words(5), 2)} == {3}
    assert {way.choice for way in ways_of(words(60), 2)} == {AMONG}


def test_every_way_lays_every_piece_once():
    assert all(sorted(order) == list(range(20)) for order, _, _ in ways_of(words(20), 12))


def test_shuffled_orders_differ_and_come_the_same_each_time():
    ways = ways_of(words(20), 12)
    assert ways == ways_of(words(20), 12)
    assert len({tuple(order) for order, _, _ in ways}) == len(ways) == 12
    assert {leeway for _, leeway, _ in ways} == set(LEEWAYS)


def test_a_piece_passes_only_those_little_larger():
    # sizes are changed by at most SHUFFLE either way, so none comes before one larger by more than both together
    pieces = words(20)
    most = (1 + SHUFFLE) / (1 - SHUFFLE)
    for order, _, _ in ways_of(pieces, 20)[1:]:
        for n, first in enumerate(order):
            assert all(box_area(pieces[later]) <= box_area(pieces[first]) * most * 1.000001 for later in order[n:])
