"""Who hangs where, and that later names move nobody who hangs."""

from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from nameplate.model import Order
from tests.wall.walls import codes, face, orders, planned, wall


def slots(plan):
    return {hanging.plate.id: hanging.place.name for hanging in plan.hangings}


@given(st.integers(0, 60), st.integers(1, 40), st.integers(1, 3), st.integers(1, 40), st.floats(-11, 11))
def test_names_at_the_end_of_the_list_move_no_plate_and_no_hole(now, later, copies, off, by):
    assume(not now < off <= now + later)  # a hole cannot be drilled for a name that is not there
    keys = wall(moved=((f"{off:03d}", ((by, 0.0),)),), keep_out=((0.0, 0.0, 500.0, 900.0),))
    some = orders(now, copies=copies)
    more = [*some, *(Order(id=f"new{k}", row=100 + k, name="New") for k in range(later))]
    before, after = planned(keys, some), planned(keys, more)
    there = {hanging.plate.id: hanging for hanging in after.hangings}
    assert [there[hanging.plate.id] for hanging in before.hangings] == list(before.hangings)


def test_a_second_copy_has_a_place_and_a_number_of_its_own():
    first, second, third = orders(3)
    plan = planned(wall(), [first, replace(second, copies=2), third])
    assert slots(plan) == {"001": "A1", "002": "A2", "002/2": "A3", "003": "A4"}
    assert plan.slots == {("001", 1): "A1", ("002", 1): "A2", ("002", 2): "A3", ("003", 1): "A4"}


def test_a_plate_on_hold_keeps_its_place():
    first, second, third = orders(3)
    assert slots(planned(wall(), [first, replace(second, hold=True), third]))["003"] == "A3"


def test_by_surname_case_and_accents_do_not_count_and_it_is_said_that_later_names_move_others():
    names = ["Zoë Abara", "Ida moss", "Łukasz Ödön", "Ada Moss", "Jo"]
    some = [Order(id=str(k), row=k + 2, name=name) for k, name in enumerate(names)]
    plan = planned(wall(order="surname"), some)
    assert [h.plate.order.name for h in plan.hangings] == ["Zoë Abara", "Jo", "Ada Moss", "Ida moss", "Łukasz Ödön"]
    assert "wall-order" in codes(plan)
    assert "wall-order" not in codes(planned(wall(), some))


def test_by_design_plates_without_one_come_first_then_those_of_the_ticket_in_its_order():
    designs = ["gold", "", "silver", "gold", ""]
    some = [Order(id=str(k), row=k + 2, name="Ida", design=design) for k, design in enumerate(designs)]
    plan = planned(wall(order="design"), some, {"": face(110, 80), "silver": face(90, 60), "gold": face(110, 80)})
    assert [h.plate.id for h in plan.hangings] == ["1", "4", "2", "0", "3"]


def test_by_position_every_row_names_its_place_and_what_cannot_be_is_said_by_row():
    cells = ["B-02", "a1", "A1", "Z9", "by the door", "C1; C2", "J5"]
    some = [
        Order(id=str(k), row=k + 2, name="Ida", position=cell, copies=2 if ";" in cell else 1)
        for k, cell in enumerate(cells)
    ]
    plan = planned(wall(order="position", keep_out=((1700.0, 150.0, 200.0, 100.0),)), some)
    assert slots(plan) == {"1": "A1", "0": "B2", "5": "C1", "5/2": "C2"}
    said = {f.row: f.message for f in plan.findings if f.code == "wall-no-place"}
    assert "A1 is taken by 1" in said[4]
    assert "Z9 is no place of the wall (A1 to J10)" in said[5]
    assert "J5 lies in a keep_out" in said[8]
    assert "1 plate has no place in the column position (row 6)" in said[None]


@pytest.mark.parametrize(
    "cells, graveness",
    [(["A1", "", ""], "note"), (["", ""], "warning"), (["A1", "by the door"], "warning"), (["Z9", ""], "warning")],
)
def test_rows_without_a_position_beside_rows_with_one_are_only_noted(cells, graveness):
    some = [Order(id=str(k), row=k + 2, name="Ida", position=cell) for k, cell in enumerate(cells)]
    found = [f for f in planned(wall(order="position"), some).findings if f.code == "wall-no-place" and f.row is None]
    assert [(f.severity, f.measured) for f in found] == [(graveness, len(cells) - (cells[0] != ""))]


def test_positions_of_the_list_that_the_wall_does_not_follow_are_told_once():
    some = [Order(id="1", row=2, name="Ida", position="A1"), Order(id="2", row=3, name="Jo", position="B1")]
    assert [f.message for f in planned(wall(), some).findings if f.code == "wall-position"] == [
        '[wall] the column position names other places than the wall gives (row 3); order = "position" follows it'
    ]


def test_more_plates_than_places_is_a_warning_with_the_rows_that_would_do():
    plan = planned(wall(), orders(121))
    assert len(plan.hangings) == 100
    (found,) = [f for f in plan.findings if f.code == "wall-full"]
    assert (found.severity, found.measured, found.allowed) == ("warning", 121, 100)
    assert "21 hang nowhere; rows = 13, or more columns" in found.message
    assert not [f for f in planned(wall(rows=13, height=2500.0), orders(121)).findings if f.code == "wall-full"]


@pytest.mark.parametrize(("names", "told"), [(99, []), (100, []), (101, ["wall-full"])])
def test_only_what_has_no_place_is_told(names, told):
    assert [code for code in codes(planned(wall(), orders(names))) if code == "wall-full"] == told


@pytest.mark.parametrize(("names", "free", "short"), [(97, ["J8", "J9", "J10"], False), (98, ["J9", "J10"], True)])
def test_places_for_later_names_are_the_ones_after_the_last_plate(names, free, short):
    plan = planned(wall(reserve=3), orders(names))
    assert [place.name for place in plan.reserved] == free
    assert ("wall-reserve" in codes(plan)) == short


def test_a_moved_hole_of_a_plate_that_is_not_there_is_told():
    plan = planned(wall(moved=(("21", ((1.0, 0.0),)),)), orders(20))
    assert [f.message for f in plan.findings if f.code == "wall-moved"] == [
        "[wall] moved: plate 21 is not on the wall; write ids as wall.csv has them, of a second copy like 017/2"
    ]


def test_a_moved_hole_is_found_by_its_plates_number_without_zeros():
    off = ((1.0, 0.5),)
    listed = [*orders(20), Order(id="021", row=22, name="Ida Moss", copies=2), Order(id="21", row=23, name="Odo Fenn")]
    plan = planned(wall(moved=(("7", off), ("017/1", off), ("0021", off))), listed)
    assert {h.plate.id for h in plan.hangings if h.holes[0].drilled} == {"007"}
    assert [(f.severity, f.message) for f in plan.findings if f.code == "wall-moved"] == [
        (
            "warning",
            "[wall] moved: plate 017/1 is not on the wall; write ids as wall.csv has them, of a second copy like 017/2",
        ),
        ("error", "[wall] moved: 0021 may be plate 021 or 21; write it with its zeros"),
    ]
    copies = [Order(id="004", row=2, name="Ida Moss", copies=2)]
    plan = planned(wall(moved=(("4/2", off),)), copies)
    assert [h.plate.id for h in plan.hangings if h.holes[0].drilled] == ["004/2"]
    plan = planned(wall(moved=(("4", off), ("004", ((2.0, 0.0),)))), copies)
    assert [f.message for f in plan.findings if f.code == "wall-moved"] == [
        "[wall] moved: 004 is plate 004, which it has twice; leave one of the two out"
    ]
