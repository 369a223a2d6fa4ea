"""A job that lasts: made, marked and made again, by the command line alone; the record is looked at independently."""

import csv
import html
import json
import re
import shutil
import sqlite3
from contextlib import suppress

import pytest
import shapely
from lxml import etree
from shapely.affinity import translate
from svgpathtools import parse_path

from nameplate.job import remedies
from nameplate.job.inspect_folder import look_over
from tests.job.kept_jobs import NAMES, TICKET, LastingJob
from tests.jobs import good, json_of
from tests.record.independent import faults, look, states

WITH_TEMPLATES = '[jig]\nstyle = "template"'

pytestmark = pytest.mark.usefixtures("once_in_this_process")


@pytest.fixture
def job(tmp_path):
    return LastingJob(tmp_path).write()


def sound(job):
    """Record and folder tell the same, and every file keeps its promise."""
    assert faults(job.record, job.out) == []
    assert look_over(job.out).findings == ()


def test_a_first_run_makes_the_record_beside_the_ticket(job):
    good(job.make())
    sound(job)
    assert states(job.record) == {(i, "lettering", 1, 1): "planned" for i in NAMES}
    assert {p["state"] for p in job.summary()["plates"]} == {"planned"}


def test_nothing_cut_nothing_kept_the_bytes_are_the_same_with_and_without_a_record(job, tmp_path, made_anew):
    good(job.make())
    good(job.make(out=tmp_path / "again"))
    shutil.rmtree(tmp_path / "out")
    job.record.unlink()
    good(job.make())
    for path in (p for p in job.out.rglob("*") if p.is_file()):
        assert path.read_bytes() == (tmp_path / "again" / path.relative_to(job.out)).read_bytes()


def test_what_was_cut_stays_to_the_byte_and_only_what_is_new_is_laid_and_bought(job):
    job.begun()
    before = job.cut_files()
    assert list(before) == ["lettering-01.svg"]
    good(job.mark("cut", "lettering-01"))
    job.write({"007": "Tamsin", **NAMES, "008": "Fern Otto Quill"})
    done = good(job.make())
    sound(job)
    assert job.cut_files()["lettering-01.svg"] == before["lettering-01.svg"]
    new = set().union(*(pieces for sheet, pieces in job.laid().items() if sheet != "lettering-01"))
    assert new == {("007", "lettering", 1), ("008", "lettering", 1)}
    assert "1 sheet cut before, kept as it is; " in done.stdout
    assert (job.out / "worklist.html").read_text(encoding="utf-8").count("box ticked") == len(NAMES)
    paper = (job.out / "worklist.html").read_text(encoding="utf-8")
    assert paper.count("drawn to find its pieces by") == 1 and paper.index("lettering-02.svg") < paper.index("find its")
    assert {i: p["state"] for i, p in job.plates().items()} == {
        **dict.fromkeys(NAMES, "cut"),
        "007": "planned",
        "008": "planned",
    }
    made = [sheet for sheet in job.summary()["sheets"] if sheet["state"] == "planned"]
    assert sum(line["count"] for line in job.summary()["stock"]) == len(made)


def test_without_its_record_a_folder_of_cut_sheets_is_not_replaced(job):
    job.begun("--all")
    good(job.make())
    before = {path: path.read_bytes() for path in job.out.rglob("*") if path.is_file()}
    job.record.unlink()
    refused = job.make()
    assert refused.exit_code == 2
    assert "has sheets that were cut (cut/lettering-01.svg), and no record here knows of them" in refused.stderr
    assert "nameplate record rebuild" in refused.stderr
    assert {path: path.read_bytes() for path in job.out.rglob("*") if path.is_file()} == before
    good(job.call("record", "rebuild", job.ticket, job.out))
    good(job.make())
    assert {path: path.read_bytes() for path in job.out.glob("cut/*")} == {
        path: data for path, data in before.items() if path.parent.name == "cut"
    }


def told(job):
    status = job.status()
    return {plate["id"]: plate["state"] for plate in status["plates"]}, status["due"]["make"]


def test_a_plate_whose_template_is_not_laid_any_more_is_due_to_be_made(job):
    job.write(more='[jig]\nstyle = "template"')
    job.begun("lettering-01")
    good(job.make("--only", "002"))
    assert told(job) == ({"001": "begun", "002": "planned", "003": "begun"}, ["001", "003"])
    assert {i: p["state"] for i, p in job.plates().items()} == dict.fromkeys(NAMES, "planned")
    good(job.make())
    assert told(job) == (dict.fromkeys(NAMES, "planned"), [])
    good(job.mark("cut", "--all"))
    good(job.mark("spoiled", "003", "--part", "template"))
    assert told(job) == ({"001": "cut", "002": "cut", "003": "spoiled"}, ["003"])


