import json
import re
import tempfile

import pypdfium2
import pytest

from nameplate.errors import OutputError
from nameplate.findings import Finding
from nameplate.job import handover, sheets
from nameplate.job import run as runs
from nameplate.lettering import least_pierced
from nameplate.typesetting.fonts import bundled_fonts
from tests.jobs import call, json_of
from tests.lasting_pool import MEMORY


@pytest.fixture
def roster(tmp_path):
    path = tmp_path / "names.csv"
    path.write_text("name\nWren Abara\n", encoding="utf-8")
    return path


@pytest.fixture
def sheets_anew(monkeypatch, once_in_this_process):
    """Have sheets made in this process, whatever was made before."""
    monkeypatch.setattr(MEMORY, "anew", ("run_errand",))


def quick(roster, out, *more, face="ellipse:110x80"):
    return call("make", roster, "--face", face, "--sheet", "600x300", "-o", out, *more)


def test_a_list_a_face_and_a_sheet_are_enough(roster, tmp_path):
    out = tmp_path / "out"
    done = quick(roster, out)
    assert done.exit_code == 0, done.output
    files = {p.relative_to(out).as_posix() for p in out.rglob("*") if p.is_file()}
    assert {"summary.json", "layout.json", "nominal.json", "worklist.csv", "worklist.html", "proof.html"} <= files
    assert {"cut/lettering-01.svg", "cut/template-01.svg", "jigs/001-wren-abara.svg"} <= files
    summary = json_of(out / "summary.json")
    assert [p["status"] for p in summary["plates"]] == ["made"]
    assert set(summary["files"]) | {"summary.json"} == files
    assert "1 of 1 names made" in done.stdout


def test_the_same_job_gives_the_same_bytes_from_its_layout(roster, tmp_path, made_anew):
    one, two = tmp_path / "one", tmp_path / "two"
    assert quick(roster, one).exit_code == quick(roster, two, "--layout", one / "layout.json").exit_code == 0
    for path in (p for p in one.rglob("*") if p.is_file()):
        name = path.relative_to(one)
        assert path.read_bytes() == (two / name).read_bytes(), name


def test_however_many_work_the_bytes_are_the_same(roster, tmp_path, made_anew):
    roster.write_text("name\nJo\nIda\nLê\nMo\n", encoding="utf-8")
    one, two = tmp_path / "one", tmp_path / "two"
    for out, workers in (one, 1), (two, 2):
        assert quick(roster, out, "--workers", workers, face="ellipse:60x40").exit_code == 0
    names = sorted(p.relative_to(one) for p in one.rglob("*") if p.is_file())
    assert names == sorted(p.relative_to(two) for p in two.rglob("*") if p.is_file())
    assert [n for n in names if (one / n).read_bytes() != (two / n).read_bytes()] == []


def test_two_plates_whose_ids_and_names_read_alike_have_a_jig_each(tmp_path):
    (tmp_path / "names.csv").write_text("id,name\na,b c\na-b,c\n", encoding="utf-8")
    (tmp_path / "job.toml").write_text(
        'job = { roster = "names.csv", paper = "letter" }\nface = { shape = "ellipse", width = 60, height = 40 }\n'
        'jig = { style = "print" }\nstock = [{ material = "lettering", width = 300, height = 60 }]\n',
        encoding="utf-8",
    )
    out = tmp_path / "out"
    done = call("make", tmp_path / "job.toml", "-o", out)
    assert done.exit_code == 0, done.output
    plates = json_of(out / "summary.json")["plates"]
    jigs = {plate["id"]: plate["jig"]["file"] for plate in plates}
    assert jigs == {"a": "jigs/a-b-c.svg", "a-b": "jigs/a-b-c-2.svg"}
    for plate_id, file in jigs.items():
        assert f'data-plate="{plate_id}"' in (out / file).read_text(encoding="utf-8")
        assert (out / file).with_suffix(".pdf").is_file()
        assert file in (out / "worklist.csv").read_text(encoding="utf-8")
    printed = sorted((*out.glob("jigs/*.pdf"), out / "proof.pdf"))
    assert [path.name for path in printed] == ["a-b-c-2.pdf", "a-b-c.pdf", "all.pdf", "proof.pdf"]
    for path in printed:  # ANSI/ASME Y14.1, size A: 8 1/2 by 11 in of 72 points
        assert pypdfium2.PdfDocument(path)[0].get_size() == pytest.approx((612, 792), abs=0.01)
    assert call("inspect", out).exit_code == 0


