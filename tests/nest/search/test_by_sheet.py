"""Filling sheet by sheet, checked against every single way and by the exact check of the layout."""

from nameplate.geometry.region import hull, rectangle
from nameplate.nest.layout import Layout, Piece
from nameplate.nest.search.by_sheet import fill_each
from nameplate.nest.search.orders import among, other_ways
from nameplate.nest.search.trueshape import Stamps, as_packed, cell_side, greedy
from nameplate.nest.sheets import Blank, Rules, with_usable
from nameplate.nest.verify import verify

from ..letters import words

RULES = Rules(gap=1.5, edge=5)
BLANK = with_usable(Blank(0, "lettering", 200, 100), RULES)
TRIED = 160


def stamps_of(pieces):
    return Stamps(pieces, RULES, cell_side([BLANK]))


def filled(pieces, sheets, tried=TRIED):
    return fill_each(pieces, [BLANK] * sheets, RULES, stamps=stamps_of(pieces), tried=tried)


def each_way(pieces, stamps):
    some = {"stamps": stamps, "among": among(pieces)}
    return [
        greedy(pieces, [BLANK], RULES, order, leeway=lee, **some)
        for order, lee in other_ways(pieces, TRIED // (len(pieces) * len(RULES.turns)))
    ]


def rows_of(tables, left, sheets):
    return as_packed(tables, left, sheets).placements


def test_every_part_lies_once_and_exactly():
    pieces = words(20)
    tables, left = filled(pieces, 6)
    rows = [row for row in rows_of(tables, left, 6) if row]
    assert left == []
    assert verify(Layout(tuple(BLANK.sheet(row) for row in rows)), pieces, RULES) == ()


def test_a_full_sheet_leaves_no_more_to_do_than_any_way_alone():
    pieces, stamps = words(20), stamps_of(words(20))
    _, left = filled(pieces, 1)
    alone = [left for _, left in each_way(pieces, stamps)]
    assert left
    assert to_do(pieces, left) == min(to_do(pieces, some) for some in alone)


def to_do(pieces, indices):
    return sum(hull(pieces[i].region).area for i in sorted(indices))


def test_a_sheet_that_takes_all_is_used_no_farther_than_by_any_way_alone():
    pieces, stamps = words(6), stamps_of(words(6))
    tables, left = filled(pieces, 1)
    assert left == []
    lengths = [tables[0].used for tables, left in each_way(pieces, stamps) if not left]
    assert len(set(lengths)) > 1
    assert tables[0].used == min(lengths)


def test_it_comes_out_the_same_each_time():
    first, second = (rows_of(*filled(words(14), 4), 4) for _ in range(2))
    assert first == second


def test_what_fits_no_sheet_is_left():
    pieces = [Piece("large", "lettering", 1, 1, "lettering", rectangle(0, 0, 300, 10)), *words(2)]
    tables, left = filled(pieces, 2)
    assert left == [0]
    assert len(tables[0].lying) == 2


def test_a_nest_longer_than_another_is_not_finished():
    pieces, order = words(8), list(range(8))
    whole, left = greedy(pieces, [BLANK], RULES, order)
    assert left == []
    stopped, left = greedy(pieces, [BLANK], RULES, order, within=whole[0].used / 2)
    assert left
    assert len(stopped[0].lying) + len(left) == 8
    assert greedy(pieces, [BLANK], RULES, order, within=whole[0].used)[1] == []