def test_remainders_of_cut_sheets_are_stock_without_being_asked(job):
    job.begun("--all")
    (told,) = re.findall(r"on the shelf: rest of lettering 01, (.+) mm, ", good(job.call("status", job.ticket)).stdout)
    assert re.fullmatch(r"within [\d.]+ x [\d.]+", told)
    paper = (job.out / "worklist.html").read_text(encoding="utf-8")
    assert paper.count("Once it is cut, write “rest of lettering 01” on what is left of it.") == 1
    job.write({**NAMES, "004": "Jo"})
    done = good(job.make())
    assert "Nothing to order" in done.stdout
    assert (
        f"\nTake the rest of lettering 01 (cast acrylic 3 mm, {told})" in done.stdout
    )  # one size, wherever it is told
    layout = json_of(job.out / "layout.json")
    assert [sheet["offcut"] for sheet in layout["sheets"]] == ["", "rest of lettering 01"]
    # once that is cut up, it is gone: the rest of the rest is what is left
    good(job.mark("cut", "lettering-02"))
    job.write({**NAMES, "004": "Jo", "005": "Lê,5,"})
    good(job.make())
    sound(job)
    layout = json_of(job.out / "layout.json")
    assert "rest of lettering 01" not in [sheet["offcut"] for sheet in layout["sheets"][2:]]


def _cut_out(path):
    """What the paths of a cut file go round, y up from the file's lower left corner; read and judged independently."""
    root = etree.parse(path).getroot()
    height = float(root.get("viewBox").split()[3])
    lines = []
    for drawn in root.iter("{http://www.w3.org/2000/svg}path"):
        for run in parse_path(drawn.get("d")).continuous_subpaths():
            points = [segment.point(t / 12) for segment in run for t in range(12)]
            lines.append(shapely.make_valid(shapely.Polygon([(p.real, height - p.imag) for p in points])))
    return shapely.union_all(lines)


def test_what_is_laid_on_a_remainder_clears_what_was_cut_when_moved_to_the_place_that_is_told(job):
    wide = TICKET.replace("width = 150", "width = 260")
    names, page = dict(NAMES), ""
    for n in (1, 2, 3):
        job.write(names, ticket=wide)
        done = good(job.make())
        sound(job)
        page = html.unescape((job.out / "worklist.html").read_text(encoding="utf-8"))
        good(job.mark("cut", f"lettering-0{n}"))
        names[f"00{n + 3}"] = ("Jo", "Al", "Bo")[n - 1]
    assert "Take the rest of lettering 02 (" in done.stdout
    one, two, three = (_cut_out(job.out / "cut" / f"lettering-0{n}.svg") for n in (1, 2, 3))
    told = sorted(
        re.findall(r"<b>Laid on the rest of lettering 0(\d): this sheet's lower left corner is (.*?)</b>", page)
    )
    right, above = r"([\d.]+) mm to the right of", r"([\d.]+) mm above"
    place = f"{right} and {above}|{right}|{above}|the same as"
    places = [
        [(float(a or c or 0), float(b or d or 0)) for a, b, c, d in re.findall(place, words)] for _, words in told
    ]
    assert [sheet for sheet, _ in told] == ["1", "2"] and [len(found) for found in places] == [1, 2]
    (on_one,), (on_two, from_one) = places
    # the gap between parts is 1.5 mm unless the ticket says otherwise; a file has the kerf in it, 0.18 mm, half on
    # either side; a place is told to 0.05 mm
    room = 1.5 - 0.18 - 0.1
    assert one.intersects(two)  # where the file's corner is taken for the sheet's, they run into each other
    assert one.distance(translate(two, *on_one)) > room
    assert two.distance(translate(three, *on_two)) > room
    assert one.distance(translate(three, *from_one)) > room
    layout = json_of(job.out / "layout.json")["sheets"]
    assert [sheet.get("at", [0, 0]) for sheet in layout][1:] == [pytest.approx(p, abs=0.051) for p in (on_one, on_two)]
    told = {sheet["file"]: (sheet.get("offcut"), sheet.get("at")) for sheet in job.summary()["sheets"]}
    assert told["cut/lettering-01.svg"] == (None, None)
    assert told["cut/lettering-03.svg"] == ("rest of lettering 02", layout[2]["at"])


@pytest.mark.parametrize("known", [True, False])
def test_a_remainder_of_another_job_is_told_by_its_name_and_its_place_where_the_list_has_it(job, known):
    square = {"outer": [[40, 10], [140, 10], [140, 80], [40, 80]], "holes": []}
    row = {"name": "rest of lettering 07", "material": "lettering", "outline": [square]}
    rows = [row | {"at": [40, 10]} if known else row | {"name": "blue"}]
    shelf = json.dumps({"version": 1, "offcuts": rows})
    (job.folder / "shelf.json").write_text(shelf, encoding="utf-8")
    job.write({"001": "Wren"}, more='offcuts = "shelf.json"\n[jig]\nstyle = "none"', ticket=_nest_last())
    done = good(job.make())
    page = html.unescape((job.out / "worklist.html").read_text(encoding="utf-8"))
    called = "rest of lettering 07" if known else "offcut “blue”"
    assert f"Take the {called} (cast acrylic 3 mm, 100 x 70)" in done.stdout
    where = " of an earlier job: this sheet's lower left corner is 40 mm to the right of and 10 mm above that sheet's"
    assert f"<b>Laid on the {called}{where if known else ''}.</b>" in page
    assert ("at" in job.summary()["sheets"][0]) == known


