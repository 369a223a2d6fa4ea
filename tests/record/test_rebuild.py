"""A lost record made anew: the next run goes on as it would have; and the data that a record lets out."""

import csv
import io
import json

import pytest

from nameplate.job.inspect_folder import look_over
from tests.job.kept_jobs import LastingJob
from tests.record.independent import faults, states

pytestmark = pytest.mark.usefixtures("in_this_process")

NAMES = {"001": "Wren", "002": "Odo"}


@pytest.fixture
def job(tmp_path):
    return LastingJob(tmp_path)


def good(done):
    assert done.exit_code == 0, done.output
    return done


@pytest.mark.parametrize("style", ["none", "template", "skeleton", "print", "carrier"])
def test_a_record_made_anew_goes_on_like_the_lost_one(job, style):
    carrier = '\n[[stock]]\nmaterial = "carrier"\nwidth = 240\nheight = 150\n'
    job.write(NAMES, f'[jig]\nstyle = "{style}"', extra=carrier)
    good(job.make())
    good(job.mark("cut", "--all"))
    good(job.mark("spoiled", "002"))
    good(job.make())
    before, files = states(job.record), job.cut_files()
    job.record.unlink()
    good(job.call("record", "rebuild", job.ticket, job.out, "--by", "Wren"))
    assert faults(job.record, job.out) == []
    assert states(job.record) == before
    good(job.mark("cut", "lettering-02"))
    job.write({**NAMES, "003": "Isla"}, f'[jig]\nstyle = "{style}"', extra=carrier)
    done = good(job.make())
    assert "the ticket now says otherwise" not in done.stderr
    assert faults(job.record, job.out) == []
    assert look_over(job.out).findings == ()
    assert {name: job.cut_files()[name] for name in files} == files
    new = set().union(*(p for s, p in job.laid().items() if f"{s}.svg" not in files))
    assert {plate for plate, *_ in new} == {"003"}


def test_a_record_made_anew_has_every_form_of_a_sheet(job):
    job.write(NAMES, '[files]\nformats = ["svg", "dxf", "pdf", "tiled", "png"]\n[jig]\nstyle = "none"')
    good(job.make())
    good(job.mark("cut", "--all"))
    good(job.make())
    files = job.cut_files()
    assert {"lettering-01-tiled.pdf", "lettering-01.pdf", "lettering-01.dxf", "lettering-01.png"} < set(files)
    job.record.unlink()
    good(job.call("record", "rebuild", job.ticket, job.out))
    good(job.make())
    assert job.cut_files() == files
    assert faults(job.record, job.out) == []


def test_a_record_that_is_there_and_a_folder_that_was_changed_are_left_as_they_are(job):
    good(job.write(NAMES).make())
    done = job.call("record", "rebuild", job.ticket, job.out)
    assert (done.exit_code, "there is a record, " in done.stderr) == (2, True)
    job.record.unlink()
    (job.out / "cut/lettering-01.svg").write_text("<svg/>", encoding="utf-8")
    done = job.call("record", "rebuild", job.ticket, job.out)
    assert done.exit_code == 2
    assert "lettering-01.svg was changed since the run, or is missing" in done.stderr
    done = job.call("record", "rebuild", job.ticket, job.folder)
    assert (done.exit_code, "files.json cannot be read" in done.stderr) == (2, True)


def test_the_data_of_a_record_can_be_had(job):
    assert job.write(NAMES).call("record", "export", job.ticket).exit_code == 2
    good(job.make())
    good(job.mark("cut", "lettering-01"))
    document = json.loads(good(job.call("record", "export", job.ticket)).stdout)
    assert [p["texts"] for p in document["plates"]] == [["Wren"], ["Odo"]]
    assert {p["state"] for p in document["pieces"]} == {s["state"] for s in document["sheets"]} == {"cut"}
    assert document["marks"][0]["what"] == "cut: lettering-01 (2 pieces)"
    table = good(job.call("record", "export", job.ticket, "--csv")).stdout
    rows = list(csv.DictReader(io.StringIO(table)))
    assert [(r["plate"], r["name"], r["state"], r["sheet"]) for r in rows] == [
        ("001", "Wren", "cut", "cut/lettering-01.svg"),
        ("002", "Odo", "cut", "cut/lettering-01.svg"),
    ]
