import json

import pytest

from nameplate.errors import LayoutError
from nameplate.geometry.region import bounds, covers, difference, distance, from_ring, rectangle
from nameplate.nest.layout import Layout, SheetLayout, placed, placement
from nameplate.nest.offcuts import offcuts_to_json, read_offcuts, remainder
from nameplate.nest.search.budget import LARGEST_FIRST
from nameplate.nest.search.free_rectangle import largest_rectangle
from nameplate.nest.sheets import Offcut
from nameplate.ticket.schema import NestKeys
from nameplate.ticket.workshop_schema import StockKeys

from .letters import nested, piece, rests, words
from .stored_text import offcuts_of_text

KEYS = NestKeys()

#: Parts of an earlier run, laid once: what is asked is what the next one makes of its offcuts.
ONCE = {"lettering": LARGEST_FIRST}


def bar(width, height):
    return piece("1", rectangle(0, 0, width, height))


def one_sheet(piece, x, y, **changes):
    values = {"material": "lettering", "width": 300.0, "height": 200.0, "stock": 0, "price": 1.0}
    return Layout((SheetLayout(**{**values, **changes}, placements=(placement(piece, x, y, 0),)),))


def test_the_largest_rectangle_of_an_l_is_its_larger_arm():
    ell = from_ring([(0, 0), (100, 0), (100, 30), (40, 30), (40, 90), (0, 90)])
    found = largest_rectangle(ell)
    assert tuple(found) == pytest.approx((0, 0, 40, 90), abs=1.0)  # the grid
    assert covers(ell, rectangle(*found))


def test_the_largest_rectangle_in_a_triangle_has_half_its_area():
    # a classic: the largest rectangle in a right triangle, on its legs, is half as large as the triangle
    found = largest_rectangle(from_ring([(0, 0), (240, 0), (0, 160)]))
    assert found.width * found.height == pytest.approx(240 * 160 / 4, rel=0.03)


def test_the_largest_rectangle_never_leaves_the_region():
    region = difference(from_ring([(0, 0), (90, 7), (100, 60), (35, 80), (-5, 40)]), rectangle(30, 20, 40, 30))
    found = largest_rectangle(region)
    assert covers(region, rectangle(*found))


def test_what_is_left_right_of_a_part_is_whole_less_the_gap():
    piece = bar(90, 190)
    (rest,) = rests(one_sheet(piece, 5, 5), [piece], 1.5)
    assert tuple(rest.rectangle) == pytest.approx((96.5, 0, 300, 200), abs=1.0)
    assert rest.rectangle.x0 >= 96.5
    assert rest.outline.area > rest.rectangle.width * rest.rectangle.height * 0.99


def test_a_full_sheet_leaves_nothing_worth_keeping():
    piece = bar(280, 180)
    assert rests(one_sheet(piece, 10, 10), [piece], 1.5) == ()


def test_a_damaged_place_is_not_part_of_the_remainder():
    piece = bar(90, 190)
    (rest,) = rests(one_sheet(piece, 5, 5, keep_outs=rectangle(200, 0, 300, 200)), [piece], 1.5)
    assert bounds(rest.outline).x1 <= 200.1


def test_offcuts_of_one_run_are_used_first_by_the_next():
    first = nested(words(10), [StockKeys(width=300, height=200, price=4)], KEYS, budgets=ONCE)
    text = offcuts_to_json(rests(first, words(10), KEYS.gap))
    assert text == offcuts_to_json(rests(first, words(10), KEYS.gap))
    offcuts = offcuts_of_text(text)
    assert len(offcuts) == 1
    pieces = words(3, seed=50)
    layout = nested(pieces, [StockKeys(width=300, height=200, price=4)], KEYS, offcuts=offcuts)
    assert layout.findings == ()
    assert [s.offcut for s in layout.sheets] == ["rest of lettering 01"]
    assert layout.sheets[0].cost == 0
    outline = layout.sheets[0].outline
    assert all(covers(outline, placed(p, at)) for p, at in zip(pieces, layout.sheets[0].placements, strict=True))