def test_an_offcut_that_the_ticket_lists_too_is_there_once(job):
    job.begun()
    shutil.copy(job.out / "offcuts.json", job.folder / "shelf.json")
    good(job.mark("cut", "lettering-01"))
    job.write({**NAMES, "004": "Tamsin,5,"}, more='offcuts = "shelf.json"\n[jig]\nstyle = "none"', ticket=_nest_last())
    good(job.make())
    offcuts = [s["offcut"] for s in json_of(job.out / "layout.json")["sheets"]]
    assert offcuts.count("rest of lettering 01") == 1


def _nest_last():
    return TICKET.replace("{more}", "") + "{more}\n"


def test_spoiled_pieces_are_cut_again_and_nothing_else(job):
    job.write(more=WITH_TEMPLATES)
    job.begun("--all")
    good(job.mark("spoiled", "002"))
    good(job.make())
    sound(job)
    laid = job.laid()
    new = {sheet: pieces for sheet, pieces in laid.items() if not sheet.endswith("-01")}
    assert new == {"lettering-02": {("002", "lettering", 2)}}
    assert sorted(job.worklist()) == [
        ("001", "1", "cut", "lettering-01"),
        ("002", "1", "spoiled", "lettering-01"),
        ("002", "2", "made", "lettering-02"),
        ("003", "1", "cut", "lettering-01"),
    ]
    plate = job.plates()["002"]
    assert (plate["state"], plate["sheet"], plate["lost"]) == ("planned", "cut/lettering-02.svg", 1)


def test_a_piece_cut_again_is_the_same_piece(job):
    job.begun("--all")
    good(job.mark("spoiled", "002"))
    job.write(more='[jig]\nstyle = "none"', ticket=_in_font("Lobster"))
    good(job.make())
    entries = json_of(job.out / "nominal.json")
    sizes = [
        {k: v for k, v in part.items() if k not in ("rings", "solids")}
        for part in entries["parts"]
        if part["plate"] == "002"
    ]
    assert sizes[0] == sizes[-1]
    sound(job)


def _in_font(font):
    return TICKET.replace("Pacifico", font)


def test_another_font_in_the_ticket_changes_nothing_that_was_cut_and_is_said_once(job):
    job.begun()
    before = job.cut_files()
    good(job.mark("cut", "--all"))
    job.write({**NAMES, "004": "Jo"}, ticket=_in_font("Lobster"))
    done = good(job.make())
    sound(job)
    assert job.cut_files()["lettering-01.svg"] == before["lettering-01.svg"]
    said = [line for line in done.stderr.splitlines() if "ticket now says otherwise" in line]
    assert len(said) == 1
    assert "plates 001-003: cut, and the ticket now says otherwise (font)" in said[0]
    fonts = {i: p["lines"][0]["font"] for i, p in job.plates().items()}
    assert fonts["001"] != fonts["004"]


def test_plates_are_made_anew_only_when_asked_and_that_lasts(job):
    job.begun("--all")
    job.write(ticket=_in_font("Lobster"))
    good(job.make("--again", "002"))
    sound(job)
    assert job.laid()["lettering-02"] == {("002", "lettering", 2)}
    good(job.make("--only", "001"))
    sound(job)
    assert list(job.laid()) == ["lettering-01"]
    good(job.make())
    sound(job)
    assert job.laid()["lettering-02"] == {("002", "lettering", 2)}
    assert ("002", "1", "made anew", "lettering-01") in job.worklist()
    good(job.make("--again", "all"))
    assert set().union(*(p for s, p in job.laid().items() if s != "lettering-01")) == {
        (i, "lettering", 2) for i in NAMES
    }


def test_what_was_cut_of_a_plate_made_anew_is_not_tried_in_its_new_template(job):
    job.write(more=WITH_TEMPLATES)
    job.begun("--all")
    job.write(more=WITH_TEMPLATES, ticket=_in_font("Lobster"))
    good(job.make("--again", "002"))
    sound(job)
    assert job.laid()["template-02"] == {("002", "template", 2)}
    entries = json_of(job.out / "nominal.json")["parts"]
    assert sorted(e.get("fits", True) for e in entries if e["plate"] == "002") == [False, False, True, True]
    good(job.mark("cut", "--all"))
    good(job.mark("spoiled", "002"))
    good(job.make())
    sound(job)


@pytest.mark.parametrize("cut", ["lettering-01", "--all"])
@pytest.mark.parametrize("again", [False, True])
def test_what_was_spoiled_of_a_plate_made_anew_is_not_tried_in_its_new_template(job, cut, again):
    names = {"001": "Ulf", "002": "Odo"}
    job.write(names, more=WITH_TEMPLATES)
    good(job.make())
    good(job.mark("cut", cut))
    good(job.mark("spoiled", "001"))
    if again:
        job.write(names, more=WITH_TEMPLATES, ticket=_in_font("Lobster"))
    else:
        job.write({**names, "001": "Ylf"}, more=WITH_TEMPLATES)
    good(job.make(*(["--again", "001"] if again else [])))
    sound(job)
    good(job.mark("cut", "--all"))
    good(job.make())  # and it is not tried later either
    sound(job)


