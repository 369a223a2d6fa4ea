"""A lost record made anew: the next run goes on as it would have; and the data that a record lets out."""

import csv
import io
import json
import shutil

import pytest

from nameplate.job import pools
from nameplate.job.inspect_folder import look_over
from nameplate.system.digests import digest_of_file
from tests.job.kept_jobs import LastingJob
from tests.lasting_pool import HereOnce
from tests.record.independent import faults, look, states

pytestmark = pytest.mark.usefixtures("once_in_this_process")

NAMES = {"001": "Jo", "002": "Al"}


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
    done = good(job.call("record", "rebuild", job.ticket, job.out, "--by", "Wren"))
    assert "not in the folder: by which keys 001, 002 were made" in done.stdout
    assert faults(job.record, job.out) == []
    assert states(job.record) == before
    good(job.mark("cut", "lettering-02"))
    job.write({**NAMES, "003": "Bo"}, f'[jig]\nstyle = "{style}"', extra=carrier)
    done = good(job.make())
    assert "the ticket now says otherwise" not in done.stderr
    assert faults(job.record, job.out) == []
    assert look_over(job.out).findings == ()
    assert {name: job.cut_files()[name] for name in files} == files
    new = set().union(*(p for s, p in job.laid().items() if f"{s}.svg" not in files))
    assert {plate for plate, *_ in new} == {"003"}


@pytest.mark.parametrize("again", [True, False])
def test_a_piece_that_was_cut_before_its_plate_was_made_anew_keeps_its_spelling(job, again):
    def told():
        with (job.out / "worklist.csv").open(encoding="utf-8-sig", newline="") as file:
            rows = [row for row in csv.DictReader(file) if row["sheet"] == "cut/lettering-01.svg"]
        return [[row[key] for key in ("plate", "copy", "name", "status", "x_mm", "y_mm", "square")] for row in rows]

    names, jig = {"001": "Bryn", "002": "=Odo"}, '[jig]\nstyle = "template"'
    good(job.write(names, jig).make())
    good(job.mark("cut", "--all"))
    job.write({"001": "Brin", "002": "=Otto"}, jig)
    if again:
        good(job.make("--again", "all"))
    else:
        good(job.mark("spoiled", "001", "002"))
        good(job.make())
    before, pieces = told(), states(job.record)
    lost = "made anew" if again else "spoiled"
    assert [row[:4] for row in before] == [["001", "1", "Bryn", lost], ["002", "1", "'=Odo", lost]]
    job.record.unlink()
    good(job.call("record", "rebuild", job.ticket, job.out))
    assert faults(job.record, job.out) == []
    if again:
        assert states(job.record) == pieces
    good(job.make())
    assert told() == before
    assert faults(job.record, job.out) == []
    assert look_over(job.out).findings == ()


def test_a_record_made_anew_has_the_approvals_and_what_became_of_every_part(job):
    job.write(NAMES, '[jig]\nstyle = "template"')
    good(job.call("approve", job.ticket, "--all", "--by", "Ann Ode"))
    good(job.call("approve", job.ticket, "1", "--by", "Bo Lark"))
    good(job.make())
    good(job.mark("cut", "--all"))
    good(job.mark("spoiled", "2", "--part", "template"))
    good(job.mark("fitted", "1"))
    good(job.make())
    before = states(job.record)
    assert set(before.values()) == {"fitted", "cut", "spoiled", "planned"}
    job.record.unlink()
    done = good(job.call("record", "rebuild", job.ticket, job.out))
    assert "trees.record: 5 pieces, 2 sheets of them cut, and 3 approvals, as " in done.stdout
    assert states(job.record) == before
    status = json.loads(good(job.call("status", job.ticket, "--json")).stdout)
    assert [p["approved"] for p in status["plates"]] == ["Ann Ode, Bo Lark", "Ann Ode"]


