"""The best spot for a part, checked against trying every free cell."""

import numpy as np
import pytest

from nameplate.geometry.nearby import contains_points
from nameplate.geometry.region import distance, from_ring, offset, rectangle
from nameplate.nest.layout import Piece, placement
from nameplate.nest.search.best_spot import LEFTNESS, STEP, Finder, FreeSpots
from nameplate.nest.search.board import BORDER
from nameplate.nest.search.filling import fill, place
from nameplate.nest.search.orders import FillingOrder
from nameplate.nest.search.part_masks import PartMasks, cell_side
from nameplate.nest.search.table import open_table, put_at
from nameplate.nest.sheets import Blank, Rules, with_usable

from ..letters import piece, words

RULES = Rules(gap=1.5, edge=5, turns=(0.0, 90.0, 180.0, 270.0))
BLANK = with_usable(Blank("lettering", 200, 100, 0), RULES)


def table_of(pieces, blank=BLANK):
    masks = PartMasks(pieces, RULES, cell_side([BLANK]))
    return open_table(blank, RULES, masks.cell), masks


def free_spots(table, mask):
    """Every cell where a mask may lie, and the column it reaches to there."""
    board, (room_x, room_y) = table.board, table.size
    columns, rows = (
        int((room - size - shift) / table.cell + 1e-7) + 1
        for room, size, shift in zip((room_x, room_y), (mask.width, mask.height), mask.shift, strict=True)
    )
    spots = board.free(board.tests(mask), board.forbidden(rows), 0, columns)
    return spots, spots // board.rows + round((mask.width + mask.shift[0]) / table.cell)