def test_a_layout_that_does_not_fit_the_job_is_refused(roster, tmp_path):
    one, two = tmp_path / "one", tmp_path / "two"
    quick(roster, one)
    layout = json_of(one / "layout.json")
    layout["sheets"][0]["placements"][0]["x"] = -500
    (tmp_path / "moved.json").write_text(json.dumps(layout), encoding="utf-8")
    done = quick(roster, two, "--layout", tmp_path / "moved.json")
    assert done.exit_code == 2 and "plate 001" in done.stderr
    assert not two.exists()


@pytest.mark.parametrize("text", ["{", "[]", '{"version": 2}', '{"version": 1, "sheets": [{"material": 5}]}'])
def test_a_file_that_is_no_layout_is_named(roster, tmp_path, text):
    (tmp_path / "odd.json").write_text(text, encoding="utf-8")
    done = quick(roster, tmp_path / "out", "--layout", tmp_path / "odd.json")
    assert done.exit_code == 2 and "odd.json" in done.stderr and "without --layout" in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_name_too_large_for_every_sheet_is_named_by_its_row(roster, tmp_path):
    roster.write_text("name\n\nWren\n", encoding="utf-8")
    done = call("make", roster, "--face", "ellipse:110x80", "--sheet", "60x50", "-o", tmp_path / "out")
    assert done.exit_code == 1
    assert re.search(r"^error: row 3: plate 001 .*fits no sheet", done.stderr, re.MULTILINE)


def test_how_many_names_cannot_be_made_is_the_first_thing_that_is_said(roster, tmp_path):
    roster.write_text("name\nWren\n" + "Wilhelmina Lilybell of Thorn\n" * 3 + "Una\n", encoding="utf-8")
    options = ("--face", "ellipse:50x20", "--sheet", "300x200")
    drafted = call("estimate", roster, *options)
    made = call("make", roster, *options, "-o", tmp_path / "out")
    for done in (drafted, made):
        assert done.exit_code == 1
        assert done.stdout.startswith("3 of 5 names cannot be made yet\nOrder 1 sheet")
        (error,) = (line for line in done.stderr.splitlines() if line.startswith("error: "))
        assert error.startswith("error: 3 names: ") and error.endswith(": rows 3-5")
    assert "\n2 of 5 names made; 3 errors, " in made.stdout
    every = call("estimate", roster, *options, "--notes")
    assert every.stderr.count("error: row") == 3 and every.stdout == drafted.stdout


def test_when_no_name_can_be_made_it_says_that_there_is_nothing_to_cut(roster, tmp_path):
    roster.write_text("name\nשרה\n", encoding="utf-8")
    done = quick(roster, tmp_path / "out")
    assert done.exit_code == 1
    assert "0 of 1 names made; 1 error, " in done.stdout and "nothing to cut" in done.stdout
    assert (tmp_path / "out" / "proof.html").is_file() and not (tmp_path / "out" / "cut").exists()


def test_a_row_that_cannot_be_made_is_named_and_the_rest_is_made(tmp_path):
    roster = tmp_path / "names.csv"
    roster.write_text("name\nWren Abara\nשרה\n", encoding="utf-8")
    done = quick(roster, tmp_path / "out")
    assert done.exit_code == 1
    assert "row 3" in done.stderr and "1 of 2 names made" in done.stdout
    summary = json_of(tmp_path / "out" / "summary.json")
    assert [p["status"] for p in summary["plates"]] == ["made", "refused"]


