"""Sheets that lie face down: what is cut, turned over, is what is cut face up; jigs and papers stay as they are.

The cut files are read by svgpathtools, and compared by shapely (hausdorff_distance): neither is asked by the package
where it writes or inspects them.
"""

import json
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from shapely import affinity
from svgpathtools import Line, parse_path

from nameplate.cli.commands import main
from nameplate.geometry.region import rectangle
from nameplate.job.face_down import known_to_lie_face_up, turned_over
from nameplate.job.inspect_folder import look_over
from nameplate.job.run import make_job
from nameplate.model import Order, Part, Plate
from nameplate.nest.request import NestRequest
from nameplate.plates.make import PlateWork
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.schema import FilesKeys, NestKeys, Ticket
from nameplate.ticket.workshop_schema import MaterialKeys
from tests.job.kept_jobs import LastingJob
from tests.jobs import json_of, write_job

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
strengthen = false
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


def ticket_in(folder, *, face_down="true", mount="applied", register="score", cut="false", style="template", more=""):
    ticket = TICKET.format(face_down=face_down, mount=mount, register=register, cut=cut, style=style)
    return read_ticket(write_job(folder, ticket + more, "id,name\n1,Ida\n2,Jö\n"))


def made(folder, *, layout=None, **keys):
    batch, _ = make_job(ticket_in(folder, **keys), folder / "out", workers=1, layout_file=layout)
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
    told = [json_of(out / "summary.json") for out in both]
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


SCORED_LINE = '[[line]]\ntext = "In memory"\noperation = "score"\n[[line]]\ntext = "{name}"\n'


@pytest.mark.parametrize(
    ("keys", "material"),
    [
        ({"mount": "backed"}, "backing"),
        ({"mount": "marked"}, "blank"),
        ({"cut": "true", "more": SCORED_LINE}, "blank"),
        ({"more": '[design.gold.lettering]\nmount = "marked"\n'}, "blank"),
        ({"mount": "backed", "register": "template"}, ""),
        ({"cut": "true", "more": SCORED_LINE.replace("In memory", "{dates}")}, ""),
        ({"mount": "marked", "face_down": "false"}, ""),
    ],
)
def test_what_the_ticket_says_is_scored_is_known_before_any_name_is_made(tmp_path, keys, material):
    (told,) = known_to_lie_face_up(ticket_in(tmp_path, **keys)) or ("",)
    assert f"sheets of {material} lie face up" in told if material else told == ""


@pytest.mark.parametrize(("keys", "material"), [({"mount": "backed"}, "backing"), ({"mount": "marked"}, "blank")])
def test_it_is_said_first_once_and_as_the_run_finds_it(tmp_path, keys, material):
    ticket_in(tmp_path, **keys)
    words = ["make", str(tmp_path / "job.toml"), "-o", str(tmp_path / "out"), "--workers", "1"]
    done = CliRunner().invoke(main, words)
    said = [line for line in done.stderr.splitlines() if "lie face up" in line]
    assert len(said) == 1 and f"sheets of {material} lie" in said[0] and done.stderr.startswith(said[0])
    found = json.loads((tmp_path / "out" / "summary.json").read_text(encoding="utf-8"))["findings"]
    assert [f["message"] for f in found if f["code"] == "face-up"] == [said[0].removeprefix("warning: ")]


def test_all_reasons_for_lying_face_up_are_told():
    blank = Part("2", "blank", "lettering", rectangle(0, 0, 9, 9), marks=(np.array([(1.0, 1.0), (2.0, 2.0)]),))
    template = Part("1", "template", "lettering", rectangle(0, 0, 9, 9))
    works = [PlateWork(Plate(Order("1", 2, "Jo"), None, (blank, template)))]
    ticket = Ticket(material={"lettering": MaterialKeys(face_down=True)})
    _, (told,) = turned_over(NestRequest((), (), NestKeys()), works, {}, ticket)
    assert "plaques are scored on their show side" in told.message and "jigs are cut of it (template)" in told.message


def test_a_material_of_jigs_alone_says_why_it_lies_face_up_where_it_was_asked_for_by_itself():
    template = Part("1", "template", "template", rectangle(0, 0, 9, 9))
    name = Part("1", "lettering", "lettering", rectangle(0, 0, 9, 9))
    works = [PlateWork(Plate(Order("1", 2, "Jo"), None, (name, template)))]
    down, names, cards = NestRequest((), (), NestKeys()), MaterialKeys(), MaterialKeys(face_down=True)
    every = Ticket(files=FilesKeys(face_down=True), material={"lettering": names, "template": names})
    supply, (told,) = turned_over(down, works, {}, replace(every, material={"lettering": names, "template": cards}))
    assert supply.face_down == {"lettering"}
    assert "sheets of template lie face up" in told.message and "only jigs are cut of it" in told.message
    assert turned_over(down, works, {}, every)[1] == ()


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
    layout = json_of(job.out / "layout.json")["sheets"]
    assert [bool(own.get("face_down")) for own in layout] == [True, False]
    (rest,) = [own for own in layout if own["offcut"]]
    assert "at" not in rest, "turned over, nobody knows where it lay"