def free_cells(table, mask):
    """Every cell where a mask may lie: the column it reaches to, and its worth."""
    board, (spots, reach) = table.board, free_spots(table, mask)
    worth = board.contact(mask, spots) - LEFTNESS * (spots // board.rows + mask.centre)
    return list(zip(reach.tolist(), worth.tolist(), strict=True))


@pytest.mark.parametrize("laid", [0, 2, 5])
def test_no_free_cell_reaches_less_far_and_none_as_far_is_worth_much_more(laid):
    pieces, leeway = words(7, width=40.0), 8
    table, masks = table_of(pieces, with_usable(Blank("lettering", 120, 70, 0), RULES))
    for index in range(laid):
        assert place(Finder(table, masks.of(index)), index, masks)
    spot = Finder(table, masks.of(6)).best(leeway)
    free = [row for mask in masks.of(6) for row in free_cells(table, mask)]
    least = min(reach for reach, _ in free)
    reach = spot.x + round((spot.mask.width + spot.mask.shift[0]) / table.cell)
    assert least <= reach <= least + leeway
    worth = spot.contact - LEFTNESS * (spot.x + spot.mask.centre)
    # the ends of runs are compared, and those the exact check refuses are passed over
    assert worth > max(w for r, w in free if r <= least + leeway) - 0.1


def test_the_spots_up_to_a_column_are_all_that_reach_there_and_no_others():
    pieces = words(3, width=40.0)
    table, masks = table_of(pieces)
    assert place(Finder(table, masks.of(0)), 0, masks)
    for mask in masks.of(1):
        search, (spots, reaches) = FreeSpots(table, mask), free_spots(table, mask)
        assert search.go_on() and search.reach() == reaches.min()
        for further in (0, 1, STEP, 3 * STEP, 1000):  # columns beyond those that were looked at, and beyond the sheet
            reach = search.reach() + further
            assert search.up_to(reach).tolist() == spots[reaches <= reach].tolist()


def test_the_cells_of_a_sheet_with_an_outline_are_free_where_the_outline_leaves_room():
    # half of a sheet, cut along its diagonal; a part's mask is grown by half a gap, and so is the room for it
    half = from_ring([(0, 0), (200, 0), (0, 100)])
    blank = with_usable(Blank("lettering", 200, 100, 0, outline=half), RULES)
    table, _ = table_of(words(1), blank)
    free = ~table.board.occupied[BORDER:, BORDER:][: table.board.nx, : table.board.ny]
    room = offset(blank.usable, RULES.gap / 2)
    corner = np.array(table.origin) - RULES.gap / 2
    centres = corner + (np.indices(free.shape).reshape(2, -1).T + 0.5) * table.cell
    surely, perhaps = (contains_points(offset(room, by), centres).reshape(free.shape) for by in (-1e-6, 1e-6))
    assert (free >= surely).all() and (free <= perhaps).all()
    assert 0.4 < free.mean() < 0.6


def test_among_rectangles_a_spot_is_worth_as_much_as_any():
    leeway = 20
    sides = [(3, 30), (20, 8), (6, 50), (22, 14)]
    pieces = [Piece(f"{w}", "lettering", 1, 1, "lettering", rectangle(0, 0, w, h)) for w, h in sides]
    table, masks = table_of(pieces, with_usable(Blank("lettering", 60, 100, 0), RULES))
    for index in range(3):
        assert place(Finder(table, masks.of(index)), index, masks)
    spot = Finder(table, masks.of(3)).best(leeway)
    free = [row for mask in masks.of(3) for row in free_cells(table, mask)]
    farthest = min(reach for reach, _ in free) + leeway
    worth = spot.contact - LEFTNESS * (spot.x + spot.mask.centre)
    assert worth > max(w for r, w in free if r <= farthest) - 0.01


def test_of_turns_that_touch_alike_the_one_with_its_middle_farthest_left_is_laid():
    piece = Piece("1", "lettering", 1, 1, "lettering", rectangle(0, 0, 22, 14))  # in a corner half of it touches
    table, masks = table_of([piece])
    assert Finder(table, masks.of(0)).best(round(22 / table.cell)).mask.turn % 180 == 90  # both turns are within reach


def test_a_piece_is_put_just_where_it_is_told_as_far_as_the_sheets_edges():
    piece = Piece("1", "lettering", 1, 1, "lettering", rectangle(0, 0, 30, 20))
    table, masks = table_of([piece])
    assert table.used == 0
    # the room goes from 5 to 195 and from 5 to 95
    for x, y in ((4.9, 5), (5, 4.9), (165.1, 5), (5, 75.1)):
        assert not put_at(table, 0, masks, placement(piece, x, y, 0.0))
    assert put_at(table, 0, masks, placement(piece, 165.0, 75.0, 0.0))
    assert table.used == pytest.approx(195)
    assert not put_at(table, 0, masks, placement(piece, 150.0, 60.0, 0.0)), "another lies there"


def test_a_search_that_goes_on_finds_what_a_new_one_finds():
    pieces = words(8)
    table, masks = table_of(pieces)
    finder = Finder(table, masks.of(7))
    for index in range(5):
        going_on, anew = finder.best(8), Finder(table, masks.of(7)).best(8)
        assert (going_on.x, going_on.y, going_on.mask.turn) == (anew.x, anew.y, anew.mask.turn)
        assert place(Finder(table, masks.of(index)), index, masks)


def test_a_full_table_has_no_spot():
    slab = piece("slab", rectangle(0, 0, 190, 90))
    small = piece("small", rectangle(0, 0, 5, 5))
    table, masks = table_of([slab, small])
    assert place(Finder(table, masks.of(0)), 0, masks)
    assert Finder(table, masks.of(1)).best(8) is None


def test_a_part_that_fills_a_notch_goes_before_a_larger_one_that_does_not():
    # once the step lies in a corner, the notch's part touches all round; a disc of the same box touches far less
    step = from_ring([(0, 0), (120, 0), (120, 30), (60, 30), (60, 60), (0, 60)])
    disc = offset(from_ring([(0, 0), (0.1, 0), (0, 0.1)]), 20)
    regions = {"step": step, "disc": disc, "fill": rectangle(0, 0, 57, 27)}
    pieces = [piece(name, region) for name, region in regions.items()]
    for among, order in ((1, [0, 1, 2]), (2, [0, 2, 1])):
        table, masks = table_of(pieces)
        assert fill(table, FillingOrder([0, 1, 2], choice=among), masks) == []
        assert [part.index for part in table.parts] == order


def test_of_two_that_touch_alike_the_larger_goes_first():
    pieces = [piece(f"{side}", rectangle(0, 0, side, side)) for side in (20, 40)]
    for order in ([0, 1], [1, 0]):
        table, masks = table_of(pieces)
        assert fill(table, FillingOrder(order, choice=2), masks) == []
        assert [part.index for part in table.parts] == [1, 0]


def test_of_equal_outlines_the_first_goes_first():
    pieces = [piece(f"{i}", rectangle(0, 0, 56, 26)) for i in range(4)]
    table, masks = table_of(pieces)
    assert fill(table, FillingOrder([2, 0, 3, 1], choice=3), masks) == []
    assert [part.index for part in table.parts] == [2, 0, 3, 1]


def test_parts_chosen_among_many_keep_their_distance_and_lie_once():
    pieces = words(20)
    table, masks = table_of(pieces)
    left = fill(table, FillingOrder(list(range(20)), choice=6), masks)
    laid = [part.index for part in table.parts]
    assert sorted([*laid, *left]) == list(range(20))
    shapes = table.outlines.shapes
    assert all(distance(a, b) > RULES.gap - 0.03 for n, a in enumerate(shapes) for b in shapes[:n])


def test_choosing_among_several_makes_shorter_nests_of_names_than_their_order():
    pieces = words(24)
    wide = with_usable(Blank("lettering", 2000, 100, 0), RULES)
    used = {}
    for among in (1, 12):
        masks = PartMasks(pieces, RULES, 0.5)
        table = open_table(wide, RULES, 0.5)
        assert fill(table, FillingOrder(list(range(24)), choice=among), masks) == []
        used[among] = table.used
    assert used[12] < used[1]
