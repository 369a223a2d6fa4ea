"""Sheets that lie face down: what is cut, turned over, is what is cut face up; jigs and papers stay as they are.

The cut files are read by svgpathtools, and compared by shapely (hausdorff_distance): neither is asked by the package
where it writes or inspects them.
"""

import json
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from shapely import affinity
from svgpathtools import Line, parse_path

from nameplate.geometry.region import rectangle
from nameplate.job.face_down import turned_over
from nameplate.job.inspect_folder import look_over
from nameplate.job.run import make_job
from nameplate.model import Order, Part, Plate
from nameplate.nest.request import NestRequest
from nameplate.plates.make import PlateWork
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.schema import NestKeys
from tests.job.kept_jobs import LastingJob

TICKET = """
[job]
title = "Orchard"
roster = "names.csv"
[face]
shape = "ellipse"
width = 80
height = 50
cut = {cut}
[lettering]
legibility = "off"
mount = "{mount}"
register = "{register}"
[[stock]]
material = "lettering"
width = 200
height = 150
[[stock]]
material = "template"
width = 300
height = 200
[[stock]]
material = "backing"
width = 300
height = 200
[[stock]]
material = "blank"
width = 300
height = 200
[jig]
style = "{style}"
[files]
face_down = {face_down}
formats = ["svg", "dxf"]
"""
BACKED = {"mount": "backed", "register": "template", "cut": "true"}


def made(folder, *, face_down, mount="applied", register="score", cut="false", style="template", layout=None, more=""):
    folder.mkdir(exist_ok=True)
    (folder / "names.csv").write_text("id,name\n1,Ida Vance\n2,Jö\n", encoding="utf-8")
    ticket = TICKET.format(face_down=face_down, mount=mount, register=register, cut=cut, style=style)
    (folder / "job.toml").write_text(ticket + more, encoding="utf-8")
    batch, _ = make_job(read_ticket(folder / "job.toml"), folder / "out", workers=1, layout_file=layout)
    return folder / "out", batch


def rings(path):
    """Give the sampled outline of everything that is cut in a file, y up, by plate and part."""
    found = {}
    groups = ElementTree.parse(path).getroot()
    for element in (path for group in groups if group.get("data-operation") != "score" for path in group):
        points = []
        for segment in parse_path(element.get("d")):
            steps = np.linspace(0, 1, 2 if isinstance(segment, Line) else 8)[:-1]
            points += [segment.point(t) for t in steps]
        ring = np.array([(p.real, -p.imag) for p in points])
        found.setdefault((element.get("data-plate"), element.get("data-part")), []).append(ring)
    return found


def shapes(out, part):
    """Give what lies within the outlines of each plate's part, holes taken out, its box about the origin."""
    whole = {}
    for file in sorted((out / "cut").glob("*.svg")):
        for (plate, kind), own in rings(file).items():
            if kind == part:
                region = shapely.make_valid(shapely.polygons(own[0]))
                for ring in own[1:]:
                    region = region.symmetric_difference(shapely.make_valid(shapely.polygons(ring)))
                box = region.bounds
                whole[plate] = affinity.translate(region, -(box[0] + box[2]) / 2, -(box[1] + box[3]) / 2)
    return whole


def apart(a, b):
    """Give how far two shapes are apart, in whichever quarter turn they are nearest."""
    return min(affinity.rotate(a, turn, (0, 0)).hausdorff_distance(b) for turn in (0, 90, 180, 270))


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sides")
    return [made(folder / side, face_down=side, **BACKED)[0] for side in ("false", "true")]


@pytest.mark.parametrize("part", ["lettering", "backing"])
def test_what_is_cut_face_down_is_turned_over_what_is_cut_face_up(both, part):
    front, back = (shapes(out, part) for out in both)
    assert front.keys() == back.keys() == {"1", "2"}
    for plate, shape in front.items():
        flipped = affinity.scale(back[plate], -1, 1, origin=(0, 0))
        assert apart(flipped, shape) < 0.01
        assert apart(back[plate], shape) > 0.5, "it is not mirrored"


def test_jigs_the_proof_and_what_a_plate_measures_are_those_of_the_front(both):
    front, back = (shapes(out, "template") for out in both)
    assert all(apart(back[plate], shape) < 0.001 for plate, shape in front.items())
    told = [json.loads((out / "summary.json").read_text(encoding="utf-8")) for out in both]
    sides = [{sheet["material"] for sheet in one["sheets"] if sheet.get("face_down")} for one in told]
    assert sides == [set(), {"lettering", "backing", "blank"}]
    told = [one["plates"] for one in told]
    assert [p["lettering"] for p in told[0]] == [p["lettering"] for p in told[1]]
    assert ["show side down" in (out / "cards.html").read_text(encoding="utf-8") for out in both] == [False, True]
    for name in ("proof.html", *(p["jig"]["file"] for p in told[0])):
        assert (both[0] / name).read_bytes() == (both[1] / name).read_bytes(), name


