"""Where the job is printed on Letter, what a note has somebody buy, put together or drill by is told in inches, too."""

import re
from fractions import Fraction
from pathlib import Path

import pytest

from nameplate.job.inches import ACTED_ON
from nameplate.job.prepare import prepare
from nameplate.job.wall_plan import leave_wall
from nameplate.ticket.reader import read_ticket
from tests.jobs import sheets_of, write_job

TICKET = """
[job]
roster = "names.csv"
paper = "{paper}"
[face]
shape = "rounded"
width = 120
height = 80
cut = true
[lettering]
legibility = "off"
[jig]
style = "none"
[wall]
width = 1000
height = 300
columns = 3
rows = 1
pitch = [300, 150]
level = 2000
[wall.moved]
001 = [40, 12.7]
"""

#: A length in inches that stands behind one in millimetres.
INCHES = re.compile(r"(-?[\d.]+)(?: x ([\d.]+))? mm \((-?[\d. /]+?)(?: x [\d. /]+)? in\)")


def found(folder, paper):
    sheets = sheets_of("lettering", width=300, height=200) + sheets_of("blank", width=100, height=100)
    ticket = read_ticket(write_job(folder, TICKET.format(paper=paper) + sheets, "name\nJo\nIda\nWren\n"))
    batch = prepare(ticket, workers=1, draft=True)
    plan, alone = leave_wall(ticket, folder / "wall", workers=1)
    assert {f for f in plan.findings if f.code.startswith(("wall", "hole"))} <= set(batch.findings)
    return [f for f in (*batch.findings, *alone) if f.code in ACTED_ON], (folder / "wall" / "wall.html").read_text()


def test_sheets_holes_and_heights_are_told_in_inches_too_on_letter_alone(tmp_path):
    (metric, page), (both, letter) = (found(tmp_path / paper, paper) for paper in ("a4", "letter"))
    assert {"too-large-for-stock", "hole-seen", "wall-high"} <= {f.code for f in both}
    assert not any(INCHES.search(f.message) for f in metric) and [f.code for f in metric] == [f.code for f in both]
    for finding in both:
        told = list(INCHES.finditer(finding.message))
        assert len(told) == len(re.findall(r"[\d.]+ mm\b", finding.message)), finding.message
        for one in told:
            inches = (-1 if one[3].startswith("-") else 1) * sum(map(Fraction, one[3].lstrip("-").split()))
            assert float(inches) * 25.4 == pytest.approx(float(one[1]), abs=0.26), finding.message
    high = next(f.message for f in both if f.code == "wall-high").removeprefix("[wall] ")
    assert high in letter and high not in page, "the wall's own page says it likewise"


def test_they_are_codes_of_findings():
    codes = (Path(__file__).parents[1] / "messages" / "codes.txt").read_text(encoding="utf-8")
    assert {line.partition(":")[0] for line in codes.splitlines()} >= ACTED_ON
