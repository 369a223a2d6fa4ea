import json

import pytest

from nameplate import tolerances
from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.cut.record import read_record, record
from nameplate.geometry import region


def test_what_was_recorded_is_read_back(sheet, tmp_path):
    path = tmp_path / "nominal.json"
    path.write_text("".join(record([("cut/a.svg", sheet.expected)])), encoding="utf-8")
    ((name, got),) = read_record(path).sheets
    assert name == "cut/a.svg"
    for field in ("material", "width", "height", "kerf", "gap", "edge_margin", "web"):
        assert getattr(got, field) == getattr(sheet.expected, field)
    for a, b in zip(got.parts, sheet.expected.parts, strict=True):
        assert (a.key, a.pieces, a.web, a.marks) == (b.key, b.pieces, b.web, b.marks)
        assert region.hausdorff(a.region, b.region) <= 10**-tolerances.DECIMALS


def test_loose_pieces_and_holes(tmp_path):
    frame = region.difference(region.rectangle(0, 0, 10, 10), region.rectangle(2, 2, 4, 4))
    shape = region.union(frame, region.rectangle(20, 0, 25, 5))
    expected = SheetExpectation("m", 50, 50, 0.2, 1, 1, None, (ExpectedPart("ü1", "lettering", 1, 1, shape, 2),))
    path = tmp_path / "nominal.json"
    path.write_text("".join(record([("x", expected)])), encoding="utf-8")
    ((_, got),) = read_record(path).sheets
    assert got.parts[0].region.area == pytest.approx(shape.area)
    assert region.hole_count(got.parts[0].region) == 1 and len(region.solids(got.parts[0].region)) == 2
    assert got.parts[0].plate == "ü1"


def test_same_input_same_bytes(sheet):
    assert list(record([("a", sheet.expected)])) == list(record([("a", sheet.expected)]))


def test_nothing():
    assert json.loads("".join(record([]))) == {"version": 1, "sheets": []}
