import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from nameplate.geometry.region import from_ring, rectangle
from nameplate.nest.search.board import Board
from nameplate.nest.search.raster import part_mask, part_shape

L_SHAPE = part_mask(part_shape(from_ring([(0, 0), (9, 0), (9, 3), (3, 3), (3, 14), (0, 14)]), 0.0), 0, cell=0.5)
BAR = part_mask(part_shape(rectangle(0, 0, 10, 4), 0.0), 0, cell=0.5)


def every_spot(board, part, xs, ys):
    spots = board.free(board.tests(part), board.forbidden(ys), 0, xs)
    return [board.position(s) for s in spots]


def by_hand(occupied, part):
    """All free positions, by trying each: the meaning of a free spot."""
    nx, ny = part.cells.shape
    return [
        (x, y)
        for x in range(occupied.shape[0] - nx + 1)
        for y in range(occupied.shape[1] - ny + 1)
        if not (occupied[x : x + nx, y : y + ny] & part.cells).any()
    ]


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 40), st.integers(0, 30)), max_size=4), st.booleans())
def test_the_free_spots_are_exactly_those_found_by_trying_each(places, ell):
    part = L_SHAPE if ell else BAR
    board = Board(np.ones((64, 50), dtype=bool))
    occupied = np.zeros((64, 50), dtype=bool)
    for x, y in places:
        board.free(board.tests(part), board.forbidden(1), 0, 1)  # what was found before is brought up to date
        board.put(BAR, min(x, 64 - 20), min(y, 50 - 8))
        occupied[min(x, 44) : min(x, 44) + 20, min(y, 42) : min(y, 42) + 8] = True
    xs, ys = 64 - part.cells.shape[0] + 1, 50 - part.cells.shape[1] + 1
    assert every_spot(board, part, xs, ys) == by_hand(occupied, part)


def test_what_is_no_room_is_never_free():
    free = np.ones((64, 50), dtype=bool)
    free[:10] = False
    assert min(x for x, _ in every_spot(Board(free), BAR, 45, 43)) == 10


def test_contact_counts_walls_and_neighbours():
    board = Board(np.ones((64, 50), dtype=bool))
    corner, middle = 0 * board.rows, 20 * board.rows + 20
    in_corner, in_middle = board.contact(BAR, np.array([corner, middle]))
    assert in_corner > 0
    assert in_middle == 0
