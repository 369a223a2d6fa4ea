"""One bad plate, sheet or worker costs itself: all else of a run is handed over, and all papers agree on that."""

import csv
import json
import os
import re
from collections import Counter
from dataclasses import replace
from functools import partial

import pytest
from click.testing import CliRunner

from nameplate.cli.commands import main
from nameplate.errors import LayoutError, TicketError
from nameplate.geometry.curves.curve import moved
from nameplate.job import bundles, handover, run, sheets
from nameplate.job.inspect_folder import look_over
from nameplate.job.progress import Progress
from nameplate.job.run import make_job
from nameplate.nest.layout import Placement
from nameplate.plates import trial
from nameplate.ticket.reader import read_ticket
from tests.jobs import json_of, sheets_of, write_job
from tests.lasting_pool import MEMORY

TICKET = """
[job]
title = "Orchard"
roster = "names.csv"
[face]
shape = "shield"
width = 80
height = 70
[lettering]
mount = "{mount}"
strengthen = false
legibility = "off"
[[stock]]
material = "lettering"
width = 200
height = 120
[jig]
style = "{jig}"
""" + sheets_of("template", "backing", width=400, height=300)

NAMES = ("Ida", "Jo", "Otto")


def ticket_in(folder, mount="applied", jig="template", names=NAMES):
    return write_job(folder, TICKET.format(mount=mount, jig=jig), "\n".join(["name", *names]))


def made(ticket, out, workers=1):
    return make_job(read_ticket(ticket), out, workers=workers)[0]


def summary(out):
    return json_of(out / "summary.json")


def drawn(out):
    """Every plate and part in the cut files, by file."""
    return {
        path.name: re.findall(r'data-plate="([^"]+)" data-part="([^"]+)"', path.read_text(encoding="utf-8"))
        for path in (out / "cut").glob("*.svg")
    }