def test_parts_of_both_runs_keep_their_distance_on_the_real_sheet():
    before = words(8)
    first = nested(before, [StockKeys(width=300, height=200, price=4)], KEYS, budgets=ONCE)
    (rest,) = rests(first, before, KEYS.gap)
    (offcut,) = offcuts_of_text(offcuts_to_json([rest]))
    after = words(2, seed=70)
    second = nested(after, [], KEYS, offcuts=[offcut])
    assert second.unplaced == ()
    corner = bounds(rest.outline)
    old = [placed(p, at) for p, at in zip(before, first.sheets[0].placements, strict=True)]
    for p, at in zip(after, second.sheets[0].placements, strict=True):
        moved = placement(p, at.x + corner.x0, at.y + corner.y0, at.turn)
        assert min(distance(placed(p, moved), o) for o in old) >= KEYS.gap


def test_offcuts_in_the_ticket_and_damaged_sheets_are_used_before_buying():
    stock = [
        StockKeys(width=300, height=200, price=4),
        StockKeys(width=150, height=90, offcut=True, outline=((0, 0), (150, 0), (100, 90), (0, 90))),
        StockKeys(width=200, height=120, price=3, on_hand=1, keep_out=((0, 0, 60, 60),)),
    ]
    layout = nested(words(16), stock, KEYS)
    assert layout.findings == ()
    assert [s.stock for s in layout.sheets[:2]] == [1, 2]
    assert layout.sheets[1].keep_outs is not None
    assert sum(s.cost for s in layout.sheets) == sum(s.price for s in layout.sheets if not s.on_hand)


def test_when_only_offcuts_are_left_what_does_not_fit_is_named():
    layout = nested(words(9), [], KEYS, offcuts=[Offcut("lettering", "rest", 90, 60)])
    assert layout.unplaced
    assert {f.code for f in layout.findings} == {"stock-used-up"}


def test_by_boxes_an_offcut_serves_with_its_largest_rectangle():
    cut = Offcut("lettering", "rest", 200, 150, from_ring([(0, 0), (200, 0), (200, 60), (90, 150), (0, 150)]))
    layout = nested(words(6), [], NestKeys(engine="rectangle"), offcuts=[cut])
    assert layout.sheets
    assert {f.code for f in layout.findings} <= {"stock-used-up"}


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "not valid JSON"),
        ("[]", "version"),
        ('{"version": 1, "offcuts": [3]}', "offcuts 1: found 3, expected a table"),
        (
            '{"version": 1, "offcuts": [{"name": "a", "material": "b", "outline": 5}]}',
            "outline: found 5, expected a list",
        ),
        (
            '{"version": 1, "offcuts": [{"name": "a", "material": "b", "outline": []}]}',
            "outline: found a list of 0, expected a list that is not empty",
        ),
    ],
)
def test_a_broken_offcuts_file_is_refused_in_words(text, word, tmp_path):
    with pytest.raises(LayoutError, match=word):
        offcuts_of_text(text)
    with pytest.raises(LayoutError, match="cannot be read"):
        read_offcuts(tmp_path / "none.json")


def test_the_file_holds_rectangle_and_outline():
    piece = bar(90, 190)
    document = json.loads(offcuts_to_json(rests(one_sheet(piece, 5, 5), [piece], 1.5)))
    (row,) = document["offcuts"]
    assert set(row) == {"name", "material", "at", "rectangle", "outline"}


def test_a_strip_beside_the_parts_that_is_no_use_is_no_part_of_the_remainder():
    # left of x = 200 a strip of 15 mm is left above the part; of 25 mm it is wide enough to be kept
    for height, left in ((185.0, 200.0), (175.0, 0.0)):
        rest = remainder(SheetLayout("lettering", 300, 200, 0), [rectangle(0, 0, 200, height)], 1.5)
        assert bounds(rest.outline).x0 == pytest.approx(left, abs=8)  # in a corner a disc goes in a little