def _everything(record):
    """Every row of every table."""
    with look(record) as db:
        tables = [row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
        return {table: sorted(map(repr, map(tuple, db.execute(f"SELECT * FROM {table}")))) for table in tables}


def test_an_export_puts_everything_back(job):
    good(job.write(NAMES, '[jig]\nstyle = "template"').make())
    good(job.call("approve", job.ticket, "--all", "--by", "Zoë Ode"))
    good(job.call("approve", job.ticket, "2", "--withdraw", "--by", "Zoë Ode"))
    good(job.mark("cut", "--all"))
    good(job.mark("spoiled", "1"))
    good(job.make())
    good(job.call("mark", "undo", job.ticket, "--yes"))
    before, file = _everything(job.record), job.folder / "export.json"
    assert all(before.values()), "every table has something to lose"
    exported = good(job.call("record", "export", job.ticket)).stdout
    assert "Zoë Ode" in exported, "a person reads it, too"
    for encoding in ("utf-8", "utf-16"):  # the redirection of some shells writes UTF-16 with its mark
        file.write_text(exported, encoding=encoding)
        job.record.unlink()
        good(job.call("record", "rebuild", job.ticket, "--from", file))
        assert _everything(job.record) == before
    assert good(job.call("record", "export", job.ticket, "-o", file)).stdout == ""
    assert file.read_text(encoding="utf-8") == exported == good(job.call("record", "export", job.ticket)).stdout
    good(job.make())
    assert faults(job.record, job.out) == []


def _without(document, table, column):
    return {**document, table: [{k: v for k, v in row.items() if k != column} for row in document[table]]}


def test_an_export_says_the_version_that_later_programs_go_by(made):
    assert made[1]["version"] == 2


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda d: [], "is no export of a record"),
        (lambda d: {k: v for k, v in d.items() if k != "marks"}, "is no export of a record"),
        (lambda d: {**d, "version": 1}, "was exported by another version of this program"),
        (lambda d: {**d, "record": 99}, "was exported by another version of this program"),
        (lambda d: {**d, "plates": [7]}, "plates, entry 1 is none of a record"),
        (lambda d: {**d, "plates": [{**d["plates"][0], "x; DROP": 1}]}, "plates, entry 1 is none of a record"),
        (lambda d: {**d, "plates": [{**d["plates"][0], "colour": "red"}]}, "has no column named colour"),
        (lambda d: {**d, "plates": [{**d["plates"][0], "position": "first"}]}, "plates, entry 1 is none of a record"),
        (lambda d: {**d, "plates": [{**d["plates"][0], "position": 2**70}]}, "is too large"),
        (lambda d: {**d, "sheets": []}, "FOREIGN KEY constraint failed"),
        (lambda d: _without(d, "sheets", "nominal"), "NOT NULL constraint failed: sheets.nominal"),
        (lambda d: {**d, "sheets": [{**d["sheets"][0], "nominal": "?"}]}, "sheets, entry 1 is none of a record"),
    ],
)
def test_what_is_no_export_is_told_and_nothing_is_left(made, change, said):
    job, document = made
    file = job.folder / "export.json"
    file.write_text(json.dumps(change(document)), encoding="utf-8")
    done = job.call("record", "rebuild", job.ticket, "--from", file)
    assert done.exit_code == 2, done.output
    assert said in done.stderr and done.stderr.count("\n") == 1
    assert not list(job.folder.glob("trees.record*"))


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A job that lost its record, and what was exported of that."""
    job = LastingJob(tmp_path_factory.mktemp("lost")).write(NAMES)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pools, "ProcessPool", HereOnce)
        good(job.make())
    document = json.loads(good(job.call("record", "export", job.ticket)).stdout)
    job.record.unlink()
    return job, document


def test_a_record_is_made_anew_of_one_thing(job):
    job.write(NAMES)
    assert "one of the two" in job.call("record", "rebuild", job.ticket).stderr
    (job.folder / "export.json").write_text("{}", encoding="utf-8")
    done = job.call("record", "rebuild", job.ticket, job.folder, "--from", job.folder / "export.json")
    assert done.exit_code == 2 and "one of the two" in done.stderr


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
    assert [p["texts"] for p in document["plates"]] == [["Jo"], ["Al"]]
    assert {p["state"] for p in document["pieces"]} == {s["state"] for s in document["sheets"]} == {"cut"}
    assert document["marks"][0]["what"] == "cut: lettering-01 (2 pieces)"
    table = good(job.call("record", "export", job.ticket, "--csv")).stdout
    assert table.startswith("\ufeff")  # without it a spreadsheet program takes UTF-8 for another encoding
    rows = list(csv.DictReader(io.StringIO(table[1:])))
    assert [(r["plate"], r["name"], r["state"], r["sheet"]) for r in rows] == [
        ("001", "Jo", "cut", "cut/lettering-01.svg"),
        ("002", "Al", "cut", "cut/lettering-01.svg"),
    ]


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("worklist.csv", b"plate,piece,copy\n\xff,lettering,1\n", "worklist.csv is no worklist of a run"),
        ("worklist.csv", b"plate,piece,copy\n001,lettering,one\n", "worklist.csv is no worklist of a run"),
        ("worklist.csv", b"copy\n1\n", "worklist.csv is no worklist of a run"),
        ("offcuts.json", b"[]", "offcuts.json is no list of what a run left"),
        ("offcuts.json", b'{"offcuts": [{}]}', "offcuts.json is no list of what a run left"),
        ("summary.json", b'{"plates": [{}]}', "summary.json is no summary of a run"),
    ],
)
def test_a_forged_folder_is_refused_by_the_name_of_its_file(made, tmp_path, name, data, said):
    out = shutil.copytree(made[0].out, tmp_path / "out")
    (out / name).write_bytes(data)
    files = json.loads((out / "files.json").read_text(encoding="utf-8"))
    files["files"][name] = digest_of_file(out / name)
    (out / "files.json").write_text(json.dumps(files), encoding="utf-8")
    job = made[0]
    done = job.call("record", "rebuild", job.ticket, out)
    assert (done.exit_code, said in done.stderr) == (2, True), done.output
    assert not job.record.exists()
