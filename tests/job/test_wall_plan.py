"""The plan in a whole run and alone: the same files, and a worklist that says where everything hangs."""

import csv
import json

import pytest
from click.testing import CliRunner

from nameplate.cli.commands import main
from nameplate.job.inspect_folder import look_over
from nameplate.job.run import make_job
from nameplate.job.wall_plan import leave_wall
from nameplate.ticket.reader import read_ticket
from tests.jobs import json_of, write_job

TICKET = """
[job]
title = "Orchard"
roster = "names.csv"
paper = "letter"
[face]
shape = "ellipse"
width = 80
height = 50
[lettering]
legibility = "off"
strengthen = false
[jig]
style = "none"
[[stock]]
material = "lettering"
width = 300
height = 200
"""

WALL = """
[wall]
width = 600
height = 400
columns = 3
rows = 2
pitch = [150, 100]
hanger = [0, 15]
"""

pytestmark = pytest.mark.usefixtures("once_in_this_process")

FILES = ("drilling.pdf", "wall.csv", "wall.html", "wall.pdf")


@pytest.fixture
def ticket(tmp_path):
    rows = ["id,name,copies,hold,position", "7,Ida,2,,", "8,Otto,,yes,by the door", "9,漢字,,,", "10,Jo,,,"]
    return write_job(tmp_path, TICKET + WALL, "\n".join(rows))


def table(path):
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_a_run_leaves_the_plan_and_the_worklist_says_where_everything_hangs(ticket, tmp_path):
    out = tmp_path / "out"
    make_job(read_ticket(ticket), out, workers=1)
    told = json_of(out / "summary.json")
    assert set(FILES) <= set(told["files"])
    assert told["wall"] == {
        "width": 600,
        "height": 400,
        "centre": 300,
        "level": 1500,
        "above_floor": 1300,
        "pitch": [150, 100],
        "places": 6,
        "taken": 5,
        "free": 1,
    }
    wall = table(out / "wall.csv")
    # three columns of 150 about the middle, two rows of 100, holes 15 mm above the middle of a face
    assert [(r["id"], r["place"], r["x"], r["y"], r["status"]) for r in wall] == [
        ("7", "A1", "-150", "65", "made"),
        ("7/2", "A2", "0", "65", "made"),
        ("8", "A3", "150", "65", "held"),
        ("9", "B1", "-150", "-35", "refused"),
        ("10", "B2", "0", "-35", "made"),
    ]
    slots = {(r["plate"], r["copy"]): r["wall_slot"] for r in table(out / "worklist.csv")}
    assert slots == {("7", "1"): "A1", ("7", "2"): "A2", ("8", ""): "A3", ("9", ""): "B1", ("10", "1"): "B2"}
    page = (out / "worklist.html").read_text(encoding="utf-8")
    assert "<td>A1</td>" in page
    assert "<td>B2</td>" in page
    assert look_over(out).findings == ()


def test_the_plan_alone_is_the_same_and_never_replaces_a_run(ticket, tmp_path):
    runner, out, alone = CliRunner(), tmp_path / "out", tmp_path / "wall"
    assert runner.invoke(main, ["make", str(ticket), "-o", str(out), "--workers", "1"]).exit_code == 1  # one is refused
    done = runner.invoke(main, ["wall", str(ticket), "-o", str(alone)])
    assert done.exit_code == 1, done.output  # the same row is refused
    assert "5 plates on 6 places" in done.output
    assert {p.name for p in alone.iterdir()} == {*FILES, "files.json"}
    assert [name for name in FILES if (alone / name).read_bytes() != (out / name).read_bytes()] == []
    assert runner.invoke(main, ["wall", str(ticket), "-o", str(alone)]).exit_code == 1  # its own are replaced
    refused = runner.invoke(main, ["wall", str(ticket), "-o", str(out)])
    assert refused.exit_code == 2
    assert "holds a finished run, which is not replaced by wall.html" in refused.output
    assert (out / "summary.json").is_file()


def test_of_warnings_alike_the_worst_is_printed_and_all_with_notes(ticket, tmp_path):
    (tmp_path / "names.csv").write_text("name\nRen? Ash\nZo? Vale\nJo\nChlo? Pell\n", encoding="utf-8")
    call = ["wall", str(ticket), "-o", str(tmp_path / "wall")]
    short, every = (CliRunner().invoke(main, [*call, *more]).stderr for more in ([], ["--notes"]))
    assert short.count("looks garbled") == 1 and "(2 more like this: rows 3, 5)" in short
    assert short.endswith("all of them: with --notes\n")
    assert every.count("looks garbled") == 3 and "like this" not in every


