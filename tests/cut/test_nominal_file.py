import base64
import json
import re
import zlib
from dataclasses import asdict, replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from nameplate.cut import read_nominal
from nameplate.cut.expectation import DropIn, ExpectedPart, SheetExpectation
from nameplate.cut.inspect import examine
from nameplate.cut.kept_entries import entries_document, entries_from
from nameplate.cut.machine import PLAIN, Axes
from nameplate.cut.nominal_file import SLACK, PartEntry, SheetEntry
from nameplate.cut.packing import COARSE, STEP, pack, unpack
from nameplate.cut.read_back import ReadSheet
from nameplate.cut.read_nominal import read_record
from nameplate.cut.scores import unlike
from nameplate.errors import OutputError
from nameplate.geometry import region
from nameplate.geometry.beam import Kerf, Strip
from nameplate.geometry.lie import Lie
from tests.nest.hostile import nodes, replaced

from .records import record


def test_what_was_recorded_is_read_back(sheet, tmp_path):
    path = tmp_path / "nominal.json"
    path.write_text(record([("cut/a.svg", sheet.expected)]), encoding="utf-8")
    ((name, got),) = read_record(path).sheets
    assert name == "cut/a.svg"
    for field in ("material", "width", "height", "kerf", "gap", "edge_margin"):
        assert getattr(got, field) == getattr(sheet.expected, field)
    for a, b in zip(got.parts, sheet.expected.parts, strict=True):
        assert (a.key, a.pieces, a.web, a.at) == (b.key, b.pieces, b.web, b.at)
        assert region.hausdorff(a.region, b.region) <= SLACK
        assert unlike(a.marks, b.marks) == ((), ())


def test_entries_that_are_kept_are_told_by_version_and_those_of_stale_plates_are_tried_in_nothing():
    def same(plate, *version):
        return (plate, "lettering", 1, True, *version)

    parts = {same(plate): PartEntry(same(plate), {}, (("x", 1),), ((0,),)) for plate in ("001", "002")}
    sheet = SheetEntry({"width": 9.0}, tuple((of, 1, 2.0, 3.0, 90.0) for of in parts))
    document = json.loads(json.dumps(entries_document(sheet, parts)))
    kept = entries_from(
        document, "cut/a.svg", version=lambda plate, kind, layer: {"001": 4, "002": 7}[plate], stale={"002"}
    )
    assert [part.same[-2:] for part in kept.parts] == [(True, 4), (False, 7)]
    assert [part.table["fits"] for part in kept.parts] == [True, False]
    assert [of for of, *_ in kept.sheet.placed] == [part.same for part in kept.parts]
    assert (kept.file, kept.sheet.table, kept.sheet.placed[0][1:]) == ("cut/a.svg", sheet.table, (1, 2.0, 3.0, 90.0))


def test_a_sheet_that_lies_face_down_its_labels_and_its_axes_are_read_back(sheet, tmp_path):
    label = (np.array([(3.0, 3.0), (5.0, 3.0), (5.0, 4.5)]), np.array([(6.0, 3.0), (6.0, 4.5)]))
    first, *others = sheet.expected.parts
    lies = [Lie(part.at.x, part.at.y, part.at.turn, over=True) for part in (first, *others)]
    parts = tuple(
        replace(part, region=lie.region(part.at.region_back(part.region)), marks=None, at=lie)
        for part, lie in zip((first, *others), lies, strict=True)
    )
    parts = (replace(parts[0], labels=label), *parts[1:])
    wanted = replace(sheet.expected, parts=parts, face_down=True, axes=Axes("bottom-right", left=True))
    path = tmp_path / "nominal.json"
    path.write_text(record([("cut/a.svg", wanted)]), encoding="utf-8")
    ((_, got),) = read_record(path).sheets
    assert (got.face_down, got.axes) == (True, wanted.axes)
    assert [len(part.labels) for part in got.parts] == [2, *(0 for _ in others)]
    assert unlike(got.parts[0].labels, label) == ((), ())
    for a, b in zip(got.parts, wanted.parts, strict=True):
        assert a.at == b.at
        assert region.hausdorff(a.region, b.region) <= SLACK