def test_a_piece_that_was_cut_before_its_name_was_corrected_stays_in_the_worklist_as_it_was(job):
    def rows():
        with (job.out / "worklist.csv").open(encoding="utf-8-sig", newline="") as file:
            return [row for row in csv.DictReader(file) if row["plate"] == "001"]

    names = {"001": "Gruffudd", "002": "Odo"}
    job.write(names, more=WITH_TEMPLATES)
    job.begun()
    (before,) = rows()
    good(job.mark("cut", "--all"))
    good(job.mark("spoiled", "001"))
    job.write({**names, "001": "Gruffydd"}, more=WITH_TEMPLATES)
    good(job.make())
    old, new = rows()
    assert old == {**before, "status": "spoiled", "jig": "", "jig_sheet": "", "jig_square": ""}
    assert (new["name"], new["status"], new["sheet"]) == ("Gruffydd", "made", "cut/lettering-02.svg")
    assert (new["jig"], new["jig_sheet"]) == ("jigs/001-gruffydd.svg", "cut/template-02.svg")


def test_another_kerf_is_said_and_a_cut_sheet_keeps_its_own(job):
    job.begun("--all")
    kerf = '\n[material.lettering]\nname = "acrylic"\nthickness = 3\nkerf = 0.3\n'
    job.write({**NAMES, "004": "Jo"}, extra=kerf)
    done = good(job.make())
    assert "material.lettering.kerf" in done.stderr
    sound(job)
    sheets = json_of(job.out / "nominal.json")["sheets"]
    assert [sheet["kerf"] for sheet in sheets] == [0.18, 0.3]


def test_a_name_that_was_corrected_and_spoiled_is_cut_as_it_is_spelt_now(job):
    job.begun("--all")
    good(job.mark("spoiled", "002"))
    job.write({**NAMES, "002": "Otto"})
    done = good(job.make())
    assert "plate 002: the text was changed, and no name of it is left to be used" in done.stderr
    assert job.plates()["002"]["lettering"]["lines"] == ["Otto"]
    sound(job)


def test_a_name_that_was_changed_but_stands_keeps_its_text_and_that_is_said(job):
    job.begun("--all")
    job.write({**NAMES, "002": "Otto"})
    assert "plate 002: cut, and the ticket now says otherwise (text)" in good(job.make()).stderr
    assert job.plates()["002"]["lettering"]["lines"] == ["Odo"]


def test_a_cut_plate_that_left_the_list_stays_in_the_paper(job):
    job.begun("--all")
    job.write({i: n for i, n in NAMES.items() if i != "002"})
    done = good(job.make())
    assert "plate 002: no longer in the list, but cut" in done.stderr
    assert job.plates()["002"]["state"] == "cut"
    assert "Odo" in (job.out / "worklist.html").read_text(encoding="utf-8")
    sound(job)


def test_a_design_that_left_the_ticket_takes_nothing_with_it(job):
    gold = "\n[design.gold]\nlettering = { max_height = 9 }\n"
    job.write(extra=gold)
    table = job.folder / "trees.csv"
    with_designs = table.read_text(encoding="utf-8").replace("hold", "hold,design").replace("Odo,1,", "Odo,1,,gold")
    table.write_text(with_designs, encoding="utf-8")
    job.begun("--all")
    job.write()
    done = good(job.make())
    assert "plate 002: cut, and the ticket now says otherwise (design, lettering.max_height)" in done.stderr
    assert job.plates()["002"]["state"] == "cut"
    sound(job)


def test_more_copies_are_cut_beside_those_there_are(job):
    job.begun("--all")
    job.write({**NAMES, "001": "Wren,3,"})
    good(job.make())
    assert job.laid()["lettering-02"] == {("001", "lettering", 2), ("001", "lettering", 3)}
    sound(job)


def test_only_and_hold_restrict_a_run_without_forgetting_the_rest(job):
    good(job.make("--only", "001-002"))
    assert {i: p["status"] for i, p in job.plates().items()} == {"001": "made", "002": "made", "003": "held"}
    good(job.mark("cut", "lettering-01"))
    good(job.mark("spoiled", "001"))
    good(job.make("--only", "003"))
    assert job.laid() == {
        "lettering-01": {("001", "lettering", 1), ("002", "lettering", 1)},
        "lettering-02": {("003", "lettering", 1)},
    }
    job.write({**NAMES, "001": "Wren,1,yes"})
    good(job.make())
    assert job.laid()["lettering-02"] == {("003", "lettering", 1)}
    job.write()
    good(job.make())
    assert job.laid()["lettering-02"] == {("001", "lettering", 2), ("003", "lettering", 1)}
    sound(job)


def test_wishes_about_plates_that_there_are_not_are_told_together(job):
    done = job.make("--only", "001,777", "--again", "888")
    assert done.exit_code == 2
    assert "--only 777: the list has no plate of that id" in done.stderr
    assert "--again 888: the list has no plate of that id" in done.stderr
    assert not job.out.exists()


