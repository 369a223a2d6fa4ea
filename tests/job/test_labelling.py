"""Ids scored so that pieces can be told apart: read from the cut files by svgpathtools and shapely."""

import json
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from svgpathtools import Line, parse_path

from nameplate.cut.inspect import examine
from nameplate.cut.read_back import read_sheet
from nameplate.cut.read_nominal import read_record
from nameplate.job.inspect_folder import look_over
from nameplate.ticket.reader import read_ticket
from tests.job.kept_jobs import TICKET, LastingJob
from tests.jobs import json_of

WASTE = '[files]\nlabel = "waste"\n'
BACK = '[files]\nlabel = "back"\nface_down = true\n'
NAMES = {"001": "Wren", "A-2": "Odo", "003": "Isla,2,"}


def lines(path):
    """Give the lines of a cut file as (operation, plate, copy, points), y up."""
    for group in ElementTree.parse(path).getroot():
        for element in group:
            points = []
            for segment in parse_path(element.get("d")):
                ends = np.linspace(0, 1, 2 if isinstance(segment, Line) else 16)
                points += [segment.point(t) for t in ends]
            xy = [(p.real, -p.imag) for p in points]
            yield group.get("data-operation"), element.get("data-plate"), element.get("data-copy"), xy


def drawn(out, material):
    """Give every piece within its outlines, and every label as one shape, by plate and copy."""
    pieces, labels = {}, {}
    for path in sorted((out / "cut").glob(f"{material}-*.svg")):
        for operation, plate, copy, xy in lines(path):
            key = (path.name, plate, copy)
            if operation == "score":
                labels.setdefault(key, []).append(shapely.LineString(xy))
            elif operation == "cut-outside":
                pieces[key] = shapely.make_valid(shapely.Polygon(xy))
    return pieces, {key: shapely.union_all(own) for key, own in labels.items()}


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    job = LastingJob(tmp_path_factory.mktemp("waste")).write(NAMES, extra=WASTE)
    assert job.make().exit_code == 0
    return job


def test_on_the_waste_each_id_stands_beside_its_own_piece(job):
    pieces, labels = drawn(job.out, "lettering")
    assert labels.keys() == pieces.keys()
    assert len(labels) == 4
    for key, label in labels.items():
        x0, y0, x1, y1 = label.bounds
        assert 1.8 - 0.001 <= y1 - y0 <= 3.0 + 0.001
        assert x1 - x0 > y1 - y0, "it lies as it is read"
        near = {own: piece.distance(label) for own, piece in pieces.items() if own[0] == key[0]}
        assert min(near, key=near.get) == key
        assert 0.4 < near[key] < 9
        assert shapely.box(5, -55, 145, -5).buffer(0.001).contains(label), (
            "within edge_margin, 5 mm, of a 150 x 60 sheet"
        )


def test_labels_are_inspected(job):
    assert look_over(job.out).findings == ()
    path, record = job.out / "cut" / "lettering-01.svg", job.out / "nominal.json"
    text, told = path.read_text(encoding="utf-8"), record.read_text(encoding="utf-8")
    try:
        rows = text.splitlines(keepends=True)
        path.write_text("".join(rows[:3] + rows[4:]), encoding="utf-8")
        assert {"marks"} <= {f.code for f in look_over(job.out).findings}
    finally:
        path.write_text(text, encoding="utf-8")
    document = json.loads(told)
    sheet = next(own for own in document["sheets"] if own["file"].endswith("lettering-01.svg"))
    for wrong in ([[99, "x"]], [[0]], [[0, 3]]):
        sheet["labels"] = wrong
        record.write_text(json.dumps(document), encoding="utf-8")
        assert any(
            "lab" in f.message or "lines" in f.message for f in look_over(job.out).findings if f.code == "record"
        )
    record.write_text(told, encoding="utf-8")


@pytest.mark.parametrize(("face_down", "shift", "codes"), [(False, 0, 1), (True, 0, 0), (True, 2, 1)])
def test_no_label_lies_on_what_is_seen_or_runs_over_an_edge(job, face_down, shift, codes):
    name, expected = read_record(job.out / "nominal.json").sheets[0]
    sheet = read_sheet(job.out / name)
    part = expected.parts[0]
    x, y = shapely.maximum_inscribed_circle(part.region).coords[0]
    dot = np.array([(x - 0.1, y), (x + 0.1 + shift, y)])
    others = tuple(replace(own, labels=()) for own in expected.parts[1:])
    marked = replace(expected, parts=(replace(part, labels=(dot,)), *others), face_down=face_down)
    cuts = tuple(own for own in sheet.paths if own.operation != "score")
    drawn_there = replace(next(own for own in sheet.paths if own.operation == "score"), copy=part.copy, points=dot)
    drawn_there = replace(drawn_there, plate=part.plate, kind=part.kind, layer=part.layer)
    found = examine(replace(sheet, paths=(drawn_there, *cuts)), marked, name).findings
    assert [f.code for f in found] == ["label-on-part"] * codes


def test_on_the_back_ids_lie_well_within_what_is_large_enough_and_else_beside_it(tmp_path):
    job = LastingJob(tmp_path).write({"001": "Wren", "002": "Jo"}, extra=BACK.replace("[files]", "[files]\n"))
    ticket = job.ticket.read_text(encoding="utf-8")
    ticket = ticket.replace('font = "Pacifico"', 'font = "Pacifico"\nmount = "backed"\nregister = "template"')
    ticket += '[[stock]]\nmaterial = "backing"\nwidth = 200\nheight = 80\n'
    job.ticket.write_text(ticket, encoding="utf-8")
    assert job.make().exit_code == 0
    pieces, labels = drawn(job.out, "backing")
    assert labels.keys() == pieces.keys()
    assert all(piece.buffer(-0.4).contains(labels[key]) for key, piece in pieces.items())
    pieces, labels = drawn(job.out, "lettering")
    assert labels.keys() == pieces.keys()
    assert look_over(job.out).findings == ()


def test_an_id_without_room_is_left_out_and_said_once_a_sheet(tmp_path):
    long = "W" * 40
    small = TICKET.replace("width = 150\nheight = 60", "width = 75\nheight = 60")
    job = LastingJob(tmp_path).write({long: "Wren", "2": "Odo"}, extra=WASTE, ticket=small)
    assert job.make().exit_code == 0
    told = json_of(job.out / "summary.json")["findings"]
    (said,) = [f["message"] for f in told if f["code"] == "label-left-out"]
    assert said.startswith(f"cut/lettering-01.svg: no room for a readable id at {long};")


def test_what_was_cut_keeps_its_labels(tmp_path):
    job = LastingJob(tmp_path).write(extra=WASTE)
    assert job.make().exit_code == 0
    assert job.mark("cut", "lettering-01").exit_code == 0
    _, before = drawn(job.out, "lettering")
    job.write({"001": "Wren", "002": "Odo", "003": "Isla", "004": "Ada"}, extra=WASTE).make()
    _, after = drawn(job.out, "lettering")
    assert before.items() <= after.items()
    assert {key[1] for key in after} == {"001", "002", "003", "004"}
    assert look_over(job.out).findings == ()


def test_on_the_back_needs_sheets_that_lie_face_down(tmp_path):
    job = LastingJob(tmp_path).write(extra='[files]\nlabel = "back"\n')
    with pytest.raises(ValueError, match=r"write face_down = true beside it, or label = .waste."):
        read_ticket(job.ticket)