def test_a_kerf_that_differs_by_operation_and_axis_is_read_back(sheet, tmp_path):
    kerf = Kerf(Strip(0.1, 0.1), Strip(0.26, 0.14))
    path = tmp_path / "nominal.json"
    path.write_text(record([("cut/a.svg", replace(sheet.expected, kerf=kerf))]), encoding="utf-8")
    assert read_record(path).sheets[0][1].kerf == kerf


@pytest.mark.parametrize(
    "kerf", [{}, {"inside": 0.2, "outside": 0.2}, {"inside": {"x": 1}, "outside": {"x": 1, "y": 1}}]
)
def test_a_kerf_that_is_none_is_refused(sheet, tmp_path, kerf):
    path = tmp_path / "nominal.json"
    told = json.loads(record([("cut/a.svg", sheet.expected)]))
    told["sheets"][0]["kerf"] = kerf
    path.write_text(json.dumps(told), encoding="utf-8")
    with pytest.raises(OutputError, match="kerf"):
        read_record(path)


def test_loose_pieces_and_holes(tmp_path):
    frame = region.difference(region.rectangle(0, 0, 10, 10), region.rectangle(2, 2, 4, 4))
    shape = region.union(frame, region.rectangle(20, 0, 25, 5))
    expected = SheetExpectation("m", 50, 50, Kerf.of(0.2), 1, 1, (ExpectedPart("ü1", "lettering", 1, 1, shape, 2),))
    path = tmp_path / "nominal.json"
    path.write_text(record([("cut/x.svg", expected)]), encoding="utf-8")
    ((_, got),) = read_record(path).sheets
    assert region.hausdorff(got.parts[0].region, shape) <= SLACK
    assert region.hole_count(got.parts[0].region) == 1 and len(region.solids(got.parts[0].region)) == 2
    assert got.parts[0].plate == "ü1"


def recorded(tmp_path, clearance, *parts):
    """Write a record of these parts; gives its part entries and the regions that are read from it, by kind."""
    expected = SheetExpectation("m", 90, 90, Kerf.of(0.2), 1, 1, parts)
    path = tmp_path / "nominal.json"
    path.write_text(record([("cut/x.svg", expected)], clearance=clearance), encoding="utf-8")
    ((_, got),) = read_record(path).sheets
    return json.loads(path.read_text(encoding="utf-8"))["parts"], {part.kind: part.region for part in got.parts}


def part(kind, shape):
    return ExpectedPart("1", kind, 1, 1, shape, at=Lie(0.0, 0.0, 0.0))


#: A letter with a counter, and a notch in which the template has a tongue.
LETTER = region.difference(
    region.rectangle(10, 10, 40, 30), region.union(region.rectangle(14, 14, 20, 20), region.rectangle(25, 20, 27, 30))
)


def test_a_window_is_not_written_but_derived(tmp_path):
    # the definition, with the geometry library itself: filled, grown by round corners
    window = shapely.buffer(region.filled(LETTER), 0.2, quad_segs=64)
    template = region.difference(region.rectangle(0, 0, 50, 40), region.as_region(window))
    (_, entry), got = recorded(tmp_path, 0.2, part("lettering", LETTER), part("template", template))
    assert entry["windows"] == [[0, 0.2, ""]] and entry["solids"] == [[2]]
    assert region.hausdorff(got["template"], template) <= SLACK


def test_of_a_window_with_a_tongue_cut_off_only_that_is_written(tmp_path):
    grown = region.offset(region.filled(LETTER), 0.2)
    window = region.union(grown, region.rectangle(25, 20, 27, 24))
    template = region.difference(region.rectangle(0, 0, 50, 40), window)
    (_, entry), got = recorded(tmp_path, 0.2, part("lettering", LETTER), part("template", template))
    ((_, _, beyond),) = entry["windows"]
    (ring,) = unpack(beyond)
    assert 1.6 * 3.8 < region.from_ring(ring).area < 1.8 * 4.1  # the tongue, not the window
    assert region.hausdorff(got["template"], template) <= SLACK