def test_sheets_on_hand_that_were_cut_are_not_there_any_more(job):
    ticket = _nest_last().replace("price = 3.5", "price = 3.5\non_hand = 1")
    job.write(ticket=ticket)
    assert "Take from the shop 1 sheet" in good(job.make()).stdout
    good(job.mark("cut", "--all"))
    more = {**NAMES, "004": "Tamsin,8,"}
    job.write(more, ticket=ticket)
    assert "Take from the shop 1 sheet" not in good(job.make()).stdout
    job.write(more, ticket=ticket.replace("on_hand = 1", "on_hand = 2"))  # counted anew since
    assert "Take from the shop 1 sheet" in good(job.make()).stdout


def test_one_size_for_all_is_the_size_that_was_cut(job):
    job.write(more='size = "uniform"\n[jig]\nstyle = "none"')
    job.begun()
    size = job.plates()["001"]["lettering"]["size"]
    good(job.mark("cut", "--all"))
    job.write({**NAMES, "004": "Jo"}, more='size = "uniform"\n[jig]\nstyle = "none"')
    good(job.make())
    assert {p["lettering"]["size"] for p in job.plates().values()} == {size}
    sound(job)


def test_a_plate_with_a_size_of_its_own_does_not_say_what_size_all_were_cut_in(job):
    job.write(more='size = "uniform"\n[jig]\nstyle = "none"')
    job.roster.write_text("id,name,size\n001,Jo,9\n002,Wren,\n", encoding="utf-8")
    job.begun("--all")
    cut = {plate: own["lettering"]["size"] for plate, own in job.plates().items()}
    job.roster.write_text("id,name,size\n001,Jo,9\n002,Wren,\n003,Odo,\n", encoding="utf-8")
    good(job.make())
    assert cut["001"] == 9 < cut["002"]
    assert {plate: own["lettering"]["size"] for plate, own in job.plates().items()} == {**cut, "003": cut["002"]}


@pytest.mark.parametrize("style", ["carrier", "skeleton", "print"])
def test_jigs_that_are_there_are_not_cut_again(job, style):
    job.write({"001": "Wren", "002": "Odo"}, more=f'[jig]\nstyle = "{style}"', extra=_STOCK)
    job.begun()
    first = job.laid()
    good(job.mark("cut", "--all"))
    good(job.mark("spoiled", "002"))
    job.write({"001": "Wren", "002": "Odo", "003": "Isla"}, more=f'[jig]\nstyle = "{style}"', extra=_STOCK)
    good(job.make())
    sound(job)
    new = set().union(*(pieces for sheet, pieces in job.laid().items() if sheet not in first))
    templates = {("003", "template", 1)} if style == "carrier" else set()
    if style == "skeleton":  # a name and the template that it is cut from are one piece of work
        templates = {("003", "template", 1), ("002", "template", 2)}
    assert new == {("002", "lettering", 2), ("003", "lettering", 1), *templates}
    again = job.cut_files()
    good(job.make())
    assert job.cut_files() == again


_STOCK = """
[[stock]]
material = "carrier"
width = 240
height = 150
[[stock]]
material = "backing"
width = 240
height = 150
[[stock]]
material = "blank"
width = 240
height = 150
"""


@pytest.mark.parametrize("mount", ["backed", "pierced", "marked"])
def test_every_mount_can_go_on(job, mount):
    names = {"001": "Jo", "002": "Al"}
    job.write(names, more=f'mount = "{mount}"\n[jig]\nstyle = "none"', extra=_STOCK)
    job.begun()
    main = "blank-01" if mount != "backed" else "backing-01"
    good(job.mark("cut", main))
    job.write({**names, "003": "Bo"}, more=f'mount = "{mount}"\n[jig]\nstyle = "none"', extra=_STOCK)
    good(job.make())
    sound(job)
    good(job.mark("spoiled", "001", "--part", main[:-3]))
    good(job.make())
    sound(job)
    assert ("001", main[:-3], 2) in set().union(*job.laid().values())


def test_a_mark_taken_back_is_as_if_it_had_never_been(job):
    job.write({**NAMES, "004": "Jo"})
    job.begun()
    never = {path.name: path.read_bytes() for path in job.out.iterdir() if path.is_file()}
    good(job.mark("cut", "--all"))
    good(job.mark("spoiled", "003"))
    good(job.make())
    sound(job)
    for _ in range(2):
        good(job.call("mark", "undo", job.ticket, "--yes"))
    good(job.make())
    sound(job)
    assert {path.name: path.read_bytes() for path in job.out.iterdir() if path.is_file()} == never


def test_a_layout_of_an_earlier_run_can_be_used_with_what_was_cut(job, tmp_path):
    job.begun("--all")
    job.write({**NAMES, "004": "Jo"})
    good(job.make())
    good(job.make("--layout", job.out / "layout.json", out=tmp_path / "two"))
    for name, content in job.cut_files().items():
        assert (tmp_path / "two/cut" / name).read_bytes() == content


