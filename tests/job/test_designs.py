"""Several designs in one job: one run, one nest, and each design its own face, lettering, jig and material."""

from __future__ import annotations

import csv
import re
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from nameplate.cli.commands import main
from nameplate.job.designs import make_contexts
from nameplate.job.estimate import work_out
from nameplate.job.inspect_folder import look_over
from nameplate.job.run import make_job
from nameplate.ticket.reader import read_ticket
from tests.jobs import json_of, write_job

TICKET = """
[job]
title = "Orchard"
roster = "names.csv"

[lettering]
strengthen = false
legibility = "off"

[design.gold]
face = { shape = "ellipse", width = 120, height = 60 }
lettering = { font = "Lobster", max_height = 30 }
materials = { lettering = "mirror", carrier = "blank" }
jig = { style = "carrier" }

[design.silver]
face = { shape = "rounded", width = 100, height = 50 }
lettering = { font = "Oleo Script", mount = "pierced" }

[design.bronze]
face = { shape = "hexagon", width = 90, height = 60 }
lettering = { size = "uniform", words = "tie" }

[material.mirror]
name = "mirror acrylic"
thickness = 2
kerf = 0.12
grain = true
"""
SHEETS = "\n".join(
    f'[[stock]]\nmaterial = "{material}"\nwidth = 300\nheight = 250\nprice = {price}'
    for material, price in (("mirror", 30), ("lettering", 10), ("blank", 4), ("template", 2))
)
ROWS = ("Wren,gold", "Otto,Silver", "Mina Roe,bronze", "Ada,gold", "Jo,bronze")


def ticket_in(folder, rows=ROWS, extra="", heading="name,tier"):
    return write_job(folder, TICKET + extra + SHEETS, "\n".join([heading, *rows]) + "\n")


@pytest.fixture(scope="module")
def out(tmp_path_factory):
    folder = tmp_path_factory.mktemp("designs")
    made, _ = make_job(read_ticket(ticket_in(folder)), folder / "out", workers=1)
    assert not made.refused
    return folder / "out"


@pytest.fixture(scope="module")
def summary(out):
    return json_of(out / "summary.json")


def parts_in(file):
    """Every plate and part of a cut file."""
    return {(e.get("data-plate"), e.get("data-part")) for e in ElementTree.parse(file).iter() if e.get("data-plate")}


def test_each_plate_is_made_by_its_design(summary):
    plates = {p["name"]: (p["design"], p["mount"], p["status"]) for p in summary["plates"]}
    assert plates == {
        "Wren": ("gold", "applied", "made"),
        "Otto": ("silver", "pierced", "made"),
        "Mina Roe": ("bronze", "applied", "made"),
        "Ada": ("gold", "applied", "made"),
        "Jo": ("bronze", "applied", "made"),
    }
    sizes = {name: (face["width"], face["height"], face["holes"]) for name, face in summary["faces"].items()}
    assert sizes == {"gold": (120.0, 60.0, 0), "silver": (100.0, 50.0, 0), "bronze": (90.0, 60.0, 0)}
    assert summary["faces"]["gold"]["area"] == pytest.approx(3.14159265 * 60 * 30, rel=1e-3)


def test_sheets_go_by_material_over_all_designs(out):
    files = sorted(path.name for path in (out / "cut").iterdir())
    assert files == ["blank-01.svg", "lettering-01.svg", "mirror-01.svg", "template-01.svg"]
    assert parts_in(out / "cut" / "mirror-01.svg") == {("001", "lettering"), ("004", "lettering")}
    assert parts_in(out / "cut" / "lettering-01.svg") == {("003", "lettering"), ("005", "lettering")}
    assert parts_in(out / "cut" / "blank-01.svg") == {("002", "blank"), ("carrier gold", "carrier")}
    assert parts_in(out / "cut" / "template-01.svg") == {(n, "template") for n in ("001", "003", "004", "005")}


def test_what_is_written_keeps_its_promise(out, summary):
    assert look_over(out).findings == ()
    assert summary["materials"]["mirror"] == {"name": "mirror acrylic", "thickness": 2.0, "kerf": 0.12}
    assert {line["material"] for line in summary["stock"]} == {"blank", "lettering", "mirror", "template"}


