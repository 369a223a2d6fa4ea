"""The block of what to order: as the README shows it, as `order.csv` has it, and as a second try bears it out."""

from __future__ import annotations

import csv
import json
import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from lxml import html

from nameplate.cli.commands import main
from tests.jobs import json_of, write_job

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")

TICKET = """\
job = {{ roster = "names.csv", approval = "none" }}
face = {{ shape = "ellipse", width = 60, height = 40 }}
jig = {{ style = "none" }}
{machine}
[material]
lettering = {{ name = "cast acrylic", thickness = 3, kerf = 0.18{speed} }}
[[stock]]
material = "lettering"
width = {width}
height = {height}
{price}
"""


def call(*arguments):
    done = CliRunner().invoke(main, [str(a) for a in arguments])
    assert done.exit_code == 0, done.output
    return done.stdout


def job(folder, names=3, *, size=(200, 100), price="", speed="", machine=""):
    """Write a job of so many names that are all alike, so that another one is like them indeed."""
    text = TICKET.format(width=size[0], height=size[1], price=price, speed=speed, machine=machine)
    return write_job(folder, text, "name\n" + "Wren Abara\n" * names)


#: What a line of the order has where nothing is known.
EMPTY = dict.fromkeys(("thickness", "price", "cost", "thickness_in"), "")


def order_of(folder):
    with (folder / "order.csv").open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_an_estimate_has_one_least_number_of_sheets_a_material_and_one_word_for_it(tmp_path):
    """Four plaques of 120 x 80 mm with 10 mm kept free: a sheet of 150 x 100 has room for one."""
    ticket = job(tmp_path, names=4, size=(600, 300))
    text = ticket.read_text(encoding="utf-8").replace("width = 60, height = 40", "width = 120, height = 80, cut = true")
    stock = '[[stock]]\nmaterial = "blank"\nwidth = 150\nheight = 100\nprice = 2.5\non_hand = 1\n'
    ticket.write_text(text + stock, encoding="utf-8")
    said = call("estimate", ticket)
    assert re.search(r"^ plaque +150 x 100 +4 +1 +3 ", said, re.MULTILINE), said
    assert "plaque: 4 plaques\n" in said and "plaque: to buy at least 3 sheets for 7.50, however full" in said
    assert len(re.findall("at least", said)) == 2  # of the plaques and of the lettering
    assert "blank" not in said


def test_with_letter_sheets_are_told_in_inches_too(tmp_path):
    ticket = job(tmp_path, size=(609.6, 304.8))
    said = call("estimate", ticket)
    assert said.startswith("Order 1 sheet cast acrylic 3 mm, 609.6 x 304.8\n")
    letter = ticket.read_text(encoding="utf-8").replace('approval = "none"', 'approval = "none", paper = "letter"')
    ticket.write_text(letter, encoding="utf-8")
    said = call("estimate", ticket)
    assert said.startswith("Order 1 sheet cast acrylic 3 mm (0.118 in), 609.6 x 304.8 (24 x 12 in)\n")


def test_the_readmes_block_is_what_the_example_prints(tmp_path, once_in_this_process):
    shown = (
        README.partition("`nameplate estimate` begins with what to order")[2].partition("```\n")[2].partition("```")[0]
    )
    shutil.copytree(ROOT / "examples" / "orchard", tmp_path / "orchard")
    done = CliRunner().invoke(main, ["estimate", str(tmp_path / "orchard" / "job.toml")])
    assert done.exit_code == 0 and shown.count("\n") >= 4 and done.stdout.startswith(shown), done.stdout
    assert len(done.stderr.splitlines()) <= 6, done.stderr  # five lines of findings, and where all of them are


def test_plaques_that_are_not_cut_here_are_counted_by_design_with_spares_of_their_own(tmp_path, once_in_this_process):
    ticket = job(tmp_path)
    more = (
        "[design.plum]\nface = { width = 50.8, height = 25.4 }\n[design.pear]\nface = { width = 90, height = 40, "
        "cut = true }\n[design.fig]\nlettering = { mount = 'pierced' }\n[spares]\nloss = 0.1\nconfidence = 0.9\n"
        '[[stock]]\nmaterial = "blank"\nwidth = 200\nheight = 100\n'
    )
    ticket.write_text(ticket.read_text(encoding="utf-8") + more, encoding="utf-8")
    rows = "Wren,plum,2\nOdo,plum,\nIda,,\nMia,pear,\nJo,fig,\n"
    (tmp_path / "names.csv").write_text(f"name,design,copies\n{rows}", encoding="utf-8")
    said = call("estimate", ticket)
    # 0.1 of them fail: of 4 plaques at least 3 are good in 0.9477 of all cases (0.9^4 + 4 x 0.1 x 0.9^3), of 3 in
    # 0.729 alone; 1 is good in 0.9, as is asked
    told = [line for line in said.splitlines() if line.startswith("Have ready")]
    assert told == [
        "Have ready 1 plaque, 60 x 40, which is not cut here",
        "Have ready 4 plaques of plum, 50.8 x 25.4, 1 of them spare, which are not cut here",
    ]
    answer = json.loads(call("estimate", ticket, "--json"))
    assert [(line["design"], line["count"], line["spare"]) for line in answer["plaques"]] == [
        ("", 1, 0),
        ("plum", 4, 1),
    ]


