import pytest

from nameplate.geometry.region import from_ring, rectangle
from nameplate.nest.layout import Layout, Piece, SheetLayout, placement
from nameplate.nest.sheets import Rules
from nameplate.nest.verify import too_near, turn_allowed, verify

RULES = Rules(gap=1.5, edge=5)


def piece(plate, region=None):
    return Piece(plate, "lettering", 1, 1, "lettering", rectangle(0, 0, 20, 10) if region is None else region)


def layout(*rows, **changes):
    values = {"material": "lettering", "width": 100.0, "height": 50.0, "stock": 0, "price": 1.0}
    return Layout((SheetLayout(**{**values, **changes}, placements=tuple(placement(*row) for row in rows)),))


A, B = piece("a"), piece("b")


def codes(found):
    return [f.code for f in found]


def test_a_correct_layout_passes():
    assert verify(layout((A, 5, 5, 0), (B, 26.5, 5, 0)), [A, B], RULES) == ()


def test_a_gap_short_by_a_hundredth_is_found_and_measured():
    (fault,) = verify(layout((A, 5, 5, 0), (B, 26.49, 5, 0)), [A, B], RULES)
    assert fault.code == "layout-gap"
    assert fault.measured == pytest.approx(1.49)


def test_an_overlap_is_found():
    (fault,) = verify(layout((A, 5, 5, 0), (B, 24, 5, 0)), [A, B], RULES)
    assert "overlap" in fault.message
    assert fault.measured == pytest.approx(-10)


def test_a_part_past_the_margin_is_found():
    assert codes(verify(layout((A, 4.99, 5, 0)), [A], RULES)) == ["layout-edge"]
    assert codes(verify(layout((A, 75.01, 5, 0)), [A], RULES)) == ["layout-edge"]


def test_a_lost_and_a_doubled_part_are_found():
    assert codes(verify(layout(), [A], RULES)) == ["layout-pieces"]
    assert codes(verify(layout((A, 5, 5, 0), (A, 40, 5, 0)), [A], RULES)) == ["layout-pieces"]


def test_a_turn_that_is_not_allowed_is_found():
    assert codes(verify(layout((A, 50, 5, 90)), [A], RULES)) == ["layout-turn"]
    assert turn_allowed(-180, (0, 180))


def test_a_turn_is_allowed_within_the_rounding_of_a_layout_and_no_further():
    for turn in (180.00005, 179.99995, -0.00005, 359.99995):
        assert turn_allowed(turn, (0, 180))
    for turn in (180.001, 0.001, 359.999, 90.0):
        assert not turn_allowed(turn, (0, 180))
    for turn in (-270.0, 89.99995, 90.00005):
        assert turn_allowed(turn, (90,))
    assert not turn_allowed(270, (90,)), "the other way round"


def test_damaged_places_and_the_outline_of_an_offcut_are_kept_clear():
    near = layout((A, 5, 5, 0), keep_outs=rectangle(26, 5, 30, 9))
    assert codes(verify(near, [A], RULES)) == ["layout-edge"]
    assert verify(layout((A, 5, 5, 0), keep_outs=rectangle(27, 5, 30, 9)), [A], RULES) == ()
    triangle = layout((A, 60, 30, 0), outline=from_ring([(0, 0), (100, 0), (0, 50)]))
    assert codes(verify(triangle, [A], RULES)) == ["layout-edge"]


def test_a_part_must_not_lie_in_a_hole():
    """Holes are cut before outlines (common practice), so the waste with the part on it would fall first."""
    ring = piece("ring", from_ring([(0, 0), (40, 0), (40, 30), (0, 30)], [[(5, 5), (35, 5), (35, 25), (5, 25)]]))
    (fault,) = verify(layout((ring, 5, 5, 0), (A, 15, 15, 0)), [ring, A], RULES)
    assert fault.code == "layout-hole" and "lies in a hole of plate ring" in fault.message
    bay = piece("bay", from_ring([(0, 0), (40, 0), (40, 30), (35, 30), (35, 5), (5, 5), (5, 30), (0, 30)]))
    assert verify(layout((bay, 5, 5, 0), (A, 15, 15, 0)), [bay, A], RULES) == ()


def test_touching_counts_only_when_a_gap_is_asked_for():
    squares = [rectangle(0, 0, 1, 1), rectangle(1, 0, 2, 1)]
    assert too_near(squares, 0.0) == []
    assert too_near(squares, 0.1) == [(0, 1, 0.0)]


def test_an_overlap_counts_from_its_share_of_the_smaller_part_on():
    # two squares of 10 whose overlap is 0.5 and 2 % of either
    for wide, found in ((0.05, []), (0.2, [(0, 1, pytest.approx(-2.0))])):
        squares = [rectangle(0, 0, 10, 10), rectangle(10 - wide, 0, 20 - wide, 10)]
        assert too_near(squares, 0.0, overlap_share=0.01) == found


def duijvestijn():
    """The perfect squared square of side 112 (Duijvestijn 1978; OEIS A014530), its rows read left to right."""
    rows = "(50,35,27)(8,19)(15,17,11)(6,24)(29,25,9,2)(7,18)(16)(42)(4,37)(33)"
    skyline = [0] * 112
    squares = []
    for row in rows.strip("()").split(")("):
        for side in map(int, row.split(",")):
            y = min(skyline)
            x = skyline.index(y)
            skyline[x : x + side] = [y + side] * side
            squares.append((x, y, side))
    return squares


def test_the_squared_square_fits_with_no_gap_and_with_no_other():
    squares = duijvestijn()
    assert sum(s * s for _, _, s in squares) == 112**2
    pieces = [piece(str(s), rectangle(0, 0, s, s)) for _, _, s in squares]
    rows = [(p, x, y, 0) for p, (x, y, _) in zip(pieces, squares, strict=True)]
    whole = layout(*rows, width=112.0, height=112.0)
    assert verify(whole, pieces, Rules(gap=0, edge=0)) == ()
    assert "layout-gap" in codes(verify(whole, pieces, Rules(gap=0.01, edge=0)))
