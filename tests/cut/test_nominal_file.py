import base64
import copy
import json
import zlib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.cut.expectation import DropIn, ExpectedPart, SheetExpectation
from nameplate.cut.inspect import examine
from nameplate.cut.nominal_file import SLACK, record_lines
from nameplate.cut.packing import STEP, pack, unpack
from nameplate.cut.read_back import ReadSheet
from nameplate.cut.read_nominal import read_record
from nameplate.cut.scores import unlike
from nameplate.errors import OutputError
from nameplate.geometry import region


def test_what_was_recorded_is_read_back(sheet, tmp_path):
    path = tmp_path / "nominal.json"
    path.write_text("".join(record_lines([("cut/a.svg", sheet.expected)])), encoding="utf-8")
    ((name, got),) = read_record(path).sheets
    assert name == "cut/a.svg"
    for field in ("material", "width", "height", "kerf", "gap", "edge_margin", "web"):
        assert getattr(got, field) == getattr(sheet.expected, field)
    for a, b in zip(got.parts, sheet.expected.parts, strict=True):
        assert (a.key, a.pieces, a.web, a.at) == (b.key, b.pieces, b.web, b.at)
        assert region.hausdorff(a.region, b.region) <= SLACK
        assert unlike(a.marks, b.marks) == ((), ())


def test_loose_pieces_and_holes(tmp_path):
    frame = region.difference(region.rectangle(0, 0, 10, 10), region.rectangle(2, 2, 4, 4))
    shape = region.union(frame, region.rectangle(20, 0, 25, 5))
    expected = SheetExpectation("m", 50, 50, 0.2, 1, 1, None, (ExpectedPart("ü1", "lettering", 1, 1, shape, 2),))
    path = tmp_path / "nominal.json"
    path.write_text("".join(record_lines([("cut/x.svg", expected)])), encoding="utf-8")
    ((_, got),) = read_record(path).sheets
    assert got.parts[0].region.area == pytest.approx(shape.area)
    assert region.hole_count(got.parts[0].region) == 1 and len(region.solids(got.parts[0].region)) == 2
    assert got.parts[0].plate == "ü1"


def test_same_input_same_bytes(sheet):
    assert list(record_lines([("a", sheet.expected)])) == list(record_lines([("a", sheet.expected)]))


def test_nothing():
    empty = {"version": 2, "step": 0.001, "parts": [], "sheets": [], "jigs": [], "drop_ins": []}
    assert json.loads("".join(record_lines([]))) == empty


# --- a record that somebody changed ---------------------------------------------------------------------------------

#: What may stand in place of any value: each is of a kind, a size or a depth that no record has.
HOSTILE = [
    None,
    True,
    -1,
    0,
    2**53,
    1e308,
    -0.0,
    "",
    "x",
    "\x00",
    "../../a.svg",
    "A" * 5000,
    [],
    [[]],
    {},
    {"a": 1},
    [0] * 9,
]


def nodes(value, path=()):
    """Every place in a JSON document, as the way to it."""
    yield path
    if isinstance(value, dict | list):
        for key in value if isinstance(value, dict) else range(len(value)):
            yield from nodes(value[key], (*path, key))


def put(document, path, value):
    if not path:
        return value
    changed = copy.deepcopy(document)
    at = changed
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = value
    return changed


def small_record():
    tile = region.difference(region.rectangle(0, 0, 9, 9), region.rectangle(2, 2, 4, 4))
    marks = (np.array([(1.0, 1.0), (2.0, 1.0)]), np.array([(5.0, 1.0), (6.0, 1.0), (7.0, 2.0)]))
    part = ExpectedPart("1", "blank", 1, 1, region.moved(tile, 9, 9), 1, None, marks, at=(9.0, 9.0, 0.0))
    sheet = SheetExpectation("blank", 50, 50, 0.2, 1, 1, None, (part,))
    fit = DropIn("the plaque", ("1", "blank", 1), 0.1, None, region.rectangle(2, 2, 3, 3))
    return json.loads("".join(record_lines([("cut/a.svg", sheet)], [fit], [("jigs/a.svg", sheet)])))


@pytest.mark.parametrize("hostile", HOSTILE, ids=lambda value: repr(value)[:20])
def test_any_value_in_place_of_any_other_is_read_or_refused_with_the_field(tmp_path, hostile):
    path, whole = tmp_path / "nominal.json", small_record()
    read = refused = 0
    for place in nodes(whole):
        path.write_text(json.dumps(put(whole, place, hostile)), encoding="utf-8")
        try:
            run = read_record(path)
        except OutputError as error:
            assert "nominal.json" in str(error)
            assert not place or place == ("version",) or "damaged" in str(error) or "too large" in str(error)
            refused += 1
        else:  # then it is a record like any other, and can be inspected
            for _, expected in run.sheets:
                examine(ReadSheet(50.0, 50.0, (), ()), expected, "a.svg")
            read += 1
    assert refused > 20 and read + refused == len(list(nodes(whole)))


@pytest.mark.parametrize("text", ["", "!", "AAAA", "x" * 999, "A" * 4000])
def test_a_pack_that_is_none(text):
    try:
        assert unpack(text) == []
    except ValueError as error:
        assert "no pack of lines" in str(error)


def test_a_pack_that_unfolds_without_end():
    bomb = zlib.compressobj(9, zlib.DEFLATED, -15)
    data = bomb.compress(bytes(200_000_000)) + bomb.flush()
    with pytest.raises(ValueError, match="no pack of lines"):
        unpack(base64.b64encode(data).decode())


@given(
    st.lists(
        st.lists(st.tuples(*[st.floats(-5000, 5000)] * 2), min_size=1, max_size=40).map(np.array),
        min_size=1,
        max_size=5,
    )
)
def test_what_is_packed_is_unpacked(lines):
    got = unpack(pack(lines))
    assert [len(line) for line in got] == [len(line) for line in lines]
    assert all(np.abs(a - b).max() <= STEP / 2 + 1e-9 for a, b in zip(got, lines, strict=True))


def test_copies_cost_a_line_and_not_a_shape(tmp_path):
    t = np.linspace(0, 2 * np.pi, 500, endpoint=False)
    disc = region.from_ring(np.column_stack([9 * np.cos(t), 9 * np.sin(t)]))

    def sheet(copies):
        places = [(20.0 * k, 7.25, 90.0 * (k % 4)) for k in range(copies)]
        parts = tuple(
            ExpectedPart("1", "blank", k + 1, 1, region.moved(disc, x, y, turn=turn), at=(x, y, turn))
            for k, (x, y, turn) in enumerate(places)
        )
        return SheetExpectation("blank", 900, 50, 0.2, 1, 1, None, parts)

    one, many = ("".join(record_lines([("cut/a.svg", sheet(n))])) for n in (1, 40))
    assert len(many) - len(one) < 39 * 30
    path = tmp_path / "nominal.json"
    path.write_text(many, encoding="utf-8")
    ((_, got),) = read_record(path).sheets
    for a, b in zip(got.parts, sheet(40).parts, strict=True):
        assert a.key == b.key and region.hausdorff(a.region, b.region) <= SLACK