def test_a_row_on_hold_is_kept_in_the_papers_and_costs_nothing(roster, tmp_path):
    roster.write_text("id,name,hold\n7,Jo,\n8,Wren Abara,yes\n", encoding="utf-8")
    out = tmp_path / "out"
    done = quick(roster, out)
    assert done.exit_code == 0, done.output
    assert "1 of 1 names made; 1 on hold; 0 errors" in done.stdout
    plates = json_of(out / "summary.json")["plates"]
    assert [(p["id"], p["status"]) for p in plates] == [("7", "made"), ("8", "held")]
    assert re.search(r"^8,Wren Abara,.*,held,", (out / "worklist.csv").read_text(encoding="utf-8"), re.MULTILINE)
    proof = (out / "proof.html").read_text(encoding="utf-8")
    assert "1 name, 1 piece, version" in proof and "1 is on hold" in proof and ">On hold<" in proof


def test_estimate_writes_nothing_and_speaks_json(roster, tmp_path):
    before = sorted(tmp_path.rglob("*"))
    done = call("estimate", roster, "--face", "ellipse:110x80", "--sheet", "600x300", "--json")
    assert done.exit_code == 0, done.output
    figures = json.loads(done.stdout)
    assert {line["material"]: line["count"] for line in figures["stock"]} == {"lettering": 1, "template": 1}
    assert figures["bound"]["lettering"]["sheets"] == 1
    assert sorted(tmp_path.rglob("*")) == before


def test_inspect_passes_a_good_run_and_finds_a_changed_file(roster, tmp_path):
    out = tmp_path / "out"
    quick(roster, out)
    assert call("inspect", out).exit_code == 0
    file = out / "cut" / "lettering-01.svg"
    text = file.read_text(encoding="utf-8")
    file.write_text(re.sub(r'<path [^>]*data-part="lettering"[^>]*/>\n', "", text, count=1), encoding="utf-8")
    done = call("inspect", out)
    assert done.exit_code == 3
    assert "001" in done.stderr


def test_a_plate_that_fails_inspection_is_not_handed_over(roster, tmp_path, monkeypatch, sheets_anew):
    def found(folder, names, expected):
        there = any(part.plate == "001" for part in expected.parts)
        fault = Finding("burn", "error", "a web 0.70 mm wide at (10.0, 20.0)", "001")
        return sheets.Inspected((fault,) if there else ())

    monkeypatch.setattr(sheets, "examine_files", found)
    done = quick(roster, tmp_path / "out")
    assert done.exit_code == 1
    assert "row 2, plate 001: " in done.stderr and "a web 0.70 mm wide at (10.0, 20.0)" in done.stderr
    assert 'data-plate="001"' not in "".join(p.read_text("utf-8") for p in (tmp_path / "out").glob("cut/*.svg"))


def test_a_sheet_that_cannot_be_written_is_said_in_words_and_nothing_is_changed(
    roster, tmp_path, monkeypatch, once_in_this_process
):
    def full(folder, name, content):
        raise OutputError(f"cannot write {folder / name}: no space left")

    monkeypatch.setattr(handover, "write_file", full)
    done = quick(roster, tmp_path / "out")
    assert done.exit_code == 2
    assert f"cannot write {tmp_path / 'out' / 'cut' / 'lettering-01.svg'}: no space left" in done.stderr
    assert "nothing was changed" in done.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["names.csv"]


def test_a_sheet_that_its_worker_cannot_write_down_is_said(roster, tmp_path, monkeypatch, sheets_anew):
    def full(folder, name, content):
        raise OutputError(f"cannot write {name.rpartition('/')[2]}: no space left")

    monkeypatch.setattr(sheets, "write_file", full)
    done = quick(roster, tmp_path / "out")
    assert done.exit_code == 2
    assert f"a temporary file in {tempfile.gettempdir()}: cannot write lettering-01.svg: no space left" in done.stderr


def test_a_sheet_that_is_not_on_the_disk_as_inspected_is_refused(roster, tmp_path, monkeypatch, once_in_this_process):
    from nameplate.job.out_folder import write_file

    def failing(folder, name, content):
        write_file(folder, name, content.replace(b"M", b"m", 1) if name.endswith("01.svg") else content)

    monkeypatch.setattr(handover, "write_file", failing)
    done = quick(roster, tmp_path / "out")
    assert done.exit_code == 2 and "was changed after it was inspected" in done.stderr
    assert not (tmp_path / "out").exists()


def test_new_overwrites_nothing(tmp_path):  # that its job can be made is seen where the README's first job is
    assert call("new", tmp_path / "job").exit_code == 0
    again = call("new", tmp_path / "job")
    assert again.exit_code == 2 and "job.toml" in again.stderr


