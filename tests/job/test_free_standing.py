"""A job in which some names are glued on plaques and others stand free: what every file of it says of these."""

import csv
import re
from xml.etree import ElementTree

import pytest

from nameplate.job.estimate import work_out
from nameplate.job.inspect_folder import look_over
from nameplate.job.run import make_job
from nameplate.ticket.reader import read_ticket
from tests.jobs import json_of, write_job

TICKET = """
[job]
title = "Orchard gate"
roster = "names.csv"

[face]
shape = "ellipse"
width = 110
height = 60

[design.gate]
face = { shape = "none", height = 40, ring = 4 }
materials = { lettering = "mirror" }

[material.mirror]
name = "mirror cast acrylic"
thickness = 3
kerf = 0.12

[[stock]]
material = "mirror"
width = 300
height = 250

[[stock]]
material = "lettering"
width = 300
height = 250

[[stock]]
material = "template"
width = 300
height = 250
"""
ROWS = "name,design,mount,dx\nWren Abara,,,\nJörg,gate,,\nIda & Sons,gate,,\nOtto,gate,pierced,2\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("free")
    write_job(folder, TICKET, ROWS)
    return folder


@pytest.fixture(scope="module")
def out(folder):
    make_job(read_ticket(folder / "job.toml"), folder / "out", workers=1)
    return folder / "out"


@pytest.fixture(scope="module")
def summary(out):
    return json_of(out / "summary.json")


def text(out, name):
    return (out / name).read_text(encoding="utf-8").replace("\N{NO-BREAK SPACE}", " ")


def test_the_summary_says_which_faces_are_none_and_where_rings_are(summary):
    assert summary["faces"]["gate"] == {"width": None, "height": 40.0, "holes": 0, "area": 0.0, "free_standing": True}
    assert "free_standing" not in summary["faces"][""]
    free = [plate for plate in summary["plates"] if plate["design"] == "gate" and plate["status"] == "made"]
    assert len(free) == 2
    for plate in free:
        assert plate["mount"] == "applied" and plate["jig"] is None and plate["sheets"] == ["cut/mirror-01.svg"]
        assert plate["lettering"]["height"] == pytest.approx(40.0, abs=0.1) and plate["lettering"]["pieces"] == 1
        assert plate["rings"]["bore"] == 4.0 and abs(plate["rings"]["aside"]) < 0.5
        assert plate["lines"][0]["text"] == plate["name"] and plate["placed"]["of_largest"] == 1.0
    assert "rings" not in summary["plates"][0]


def test_a_row_that_asks_for_what_only_a_plate_has_is_refused(summary):
    (otto,) = [plate for plate in summary["plates"] if plate["name"] == "Otto"]
    told = [finding["message"] for finding in summary["findings"] if finding["plate"] == otto["id"]]
    assert otto["status"] == "refused" and len(told) == 2
    assert "cannot be pierced" in told[0] and "dx and dy" in told[1]


def test_only_the_glued_name_has_a_jig_and_a_template(out):
    assert [path.name for path in (out / "jigs").iterdir()] == ["001-wren-abara.svg"]
    sheets = sorted(path.name for path in (out / "cut").iterdir())
    assert sheets == ["lettering-01.svg", "mirror-01.svg", "template-01.svg"]
    parts = {(e.get("data-plate"), e.get("data-part")) for e in ElementTree.parse(out / "cut" / "mirror-01.svg").iter()}
    assert parts - {(None, None)} == {("002", "lettering"), ("003", "lettering")}
    assert look_over(out).findings == ()


def test_the_proof_shows_the_name_alone_with_its_size_and_nothing_glued(out):
    gate = text(out, "proof.html").partition("design gate")[2]
    first, second = gate.split("<article")[1:3]
    assert "Name " in first and "× 40 mm" in first and "With ring" in first
    for card in (first, second):
        assert "glued" not in card and "Plate " not in card
        assert card.count("<path") == 1  # the name, and no face under it


def test_cards_and_worklist_have_no_glue_for_it(out):
    cards = text(out, "cards.html")
    card = cards.partition(">002 Jörg")[2].partition("</article>")[0]
    assert "names that stand free" in card and "</span> done" in card and "<circle" not in card
    page = text(out, "worklist.html")
    assert page.count("</span> glued") == 1
    with (out / "worklist.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = {row["plate"]: row for row in csv.DictReader(file)}
    assert (rows["002"]["status"], rows["002"]["piece"], rows["002"]["jig"]) == ("made", "lettering", "")


def test_notes_say_that_names_stand_free_and_how_high(out):
    assert re.search(r"design gate: names stand free, 40\.0 mm high", text(out, "notes.html"))


def test_an_estimate_counts_them(folder):
    needs = {need.material: dict(need.parts) for need in work_out(read_ticket(folder / "job.toml"), workers=1).needs}
    assert needs == {"lettering": {"lettering": 1}, "mirror": {"lettering": 2}, "template": {"template": 1}}