@pytest.mark.parametrize("changed", [region.moved(LETTER, 0.05), region.offset(LETTER, -0.05), region.EMPTY])
def test_a_window_that_would_be_derived_otherwise_is_written(tmp_path, changed):
    hole = region.offset(region.filled(changed), 0.2)
    template = region.difference(region.rectangle(0, 0, 50, 40), hole)
    (_, entry), got = recorded(tmp_path, 0.2, part("lettering", LETTER), part("template", template))
    assert "windows" not in entry and region.hausdorff(got["template"], template) <= SLACK


def test_copies_and_shared_frames_are_written_once(tmp_path):
    frame = region.rectangle(0, 0, 50, 40)
    parts = [
        ExpectedPart(plate, "template", copy, 1, region.difference(frame, hole), at=Lie(0.0, 0.0, 0.0))
        for plate, hole in (("1", region.rectangle(5, 5, 9, 9)), ("2", region.rectangle(5, 5, 9, 8)))
        for copy in (1, 2)
    ]
    entries, _ = recorded(tmp_path, 0.2, *parts)
    assert [entry["solids"] for entry in entries] == [[[0, 1]], [[0, 2]]]
    assert [len(entry["rings"]) for entry in entries] == [2, 1]


def test_same_input_same_bytes(sheet):
    assert list(record([("a", sheet.expected)])) == list(record([("a", sheet.expected)]))


def test_nothing():
    empty = {"version": 4, "parts": [], "sheets": [], "jigs": [], "drop_ins": []}
    assert json.loads(record([])) == empty


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


def small_record():
    tile = region.difference(region.rectangle(0, 0, 9, 9), region.rectangle(2, 2, 4, 4))
    marks = (np.array([(1.0, 1.0), (2.0, 1.0)]), np.array([(5.0, 1.0), (6.0, 1.0), (7.0, 2.0)]))
    lie, label = Lie(9.0, 9.0, 0.0), (np.array([(30.0, 30.0), (32.0, 30.0)]),)
    part = ExpectedPart("1", "blank", 1, 1, region.moved(tile, 9, 9), 1, None, marks, labels=label, at=lie)
    axes = Axes("top-left", down=True)
    sheet = SheetExpectation("blank", 50, 50, Kerf.of(0.2), 1, 1, (part,), face_down=True, axes=axes)
    fit = DropIn("the plaque", ("1", "blank", 1), 0.1, None, region.rectangle(2, 2, 3, 3))
    return json.loads(record([("cut/a.svg", sheet)], [fit], [("jigs/a.svg", sheet)]))


@pytest.mark.parametrize("hostile", HOSTILE, ids=lambda value: repr(value)[:20])
def test_any_value_in_place_of_any_other_is_read_or_refused_with_the_field(tmp_path, hostile):
    path, whole = tmp_path / "nominal.json", small_record()
    read = refused = 0
    for place in nodes(whole):
        path.write_text(json.dumps(replaced(whole, place, hostile)), encoding="utf-8")
        try:
            run = read_record(path)
        except OutputError as error:
            assert "nominal.json" in str(error)
            assert not place or place == ("version",) or "damaged" in str(error) or "too large" in str(error)
            own = str(error).replace("`nameplate make`", "")
            assert not re.search(r"Expected|Object|Invalid|[$`]|something else", own), own
            refused += 1
        else:  # then it is a record like any other, and can be inspected
            for _, expected in run.sheets:
                examine(ReadSheet(50.0, 50.0, (), ()), expected, "a.svg")
            read += 1
    assert refused > 20 and read + refused == len(list(nodes(whole)))


@pytest.mark.parametrize("text", ["", "!", "AAAA", "x" * 999, "A" * 4000, ":", ":[", ":é", ":~~~~~", ":" + "0" * 999])
def test_a_pack_that_is_none(text):
    try:
        assert unpack(text) == []
    except ValueError as error:
        assert "no pack of lines" in str(error)