def test_only_the_design_that_asks_for_a_carrier_has_one(out, summary):
    assert summary["carrier"] is None and list(summary["carriers"]) == ["gold"]
    assert summary["carriers"]["gold"]["file"] == "jigs/carrier-gold.svg"
    assert (out / "jigs" / "carrier-gold.svg").is_file()
    styles = {p["name"]: p["jig"] and p["jig"]["style"] for p in summary["plates"]}
    assert styles["Wren"] == "carrier" and styles["Mina Roe"] == "template" and styles["Otto"] is None


def test_one_size_is_that_of_a_design(summary):
    size = {p["name"]: p["lettering"]["size"] for p in summary["plates"]}
    assert size["Mina Roe"] == size["Jo"]
    assert size["Wren"] != size["Ada"]


def test_there_is_one_worklist_and_one_proof_with_pages_by_design(out):
    with (out / "worklist.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(row["plate"], row["design"]) for row in rows] == [
        ("001", "gold"),
        ("002", "silver"),
        ("003", "bronze"),
        ("004", "gold"),
        ("005", "bronze"),
    ]
    proof = (out / "proof.html").read_text(encoding="utf-8").replace("\N{NO-BREAK SPACE}", " ")
    assert re.findall(r">Orchard: proof(?:, continued)?, (.+)</", proof) == [
        "design gold",
        "design silver",
        "design bronze",
    ]
    assert proof.count("mirror acrylic, 2 mm, glued on") == 2  # of what gold's letters are
    gold = proof.partition("design gold")[2].partition("design silver")[0]
    assert re.findall(r"<p>No. (\d+)", gold) == ["001", "004"]


def test_the_layout_can_be_made_again(out, tmp_path):
    again, _ = make_job(read_ticket(ticket_in(tmp_path)), tmp_path / "out", workers=1, layout_file=out / "layout.json")
    assert not again.refused
    for file in (out / "cut").iterdir():
        assert (tmp_path / "out" / "cut" / file.name).read_bytes() == file.read_bytes()


def test_one_estimate_counts_the_sheets_of_all_designs(tmp_path, summary):
    answer = work_out(read_ticket(ticket_in(tmp_path)), workers=1)
    assert {need.material: need.sheets for need in answer.needs} == dict.fromkeys(
        ("blank", "lettering", "mirror", "template"), 1
    )
    assert answer.figures.cost == summary["cost"] == 46.0
    assert {need.material: dict(need.parts) for need in answer.needs}["blank"] == {"blank": 1, "carrier": 2}


def refused(folder, rows, extra="", heading="name,tier"):
    result = CliRunner().invoke(
        main, ["make", str(ticket_in(folder, rows, extra, heading)), "-o", str(folder / "out"), "--workers", "1"]
    )
    told = json_of(folder / "out" / "summary.json")
    return result.exit_code, told, {f["code"]: f for f in told["findings"]}


def test_an_unknown_design_and_a_missing_one_are_refused_with_the_names_there_are(tmp_path):
    code, told, findings = refused(tmp_path, ("Wren,gold", "Otto,sliver", "Ada,"))
    assert code == 1
    assert [p["status"] for p in told["plates"]] == ["made", "refused", "refused"]
    unknown, missing = findings["unknown-design"], findings["no-design"]
    assert (unknown["row"], missing["row"]) == (3, 4)
    assert "did you mean silver? (known: gold, silver, bronze)" in unknown["message"]
    assert "choose a design: gold, silver or bronze, in the column" in missing["message"]


def test_rows_without_a_design_are_made_by_a_complete_ticket(tmp_path):
    face = '[face]\nshape = "rectangle"\nwidth = 80\nheight = 40\n'
    code, told, findings = refused(tmp_path, ("Wren,gold", "Ada,"), face, heading="name,design")
    assert code == 0
    assert [(p["design"], p["status"]) for p in told["plates"]] == [("gold", "made"), ("", "made")]
    assert told["faces"][""]["width"] == 80.0
    assert "1 row without a design (row 3)" in findings["without-design"]["message"]


def test_a_design_has_lines_of_its_own_or_those_of_the_ticket(tmp_path):
    lines = '[[line]]\ntext = "for {name}"\n[[design.silver.line]]\ntext = "{name}"\n[[design.silver.line]]\n'
    lines += 'text = "{tree}"\nscale = 0.5\n'
    rows = ("Wren,bronze,Elm", "Otto,silver,Oak")
    code, told, _ = refused(tmp_path, rows, lines, heading="name,tier,tree")
    assert code == 0
    assert [[line["text"] for line in p["lines"]] for p in told["plates"]] == [["for Wren"], ["Otto", "Oak"]]