def test_the_estimate_asks_only_for_what_is_missing_and_writes_nothing(job):
    job.begun("--all")
    before = job.record.read_bytes()
    assert "Nothing to order" in good(job.call("estimate", job.ticket, "--exact", "--workers", 1)).stdout
    assert job.record.read_bytes() == before
    assert sorted(p.name for p in job.folder.iterdir()) == ["out", "trees.csv", "trees.record", "trees.toml"]


def test_a_list_by_itself_keeps_no_record(job):
    quick = ("make", job.folder / "trees.csv", "--face", "ellipse:60x40", "--sheet", "240x150", "-o", job.out)
    good(job.call(*quick, "--workers", 1))
    assert not list(job.folder.glob("*.record"))
    done = job.call("mark", "cut", job.folder / "trees.csv", "lettering-01")
    assert done.exit_code == 2
    assert "is no job ticket; a list of names by itself has no record" in done.stderr


def test_a_folder_where_no_record_can_be_kept_does_not_keep_a_first_run_from_its_files(job, monkeypatch):
    from nameplate.errors import RecordError
    from nameplate.job import desk

    def refuse(path, **_):
        raise RecordError("its folder may not be written")

    monkeypatch.setattr(desk, "writing", refuse)
    done = good(job.make())
    assert "no record of this job is kept, so nothing can be marked as cut: its folder may not" in done.stderr
    assert look_over(job.out).findings == ()


def test_a_record_that_cannot_be_read_stops_a_run_before_anything_is_cut_twice(job):
    job.record.write_bytes(b"no record at all" * 99)
    done = job.make()
    assert done.exit_code == 2
    assert "is no record of a job" in done.stderr
    assert not job.out.exists()


def test_bytes_that_the_record_has_lost_are_told(job):
    job.begun("--all")
    with look(job.record) as db, db:
        db.execute("UPDATE files SET data = x'00'")
    done = job.make()
    assert done.exit_code == 2
    assert "has lost the bytes of cut/lettering-01.svg" in done.stderr


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE versions SET made = x'00'",
        "UPDATE versions SET made = x'789c030000000001'",
        "UPDATE sheets SET nominal = x'00'",
        "UPDATE sheets SET layout = '{}'",
        "UPDATE sheets SET layout = 'no'",
        "UPDATE sheets SET figures = 'no'",
        """UPDATE offcuts SET outline = '[{"outer": [["a", "b"], ["c", "d"]]}]'""",
    ],
)
def test_a_record_with_damaged_values_is_told_in_a_sentence(job, damage):
    job.begun("--all")
    with look(job.record) as db, db:
        db.execute(damage)
    done = job.make()
    assert done.exit_code == 2, done.output
    assert "damaged" in done.stderr


def _cards(path):
    """What the customer's proof shows of each plate: its card, by id."""
    page = path.read_text(encoding="utf-8")
    cards = re.findall(r"<article.*?</article>", page, re.DOTALL)
    return {re.search(r"No\. ([^,<]+)", card)[1]: card for card in cards}


@pytest.mark.parametrize("size", ["fill", "uniform"])
def test_a_run_of_only_some_plates_shows_the_customer_all_of_them(job, tmp_path, size):
    job.write({**NAMES, "004": "Jo,1,yes"}, more=f'size = "{size}"\n[jig]\nstyle = "none"')
    good(job.call("proof", job.ticket, "-o", tmp_path / "proof", "--workers", 1))
    done = good(job.make("--only", "2"))
    for name in ("proof.html", "proof.pdf"):
        assert (job.out / name).read_bytes() == (tmp_path / "proof" / name).read_bytes()
    assert ["<svg" in card for card in _cards(job.out / "proof.html").values()] == [True, True, True, False]
    assert "1 of 1 names made; 1 on hold; 2 not in this run" in done.stdout
    assert "plates 001, 003: not in this run (--only)" in done.stderr
    plates = job.plates()
    assert {i: (p["status"], p.get("aside", False)) for i, p in plates.items()} == {
        "001": ("held", True),
        "002": ("made", False),
        "003": ("held", True),
        "004": ("held", False),
    }
    assert {i: status for i, _, status, _ in job.worklist()} == {
        "001": "not in this run",
        "002": "made",
        "003": "not in this run",
        "004": "held",
    }
    page = (job.out / "worklist.html").read_text(encoding="utf-8")
    assert page.count("not in this run") == 2 and page.count("on hold, as the list has it") == 1
    sound(job)
    first = plates["002"]["lettering"]
    good(job.make())
    assert job.plates()["002"]["lettering"] == first  # the others were not forgotten: one size is that of all


def test_plates_are_called_without_their_zeros_where_that_is_one_plate(job):
    job.write({**NAMES, "08": "Jo", "008": "Bo"})
    done = job.make("--only", "8,3")
    assert (done.exit_code, done.stderr) == (2, "error: 8 may be plate 08 or 008; write it with its zeros\n")
    good(job.make("--only", "3"))
    assert job.laid() == {"lettering-01": {("003", "lettering", 1)}}
    good(job.mark("cut", "lettering-01"))
    assert good(job.mark("spoiled", "3")).stdout == "marked: spoiled: 003 (lettering)\n"
    good(job.make("--only", "3", "--again", "3"))
    assert job.laid()["lettering-02"] == {("003", "lettering", 2)}