def agreeing(out):
    """What all files of an out folder say together; fails where they do not agree. Gives the ids that were made."""
    told = summary(out)
    there = {p.relative_to(out).as_posix() for p in out.rglob("*") if p.is_file()}
    assert there == {*told["files"], "summary.json"}
    ids = {p["id"] for p in told["plates"] if p["status"] == "made"}
    lettered = {plate for parts in drawn(out).values() for plate, part in parts if part in ("lettering", "blank")}
    assert lettered == ids
    with (out / "worklist.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["plate"] for row in rows if (out / row["sheet"]).is_file()} == ids
    assert look_over(out).findings == ()
    return ids


@pytest.mark.parametrize("mount", ["applied", "backed"])
def test_plaques_that_are_cut_here_are_nested_inspected_and_counted(tmp_path, mount):
    ticket = ticket_in(tmp_path, mount=mount, names=NAMES[:2])
    blank = '[[stock]]\nmaterial = "blank"\nwidth = 400\nheight = 300\n'
    text = ticket.read_text(encoding="utf-8").replace("height = 70\n", "height = 70\ncut = true\n")
    ticket.write_text(text, encoding="utf-8")
    with pytest.raises(TicketError, match="no sheet size is given for blank"):
        read_ticket(ticket)
    ticket.write_text(text + blank, encoding="utf-8")
    made(ticket, tmp_path / "out")
    ids = agreeing(tmp_path / "out")
    told = summary(tmp_path / "out")
    assert sorted(drawn(tmp_path / "out")["blank-01.svg"]) == [(plate, "blank") for plate in sorted(ids)]
    assert [(p["copies"], p["spares"], p["sheet"]) for p in told["plates"]] == [(1, 0, "cut/lettering-01.svg")] * 2
    (face,) = told["faces"].values()
    assert (face["width"], face["height"], face["holes"]) == (80, 70, 0)
    page = (tmp_path / "out" / "worklist.html").read_text(encoding="utf-8")
    assert "Have the proof signed. Cut the plaques." in " ".join(page.split())


def shifted_paths(path, by):
    contours = tuple(replace(c, curve=moved(c.curve, by, 0.0, 0.0)) for c in path.contours)
    return replace(path, contours=contours)


def spoiled_toolpaths(monkeypatch, plate, kind, by=0.2):
    """Move the cuts of one part, as a fault of the program would that shows on the sheet only."""
    first = run.tasks_of

    def tasks_of(batch, parts):
        return tuple(
            replace(
                task,
                toolpaths=tuple(
                    replace(t, toolpath=shifted_paths(t.toolpath, by))
                    if (t.toolpath.plate, t.toolpath.kind) == (plate, kind)
                    else t
                    for t in task.toolpaths
                ),
            )
            for task in first(batch, parts)
        )

    monkeypatch.setattr(run, "tasks_of", tasks_of)


@pytest.mark.parametrize(
    ("mount", "jig", "kind"),
    [
        ("applied", "template", "lettering"),
        ("applied", "template", "template"),
        ("applied", "skeleton", "lettering"),
        ("backed", "none", "backing"),
    ],
)
def test_a_plate_that_fails_on_its_sheet_is_taken_out_with_all_its_parts(tmp_path, monkeypatch, mount, jig, kind):
    spoiled_toolpaths(monkeypatch, "002", kind)
    out = tmp_path / "out"
    batch = made(ticket_in(tmp_path, mount, jig), out)
    assert agreeing(out) == {"001", "003"}
    assert not any(plate == "002" for parts in drawn(out).values() for plate, _ in parts)
    assert not list((out / "jigs").glob("002-*"))
    found = [f for f in summary(out)["findings"] if f["severity"] == "error"]
    assert {(f["plate"], f["row"]) for f in found} == {("002", 3)} and "shape-off" in {f["code"] for f in found}
    assert all("“Jo” was taken out" in f["message"] for f in found)
    assert batch.left_out == ()
    layout = (out / "layout.json").read_text(encoding="utf-8")
    assert '"003"' in layout and '"002"' not in json.dumps(json.loads(layout)["sheets"])


def test_it_is_exit_1_and_the_name_is_told(tmp_path, monkeypatch):
    spoiled_toolpaths(monkeypatch, "003", "lettering")
    done = CliRunner().invoke(main, ["make", str(ticket_in(tmp_path)), "-o", str(tmp_path / "out"), "--workers", "1"])
    assert done.exit_code == 1
    assert "row 4: “Otto” was taken out" in done.output and "plate 003, lettering" in done.output
    assert "2 of 3 names made" in done.output


def test_a_sheet_that_is_empty_without_a_plate_is_no_file(tmp_path, monkeypatch):
    spoiled_toolpaths(monkeypatch, "001", "lettering")
    out = tmp_path / "out"
    made(ticket_in(tmp_path, jig="none", names=NAMES[:1]), out)
    assert agreeing(out) == set() and not list(out.glob("cut/*.svg"))
    assert [p["status"] for p in summary(out)["plates"]] == ["refused"] and summary(out)["sheets"] == []


def test_a_fault_of_a_toolpath_is_found_before_the_nest(tmp_path, monkeypatch, in_this_process):
    """So that the sheets are nested without the plate, and no sheet is written twice."""
    refused_in_trial(monkeypatch, "002")
    laid = []
    first_tasks = run.tasks_of

    def tasks_of(batch, parts):
        laid.append(batch)
        return first_tasks(batch, parts)

    monkeypatch.setattr(run, "tasks_of", tasks_of)
    out = tmp_path / "out"
    made(ticket_in(tmp_path, names=NAMES[:2]), out)
    assert agreeing(out) == {"001"} and len(laid) == 1
    (fault,) = [f for f in summary(out)["findings"] if f["severity"] == "error"]
    assert (fault["code"], fault["plate"], fault["row"]) == ("shape-off", "002", 3)
    assert "“Jo” would not come out right" in fault["message"] and "comes out 0.1" in fault["message"]


def refused_in_trial(monkeypatch, plate):
    first = trial.toolpath

    def toolpath(part, kerf, **how):
        path = first(part, kerf, **how)
        return shifted_paths(path, 0.1) if part.plate == plate and part.kind == "lettering" else path

    monkeypatch.setattr(trial, "toolpath", toolpath)


@pytest.mark.parametrize("taken_out", ["in the trial", "on its sheet"])
def test_the_layout_of_a_run_that_took_a_plate_out_fits_the_next(tmp_path, monkeypatch, in_this_process, taken_out):
    """What was handed over is made again as it was; the plate that lacks a place is told, whatever took it out."""
    spoil = refused_in_trial if taken_out == "in the trial" else partial(spoiled_toolpaths, kind="lettering")
    ticket, first, again = ticket_in(tmp_path, names=NAMES[:2]), tmp_path / "first", tmp_path / "again"
    spoil(monkeypatch, "002")
    made(ticket, first)
    monkeypatch.undo()
    batch, _ = make_job(read_ticket(ticket), again, workers=1, layout_file=first / "layout.json")
    assert agreeing(again) == {"001"} == agreeing(first)
    assert {f.code for f in batch.findings if f.plate == "002" and f.severity == "error"} == {"unplaced"}
    for path in first.glob("cut/*"):
        assert (again / "cut" / path.name).read_bytes() == path.read_bytes()


#: How often a file was cut short.
BROKEN = Counter()


def broken_file(folder, task, *, times, name="lettering-01.svg"):
    """Write a sheet, and cut its file short before it is read back, the first so many times."""
    first = sheets.examine_files

    def examine(folder, names, expected):
        path = folder / names[0]
        if path.name == name and BROKEN[name] < times:
            BROKEN[name] += 1
            path.write_bytes(path.read_bytes()[:-200])
        return first(folder, names, expected)

    sheets.examine_files = examine
    try:
        return sheets.cut_sheet(folder, task)
    finally:
        sheets.examine_files = first


def broken_once(folder, task):
    return broken_file(folder, task, times=1)


def broken_always(folder, task):
    return broken_file(folder, task, times=9)


def broken_templates(folder, task):
    return broken_file(folder, task, times=9, name="template-01.svg")


def dies(_, errand):
    if isinstance(errand, sheets.SheetTask) and errand.file.endswith("lettering-01.svg"):
        os._exit(1)
    return handover.run_errand(None, errand)


def jigs_die(_, errand):
    if isinstance(errand, bundles.Bundle):
        os._exit(1)
    return handover.run_errand(None, errand)


def test_jigs_whose_worker_dies_are_drawn_by_the_parent(tmp_path, monkeypatch):
    whole, out = tmp_path / "whole", tmp_path / "out"
    made(ticket_in(tmp_path), whole)
    here = []
    first = handover.make_errand
    monkeypatch.setattr(handover, "make_errand", lambda bundle: here.append(bundle) or first(bundle))
    monkeypatch.setattr(handover, "run_errand", jigs_die)
    made(ticket_in(tmp_path), out, 2)
    assert [file for bundle in here for file in bundle.files] == sorted(f"jigs/{p.name}" for p in out.glob("jigs/*"))
    assert agreeing(out) == {"001", "002", "003"}
    assert (out / "files.json").read_bytes() == (whole / "files.json").read_bytes()


def test_offcuts_are_those_of_the_sheets_that_are_handed_over(tmp_path, cut_with):
    def offcuts(out):
        return {rest["name"] for rest in json_of(out / "offcuts.json")["offcuts"]}

    cut_with(handover.cut_sheet)
    ticket = ticket_in(tmp_path, names=NAMES[:2])
    made(ticket, tmp_path / "whole")
    cut_with(broken_templates)
    made(ticket, tmp_path / "out")
    assert "rest of template 01" in offcuts(tmp_path / "whole") - offcuts(tmp_path / "out")
    for out in (tmp_path / "whole", tmp_path / "out"):  # and paper names them
        page = (out / "worklist.html").read_text(encoding="utf-8")
        assert set(re.findall("write “(.+?)” on what is left", page)) == offcuts(out)


@pytest.fixture
def cut_with(monkeypatch, once_in_this_process):
    """Have sheets cut by another function, in this process."""
    monkeypatch.setattr(MEMORY, "anew", ("run_errand",))

    def put(how):
        BROKEN.clear()
        monkeypatch.setattr(handover, "cut_sheet", how)

    return put


def test_a_file_that_was_written_badly_once_is_written_again(tmp_path, cut_with):
    cut_with(broken_once)
    out = tmp_path / "out"
    batch = made(ticket_in(tmp_path), out)
    assert agreeing(out) == {"001", "002", "003"} and batch.left_out == ()
    assert not [f for f in summary(out)["findings"] if f["severity"] == "error"]


def many(folder):
    """A batch that takes more than one sheet of lettering."""
    ticket = ticket_in(folder)
    text = ticket.read_text(encoding="utf-8").replace("width = 200\nheight = 120", "width = 100\nheight = 60")
    ticket.write_text(text, encoding="utf-8")
    return ticket


def test_a_sheet_that_cannot_be_read_back_is_left_out_and_all_else_is_handed_over(tmp_path, monkeypatch, cut_with):
    cut_with(broken_always)
    left_out(tmp_path, made(many(tmp_path), tmp_path / "out", 1), monkeypatch)


def test_so_is_one_whose_worker_dies(tmp_path, monkeypatch):
    monkeypatch.setattr(handover, "run_errand", dies)
    left_out(tmp_path, made(many(tmp_path), tmp_path / "out", 2), monkeypatch)


def left_out(folder, batch, monkeypatch):
    """Check what a run leaves that could not trust its first sheet of lettering."""
    out = folder / "out"
    lost = {at.plate for s in batch.layout.sheets if (s.material, s.number) == ("lettering", 1) for at in s.placements}
    assert batch.left_out == ("cut/lettering-01.svg",)
    assert not (out / "cut" / "lettering-01.svg").exists() and (out / "cut" / "lettering-02.svg").exists()
    assert agreeing(out) == {p.order.id for p in batch.plates} - lost
    told = summary(out)
    assert {p["id"] for p in told["plates"] if p["status"] == "refused"} == lost
    assert [s["file"] for s in told["sheets"] if s.get("left_out")] == ["cut/lettering-01.svg"]
    assert {f["plate"] for f in told["findings"] if f["code"] == "plate-left-out"} == lost
    # all of it is in the layout still, by which the same sheets can be made again
    assert {at.plate for s in batch.layout.sheets for at in s.placements} == {p.order.id for p in batch.plates}
    monkeypatch.undo()
    again = folder / "again"
    make_job(read_ticket(folder / "job.toml"), again, workers=1, layout_file=out / "layout.json")
    assert agreeing(again) == {p.order.id for p in batch.plates}
    assert (again / "cut" / "lettering-02.svg").read_bytes() == (out / "cut" / "lettering-02.svg").read_bytes()


def test_that_is_exit_3_and_the_sheet_is_told(tmp_path, cut_with):
    cut_with(broken_always)
    done = CliRunner().invoke(main, ["make", str(many(tmp_path)), "-o", str(tmp_path / "out"), "--workers", "1"])
    assert done.exit_code == 3
    assert "cut/lettering-01.svg cannot be trusted and was left out" in done.output
    assert "without cut/lettering-01.svg" in done.output


def test_names_whose_templates_were_left_out_are_made_and_told(tmp_path, cut_with):
    cut_with(broken_templates)
    out = tmp_path / "out"
    batch = made(ticket_in(tmp_path), out)
    assert batch.left_out == ("cut/template-01.svg",)
    assert agreeing(out) == {"001", "002", "003"}
    left = [f for f in summary(out)["findings"] if f["code"] == "plate-left-out"]
    assert {f["plate"] for f in left} == {"001", "002", "003"} and "its template" in left[0]["message"]


def test_two_parts_laid_upon_each_other_cost_no_third(tmp_path, monkeypatch):
    first, others_there = run.prepare, set()

    def prepare(*args, **keys):
        batch = first(*args, **keys)
        sheet, *others = batch.layout.sheets
        area = {piece.key: piece.region.area for piece in batch.pieces}
        b, *rest, a = sorted(sheet.placements, key=lambda at: area[at.key])  # the least one lies on no third one
        others_there.update(at.plate for at in rest)
        near = Placement(b.plate, b.kind, b.copy, b.layer, a.x + 0.1, a.y + 0.1, a.turn)
        sheets = (replace(sheet, placements=(a, *rest, near)), *others)
        return replace(batch, layout=replace(batch.layout, sheets=sheets))

    monkeypatch.setattr(run, "prepare", prepare)
    out = tmp_path / "out"
    ticket = ticket_in(tmp_path, jig="none")
    ticket.write_text(ticket.read_text(encoding="utf-8").replace("strengthen = false\n", ""), encoding="utf-8")
    made(ticket, out)
    assert agreeing(out) == others_there != set()
    assert [p["status"] for p in summary(out)["plates"]].count("refused") == 2


class Stages(Progress):
    """A Progress that remembers which stages were begun."""

    def __init__(self):
        self.begun = []

    def stage(self, name, steps):
        self.begun.append(name)


@pytest.mark.parametrize("kind", ["layout", "offcuts"])
def test_a_layout_or_list_of_offcuts_that_is_none_is_refused_before_any_name_is_made(tmp_path, kind):
    ticket, odd, stages = read_ticket(ticket_in(tmp_path)), tmp_path / "odd.json", Stages()
    odd.write_text("{", encoding="utf-8")
    if kind == "offcuts":
        ticket = replace(ticket, nest=replace(ticket.nest, offcuts=odd))
    with pytest.raises(LayoutError, match=r"odd\.json"):
        make_job(ticket, tmp_path / "out", progress=stages, workers=1, layout_file=odd if kind == "layout" else None)
    assert stages.begun == []
    odd.unlink()
    made_ = replace(ticket, nest=replace(ticket.nest, offcuts=None))
    make_job(made_, tmp_path / "out", progress=stages, workers=1)
    assert stages.begun