def test_fonts_lists_licence_and_least_capitals(monkeypatch):
    tried = least_pierced.least_pierced_cap_height

    def of_one(font, web):  # a third of a second each
        return tried(font, web) if font.name == "Pacifico" else None

    monkeypatch.setattr(least_pierced, "least_pierced_cap_height", of_one)
    done = call("fonts", "--web", "2mm")
    assert done.exit_code == 0, done.output
    assert re.search(r"Pacifico .*OFL.* \d+ mm +\d+ mm *\n", done.stdout)
    others = [info.name for info in bundled_fonts() if info.name != "Pacifico"]
    assert [name for name in others if not re.search(rf"^ *{name} .+ not legibly *$", done.stdout, re.MULTILINE)] == []


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("make", "names.csv"), "--face"),
        (("make", "names.csv", "--face", "blob:1x1", "--sheet", "600x300"), "blob"),
        (("make", "names.csv", "--face", "ellipse:nanx80", "--sheet", "600x300"), "nan"),
        (("make", "names.csv", "--face", "ellipse:110x80", "--sheet", "0x300"), "0"),
        (("make", "missing.toml"), "missing.toml"),
        (("fonts", "--web", "-1"), "--web"),
        (("inspect", "nowhere"), "nowhere"),
    ],
)
def test_wrong_usage_ends_with_2_and_says_what_to_change(roster, tmp_path, monkeypatch, arguments, says):
    monkeypatch.chdir(tmp_path)
    done = call(*arguments)
    assert done.exit_code == 2
    assert says in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_wrong_role_and_a_misspelt_layer_are_told_at_once(roster, tmp_path):
    rim = '<g id="Guides"><rect id="rim" x="5" y="5" width="90" height="60"/></g>'
    drawn = f'<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="70mm" viewBox="0 0 100 70">{rim}</svg>'
    (tmp_path / "face.svg").write_text(drawn, encoding="utf-8")
    job = tmp_path / "job.toml"
    face = '[face]\nfile = "face.svg"\nroles = { Guide = "ignore", rim = "outlin" }\n'
    job.write_text(f'[job]\nroster = "names.csv"\n{face}[[stock]]\nwidth = 300\nheight = 200\n', encoding="utf-8")
    done = call("estimate", job)
    first, second = done.stderr.splitlines()
    assert done.exit_code == 2 and "job.toml, line 5" in first and "did you mean outline?" in first
    assert second.startswith("error: face.svg: face.roles: ") and second.endswith("'Guide'; did you mean Guides?")


def test_an_interrupt_writes_nothing(roster, tmp_path, monkeypatch):
    def interrupted(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(runs, "prepare", interrupted)
    done = quick(roster, tmp_path / "out")
    assert done.exit_code == 130
    assert not (tmp_path / "out").exists()


def test_a_fault_of_the_program_is_owned_up_to_and_keeps_a_report(roster, tmp_path, monkeypatch):
    def broken(*_, **__):
        raise ZeroDivisionError("a bug")

    monkeypatch.setattr(runs, "prepare", broken)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    done = quick(roster, tmp_path / "out")
    assert done.exit_code == 4
    assert "nameplate itself has a fault (ZeroDivisionError: a bug)" in done.stderr and "Traceback" not in done.stderr
    (report,) = tmp_path.glob("nameplate-fault-*.txt")
    assert str(report) in done.stderr.replace("\n", "")
    assert "ZeroDivisionError: a bug" in report.read_text(encoding="utf-8")
    assert not (tmp_path / "out").exists()
    arguments = ("--debug", "make", roster, "--face", "ellipse:110x80", "--sheet", "600x300", "-o", tmp_path / "out")
    assert "Traceback" in call(*arguments).stderr


@pytest.mark.parametrize(("word", "column"), [("tier", "design"), ("dx", "dx"), ("Qty", "copies"), ("Vorname", "name")])
def test_explain_says_of_a_column_of_the_list_that_it_is_one(word, column):
    done = call("explain", word)
    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr == f"error: '{word}' is no key of a ticket; it is the column {column} of the list of names\n"
