"""A beam wider along one axis: finished sheets, burned with an ellipse, leave the nominal parts however they lie.

The sheets are read by svgpathtools and burned by shapely: what an ellipse leaves within an outline is found by
stretching the narrow axis, as the strips of a sheet's lines are checked against a sum made otherwise in
tests/geometry/test_elliptic.py. Where a part lies is shapely's affinity, by layout.json.
"""

from dataclasses import replace
from functools import cache
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from shapely import affinity
from svgpathtools import Line, parse_path

from nameplate.errors import GeometryError
from nameplate.geometry.beam import Kerf, Strip
from nameplate.geometry.region import difference, rectangle
from nameplate.job import turned_cuts
from nameplate.job.inspect_folder import look_over
from nameplate.job.run import make_job
from nameplate.job.turned_cuts import TurnedPart, _made
from nameplate.model import Part
from nameplate.plates.trial import expected_part
from nameplate.ticket.reader import read_ticket
from tests.jobs import json_of, write_job

TICKET = """
[job]
roster = "names.csv"
[face]
shape = "ellipse"
width = 70
height = 45
[lettering]
legibility = "off"
strengthen = false
[material.lettering]
name = "cast acrylic"
thickness = 3
kerf = {{ x = 0.26, y = 0.14 }}
[material.template]
name = "grey board"
thickness = 1
kerf = {{ inside = {{ x = 0.1, y = 0.16 }}, outside = 0.22 }}
[[stock]]
material = "lettering"
width = 200
height = 150
[[stock]]
material = "template"
width = 200
height = 150
[nest]
turns = [{turn}]
[jig]
style = "{style}"
[files]
face_down = {down}
"""

KERFS = {
    "lettering": {"cut-inside": (0.26, 0.14), "cut-outside": (0.26, 0.14)},
    "template": {"cut-inside": (0.1, 0.16), "cut-outside": (0.22, 0.22)},
}