def test_what_is_found_alike_of_designs_is_said_once(tmp_path):
    job = ticket_in(tmp_path)
    job.write_text(job.read_text(encoding="utf-8").replace('shape = "hexagon"', 'shape = "ellipse"'), encoding="utf-8")
    findings = [f for f in work_out(read_ticket(job), exact=True, workers=1).batch.findings if f.row is None]
    (turned,) = (f.message for f in findings if f.code == "face-fits-turned")
    assert turned.startswith("designs gold, bronze: the face (ellipse) fits its jig 2 ways round")
    (size,) = (f.message for f in findings if f.code == "face-size")
    assert re.findall(r"([\d.]+ x [\d.]+) mm, no holes \(design (\w+)\)", size) == [
        ("120.0 x 60.0", "gold"), ("100.0 x 50.0", "silver"), ("90.0 x 60.0", "bronze"),
    ]  # fmt: skip
    (taken,) = (f.message for f in findings if "taken to be" in f.message)
    assert all(f"[material.{key}] " in taken for key in ("lettering", "template", "blank"))


@pytest.mark.parametrize("plain", [False, True])
def test_of_the_tickets_own_face_only_what_rows_without_a_design_have_is_said(tmp_path, plain):
    own = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 400 240"><path d="M0 0H400V240H0Z"/></svg>'
    (tmp_path / "own.svg").write_text(own, encoding="utf-8")  # names no unit, which is warned of
    (tmp_path / "names.csv").write_text(f"name,design\nWren,gold\n{'Odo,' * plain}\n", encoding="utf-8")
    (tmp_path / "job.toml").write_text(
        '[job]\nroster = "names.csv"\n[face]\nfile = "own.svg"\n[jig]\nstyle = "none"\n'
        '[design.gold]\nface = { shape = "hexagon", width = 130, height = 90 }\n'
        '[[stock]]\nmaterial = "lettering"\nwidth = 300\nheight = 200\n',
        encoding="utf-8",
    )
    findings = work_out(read_ticket(tmp_path / "job.toml"), exact=False, workers=1).batch.findings
    (size,) = (f.message for f in findings if f.code == "face-size")
    assert size.count("mm") == 1 + plain and ("rows without a design" in size) == plain
    assert any("own.svg" in f.message for f in findings) == plain


def test_the_note_on_the_faces_says_what_their_drawings_have_besides(tmp_path):
    drawing = '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">{}{}</svg>'
    paths = '<path d="M5 5h80v50h-80z"/>', '<circle id="screw" cx="45" cy="12" r="2"/>'
    (tmp_path / "face.svg").write_text(drawing.format(*paths), encoding="utf-8")
    (tmp_path / "names.csv").write_text("name\nWren\n", encoding="utf-8")
    (tmp_path / "job.toml").write_text(
        '[job]\nroster = "names.csv"\n[face]\nfile = "face.svg"\n[jig]\nstyle = "none"\n'
        '[[stock]]\nmaterial = "lettering"\nwidth = 300\nheight = 200\n',
        encoding="utf-8",
    )
    findings = work_out(read_ticket(tmp_path / "job.toml"), exact=False, workers=1).batch.findings
    (size,) = (f.message for f in findings if f.code == "face-size")
    assert size == "the face: 80.0 x 50.0 mm, 1 hole; face.svg: besides the outline it has a hole: screw"
    assert "drawing-roles" not in {f.code for f in findings}


@pytest.mark.parametrize("first", ["pear", "plum"])
def test_a_plaque_too_thin_beside_its_hole_is_told_of_the_design_whose_plaques_are_cut_here(tmp_path, first):
    thin = 'face = { shape = "rectangle", width = 100, height = 60, holes = [[47.1, 0, 4]] }\n'
    tables = {"pear": 'lettering = { mount = "marked" }\n', "plum": ""}
    designs = "".join(f"[design.{name}]\n{thin}{tables[name]}" for name in sorted(tables, reverse=first == "plum"))
    ticket = read_ticket(ticket_in(tmp_path, rows=("Ada,pear", "Bo,plum"), extra=designs))
    _, found = make_contexts(ticket, cuts=False)
    told = [finding.message for finding in found if finding.code == "plaque-thin"]
    assert len(told) == 1 and told[0].startswith("design pear: the plaque itself is only 0.9 mm wide at (50, 0)")
