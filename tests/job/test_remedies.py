"""What is said to make names read is true: names made anew as it says are no longer hard to read."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from nameplate.job import remedies
from nameplate.job.prepare import prepare
from nameplate.job.remedies import READING
from nameplate.lettering.legibility import ADVISED
from nameplate.paperwork.looks import looks_of
from nameplate.ticket.reader import read_ticket
from tests.jobs import sheets_of, write_job

TICKET = """
[job]
title = "Orchard"
roster = "names.csv"
[face]
shape = "rectangle"
width = 45
height = 20
inset = 6
[lettering]
mount = "pierced"
[jig]
style = "none"
""" + sheets_of("lettering", "blank", width=600, height=400)


def batch_of(folder, names, changes=lambda ticket: ticket):
    job = write_job(folder, TICKET, "id,name\n" + "".join(f"p{i},{n}\n" for i, n in enumerate(names)))
    return prepare(changes(read_ticket(job)), workers=1)


@pytest.fixture
def no_other_fonts(monkeypatch):
    """Have no other font tried: each is a name made once more."""
    monkeypatch.setattr(remedies, "bundled_fonts", lambda: ())


def hard(batch):
    return [f for f in batch.findings if f.code in READING]


def said(batch):
    return [f.message for f in batch.findings if f.code == "would-read"]


def test_what_is_said_to_help_helps(tmp_path):
    names = ["Wilhelm", "Lillian"]
    before = batch_of(tmp_path, names)
    assert len(hard(before)) == 2
    (message,) = said(before)
    told = re.search(
        r"would do: (?:the font ([A-Za-z ]+?)(?:, .*| or .*)?(?: with )?)?(?:a face of ([\d.]+) x ([\d.]+) mm)?;",
        message + ";",
    )
    assert told, message
    font, width, height = told.groups()

    def changed(ticket):
        face = replace(ticket.face, width=float(width), height=float(height)) if width else ticket.face
        return replace(ticket, face=face, lettering=replace(ticket.lettering, font=(font or "Pacifico",)))

    after = batch_of(tmp_path, names, changed)
    assert all(plate.lettering for plate in after.plates)
    assert not hard(after)
    assert not said(after)


def test_where_nothing_helps_nothing_is_said(tmp_path, monkeypatch, no_other_fonts):
    monkeypatch.setattr(remedies, "LARGER", (1.0,))
    batch = batch_of(tmp_path, ["Wilhelm"])
    assert hard(batch)
    assert not said(batch)


def test_small_names_that_are_not_clear_get_advice_before_they_are_hard_to_read(tmp_path, no_other_fonts):
    def glued(ticket, times=1.0):
        face = replace(ticket.face, width=80 * times, height=36 * times, shape="ellipse")
        return replace(ticket, face=face, lettering=replace(ticket.lettering, mount="applied"))

    names = ["Dr. Maëlle Thibaudeau"]
    batch = batch_of(tmp_path, names, glued)
    assert not hard(batch)
    assert all(plate.lettering.legibility < ADVISED for plate in batch.plates)
    (message,) = said(batch)
    width, height = map(float, re.search(r"a face of ([\d.]+) x ([\d.]+) mm", message).groups())
    assert width / 80 == height / 36 > 1
    after = batch_of(tmp_path, names, lambda ticket: glued(ticket, width / 80))
    assert all(plate.lettering.legibility >= ADVISED for plate in after.plates) and not said(after)


def backed(ticket, width=60.0, height=25.0, **keys):
    face = replace(ticket.face, width=width, height=height, inset=3.0)
    stock = (*ticket.stock, replace(ticket.stock[0], material="backing"))
    keys = replace(ticket.lettering, mount="backed", font=("Pacifico",), **keys)
    return replace(ticket, face=face, stock=stock, lettering=keys)


def test_where_the_smallest_of_its_kind_does_for_the_worst_name_alone_a_larger_one_is_told(tmp_path, no_other_fonts):
    names = ["Familie Lorch", "Sophia"]
    batch = batch_of(tmp_path, names, backed)
    (message,) = said(batch)
    width, height = map(float, re.search(r"a face of ([\d.]+) x ([\d.]+) mm", message).groups())
    read = [
        [plate.lettering.legibility >= ADVISED for plate in batch_of(tmp_path, names, larger).plates]
        for times in (1.25, width / 60)
        for larger in [lambda ticket, times=times: backed(ticket, 60 * times, 25 * times)]
    ]
    assert width / 60 == height / 25 > 1.25 and read == [[True, False], [True, True]]


def test_a_narrower_backing_and_thinner_webs_are_tried_too(tmp_path, no_other_fonts):
    (message,) = said(batch_of(tmp_path, ["Familie Lorch"], backed))
    rim, web = re.search(r"backing = ([\d.]+); min_web = ([\d.]+);", message).groups()
    for keys in ({"backing": float(rim)}, {"min_web": float(web)}):
        (plate,) = batch_of(tmp_path, ["Familie Lorch"], lambda ticket, keys=keys: backed(ticket, **keys)).plates
        assert plate.lettering.legibility >= ADVISED


def test_names_that_the_proof_marks_are_named_where_nothing_else_is_said_of_them(tmp_path):
    def satisfy(ticket):
        face = replace(ticket.face, width=80.0, height=36.0, inset=3.0)
        return replace(ticket, face=face, lettering=replace(ticket.lettering, mount="applied", font=("Satisfy",)))

    batch = batch_of(tmp_path, ["Orchid Row", "Otto"], satisfy)
    (found,) = hard(batch)
    assert [plate.lettering.legibility < ADVISED for plate in batch.plates] == [True, False]
    assert (found.severity, found.row) == ("note", None) and not said(batch)
    assert (
        f"1 name may be hard to make out in one place: “Orchid Row” ({batch.plates[0].lettering.weakest_letter})"
        in found.message
    )
    assert looks_of([p.order for p in batch.plates], batch.findings, {2: "the r"}) == {
        2: ("the r may be hard to make out",)
    }


def test_names_that_read_need_nothing(tmp_path):
    batch = batch_of(tmp_path, ["Ada"], lambda t: replace(t, lettering=replace(t.lettering, mount="marked")))
    assert not hard(batch)
    assert not said(batch)
