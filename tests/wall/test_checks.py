"""What is said against a wall: overlaps, edges, anchors, heights, each by figures of its own."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.geometry.region import disc, rectangle
from nameplate.model import Face, Order
from tests.wall.walls import codes, face, orders, planned, wall

#: A wall without a word to say: its lowest plate and its highest hole are where people read and reach.
QUIET = {"rows": 3, "height": 700.0}


def finding(plan, code):
    (found,) = [f for f in plan.findings if f.code == code]
    return found


def test_a_wall_with_room_for_all_has_nothing_to_say():
    assert codes(planned(wall(**QUIET), orders(30))) == []


def test_a_ticket_without_a_wall_has_no_plan_and_one_without_plates_an_empty_one():
    assert planned(wall(width=None), orders(3)) is None
    assert planned(wall(**QUIET), ()).hangings == ()


@given(st.floats(60, 200), st.floats(50, 150), st.floats(0, 0.9))
def test_overlap_is_told_exactly_where_boxes_overlap(across, up, stagger):
    plan = planned(wall(pitch=(across, up), stagger=stagger, columns=4, rows=3), orders(12))
    boxes = [(h.x - 55, h.y - 40, h.x + 55, h.y + 40) for h in plan.hangings]
    shared = [
        (min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1]))
        for k, a in enumerate(boxes)
        for b in boxes[:k]
    ]
    over = [w * h for w, h in shared if w > 0 and h > 0 and w * h > 0.01]
    assert ("wall-overlap" in codes(plan)) == bool(over)
    if over:
        assert finding(plan, "wall-overlap").measured == len(over)


def test_outlines_count_not_their_boxes():
    round_face = Face(disc((0, 0), 100), disc((0, 0), 90), rectangle(0, 0, 1, 1), "circle")
    # boxes overlap by 5 mm each way at the corners, circles are 34 mm apart there
    keys = wall(pitch=(190.0, 95.0), **QUIET)
    assert "wall-overlap" not in codes(planned(keys, orders(30), {"": round_face}))
    assert "wall-overlap" in codes(planned(keys, orders(30), {"": face(100, 100)}))


def test_plates_that_stick_out_past_the_wall_are_told_with_how_far():
    # the outermost middle is 1425 mm from the centre line and its edge 1480; the wall ends at 1500, then at 1460
    assert codes(planned(wall(width=3000.0, **QUIET), orders(30))) == []
    found = finding(planned(wall(width=2920.0, **QUIET), orders(30)), "wall-edge")
    assert (found.severity, found.measured) == ("warning", pytest.approx(20))


def test_anchors_want_six_diameters_between_them_and_to_the_edge():
    two = ((-20.0, 0.0), (20.0, 0.0))
    assert codes(planned(wall(hanger=two, hole=6.0, **QUIET), orders(30))) == []  # 40 mm, 36 wanted
    found = finding(planned(wall(hanger=two, hole=8.0, **QUIET), orders(30)), "anchor-spacing")  # ACI 318-19, 17.9.2(a)
    assert (found.measured, found.allowed) == (40, 48)
    found = finding(planned(wall(hole=13.0, width=2850.0 + 150, **QUIET), orders(30)), "anchor-edge")
    assert (found.measured, found.allowed) == (75, 78)


def test_advice_on_heights_is_a_note_with_its_source():
    plan = planned(wall(hanger=((0.0, 25.0),)), orders(100))
    # ten rows of 150 about 1500 mm: middles from 825 to 2175 mm above the floor, holes 25 above them
    low, high = finding(plan, "wall-low"), finding(plan, "wall-high")
    assert (low.measured, high.measured) == (825, 2200)
    assert (low.severity, high.severity) == ("note", "note")
    assert "ADA Standards 2010" in low.message
    assert "20 plates hang lower" in low.message
    assert "wall-sight" not in codes(plan)
    assert finding(planned(wall(level=1700.0, **QUIET), orders(30)), "wall-sight").measured == 1700


def test_a_plate_that_moved_into_a_keep_out_is_told():
    # its edge is 580 mm from the centre line where it was planned
    keys = wall(keep_out=((1800.0 + 582, 1390.0, 60.0, 80.0),), moved=(("017", ((9.5, 0.0),)),))
    assert "017 at B7" in finding(planned(keys, orders(40)), "wall-keep-out").message


def test_a_row_of_a_design_that_is_unknown_takes_as_much_room_as_the_largest():
    plan = planned(wall(**QUIET), [Order(id="1", row=2, name="Ida", design="mirror")], {"": face(110, 80)})
    assert plan.outlines[0].area == pytest.approx(110 * 80)
