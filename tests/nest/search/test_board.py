import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from nameplate.geometry.region import from_ring, rectangle
from nameplate.nest.search.board import Board
from nameplate.nest.search.raster import make_die, make_stamp

L_SHAPE = make_stamp(make_die(from_ring([(0, 0), (9, 0), (9, 3), (3, 3), (3, 14), (0, 14)]), 0.0), 0, cell=0.5)
BAR = make_stamp(make_die(rectangle(0, 0, 10, 4), 0.0), 0, cell=0.5)


def every_spot(board, stamp, xs, ys):
    spots = board.free(board.tests(stamp), board.forbidden(ys), 0, xs)
    return [board.position(s) for s in spots]


def by_hand(occupied, stamp):
    """All free positions, by trying each: the meaning of a free spot."""
    nx, ny = stamp.mask.shape
    return [
        (x, y)
        for x in range(occupied.shape[0] - nx + 1)
        for y in range(occupied.shape[1] - ny + 1)
        if not (occupied[x : x + nx, y : y + ny] & stamp.mask).any()
    ]


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 40), st.integers(0, 30)), max_size=4), st.booleans())
def test_the_free_spots_are_exactly_those_found_by_trying_each(places, ell):
    stamp = L_SHAPE if ell else BAR
    board = Board(np.ones((64, 50), dtype=bool))
    occupied = np.zeros((64, 50), dtype=bool)
    for x, y in places:
        board.put(BAR, min(x, 64 - 20), min(y, 50 - 8))
        occupied[min(x, 44) : min(x, 44) + 20, min(y, 42) : min(y, 42) + 8] = True
    xs, ys = 64 - stamp.mask.shape[0] + 1, 50 - stamp.mask.shape[1] + 1
    assert every_spot(board, stamp, xs, ys) == by_hand(occupied, stamp)


def test_taking_up_gives_the_cells_back_but_not_the_walls():
    free = np.ones((64, 50), dtype=bool)
    free[:10] = False
    board = Board(free)
    before = every_spot(board, BAR, 45, 43)
    board.put(BAR, 20, 10)
    assert every_spot(board, BAR, 45, 43) != before
    board.take(BAR, 20, 10)
    assert every_spot(board, BAR, 45, 43) == before
    assert min(x for x, _ in before) == 10


def test_contact_counts_walls_and_neighbours():
    board = Board(np.ones((64, 50), dtype=bool))
    corner, middle = 0 * board.rows, 20 * board.rows + 20
    in_corner, in_middle = board.contact(BAR, np.array([corner, middle]))
    assert in_corner > 0
    assert in_middle == 0