def test_the_inspection_knows_which_way_sheets_lie(both):
    for out in both:
        assert look_over(out).findings == ()
    text = (both[1] / "nominal.json").read_text(encoding="utf-8")
    assert "show side down" in (both[1] / "worklist.html").read_text(encoding="utf-8")
    (both[1] / "nominal.json").write_text(text.replace('"face_down":true,', ""), encoding="utf-8")
    try:
        assert {"shape-off"} <= {finding.code for finding in look_over(both[1]).findings}
    finally:
        (both[1] / "nominal.json").write_text(text, encoding="utf-8")


@pytest.mark.parametrize(
    ("keys", "material", "why"),
    [
        ({"mount": "backed"}, "backing", 'register = "template"'),
        ({"style": "skeleton"}, "lettering", '[jig] style than "skeleton"'),
        ({"mount": "marked", "cut": "true"}, "blank", "leave out what is scored"),
    ],
)
def test_what_is_scored_on_the_show_side_and_jigs_keep_a_material_face_up(tmp_path, keys, material, why):
    _, batch = made(tmp_path, face_down="true", **keys)
    (told,) = [f for f in batch.findings if f.code == "face-up"]
    assert f"sheets of {material} lie face up" in told.message
    assert why in told.message
    for sheet in batch.layout.sheets:
        assert sheet.face_down == (sheet.material in {"lettering", "backing"} - {material})


def test_all_reasons_for_lying_face_up_are_told():
    blank = Part("2", "blank", "lettering", rectangle(0, 0, 9, 9), marks=(np.array([(1.0, 1.0), (2.0, 2.0)]),))
    template = Part("1", "template", "lettering", rectangle(0, 0, 9, 9))
    works = [PlateWork(Plate(Order("1", 2, "Jo"), None, (blank, template)))]
    _, (told,) = turned_over(NestRequest((), (), NestKeys()), works, {}, face_down=("lettering",))
    assert "plaques are scored on their show side" in told.message and "jigs are cut of it (template)" in told.message


def test_a_material_of_jigs_alone_says_why_it_lies_face_up_where_it_was_asked_for_by_itself():
    template = Part("1", "template", "template", rectangle(0, 0, 9, 9))
    name = Part("1", "lettering", "lettering", rectangle(0, 0, 9, 9))
    works = [PlateWork(Plate(Order("1", 2, "Jo"), None, (name, template)))]
    down, asked = NestRequest((), (), NestKeys()), ("lettering", "template")
    supply, (told,) = turned_over(down, works, {}, face_down=asked, by_itself={"template"})
    assert supply.face_down == {"lettering"}
    assert "sheets of template lie face up" in told.message and "only jigs are cut of it" in told.message
    assert turned_over(down, works, {}, face_down=asked)[1] == ()


def test_a_material_lies_face_down_by_itself(tmp_path):
    more = "[material.backing]\nname = 'birch ply'\nface_down = {}\n"
    for files, own, down in (("false", "true", {"backing"}), ("true", "false", {"lettering", "blank"})):
        out, batch = made(tmp_path / files, face_down=files, more=more.format(own), **BACKED)
        assert {sheet.material for sheet in batch.layout.sheets if sheet.face_down} == down
        assert look_over(out).findings == ()


def test_a_stored_layout_is_of_the_side_that_it_was_made_for(tmp_path):
    out, _ = made(tmp_path / "down", face_down="true")
    _, again = made(tmp_path / "again", face_down="true", layout=out / "layout.json")
    assert [sheet.face_down for sheet in again.layout.sheets] == [True, False]
    with pytest.raises(ValueError, match="lettering 01 lies face down in it, and now the other way"):
        made(tmp_path / "up", face_down="false", layout=out / "layout.json")


def test_sheets_that_were_cut_stay_as_they_lay(tmp_path):
    job = LastingJob(tmp_path).write(extra="[files]\nface_down = true\n")
    assert job.make().exit_code == 0
    sheet = (job.out / "cut" / "lettering-01.svg").read_bytes()
    assert job.mark("cut", "lettering-01").exit_code == 0
    names = {"001": "Wren,2,", "002": "Odo", "003": "Isla"}
    told = job.write(names, extra="[files]\nface_down = false\n").make()
    assert "files.face_down" in told.output
    assert (job.out / "cut" / "lettering-01.svg").read_bytes() == sheet
    assert look_over(job.out).findings == ()
    layout = json.loads((job.out / "layout.json").read_text(encoding="utf-8"))["sheets"]
    assert [bool(own.get("face_down")) for own in layout] == [True, False]
    (rest,) = [own for own in layout if own["offcut"]]
    assert "at" not in rest, "turned over, nobody knows where it lay"