def made_in(folder, *, turn, down=False, style="template"):
    ticket = TICKET.format(turn=turn, down=str(down).lower(), style=style)
    job = write_job(folder, ticket, "id,name\n1,Ida\n2,Bo\n")
    batch, _ = make_job(read_ticket(job), folder / "out", workers=1)
    return folder / "out", batch


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Make a job; what was made with the same keys is there."""
    return cache(lambda **keys: made_in(tmp_path_factory.mktemp("uneven"), **keys))


def ring(data, height):
    points = []
    for segment in parse_path(data):
        points += [segment.point(t) for t in np.linspace(0, 1, 2 if isinstance(segment, Line) else 40)[:-1]]
    return shapely.Polygon([(p.real, height - p.imag) for p in points])


def eroded(shape, widths, sign):
    """Take the half ellipse off a shape all round (sign -1), or add it."""
    x, y = widths
    back = affinity.scale(shape, 1 / x, 1 / y, origin=(0, 0)).buffer(sign * 0.5, quad_segs=64)
    return affinity.scale(back, x, y, origin=(0, 0))


def burned(path, material, kerfs=KERFS):
    """Burn a cut file; what is left of each part by plate and kind, y up."""
    root = ElementTree.parse(path).getroot()
    height = float(root.get("viewBox").split()[3])
    areas = {}
    for group in root:
        for element in group if group.get("data-operation") != "score" else ():
            key = (element.get("data-plate"), element.get("data-part"))
            areas.setdefault(key, []).append((group.get("data-operation"), ring(element.get("d"), height)))
    left = {}
    for key, rings in areas.items():
        outer, inner = (
            shapely.union_all([eroded(r, kerfs[material][op], sign) for op, r in rings if op == which])
            for which, sign in (("cut-outside", -1), ("cut-inside", 1))
        )
        left[key] = outer.difference(inner)
    return left


def nominal(out, batch):
    """Every part where it is to lie, by plate and kind."""
    shapes = {(p.plate, p.kind): p.region for work in batch.works for p in work.plate.parts}
    for sheet in json_of(out / "layout.json")["sheets"]:
        for at in sheet["placements"]:
            shape = shapes[at["plate"], at["kind"]]
            if sheet.get("face_down"):
                shape = affinity.scale(shape, -1, 1, origin=(0, 0))
            shape = affinity.translate(affinity.rotate(shape, at["turn"], origin=(0, 0)), at["x"], at["y"])
            yield sheet["material"], (at["plate"], at["kind"]), at["turn"], shape


def apart(a, b):
    return shapely.hausdorff_distance(a.boundary, b.boundary)


@pytest.mark.parametrize(("turn", "down"), [(0, False), (90, False), (37, False), (115, True)])
def test_parts_come_out_as_they_are_to_be_however_they_lie(made, turn, down):
    out, batch = made(turn=turn, **({"down": True} if down else {}))
    assert not [f for f in batch.findings if f.severity == "error"]
    checked = 0
    for material, key, turned, shape in nominal(out, batch):
        assert turned == turn
        sheet = out / "cut" / f"{material}-01.svg"
        left = burned(sheet, material)[key]
        assert len(left.geoms if hasattr(left, "geoms") else [left]) == len(shape.geoms)
        assert apart(left, shape) < 0.03, key
        checked += 1
    assert checked == 4
    assert look_over(out).findings == ()


def test_a_beam_with_its_axes_changed_would_show(made):
    out, batch = made(turn=90)
    other = {m: {op: (y, x) for op, (x, y) in own.items()} for m, own in KERFS.items()}
    for material, key, _, shape in nominal(out, batch):
        left = burned(out / "cut" / f"{material}-01.svg", material, other)[key]
        assert apart(left, shape) > 0.03, key


def test_a_name_cut_from_its_template_is_burned_as_such_too(made):
    out, batch = made(turn=37, style="skeleton")
    wanted = {key: shape for _, key, _, shape in nominal(out, batch) if key[1] == "lettering"}
    left = burned(out / "cut" / "lettering-01.svg", "lettering")
    assert len(wanted) == 2
    assert all(apart(left[key], shape) < 0.03 for key, shape in wanted.items())


def test_gaps_hold_between_what_an_ellipse_leaves(made):
    out, _ = made(turn=90)
    for material in ("lettering", "template"):
        (a, b) = burned(out / "cut" / f"{material}-01.svg", material).values()
        assert a.distance(b) > 1.5 - 0.03


def test_the_run_says_the_kerf_by_operation_and_axis(made):
    out, _ = made(turn=0)
    told = json_of(out / "summary.json")["materials"]
    assert told["template"]["kerf"] == {"inside": {"x": 0.1, "y": 0.16}, "outside": {"x": 0.22, "y": 0.22}}
    assert told["lettering"]["kerf"]["outside"] == {"x": 0.26, "y": 0.14}


def test_a_slot_that_closes_when_it_lies_turned_is_told():
    slot = rectangle(2, 2, 8, 2.2)
    part = Part("1", "backing", "backing", difference(rectangle(0, 0, 10, 4), slot))
    kerf = Kerf.of_strip(Strip(0.26, 0.14))
    one = TurnedPart(part, expected_part(part, None, None), kerf, 0.0)
    upright, (none, told) = _made(None, (one,)), _made(None, (replace(one, turn=90.0),))
    assert upright[1] == () and list(upright[0]) == [("1", "backing", 1, 0.0)]
    assert none == {} and [f.plate for f in told] == ["1"]
    assert "narrower than the kerf of 0.26 mm along x and 0.14 along y" in told[0].message


def test_a_plate_that_cannot_be_cut_as_it_lies_costs_itself_alone(tmp_path, monkeypatch, in_this_process):
    real = turned_cuts.cut_true

    def failing(part, *rest, **options):
        if (part.plate, part.kind) == ("2", "lettering"):
            raise GeometryError("a hole closes")
        return real(part, *rest, **options)

    monkeypatch.setattr(turned_cuts, "cut_true", failing)
    out, batch = made_in(tmp_path, turn=90)
    (fault,) = [f for f in batch.findings if f.severity == "error"]
    assert (fault.plate, fault.row) == ("2", 3)
    assert fault.message == "“Bo” was taken out, since as it lies turned on its sheet it cannot be cut: a hole closes"
    assert {key[0] for _, key, _, _ in nominal(out, batch)} == {"1"}
    assert look_over(out).findings == ()
