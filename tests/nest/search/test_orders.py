"""Orders by rule and by seeded chance, checked against their definitions."""

import pytest

from nameplate.geometry.region import bounds, from_ring, rectangle
from nameplate.nest.layout import Piece
from nameplate.nest.search.orders import LEEWAYS, SHUFFLE, largest_first, other_ways

from ..letters import words


def piece(key, region):
    return Piece(key, "lettering", 1, 1, "lettering", region)


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
    ways = other_ways(words(20), count)
    assert len(ways) == count
    assert ways[0].order == largest_first(words(20))


def test_equal_pieces_have_one_order_and_every_leeway():
    equal = [piece(str(i), rectangle(i, 0, i + 5, 5)) for i in range(4)]
    assert [way.order for way in other_ways(equal, 2)] == [[0, 1, 2, 3]] * len(LEEWAYS)
    assert {way.leeway for way in other_ways(equal, 2)} == set(LEEWAYS)


def test_no_pieces_have_no_order():
    assert all(order == [] for order, _ in other_ways([], 3))


def test_every_way_lays_every_piece_once():
    assert all(sorted(order) == list(range(20)) for order, _ in other_ways(words(20), 12))


def test_shuffled_orders_differ_and_come_the_same_each_time():
    ways = other_ways(words(20), 12)
    assert ways == other_ways(words(20), 12)
    assert len({tuple(order) for order, _ in ways}) == len(ways) == 12
    assert {leeway for _, leeway in ways} == set(LEEWAYS)


def test_a_piece_passes_only_those_little_larger():
    # sizes are changed by at most SHUFFLE either way, so none comes before one larger by more than both together
    pieces = words(20)
    most = (1 + SHUFFLE) / (1 - SHUFFLE)
    for order, _ in other_ways(pieces, 20)[1:]:
        for n, first in enumerate(order):
            assert all(box_area(pieces[later]) <= box_area(pieces[first]) * most * 1.000001 for later in order[n:])
