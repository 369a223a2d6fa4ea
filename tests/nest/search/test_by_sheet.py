"""Filling sheet by sheet, checked against every single way and by the exact check of the layout."""

from nameplate.geometry.region import bounds, hull, rectangle
from nameplate.nest.layout import Layout, placed
from nameplate.nest.search.budget import SearchBudget
from nameplate.nest.search.by_sheet import pack_shapes
from nameplate.nest.search.filling import fill
from nameplate.nest.search.orders import FillingOrder, filling_orders
from nameplate.nest.search.part_masks import PartMasks, cell_side
from nameplate.nest.search.table import open_table
from nameplate.nest.sheets import Blank, Rules, with_usable
from nameplate.nest.verify import verify

from ..letters import piece, words

RULES = Rules(gap=1.5, edge=5)
BLANK = with_usable(Blank("lettering", 150, 80, 0), RULES)
BUDGET = SearchBudget(looks=100)


def packed(pieces, sheets, budget=BUDGET):
    return pack_shapes(pieces, [BLANK] * sheets, RULES, budget)


def filled(pieces, way, within=float("inf")):
    masks = PartMasks(pieces, RULES, cell_side([BLANK]))
    table = open_table(BLANK, RULES, masks.cell)
    return table, fill(table, way, masks, within=within)


def each_way(pieces):
    return [filled(pieces, way) for way in filling_orders(pieces, BUDGET, len(RULES.turns))]


def used(pieces, placements):
    """How far (mm) the parts of a sheet reach beyond its margin."""
    by_key = {piece.key: piece for piece in pieces}
    return max(bounds(placed(by_key[at.key], at)).x1 for at in placements) - RULES.edge


def test_every_part_lies_once_and_exactly():
    pieces = words(10)
    found = packed(pieces, 4)
    assert found.left == ()
    rows = [row for row in found.placements if row]
    assert verify(Layout(tuple(BLANK.sheet(row) for row in rows)), pieces, RULES) == ()


def test_a_full_sheet_leaves_no_more_to_do_than_any_way_alone():
    pieces = words(10)
    left = packed(pieces, 1).left
    assert left
    assert to_do(pieces, left) == min(to_do(pieces, some) for _, some in each_way(pieces))


def to_do(pieces, indices):
    return sum(hull(pieces[i].region).area for i in sorted(indices))


def test_a_sheet_that_takes_all_is_used_no_farther_than_by_any_way_alone():
    pieces = words(4)
    found = packed(pieces, 1)
    assert found.left == ()
    lengths = [table.used for table, left in each_way(pieces) if not left]
    assert len(set(lengths)) > 1
    assert abs(used(pieces, found.placements[0]) - (min(lengths) - RULES.edge)) < 1e-3


def test_where_only_the_count_of_sheets_matters_the_first_way_that_takes_all_does():
    pieces = words(4)
    lengths = [table.used for table, left in each_way(pieces) if not left]
    assert lengths[0] > min(lengths)
    found = packed(pieces, 1, SearchBudget(looks=100, first_whole=True))
    assert abs(used(pieces, found.placements[0]) - (lengths[0] - RULES.edge)) < 1e-3


def test_it_comes_out_the_same_each_time():
    assert packed(words(8), 3) == packed(words(8), 3)


def test_what_fits_no_sheet_is_left():
    pieces = [piece("large", rectangle(0, 0, 300, 10)), *words(2)]
    found = packed(pieces, 2)
    assert found.left == (0,)
    assert [len(row) for row in found.placements] == [2, 0]


def test_a_filling_longer_than_another_is_not_finished():
    pieces, way = words(4), FillingOrder(list(range(4)))
    whole, left = filled(pieces, way)
    assert left == []
    stopped, left = filled(pieces, way, within=whole.used / 2)
    assert left
    assert len(stopped.parts) + len(left) == 4
    assert filled(pieces, way, within=whole.used)[1] == []


def test_a_larger_budget_never_makes_the_first_sheet_carry_less():
    pieces = words(10)
    some, more = (to_do(pieces, packed(pieces, 1, budget).left) for budget in (SearchBudget(), BUDGET))
    assert more <= some
