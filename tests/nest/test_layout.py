import json

import pytest

from nameplate.errors import LayoutError
from nameplate.findings import Finding
from nameplate.geometry.region import bounds, from_ring, mirrored, rectangle
from nameplate.model import Part
from nameplate.nest.layout import (
    Layout,
    Piece,
    SheetLayout,
    layout_to_json,
    name_of,
    pieces_of,
    placed,
    placement,
    strangers,
)

from .stored_text import layout_of_text


def piece(plate, copy=1):
    return Piece(plate, "lettering", copy, 1, "lettering", rectangle(-10, -5, 10, 5))


def sheet(*placements, **changes):
    values = {"material": "lettering", "width": 100.0, "height": 50.0, "stock": 0, "price": 2.5}
    return SheetLayout(**{**values, **changes}, placements=placements)


LAYOUT = Layout(
    (
        sheet(
            placement(piece("1"), 20.123456, 10, 0), placement(piece("2"), 50, 10, 540), keep_outs=rectangle(0, 0, 5, 5)
        ),
    ),
    unplaced=(piece("3").key,),
)


def test_copies_become_pieces_numbered_from_one():
    part = Part("7", "lettering", "lettering", rectangle(0, 0, 1, 1), copies=3)
    assert [p.key for p in pieces_of([part])] == [("7", "lettering", n, 1) for n in (1, 2, 3)]


def test_parts_of_a_material_that_lies_face_down_are_mirrored_and_no_others():
    flag = from_ring([(0, 0), (0, 3), (2, 3), (2, 2), (0.5, 2), (0.5, 0)])
    parts = [Part(m, "lettering", m, flag) for m in ("brass", "card")]
    down, up = pieces_of(parts, face_down=["brass"])
    assert up.region.equals(flag) and tuple(bounds(down.region)) == (-2, 0, 0, 3)
    assert down.region.equals(mirrored(flag))


def test_numbers_are_rounded_when_a_placement_is_made():
    at = placement(piece("1"), 1.23456789, -0.00001, -90)
    assert (at.x, at.y, at.turn) == (1.2346, 0.0, 270.0)
    assert str(at.y) == "0.0"


def test_a_piece_turns_about_the_plates_origin_and_then_shifts():
    p = Piece("1", "lettering", 1, 1, "lettering", rectangle(0, 0, 2, 1))
    assert tuple(bounds(placed(p, placement(p, 10, 20, 90)))) == pytest.approx((9, 20, 10, 22))


def test_a_layout_survives_writing_and_reading():
    text = layout_to_json(LAYOUT)
    again = layout_of_text(text)
    assert strangers(again, [piece("1"), piece("2"), piece("3")]) == []
    assert layout_to_json(again) == text
    assert again.sheets[0].placements == LAYOUT.sheets[0].placements
    assert again.sheets[0].keep_outs.equals(rectangle(0, 0, 5, 5))


def test_a_layout_of_another_job_is_refused_with_every_reason():
    assert strangers(layout_of_text(layout_to_json(LAYOUT)), [piece("1"), piece("4")]) == [
        "plate 2 lettering is in the layout but not in this job",
        "plate 4 lettering is in this job but not in the layout",
    ]


def test_a_doubled_piece_and_a_wrong_material_are_named():
    wrong = Layout((sheet(*LAYOUT.sheets[0].placements[:1] * 2, material="template"),))
    problems = strangers(layout_of_text(layout_to_json(wrong)), [piece("1")])
    assert any("2 times" in p for p in problems)
    assert any("sheet of template; it is made of lettering" in p for p in problems)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "not valid JSON"),
        ("[]", "version none"),
        ('{"version": 2}', "version 2"),
        ('{"version": true}', "version: found true, expected a whole number"),
        ('{"version": 1, "sheets": 3}', "sheets: found 3, expected a list"),
        ('{"version": 1, "sheets": [4]}', "sheets 1: found 4, expected a table"),
        (
            '{"version": 1, "sheets": [{"material": "a", "width": -3}]}',
            "sheets 1, width: found -3, expected a number of more than 0",
        ),
        ('{"version": 1, "unplaced": [["a"]]}', "unplaced 1: found a list of 1, expected a list of 4"),
        ('{"version": 1, "findings": 4}', "findings: found 4, expected a list"),
        ('{"version": 1, "shets": []}', "shets is no field of this program"),
    ],
)
def test_a_broken_file_is_refused_in_words(text, word):
    with pytest.raises(LayoutError, match=word):
        layout_of_text(text)


def test_a_wrong_field_of_a_file_is_told_by_its_place():
    document = json.loads(layout_to_json(LAYOUT))
    document["sheets"][0]["placements"][1]["kind"] = "spoon"
    with pytest.raises(LayoutError, match='sheets 1, placements 2, kind: found "spoon", expected one of backing, '):
        layout_of_text(json.dumps(document))


def test_what_a_file_says_was_found_is_not_believed():
    found = Layout(LAYOUT.sheets, (Finding("layout-gap", "error", "forged"),), LAYOUT.unplaced)
    assert layout_of_text(layout_to_json(found)).findings == ()


def test_a_piece_is_named_for_people():
    assert name_of(("7", "backing", 1, 2)) == "plate 7 backing layer 2"
