import pytest

from nameplate.geometry.region import from_ring, rectangle
from nameplate.nest.layout import Layout, Piece, layout_to_json
from nameplate.nest.rectangles import pack_boxes
from nameplate.nest.search.budget import SearchBudget
from nameplate.nest.search.by_sheet import pack_shapes
from nameplate.nest.sheets import Blank, Rules, with_usable
from nameplate.nest.verify import verify

from ..letters import piece, words

RULES = Rules(gap=1.5, edge=5)

#: Two or three ways to fill a sheet, for tests of what holds whichever is taken.
FEW_WAYS = SearchBudget(looks=160)


def sheet(width=300.0, height=150.0, rules=RULES, **shape):
    return with_usable(Blank("lettering", width, height, 0, **shape), rules)


def layout_of(blanks, packed):
    return Layout(tuple(b.sheet(rows) for b, rows in zip(blanks, packed.placements, strict=True) if rows))


def lying(pieces, packed):
    return [p for i, p in enumerate(pieces) if i not in packed.left]


def test_names_take_fewer_sheets_than_their_boxes_and_hold_exactly():
    pieces, blanks = words(14), [sheet(150, 80)] * 10
    by_shape, by_box = pack_shapes(pieces, blanks, RULES, FEW_WAYS), pack_boxes(pieces, blanks, RULES)
    assert by_shape.left == by_box.left == ()
    assert verify(layout_of(blanks, by_shape), pieces, RULES) == ()
    assert len(layout_of(blanks, by_shape).sheets) < len(layout_of(blanks, by_box).sheets)


def test_two_runs_give_the_same_text():
    blanks = [sheet(100, 60)] * 2
    first, second = (
        layout_to_json(layout_of(blanks, pack_shapes(words(4), blanks, RULES, FEW_WAYS))) for _ in range(2)
    )
    assert first == second


def test_no_part_lies_in_the_hole_of_another():
    """The hole is cut first, and the part in it would fall with the waste before it is cut."""
    frame = from_ring([(0, 0), (90, 0), (90, 60), (0, 60)], [[(10, 10), (80, 10), (80, 50), (10, 50)]])
    shapes = {"frame": frame, "in": rectangle(0, 0, 60, 30)}
    pieces = [Piece(name, "template", 1, 1, "lettering", shape) for name, shape in shapes.items()]
    blanks = [sheet(100, 70), Blank("lettering", 100, 70, 1)]
    blanks[1] = with_usable(blanks[1], RULES)
    packed = pack_shapes(pieces, blanks, RULES)
    assert packed.left == () and [len(rows) for rows in packed.placements] == [1, 1]
    assert verify(layout_of(blanks, packed), pieces, RULES) == ()


def test_triangles_interlock_as_boxes_cannot():
    triangle = from_ring([(0, 0), (60, 0), (0, 40)])
    pieces = [piece(str(i), triangle) for i in range(2)]
    blanks = [sheet(80, 52)]
    assert pack_shapes(pieces, blanks, RULES).left == ()
    assert len(pack_boxes(pieces, blanks, RULES).left) == 1


def test_any_outline_with_a_bite_and_a_hole_is_filled_within_its_bounds():
    slanted = from_ring(
        [(0, 0), (180, 15), (210, 110), (100, 110), (85, 80), (70, 110), (15, 100)],
        [[(110, 30), (130, 30), (130, 50), (110, 50)]],
    )
    pieces, blanks = words(9), [sheet(210, 110, outline=slanted)]
    packed = pack_shapes(pieces, blanks, RULES, FEW_WAYS)
    assert 4 < len(packed.placements[0]) < 9
    assert verify(layout_of(blanks, packed), lying(pieces, packed), RULES) == ()


def test_damaged_places_are_kept_clear():
    pieces, blanks = words(7), [sheet(150, 80, keep_outs=rectangle(50, 30, 90, 50))]
    packed = pack_shapes(pieces, blanks, RULES, FEW_WAYS)
    assert verify(layout_of(blanks, packed), lying(pieces, packed), RULES) == ()
    plain = pack_shapes(pieces, [sheet(150, 80)], RULES, FEW_WAYS)
    assert len(packed.placements[0]) <= len(plain.placements[0])


@pytest.mark.parametrize("turns", [(0.0,), (0.0, 90.0), (15.0, 200.0)])
def test_only_allowed_turns_are_used(turns):
    rules = Rules(gap=1.5, edge=5, turns=turns)
    pieces, blanks = words(4), [sheet(160, 90, rules)] * 2
    packed = pack_shapes(pieces, blanks, rules, FEW_WAYS)
    assert packed.left == ()
    assert {at.turn for rows in packed.placements for at in rows} <= set(turns)
    assert verify(layout_of(blanks, packed), pieces, rules) == ()


def test_squares_that_tile_the_sheet_exactly_all_fit():
    rules = Rules(gap=0, edge=0)
    pieces = [piece(str(i), rectangle(0, 0, 10, 10)) for i in range(12)]
    blanks = [sheet(40, 30, rules)]
    packed = pack_shapes(pieces, blanks, rules)
    assert packed.left == ()
    assert verify(layout_of(blanks, packed), pieces, rules) == ()


def test_parts_gather_on_the_left_so_that_one_large_piece_remains():
    pieces, blanks = words(4), [sheet(400, 200)]
    packed = pack_shapes(pieces, blanks, RULES)
    assert max(at.x for at in packed.placements[0]) < 120
