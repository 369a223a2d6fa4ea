"""Holes that came out elsewhere: hidden by the hanger, by neighbours, or said not to be."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from nameplate.wall.moved_holes import Shift, curve, unevenness
from tests.wall.walls import orders, planned, wall

GAP = 300 - 110  # between two plates of a row


def row_of(plan, letter):
    return [hanging for hanging in plan.hangings if hanging.place.name.startswith(letter)]


def moved_plan(**moved):
    plates = {name.removeprefix("p"): off for name, off in moved.items()}
    return planned(wall(moved=tuple((plate, (off,)) for plate, off in plates.items())), orders(100))


def about(plan, plate):
    (found,) = [f for f in plan.findings if f.plate == plate]
    return found


def test_the_play_of_the_hanger_hides_what_it_can():
    plan = moved_plan(p017=(1.5, -2.0))
    (hanging,) = [h for h in plan.hangings if h.plate.id == "017"]
    assert (hanging.dx, hanging.dy) == (0, 0)
    assert [(hole.x, hole.y) for hole in hanging.holes] == [(525 + 1.5, 525 - 2)]
    found = about(plan, "017")
    assert (found.code, found.severity, found.measured, found.allowed) == ("hole-hidden", "note", 2, 2)
    assert "came out 1.5 mm right and 2.0 mm down" in found.message


def test_a_drilled_hole_is_where_it_came_out_whatever_the_hanger():
    plan = planned(wall(hanger=((-7.0, 25.0),), moved=(("017", ((1.5, -2.0),)),)), orders(20))
    (hanging,) = [h for h in plan.hangings if h.plate.id == "017"]
    assert [(hole.x, hole.y) for hole in hanging.holes] == [(525 - 7 + 1.5, 525 + 25 - 2)]


def test_what_is_left_passes_unseen_where_two_spaces_differ_by_little():
    plan = moved_plan(p017=(4.5, 0.0))  # 2.5 mm left: the spaces beside it differ by 5, 3 % of 190 is 5.7
    assert [h.dx for h in row_of(plan, "B")] == [0] * 6 + [2.5] + [0] * 3
    assert "differ by 5.0 mm, 2.6% of 190 mm, too little to be seen" in about(plan, "017").message


def least_bend(free, at, left, count=10):
    """The least that spaces must differ when only so many plates to each side may move, by a linear programme."""
    cost = np.zeros(count + 1)
    cost[-1] = 1
    rows = []
    for c in range(count):
        beside = [n for n in (c - 1, c + 1) if 0 <= n < count]
        bend = np.zeros(count + 1)
        bend[beside] = 1
        bend[c] = -len(beside)
        for sign in (1, -1):
            own = sign * bend
            own[-1] = -1
            rows.append(own)
    bounds = [(-99, 99) if 0 < abs(c - at) <= free else (left, left) if c == at else (0, 0) for c in range(count)]
    return linprog(cost, A_ub=np.array(rows), b_ub=np.zeros(len(rows)), bounds=[*bounds, (0, None)]).fun


def test_a_hole_off_by_nine_and_a_half_is_shared_out_as_a_person_would_and_no_more_plates_move_than_must():
    plan = moved_plan(p017=(9.5, 0.0))
    row = row_of(plan, "B")
    # two of it the hanger takes; of the other 7.5 the plates on either side take two thirds
    assert [h.dx for h in row] == pytest.approx([0] * 5 + [5, 7.5, 5] + [0] * 2)
    assert all(h.dy == 0 for h in row)
    assert all((h.dx, h.dy) == (0, 0) for h in plan.hangings if h not in row)
    # holes that are not drilled yet move with their plates, the one that is stays where it is
    assert [hole.x for h in row for hole in h.holes][4:9] == pytest.approx([-75, 230, 534.5, 830, 1125])
    assert [hole.drilled for h in row for hole in h.holes] == [k == 6 for k in range(10)]
    assert least_bend(0, 6, 7.5) > 0.03 * GAP > least_bend(1, 6, 7.5) == pytest.approx(5.0)
    assert "differ by 5.0 mm, 2.6% of 190 mm, too little to be seen" in about(plan, "017").message
    assert "016 5.0 mm right" in about(plan, "017").message


@pytest.mark.parametrize("steps", range(1, 9))
def test_the_curve_along_which_a_shift_is_shared_out_is_the_flattest_there_is(steps):
    shares = curve(steps)
    profile = {c: Shift(shares[abs(c - 12)] if abs(c - 12) < steps else 0.0, 0.0) for c in range(25)}
    uneven = unevenness(profile)
    assert uneven == pytest.approx(least_bend(steps - 1, 12, 1.0, count=25)) == pytest.approx(4 / (steps * (steps + 1)))


def test_with_all_its_neighbours_drilled_the_plan_owns_up_and_moves_nothing_else():
    drilled = {f"p{k:03d}": (0.0, 0.0) for k in (15, 16, 18, 19)}
    plan = moved_plan(p017=(9.5, 0.0), **drilled)
    assert [h.dx for h in row_of(plan, "B")] == [0] * 6 + [7.5] + [0] * 3
    found = about(plan, "017")
    assert (found.code, found.severity) == ("hole-seen", "warning")
    assert (found.measured, found.allowed) == pytest.approx((15, 5.7))
    assert "drill it anew at x 525.0 mm, y 525.0 mm" in found.message


def test_neighbours_that_are_drilled_help_by_their_own_play():
    drilled = {f"p{k:03d}": (0.0, 0.0) for k in (16, 18)}
    plan = moved_plan(p017=(6.0, 0.0), **drilled)  # 4 left: two thirds of it is more than the 2 that their hangers have
    assert [h.dx for h in row_of(plan, "B")] == pytest.approx([0] * 5 + [2, 4, 2] + [0] * 2)
    assert [hole.x for h in row_of(plan, "B") for hole in h.holes][5:8] == pytest.approx([225, 531, 825])
    assert about(plan, "017").code == "hole-hidden"


def test_a_hole_too_high_is_shared_out_like_one_too_far_aside():
    plan = moved_plan(p015=(0.0, 6.5))
    assert [h.dy for h in row_of(plan, "B")] == pytest.approx([0] * 3 + [3, 4.5, 3] + [0] * 4)


def test_what_stands_off_the_lines_of_the_grid_is_seen_whatever_the_row_does():
    # 3 % of a pitch of 300 x 150 mm
    for off, code in (
        ((11, 0), "hole-hidden"),
        ((11.1, 0), "hole-seen"),
        ((0, 6.5), "hole-hidden"),
        ((0, 6.6), "hole-seen"),
    ):
        assert about(moved_plan(p015=off), "015").code == code


def test_a_row_that_is_too_short_to_share_it_out_says_so():
    alone = planned(wall(columns=1, moved=(("003", ((9.5, 0.0),)),)), orders(9))
    assert about(alone, "003").code == "hole-seen"


def test_plates_that_touch_leave_no_difference_unseen():
    plan = planned(wall(pitch=(110.0, 150.0), moved=(("017", ((2.5, 0.0),)),)), orders(100))
    assert about(plan, "017").code == "hole-seen"
    assert "wall-overlap" in [f.code for f in plan.findings]


def test_two_holes_of_a_plate_must_both_be_met():
    keys = wall(hanger=((-40.0, 0.0), (40.0, 0.0)), moved=(("017", ((3.0, 0.0), (-1.0, 0.0))),))
    plan = planned(keys, orders(100))
    (hanging,) = [h for h in plan.hangings if h.plate.id == "017"]
    assert hanging.dx == pytest.approx(1.0)  # 2 mm from either hole
    assert [hole.x for hole in hanging.holes] == pytest.approx([525 - 40 + 3, 525 + 40 - 1])
    assert "came out (1) 3.0 mm right, (2) 1.0 mm left" in about(plan, "017").message


def least_misfit(offs):
    """The least that the worst hole is off along an axis, over all shifts of the plate, by a linear programme."""
    rows, limits = [], []
    for off in offs:
        for axis in (0, 1):
            for sign in (1, -1):
                rows.append([-sign * (axis == 0), -sign * (axis == 1), -1])
                limits.append(-sign * off[axis])
    return linprog([0, 0, 1], A_ub=rows, b_ub=limits, bounds=[(None, None)] * 2 + [(0, None)]).fun


@pytest.mark.parametrize(
    ("offs", "play", "anew"),
    [
        (((6.0, 0.0), (0.0, 0.0)), 2.0, "hole (1) and drill it anew at x 463.0 mm, y 525.0 mm"),
        (((9.0, 0.0), (0.0, 0.0)), 0.5, "hole (1) and drill it anew at x 463.0 mm, y 525.0 mm"),
        (((5.0, 1.0), (6.0, -4.0)), 2.0, "hole (2) and drill it anew at x 592.0 mm, y 526.0 mm"),
        (((4.0, 0.0), (0.0, 0.0)), 2.0, None),
        (((9.0, 2.0), (8.0, 1.0)), 0.5, None),
    ],
)
def test_a_plate_that_does_not_go_on_its_holes_is_told_with_where_to_drill_and_moves_no_other(offs, play, anew):
    keys = wall(hanger=((-62.0, 0.0), (62.0, 0.0)), moved=(("017", offs),), play=play)
    plan = planned(keys, orders(100))
    found = about(plan, "017")
    off = least_misfit(offs)
    assert ("does not hang on these holes" in found.message) == (off > play + 1e-6) == (anew is not None)
    if anew is None:
        (hanging,) = [h for h in plan.hangings if h.plate.id == "017"]
        own = [(hanging.x - 62, hanging.y), (hanging.x + 62, hanging.y)]
        apart = [(hole.x - x, hole.y - y) for hole, (x, y) in zip(hanging.holes, own, strict=True)]
        assert np.abs(apart).max() <= play + 1e-6
    else:
        assert (found.code, found.severity, found.measured, found.allowed) == ("hole-seen", "warning", off, play)
        assert f"one is still {off:.1f} mm from where" in found.message
        assert anew in found.message
        assert all((h.dx, h.dy) == (0, 0) for h in plan.hangings)


def test_a_slot_is_as_much_longer_as_the_play_leaves():
    keys = wall(hanger=((-62.0, 0.0), (62.0, 0.0)), moved=(("017", ((6.0, 0.0), (0.0, 0.0))),))
    # hung on its second hole the plate has its first 6 mm left of the one in the wall, and the play takes 2
    assert "longer by: (1) 4.0 mm right" in about(planned(keys, orders(100)), "017").message


@given(
    st.dictionaries(st.integers(1, 40), st.tuples(st.floats(-20, 20), st.floats(-20, 20)), min_size=1, max_size=5),
    st.floats(0, 4),
)
def test_plates_stay_within_their_hangers_play_and_what_is_called_hidden_differs_by_little(moved, play):
    offs = {f"{k:03d}": (off,) for k, off in moved.items()}
    plan = planned(wall(moved=tuple(offs.items()), play=play), orders(100))
    seen = {f.plate for f in plan.findings if f.code == "hole-seen"}
    for hanging in plan.hangings:
        (hole,) = hanging.holes
        assert hole.drilled == (hanging.plate.id in offs)
        assert max(abs(hole.x - hanging.x), abs(hole.y - hanging.y)) <= (play if hole.drilled else 0) + 1e-6
    for letter in "ABCD":
        row = row_of(plan, letter)
        if not seen & {h.plate.id for h in row}:
            spaces = [b.x - a.x - 110 for a, b in pairwise(row)]
            assert max(abs(b - a) for a, b in pairwise(spaces)) <= 0.03 * GAP + 1e-5
            assert max(abs(b - GAP) for b in spaces[:: len(spaces) - 1]) <= 0.03 * GAP + 1e-5
