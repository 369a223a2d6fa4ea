import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nameplate.geometry.region import from_ring, intersection, moved, offset, rectangle, union
from nameplate.nest.buying.bounds import Bound, area_bound, best_bound, big_part_bound, grown_area
from nameplate.ticket.schema import NestKeys
from nameplate.ticket.workshop_schema import StockKeys

from ..letters import nested, piece, squares

#: Lettering that may be turned by half.
TURNS = (0.0, 180.0)


# examples derived from the theorem of the grown parts; the true numbers of sheets by the big-part argument


def test_three_large_squares_need_a_sheet_each_though_area_says_two():
    assert area_bound(squares(3, 6), 10, 10, 0, 0) == pytest.approx(1.08)
    assert big_part_bound(squares(3, 6), 10, 10, 0, TURNS) == 3
    assert best_bound(squares(3, 6), 10, 10, 0, 0, TURNS).sheets == 3


def test_forty_squares_just_over_half_the_sheet():
    assert area_bound(squares(40, 5.1), 10, 10, 0, 0) == pytest.approx(10.404)
    assert best_bound(squares(40, 5.1), 10, 10, 0, 0, TURNS).sheets == 40


def test_parts_of_over_half_of_what_the_margins_leave_need_a_sheet_each():
    # margins of 20 leave 60 x 60 of 100 x 100, where no two of 31 x 31 lie beside each other; area says one sheet
    assert big_part_bound(squares(3, 31), 100, 100, 20, TURNS) == 3
    assert big_part_bound(squares(3, 30), 100, 100, 20, TURNS) == 0
    assert best_bound(squares(3, 31), 100, 100, 0, 20, TURNS).sheets == 3


def test_squares_of_exactly_half_the_sheet_are_not_big():
    assert big_part_bound(squares(4, 5), 10, 10, 0, TURNS) == 0


def test_a_part_is_big_only_where_it_covers_the_centre_at_every_turn_at_which_it_fits():
    # 9 x 6 on 10 x 8: more than half both ways lying; standing, 9 is more than 8, so it never does
    bar = [piece("1", rectangle(0, 0, 9, 6))]
    assert big_part_bound(bar, 10, 8, 0, (0.0, 90.0)) == 1
    # lying on 20 x 8 it leaves the centre free
    assert big_part_bound(bar, 20, 8, 0, (0.0, 90.0)) == 0
    # an L of the same box does not contain what the centre can be
    ell = [piece("1", from_ring([(0, 0), (9, 0), (9, 1), (1, 1), (1, 6), (0, 6)]))]
    assert big_part_bound(ell, 10, 8, 0, TURNS) == 0


def test_squares_that_tile_whole_sheets_need_no_sheet_more():
    # 100 squares of a tenth of the side fill the sheet exactly; their area comes to 1.0000000000000007 sheets in floats
    tenths = squares(100, 0.1)
    assert sum(piece.region.area for piece in tenths) > 1.0
    assert [best_bound(tenths[:n], 1, 1, 0, 0, TURNS).sheets for n in (100, 99, 1)] == [1, 1, 1]
    assert [best_bound(squares(n, 10), 20, 20, 0, 0, TURNS).sheets for n in (4, 5, 8, 9)] == [1, 2, 2, 3]


def test_parts_that_only_touch_at_the_sheets_centre_are_not_big():
    # in a box of 6 on a sheet of 10 the centre can be anywhere from 1 to 5: exactly the body of this cross. Two of them
    # lie in opposite corners, their bodies touching at the centre, their arms beside each other
    cross = union(rectangle(1, 1, 5, 5), rectangle(0, 2, 6, 3), rectangle(2, 0, 3, 6))
    pieces = [piece(str(i), cross) for i in range(2)]
    apart = intersection(cross, moved(cross, 4, 4)).area
    assert apart == 0
    assert big_part_bound(pieces, 10, 10, 0, TURNS) == 0
    assert big_part_bound(pieces, 9.9, 9.9, 0, TURNS) == 2


def test_a_grown_square_has_steiners_area():
    # A + P r + pi r^2 (Steiner 1840); the chords of the arcs keep the measured figure just below it
    exact = 100 + 40 * 0.75 + math.pi * 0.75**2
    assert exact - 0.01 < grown_area(rectangle(0, 0, 10, 10), 1.5) <= exact


def test_the_gap_and_margin_enter_as_derived():
    # sheets >= sum A(part + B(s/2)) / ((W - 2m + s)(H - 2m + s))
    of = squares(5, 10), 100, 50, 1.5, 5
    assert area_bound(*of) == pytest.approx(5 * grown_area(rectangle(0, 0, 10, 10), 1.5) / (91.5 * 41.5))
    assert best_bound(*of, TURNS) == Bound(1, pytest.approx(500 / 5000))


def test_a_sheet_smaller_than_its_margins_is_refused():
    with pytest.raises(ValueError, match="no room"):
        area_bound(squares(1, 1), 10, 10, 1, 5)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.floats(2, 60), st.floats(2, 40)), min_size=1, max_size=12), st.sampled_from([0.0, 1.5]))
def test_the_bound_is_never_above_what_a_real_nest_takes(sizes, gap):
    pieces = [piece(str(i), rectangle(0, 0, w, h)) for i, (w, h) in enumerate(sizes)]
    keys = NestKeys(engine="rectangle", gap=gap, edge_margin=2)
    layout = nested(pieces, [StockKeys(width=80, height=50)], keys)
    assert layout.findings == ()
    assert best_bound(pieces, 80, 50, gap, 2, keys.turns).sheets <= len(layout.sheets)


def test_points_left_out_of_an_outline_never_make_the_grown_area_larger():
    # a disc of radius r grows to pi (r + s/2)^2 (Steiner 1840); drawn with 720 points, so that most are left out
    turns = [2 * math.pi * k / 720 for k in range(720)]
    outer, inner = ([(r * math.cos(t), r * math.sin(t)) for t in turns] for r in (12.0, 8.0))
    ring = from_ring(outer, [inner])
    exact = math.pi * ((12 + 0.75) ** 2 - (8 - 0.75) ** 2)
    whole = offset(ring, 0.75).area
    assert 0.99 * exact < grown_area(ring, 1.5) < whole < exact


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
@pytest.mark.parametrize(("body", "count"), [(2.0, 0), (1.9, 1)])
def test_a_part_that_only_touches_the_centre_does_not_cover_it(turn, body, count):
    # on a sheet of 20 x 20 its centre is 2 to 10 mm from the corner of a part of 12 x 12
    part = union(rectangle(body, 0, 12, 12), rectangle(0, 0, 12, 1))
    assert big_part_bound([piece("1", moved(part, turn=turn))], 20, 20, 0, (0.0,)) == count