def test_a_pack_that_unfolds_without_end():
    bomb = zlib.compressobj(9, zlib.DEFLATED, -15)
    data = bomb.compress(bytes(30_000_000)) + bomb.flush()
    with pytest.raises(ValueError, match="no pack of lines"):
        unpack(base64.b64encode(data).decode())


@given(
    st.lists(
        st.lists(st.tuples(*[st.floats(-5000, 5000)] * 2), min_size=1, max_size=40).map(np.array),
        min_size=1,
        max_size=5,
    ),
    st.sampled_from([STEP, COARSE]),
)
def test_what_is_packed_is_unpacked(lines, step):
    got = unpack(pack(lines, step))
    assert [len(line) for line in got] == [len(line) for line in lines]
    assert all(np.abs(a - b).max() <= step / 2 + 1e-9 for a, b in zip(got, lines, strict=True))


def test_a_pack_of_an_earlier_record_is_read_and_written_as_then():
    # packs lie in the records of jobs for years, and digests of them tell whether a look has changed
    lines = [np.array([(0.0, 0.0), (12.5, 0.25), (12.501, -3.0)]), np.array([(1.0, 1.0)])]
    assert pack(lines) == (kept := "Y2FjYlhxmHHpYcbbmxkZvjBfN1tSCAA=")
    assert [line.round(9).tolist() for line in unpack(kept)] == [line.tolist() for line in lines]


def test_copies_cost_a_line_and_not_a_shape(tmp_path):
    t = np.linspace(0, 2 * np.pi, 500, endpoint=False)
    disc = region.from_ring(np.column_stack([9 * np.cos(t), 9 * np.sin(t)]))

    def sheet(copies):
        places = [(20.0 * k, 7.25, 90.0 * (k % 4)) for k in range(copies)]
        parts = tuple(
            ExpectedPart("1", "blank", k + 1, 1, region.moved(disc, x, y, turn=turn), at=Lie(x, y, turn))
            for k, (x, y, turn) in enumerate(places)
        )
        return SheetExpectation("blank", 900, 50, Kerf.of(0.2), 1, 1, parts)

    one, many = (record([("cut/a.svg", sheet(n))]) for n in (1, 40))
    assert len(many) - len(one) < 39 * 30
    path = tmp_path / "nominal.json"
    path.write_text(many, encoding="utf-8")
    ((_, got),) = read_record(path).sheets
    for a, b in zip(got.parts, sheet(40).parts, strict=True):
        assert a.key == b.key and region.hausdorff(a.region, b.region) <= SLACK


#: What a small record may do to stand for endless drawings: name the same again and again, or unfold without end.
ENDLESS = {
    "placed": lambda d: d["sheets"][0].update(placed=d["sheets"][0]["placed"] * 100),
    "solids": lambda d: d["parts"][0].update(solids=d["parts"][0]["solids"] * 100),
    "rings": lambda d: d["parts"][0].update(rings=d["parts"][0]["rings"] * 100),
    "windows": lambda d: d["parts"][1].update(windows=[[0, 0.2, ""]] * 11),
    "labels": lambda d: d["sheets"][0].update(labels=[[0, pack([CIRCLE])]] * 100),
}

CIRCLE = 9 * np.column_stack([f(np.linspace(0, 2 * np.pi, 500, endpoint=False)) for f in (np.cos, np.sin)])


@pytest.mark.parametrize("how", ENDLESS)
def test_a_small_record_does_not_stand_for_endless_drawings(tmp_path, monkeypatch, how):
    disc = region.from_ring(CIRCLE)
    parts = tuple(ExpectedPart(plate, "blank", 1, 1, disc, at=Lie(0.0, 0.0, 0.0)) for plate in ("1", "2"))
    document = json.loads(record([("cut/a.svg", SheetExpectation("blank", 90, 90, Kerf.of(0.2), 1, 1, parts))]))
    path = tmp_path / "nominal.json"
    monkeypatch.setattr(read_nominal, "MOST_PACKED", 10_000)
    monkeypatch.setattr(read_nominal, "MOST_LAID", 10_000)
    path.write_text(json.dumps(document), encoding="utf-8")
    assert len(read_record(path).sheets) == 1
    ENDLESS[how](document)
    path.write_text(json.dumps(document), encoding="utf-8")
    with pytest.raises(OutputError, match=r"more than 10000 points in all|expected a list of at most 10"):
        read_record(path)