def test_an_estimate_of_only_some_plates_asks_for_theirs(job):
    for words, parts in ((("--only", "2-3"), 2), ((), 3)):
        done = good(job.call("estimate", job.ticket, "--json", "--workers", 1, *words))
        assert json.loads(done.stdout)["needs"]["lettering"]["parts"] == {"lettering": parts}


def test_a_sheet_cut_before_an_earlier_one_is_marked_and_the_earlier_one_named(job):
    job.write({**NAMES, "004": "Jo,12,"})
    job.begun()
    assert "note: lettering-01 is not marked as cut" in good(job.mark("cut", "lettering-02")).stderr
    assert "not marked as cut" not in good(job.mark("cut", "lettering-01")).stderr


def test_an_order_says_what_of_it_the_last_run_asked_for(job):
    asked = "The last run asked for 1 sheet cast acrylic 3 mm, 150 x 60 of these, which are not cut yet: "
    assert "last run asked" not in good(job.make()).stdout
    job.write({**NAMES, "004": "Jo,12,"})
    for what in (job.call("estimate", job.ticket, "--workers", 1), job.make()):
        assert re.search(r"Order [2-9] sheets cast acrylic 3 mm, 150 x 60", good(what).stdout) and asked in what.stdout
    good(job.mark("cut", "lettering-01"))
    left = len(job.laid()) - 1
    told = good(job.make()).stdout
    assert f"Order {left} sheet" in told and f"The last run asked for {left} sheet" in told
    job.write({**NAMES, "004": "Jo,12,"}, ticket=_nest_last().replace("price = 3.5", f"price = 3.5\non_hand = {left}"))
    told = good(job.make()).stdout
    assert f"Take from the shop {left} sheet" in told and "last run asked" not in told
    assert "last run asked" not in good(job.make()).stdout


def test_the_proof_tells_a_plate_that_was_cut_from_one_that_was_only_begun(job):
    job.write(more=WITH_TEMPLATES)
    job.begun("template-01")
    job.write(more=WITH_TEMPLATES, ticket=_in_font("Lobster"))
    good(job.make())
    assert (job.out / "proof.html").read_text(encoding="utf-8").count("</span>Begun already, and stays as it is") == 3
    good(job.mark("cut", "lettering-01"))
    good(job.make())
    assert (job.out / "proof.html").read_text(encoding="utf-8").count("</span>Cut already, and stays as it is") == 3


def test_a_correction_that_comes_after_the_cut_is_no_approval_of_what_is_shown(job):
    good(job.write().make())
    good(job.mark("cut", "--all"))
    assert job.status()["due"]["again"] == []
    job.write({**NAMES, "002": "Łukáš,2,"})
    approved = good(job.call("approve", job.ticket, "--all", "--by", "Ann Ode")).stdout
    assert "note: plate 002 stays as it was cut, with another text, until nameplate make --again" in approved
    assert job.status()["due"]["again"] == ["002"]
    assert "again    1 plate: 002, cut with another text" in good(job.call("status", job.ticket)).stdout
    good(job.make())
    assert job.status()["due"]["again"] == ["002"]
    said = "It is cut as shown, and the list has by now “Łukáš”"
    shown = {
        plate: ("Approved by Ann Ode" in card, said in card) for plate, card in _cards(job.out / "proof.html").items()
    }
    assert {plate for plate, told in shown.items() if told == (False, True)} == {"002"}
    assert {told for plate, told in shown.items() if plate != "002"} == {(True, False)}
    good(job.make("--again", "002"))
    assert said not in (job.out / "proof.html").read_text(encoding="utf-8")
    assert job.status()["due"]["again"] == []


def test_a_proof_shows_what_was_cut_and_then_corrected_as_it_would_be_made_again(job):
    def proof(*words):
        good(job.call("proof", job.ticket, "--workers", 1, *words, "-o", job.folder / "proof"))
        return _cards(job.folder / "proof" / "proof.html")

    required = TICKET.replace("[job]", '[job]\napproval = "required"')
    good(job.write(ticket=required).call("approve", job.ticket, "--all", "--by", "Ann Ode"))
    good(job.make())
    good(job.mark("cut", "--all"))
    as_cut = proof()
    job.write({**NAMES, "002": "Łukáš"}, ticket=required)
    shown = proof("--unsigned")
    assert list(shown) == ["002"] and "plate with the name Łukáš" in shown["002"]
    assert job.make("--again", "002").exit_code == 1  # nobody has approved it yet
    assert "plate with the name Odo" in _cards(job.out / "proof.html")["002"]  # as it is on the bench
    good(job.call("approve", job.ticket, "2", "--by", "Ann Ode"))
    every = proof()
    assert "plate with the name Łukáš" in every["002"] and "Approved by Ann Ode" in every["002"]
    assert {plate for plate in every if every[plate] != as_cut[plate]} == {"002"}
    good(job.make("--again", "002"))
    sound(job)