def test_free_names_hang_by_the_rings_they_were_made_with_and_the_plan_alone_has_drafts_of_them(ticket, tmp_path):
    bronze = '[design.bronze]\nface = { shape = "none", height = 30, ring = 4 }\n'
    text = TICKET + bronze + WALL.replace("pitch = [150, 100]", "fit = true")
    ticket.write_text(text, encoding="utf-8")
    rows = ["id,name,design", "1,Ida,", "2,Otto,bronze", "3,Jo,bronze"]
    (tmp_path / "names.csv").write_text("\n".join(rows), encoding="utf-8")
    out, alone = tmp_path / "out", tmp_path / "wall"
    make_job(read_ticket(ticket), out, workers=1)
    told = json_of(out / "summary.json")
    rings = {p["id"]: p["rings"]["at"] for p in told["plates"] if p.get("rings")}
    made = {
        r["id"]: (float(r["x"]) - float(r["plate_x"]), float(r["y"]) - float(r["plate_y"]))
        for r in table(out / "wall.csv")
    }
    assert made.pop("1") == pytest.approx((0, 15))  # the hanger of the ticket is for plates with a face
    assert set(made) == set(rings) == {"2", "3"}
    for plate, ((x, y),) in rings.items():
        assert made[plate] == pytest.approx((x, y), abs=0.01)
    codes = [f["code"] for f in told["findings"]]
    assert not {"wall-overlap", "wall-edge", "wall-stand-in", "wall-draft"} & set(codes)
    assert "6000" not in json.dumps(told["findings"])
    _, said = leave_wall(read_ticket(ticket), alone, workers=1)
    assert [f.code for f in said if f.code.startswith("wall-")] == ["wall-draft"]
    drafted = {r["id"]: float(r["y"]) - float(r["plate_y"]) for r in table(alone / "wall.csv")}
    assert {plate: drafted[plate] for plate in made} == pytest.approx({p: y for p, (_, y) in made.items()}, abs=5)
    assert "@page { size: 215.9mm 279.4mm;" in (alone / "wall.html").read_text(encoding="utf-8")


def test_without_a_wall_there_is_no_plan(ticket, tmp_path):
    ticket.write_text(TICKET, encoding="utf-8")
    done = CliRunner().invoke(main, ["wall", str(ticket), "-o", str(tmp_path / "wall")])
    assert done.exit_code == 2
    assert "the ticket has no wall" in done.output
    assert not (tmp_path / "wall").exists()
    listed = CliRunner().invoke(main, ["wall", str(tmp_path / "names.csv"), "-o", str(tmp_path / "wall")])
    assert (listed.exit_code, "names.csv is no job ticket" in listed.output) == (2, True)
    make_job(read_ticket(ticket), tmp_path / "out", workers=1)
    assert not [name for name in FILES if (tmp_path / "out" / name).exists()]
    assert "wall_slot" not in (tmp_path / "out" / "worklist.csv").read_text(encoding="utf-8-sig")


def test_card_for_strips_is_ordered_until_the_plates_on_it_hang(ticket, tmp_path):
    more = 'strip = [600, 70]\norder = "surname"\n'
    ticket.write_text(ticket.read_text(encoding="utf-8") + more, encoding="utf-8")
    (tmp_path / "names.csv").write_text("id,name\n1,Ida\n2,Jo\n3,Otto\n4,Bo Lind\n", encoding="utf-8")

    def call(*arguments):
        done = CliRunner().invoke(main, [str(a) for a in arguments])
        assert done.exit_code == 0, done.output
        return done.stdout

    def card():
        said = call("make", ticket, "-o", tmp_path / "out", "--workers", 1)
        rows = [row for row in table(tmp_path / "out" / "order.csv") if "card" in row["material"]]
        assert len(rows) == said.count("card for drilling strips, 600 x 70")
        return [(row["thickness"], row["size"], row["count"], row["price"]) for row in rows]

    # two rows of holes, a strip each, and a sheet holds one
    assert card() == [("", "600 x 70", "2", "")]
    assert len(list((tmp_path / "out" / "drilling").glob("strips-*.svg"))) == 2
    answer = json.loads(call("estimate", ticket, "--json"))
    assert answer["card"] == [{"width": 600, "height": 70, "sheets": 2}]
    call("mark", "cut", ticket, "lettering-01")
    call("mark", "fitted", ticket, "--all")
    call("mark", "hung", ticket, "1", "2", "3")
    assert card() == [("", "600 x 70", "1", "")]
    drilled = {row["id"]: row["drilled"] for row in table(tmp_path / "out" / "wall.csv")}
    assert drilled == {"1": "yes", "2": "yes", "3": "yes", "4": ""} and (tmp_path / "out" / "drilling.pdf").exists()
    cards = (tmp_path / "out" / "cards.html").read_text(encoding="utf-8")
    assert "without a card here: 1-4." in cards and "<article" not in cards
    call("mark", "spoiled", ticket, "2")
    card()
    cards = (tmp_path / "out" / "cards.html").read_text(encoding="utf-8")
    assert "without a card here: 1, 3, 4." in cards and cards.count("<article") == 1
    call("mark", "undo", ticket, "--yes")
    call("mark", "hung", ticket, "--all")
    assert card() == []
    assert not (tmp_path / "out" / "drilling.pdf").exists()
    done = CliRunner().invoke(main, ["wall", str(ticket), "-o", str(tmp_path / "wall")])
    assert 'warning: [wall] 4 plates hang already, and with order = "surname" names that came since' in done.stderr
    ticket.write_text(ticket.read_text(encoding="utf-8").replace('"surname"', '"list"'), encoding="utf-8")
    done = CliRunner().invoke(main, ["wall", str(ticket), "-o", str(tmp_path / "wall")])
    assert done.exit_code == 0 and "hang already" not in done.stderr