def test_without_a_price_there_is_no_money_anywhere(tmp_path, once_in_this_process):
    out = tmp_path / "out"
    ticket = job(tmp_path / "job")
    said = call("make", ticket, "-o", out) + call("estimate", ticket)
    assert "Order 1 sheet cast acrylic 3 mm, 200 x 100\n" in said and "costs" not in said
    assert order_of(out) == [
        {
            "material": "cast acrylic",
            "thickness": "3",
            "size": "200 x 100",
            "count": "1",
            "price": "",
            "cost": "",
            "thickness_in": "0.118",
            "size_in": "7.87 x 3.93",
        },
        {**EMPTY, "material": "plaques, not cut here", "size": "60 x 40", "count": "3", "size_in": "2.36 x 1.57"},
    ]
    pages = [html.parse(str(page)).getroot().text_content() for page in out.glob("*.html")]
    texts = [said, *pages, *(path.read_text(encoding="utf-8") for path in out.glob("*.csv"))]
    assert len(pages) >= 4
    assert [text for text in texts if re.search(r"(?<![\d.])0\.00(?! mm)(?!\d)", text)] == []


def test_screen_table_and_summary_say_the_same_and_a_plate_costs_its_share(tmp_path, once_in_this_process):
    out = tmp_path / "out"
    ticket = job(
        tmp_path / "job",
        4,
        size=(65, 45),
        price="price = 3.25",
        speed=", cut_speed = 10",
        machine="machine = { rate = 60 }",
    )
    said = call("make", ticket, "-o", out)
    row, plaques = order_of(out)
    assert plaques["count"] == "4" and plaques["price"] == plaques["cost"] == ""
    count = int(row["count"])
    assert count >= 2 and row["price"] == "3.25" and float(row["cost"]) == pytest.approx(count * 3.25)
    assert f"Order {count} sheets cast acrylic 3 mm, 65 x 45: {row['cost']} (3.25 each)\n" in said
    summary = json_of(out / "summary.json")
    assert [(s["count"], s["price"]) for s in summary["stock"]] == [(count, 3.25)] and summary["cost"] == count * 3.25
    # an hour of 60 is 1 a minute; four plates share sheets and minutes
    minutes = sum(sheet["minutes"] for sheet in summary["sheets"])
    alone, both = re.search(
        r"A plate costs ([\d.]+) of material, ([\d.]+) with the machine at 60 an hour", said
    ).groups()
    assert float(alone) == pytest.approx(count * 3.25 / 4, abs=0.006)
    assert float(both) == pytest.approx((count * 3.25 + minutes) / 4, abs=0.02)
    # at 10 mm/s a sheet burns at least as long as its lines are long
    assert minutes * 60 >= sum(sheet["cut_length"] for sheet in summary["sheets"]) / 10 > 0


def test_as_many_more_names_as_there_is_room_for_take_no_further_sheet(tmp_path, once_in_this_process):
    def figures(names):
        return json.loads(call("estimate", job(tmp_path / str(names), names, size=(130, 100)), "--json"))

    def sheets(found):
        return sum(line["count"] for line in found["stock"])

    first = figures(2)
    table = (
        README.partition("With `--json` the same as one object:")[2]
        .partition("\n\n## ")[0]
        .partition("\n\nHow parts")[0]
    )
    told = {key for cell in re.findall(r"^\| ([^|]+) \|", table, re.MULTILINE) for key in re.findall(r"`(\w+)`", cell)}
    assert told - {"spares"} == set(first) - {"spares"}  # only with [spares]
    (more,) = first["quote"]["more"]
    room = more["names"]
    assert room >= 2 and not more["more"] and sheets(first) == 1
    assert sheets(figures(2 + room)) == 1
    assert sheets(figures(2 * (2 + room))) > 1  # where twice as many had room, the figure would say nothing
    said = call("estimate", tmp_path / "2" / "job.toml")
    assert f"Room for {room} more names like these" in said and "\n".join(first["told"]) in said


def test_with_several_designs_room_is_told_for_each_and_holds(tmp_path, once_in_this_process):
    designs = "[design.small]\nface = { width = 52, height = 34 }\n[design.large]\n"

    def room(small, large):
        ticket = job(tmp_path / f"{small}-{large}", size=(140, 100))
        ticket.write_text(ticket.read_text(encoding="utf-8") + designs, encoding="utf-8")
        rows = "Wren Abara,small\n" * small + "Wren Abara,large\n" * large
        (ticket.parent / "names.csv").write_text(f"name,design\n{rows}", encoding="utf-8")
        said = call("estimate", ticket)
        assert "Order 1 sheet " in said, said
        told = re.search(
            r"^Room for (\w+) more names? of large(?:, or for (\w+) more of| or) small$", said, re.MULTILINE
        )
        large, small = told.groups()
        return [0 if count == "no" else int(count) for count in (large, small or large)]

    more_large, more_small = room(1, 1)
    assert more_small > more_large > 0
    room(1 + more_small, 1)
    room(1, 1 + more_large)
