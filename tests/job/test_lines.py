"""Lines on an arc and lines that are scored, through a whole run: its files, its summary, its inspection."""

from __future__ import annotations

import csv
import math
import re
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from nameplate.cli.commands import main
from tests.jobs import json_of, write_job

SVG = "{http://www.w3.org/2000/svg}"
SHEETS = "\n".join(
    f'[[stock]]\nmaterial = "{material}"\nwidth = 300\nheight = 250' for material in ("lettering", "blank", "template")
)
TICKET = f"""
[job]
title = "Orchard"
roster = "names.csv"
[face]
shape = "ellipse"
width = 120
height = 90
cut = true
[lettering]
arc = 90
mark = "outline"
words = "tie"
[[line]]
text = "In memory of"
font = "Satisfy"
scale = 0.45
operation = "score"
[[line]]
text = "{{name}}"
{SHEETS}
"""


@pytest.fixture(scope="module")
def out(tmp_path_factory):
    folder = tmp_path_factory.mktemp("lines")
    job = write_job(folder, TICKET, "name\nBjörk Jäger\n")
    made = CliRunner().invoke(main, ["make", str(job), "-o", str(folder / "out"), "--workers", "1"])
    assert made.exit_code == 0, made.output
    return folder / "out"


def test_the_summary_has_the_operation_and_the_arc_of_each_line(out):
    (plate,) = json_of(out / "summary.json")["plates"]
    above, name = plate["lines"]
    assert (above["operation"], name["operation"]) == ("score", "cut")
    assert name["arc"] == 90.0
    # lines stand on circles about one centre
    assert above["arc"] - name["arc"] == pytest.approx(above["baseline"] - name["baseline"], abs=2e-3)
    assert plate["lettering"]["pieces"] == 1


def test_the_line_is_scored_on_the_blank_along_its_arc_and_the_name_is_cut(out):
    (plate,) = json_of(out / "summary.json")["plates"]
    tree = ElementTree.parse(out / "cut" / "blank-01.svg")
    groups = {group.get("data-operation"): list(group) for group in tree.iter(f"{SVG}g")}
    assert set(groups) == {"score", "cut-outside"}
    assert {path.get("data-part") for path in groups["score"]} == {"blank"}
    assert len(groups["score"]) >= 8  # outlines of the words of the line, with their counters
    points = [
        complex(*map(float, pair))
        for path in groups["score"]
        for pair in re.findall(r"([\d.]+) ([\d.]+)", path.get("d"))
    ]
    outline = [
        complex(*map(float, pair)) for pair in re.findall(r"([\d.]+) ([\d.]+)", groups["cut-outside"][0].get("d"))
    ]
    middle = complex(*((min(v) + max(v)) / 2 for v in ([p.real for p in outline], [p.imag for p in outline])))
    # whichever way the plaque is turned, the line's ink is as far from the face's middle as the summary has it
    line, box = plate["lines"][0], [(min(v) + max(v)) / 2 for v in ([p.real for p in points], [p.imag for p in points])]
    assert abs(complex(*box) - middle) == pytest.approx(math.hypot(line["x"], line["y"]), abs=0.3)
    lettering = ElementTree.parse(out / "cut" / "lettering-01.svg")
    assert {group.get("data-operation") for group in lettering.iter(f"{SVG}g")} <= {"cut-inside", "cut-outside"}


def test_the_paper_shows_the_line_and_the_list_says_that_it_is_scored(out):
    with (out / "worklist.csv").open(encoding="utf-8-sig", newline="") as file:
        assert {row["scored"] for row in csv.DictReader(file)} == {"In memory of"}
    assert "1 line engraved" in (out / "proof.html").read_text(encoding="utf-8")
    assert "In memory of (scored)" in (out / "cards.html").read_text(encoding="utf-8")


def test_the_inspection_compares_the_scores(out, tmp_path):
    assert CliRunner().invoke(main, ["inspect", str(out)]).exit_code == 0
    file = out / "cut" / "blank-01.svg"
    text = file.read_text(encoding="utf-8")
    try:
        file.write_text(re.sub(r"<path [^>]*/>", "", text, count=1), encoding="utf-8")
        told = CliRunner().invoke(main, ["inspect", str(out)])
        assert told.exit_code == 3 and "1 of" in told.output and "scored lines are missing" in told.output
    finally:
        file.write_text(text, encoding="utf-8")