#: The colours of the operations, and one of an operation that there is not.
FOUR_COLOURS = {"score": "#000000", "cut_inside": "#0000ff", "cut_outside": "#ff0000", "engrave": "#00ff00"}


@pytest.mark.parametrize(
    ("place", "value", "said"),
    [
        (("parts", 0, "layer"), 0, "parts 1, layer: found 0, expected a whole number of at least 1"),
        (("parts", 0, "layer"), "two", 'parts 1, layer: found "two", expected a whole number'),
        (("parts", 0, "kind"), "lid", 'parts 1, kind: found "lid", expected one of backing, '),
        (("parts", 0, "plate"), "", 'parts 1, plate: found "", expected a text that is not empty'),
        (("parts", 0, "web"), "x", 'parts 1, web: found "x", expected a number or null'),
        (("parts", 0, "solids", 0), [], "parts 1, solids 1: found a list of 0, expected a list that is not empty"),
        (("parts", 0), 3, "parts 1: found 3, expected a table"),
        (("parts", 0), {"plate": "1"}, "parts 1, kind is missing"),
        (("sheets", 0, "placed", 0, 4), 500, "sheets 1, placed 1, 5: found 500, expected a number of at most 360"),
        (("sheets", 0, "placed", 0), [0, 1], "sheets 1, placed 1: found a list of 2, expected a list of 5"),
        (("sheets", 0, "axes", "origin"), "top", 'origin: found "top", expected one of bottom-left, bottom-right'),
        (("sheets", 0, "axes", "z"), 1, "sheets 1, axes, z is no field of this program"),
        (("sheets", 0, "colours"), FOUR_COLOURS, "sheets 1, colours, engrave is no field of this program"),
        (("sheets", 0, "style"), {**asdict(PLAIN), "passes": 2}, "sheets 1, style, passes is no field of this program"),
        (("sheets", 0, "kerf"), "wide", 'sheets 1, kerf: found "wide", expected a number or a table'),
        (("sheets",), {}, "sheets: found a table, expected a list"),
    ],
)
def test_what_is_damaged_is_told_in_our_words(tmp_path, place, value, said):
    path = tmp_path / "nominal.json"
    path.write_text(json.dumps(replaced(small_record(), place, value)), encoding="utf-8")
    with pytest.raises(OutputError) as caught:
        read_record(path)
    told = str(caught.value)
    assert told.startswith(f"{path} is damaged: ") and said in told
    assert told.endswith("; put back a copy of it, or run `nameplate make` again")


def star(corners, deep, *, across=20.0):
    """A ring whose corners lie on two circles in turn."""
    turn = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    far = across + np.where(np.arange(corners) % 2, deep, 0.0)
    return np.column_stack([far * np.cos(turn), far * np.sin(turn)])


@pytest.mark.parametrize(
    ("ring", "is_read"),
    [
        (star(100_000, 3.0), False),  # 300 m of outline
        (star(20_000, 3.0), False),  # 60 m
        (star(100_000, 0.0), False),  # 126 mm, a corner every 0.001 mm
        (star(4_000, 3.0), True),
        (star(50_000, 3.0, across=1000.0), True),  # 152 m, on four square metres
    ],
)
def test_a_shape_finer_than_any_that_is_cut_is_refused_before_it_is_burned(tmp_path, ring, is_read):
    document = small_record()
    document["parts"][0] |= {"rings": [pack([ring], COARSE)], "solids": [[0]], "marks": None}
    path = tmp_path / "nominal.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    if is_read:
        assert len(read_record(path).sheets) == 1
        return
    with pytest.raises(OutputError, match=r"damaged: parts 1: rings: found \d+ corners on \d+ mm of outline in 4"):
        read_record(path)