@pytest.mark.parametrize("damage", ["CAST(x'7bffff' AS TEXT)", "'no'", "'[1]'", "'{}'"])
def test_whatever_text_of_a_record_is_damaged_no_command_fails_over_it(job, damage):
    names = {"001": "Wren"}
    job.write(names)
    good(job.call("approve", job.ticket, "1", "--by", "Ann Ode"))
    good(job.make())
    good(job.mark("cut", "--all"))
    job.write(names, ticket=_in_font("Lobster"))
    whole, ended = job.record.read_bytes(), set()
    with look(job.record) as db:
        tables = [row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        columns = [(t, c["name"]) for t in tables for c in db.execute(f"PRAGMA table_info({t})") if c["type"] == "TEXT"]
        if damage in ("'[1]'", "'{}'"):  # elsewhere it is a text like any other
            of_json = "SELECT 1 FROM {} WHERE {} GLOB '[[{{]*'"
            columns = [own for own in columns if db.execute(of_json.format(*own)).fetchone()]
    for table, column in columns:
        job.record.write_bytes(whole)
        with look(job.record) as db, suppress(sqlite3.IntegrityError), db:
            db.execute(f"UPDATE {table} SET {column} = {damage}")
        for words in (("status", job.ticket), ("record", "export", job.ticket), ("mark", "undo", job.ticket, "--yes")):
            done = job.call(*words)
            ended.add(done.exit_code)
            assert done.exit_code in (0, 2), (table, column, done.output)
            assert done.exit_code == 0 or "trees.record is damaged (" in done.stderr or "UNIQUE" in done.stderr, (
                table,
                column,
                done.stderr,
            )
    assert ended == {0, 2}


@pytest.mark.parametrize("why", ["only", "hold"])
def test_a_plate_of_which_only_the_template_is_there_and_that_waits_is_not_refused(job, why):
    job.write(more=WITH_TEMPLATES)
    job.begun("template-01")
    if why == "hold":
        job.write({**NAMES, "001": "Wren,1,yes"}, more=WITH_TEMPLATES)
    done = good(job.make(*(("--only", "2-3") if why == "only" else ())))
    assert {i: p["status"] for i, p in job.plates().items()} == {"001": "held", "002": "made", "003": "made"}
    said = "not in this run" if why == "only" else "on hold"
    assert f"2 of 2 names made; 1 {said}; " in done.stdout
    page = (job.out / "worklist.html").read_text(encoding="utf-8")
    assert page.count("not in this run" if why == "only" else "on hold, as the list has it") == 1
    assert [row[2] for row in job.worklist()] == ["not in this run" if why == "only" else "held", "made", "made"]
    assert ("plate 001: not in this run (--only)" in done.stderr) is (why == "only")
    assert told(job)[0] == {"001": "begun", "002": "planned", "003": "planned"}
    sound(job)


def test_a_name_that_is_hard_to_read_is_warned_of_again_where_it_is_cut_again(job, monkeypatch):
    two = [font for font in remedies.bundled_fonts() if font.name in ("Lobster", "Pacifico")]
    monkeypatch.setattr(remedies, "bundled_fonts", lambda: two)  # to try all of them is not what is asked here
    monkeypatch.setattr(remedies, "LARGER", (1.25,))
    ticket = TICKET.replace('legibility = "off"', "min_web = 1.8").replace("Pacifico", "Great Vibes")
    job.write({"001": "Bettina Bell"}, ticket=ticket)
    hard = re.compile(r"“Bettina Bell” is hard to read: .* not clear")
    said = job.make().stderr
    assert re.search(r"insides of e and a begin to close: .* not clear", said)
    assert re.search(r"tried on it, this would do: the font (Lobster or Pacifico|Pacifico or Lobster)", said)
    job.mark("cut", "--all")
    assert not hard.search(job.make().stderr)  # nothing of it is cut now
    job.mark("spoiled", "001")
    said = job.make().stderr
    assert hard.search(said) and "it is cut again as it was, and --again 001 makes it anew" in said
    assert "hard to read" in (job.out / "notes.html").read_text(encoding="utf-8")


def test_plaques_that_are_not_cut_here_are_asked_for_once_and_again_where_a_name_was_glued_on(job):
    def asked():
        with (job.out / "order.csv").open(encoding="utf-8-sig", newline="") as file:
            return [row["count"] for row in csv.DictReader(file) if row["material"] == "plaques, not cut here"]

    job.write()
    assert job.make().exit_code == 0 and asked() == ["3"]
    job.mark("cut", "--all")
    job.mark("spoiled", "001")  # its plaque is there
    job.write({**NAMES, "004": "Una"})
    assert job.make().exit_code == 0 and asked() == ["1"]
    job.mark("cut", "--all")
    job.mark("fitted", "002")
    assert job.make("--again", "003").exit_code == 0 and asked() == []  # no name was glued on its plaque
    job.write({**NAMES, "001": "Wren,3,", "004": "Una"})
    assert job.make().exit_code == 0 and asked() == ["2"]
    job.write({**NAMES, "004": "Una"})
    assert job.make("--again", "002").exit_code == 0 and asked() == ["1"]
