"""The workshop file: what it adds to a ticket, what goes before it, and who is told to mend what."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from click.testing import CliRunner

from nameplate.cli.commands import main
from nameplate.errors import TicketError
from nameplate.geometry.beam import Kerf
from nameplate.ticket.quick import quick_ticket
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.workshop import CONFIG_VARIABLE, own_workshop, read_workshop
from nameplate.ticket.workshop_schema import StockKeys

JOB = '[job]\nroster = "names.csv"\n[face]\nshape = "circle"\nwidth = 80\n'
SHOP = """[material.lettering]
name = "cast acrylic, blue"
kerf = 0.25
[material.template]
kerf = 0.12
[[stock]]
width = 400
height = 200
price = 9
[[stock]]
material = "template"
width = 700
height = 500
[machine.colours]
score = "#000000"
"""


def test_what_the_ticket_leaves_out_is_the_workshops(write):
    ticket = read_ticket(write(JOB), shop=write(SHOP, "workshop.toml"))
    lettering = ticket.material["lettering"]
    assert (lettering.name, lettering.kerf, lettering.thickness) == ("cast acrylic, blue", Kerf.of(0.25), 3.0)
    assert ticket.stock == (StockKeys("lettering", 400, 200, 9), StockKeys("template", 700, 500))
    assert ticket.colours.score == "#000000"
    (remark,) = ticket.assumptions
    assert "workshop.toml" in remark


def test_what_an_hour_of_the_machine_costs_is_the_workshops_or_else_the_tickets(write):
    shop = write(SHOP.replace("[machine.colours]", "[machine]\nrate = 36\n[machine.colours]"), "workshop.toml")
    assert read_ticket(write(JOB), shop=shop).machine.rate == 36
    assert read_ticket(write(f"{JOB}[machine]\nrate = 40\n"), shop=shop).machine.rate == 40
    assert read_ticket(write(JOB), shop=write(SHOP, "workshop.toml")).machine.rate == 0


def test_the_tickets_own_keys_go_before_it_key_by_key_and_sheets_material_by_material(write):
    own = '[material.lettering]\nkerf = 0.1\n[colours]\nscore = "#111111"\n[[stock]]\nwidth = 300\nheight = 300\n'
    ticket = read_ticket(write(JOB + own), shop=write(SHOP, "workshop.toml"))
    lettering = ticket.material["lettering"]
    assert (lettering.name, lettering.kerf) == ("cast acrylic, blue", Kerf.of(0.1))
    assert [(s.material, s.width) for s in ticket.stock] == [("lettering", 300), ("template", 700)]
    assert ticket.colours.score == "#111111"


def test_the_option_goes_before_the_ticket_and_that_before_the_users_own(write):
    named = JOB.replace("[face]", 'shop = "mine.toml"\n[face]')
    own, mine, other = (
        write(SHOP.replace("0.25", kerf), f"{name}.toml")
        for name, kerf in (("own", "0.21"), ("mine", "0.22"), ("other", "0.23"))
    )
    assert read_ticket(write(JOB), own=own).material["lettering"].kerf == Kerf.of(0.21)
    assert read_ticket(write(named), own=own).material["lettering"].kerf == Kerf.of(0.22)
    assert read_ticket(write(named), own=own, shop=other).material["lettering"].kerf == Kerf.of(0.23)
    assert mine.is_file()


def test_problems_of_both_files_are_told_at_once_each_with_its_own(write, problems):
    shop = write(SHOP.replace("0.25", "25").replace("price = 9", "prize = 9"), "workshop.toml")
    found = problems(JOB.replace("80", "nan"), shop=shop)
    assert [p.partition(":")[0] for p in found] == [
        "workshop.toml, line 3, material.lettering.kerf = 25",
        "workshop.toml, line 9, stock 1.prize",
        "job.toml, line 5, face.width = nan",
    ]


def test_a_clash_of_a_key_with_one_of_the_workshop_says_where_that_is_from(write, problems):
    shop = write(SHOP, "workshop.toml")
    (problem,) = problems(f"{JOB}[nest]\ngap = 0.2\n", shop=shop)
    assert problem.startswith("job.toml, line 7, nest.gap = 0.2")
    assert problem.endswith("(material.lettering.kerf from workshop.toml)")
    found = problems(f"{JOB}[nest]\nedge_margin = 120\n", shop=shop)
    assert any("a sheet of 400 x 200" in p and p.endswith("(stock 1 from workshop.toml)") for p in found)


def test_a_ticket_without_stock_says_so_once_when_the_workshop_file_is_broken(write, problems):
    found = problems(JOB, shop=write("[material.lettering]\nkerf = 0,2\n", "workshop.toml"))
    assert found == ("workshop.toml, line 2: kerf = 0,2: a number has a point, not a comma; write kerf = 0.2",)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[nest]\ngap = 2\n", "line 1, [nest]: unknown table of a workshop file; it belongs in a job ticket"),
        ("[colours]\n", "[machine.colours] in a workshop file"),
        (
            "[machine]\nlens = 3\n",
            "machine.lens: unknown key; known: acceleration, bed, bed_pitch, colours, decimals, lead_in, order,",
        ),
        ("[materials]\n", "did you mean material?"),
        ("machine = 3\n", "[machine]: 3: expected a table"),
        ('[material.lettering]\nname = "PVC"\n', "must never be laser cut"),
    ],
)
def test_what_a_workshop_file_cannot_hold_is_refused(write, text, says):
    with pytest.raises(TicketError) as caught:
        read_workshop(write(text, "workshop.toml"))
    assert any(says in p for p in caught.value.problems)


def test_a_list_without_a_ticket_takes_its_sheets_from_the_workshop(write, tmp_path):
    shop = read_workshop(write(SHOP, "workshop.toml"))
    ticket = quick_ticket(roster=tmp_path / "names.csv", face="circle:80", workshop=shop)
    assert [(s.material, s.width) for s in ticket.stock] == [("lettering", 400), ("template", 700)]
    other = quick_ticket(roster=tmp_path / "names.csv", face="circle:80", sheet="600x300", workshop=shop)
    assert [(s.material, s.width) for s in other.stock] == [("lettering", 600), ("template", 700)]
    assert other.material["lettering"].kerf == Kerf.of(0.25)


def call(*arguments):
    return CliRunner().invoke(main, [str(a) for a in arguments])


def test_whoever_runs_the_tests_their_own_file_is_not_among_them(monkeypatch):
    assert not own_workshop().exists()
    kept = os.environ[CONFIG_VARIABLE]
    monkeypatch.delenv(CONFIG_VARIABLE)
    assert own_workshop() != Path(kept) / "workshop.toml"
    assert own_workshop().name == "workshop.toml" and "nameplate" in own_workshop().parts


def test_the_users_own_file_is_written_once_and_used_by_every_command(write, tmp_path, monkeypatch):
    monkeypatch.setenv(CONFIG_VARIABLE, str(tmp_path / "config"))
    assert call("new", "--shop").exit_code == 0
    path = tmp_path / "config" / "workshop.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("11.50", "7.25"), encoding="utf-8")
    assert call("new", "--shop").exit_code == 2
    kept = path.read_text(encoding="utf-8")
    path.write_text(kept.replace("7.25", "7,25"), encoding="utf-8")
    assert f"error: {path}, line " in call("estimate", tmp_path / "names.csv", "--face", "circle:80").stderr
    path.write_text(kept, encoding="utf-8")
    assert call("new", tmp_path / "job").exit_code == 0
    for source in ((tmp_path / "job" / "job.toml",), (tmp_path / "names.csv", "--face", "circle:80")):
        done = call("estimate", *source)
        assert done.exit_code == 0, done.output
        assert " 7.25 " in done.stdout and "workshop.toml" in done.stderr
    other = write(path.read_text(encoding="utf-8").replace("7.25", "8.75"), "other/workshop.toml")
    assert " 8.75 " in call("estimate", tmp_path / "job" / "job.toml", "--shop", other).stdout


def test_new_without_a_folder_asks_for_one():
    done = call("new")
    assert done.exit_code == 2 and "FOLDER" in done.stderr
