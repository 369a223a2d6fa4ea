"""The first job that the program writes: short, and it can be made as it is; and the workshop file."""

from __future__ import annotations

import dataclasses
import os
import re
import subprocess
import tomllib

import pytest

from nameplate.errors import OutputError
from nameplate.plates.orders import list_remarks, make_orders
from nameplate.roster.reader import read_roster
from nameplate.ticket.explain import entries
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.starter import opener, write_starter, write_workshop
from nameplate.ticket.workshop import read_workshop
from nameplate.ticket.workshop_schema import ColourKeys


def test_it_reads_back_without_a_remark(tmp_path):
    ticket_path, roster_path, _ = write_starter(tmp_path / "new" / "job")
    ticket = read_ticket(ticket_path)
    roster = read_roster(roster_path)
    orders = make_orders(roster, ticket)
    assert ticket.assumptions == ()
    assert (roster.findings, list(list_remarks(roster))) == ((), [])
    assert (len(orders.orders), orders.refused, orders.findings) == (6, (), ())


def test_it_is_short_and_its_title_is_the_lists_own(tmp_path):
    path, roster, _ = write_starter(tmp_path)
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 36
    roster.rename(tmp_path / "Orchard sponsors.csv")
    path.write_text(path.read_text(encoding="utf-8").replace("names.csv", "Orchard sponsors.csv"), encoding="utf-8")
    assert read_ticket(path).job.title == "Orchard sponsors"


def test_every_choice_that_its_remarks_name_is_one(tmp_path):
    text = write_starter(tmp_path)[0].read_text(encoding="utf-8")
    for key, named in re.findall(r'^(shape|mount|style) += "\w+" +# (.*)$', text, re.MULTILINE):
        accepts = next(e.accepts for e in entries() if e.key == key)
        words = re.sub(r" \(.*?\)", "", named).split(", ")
        assert [f'"{word}"' for word in words] == re.findall(r'"\w+"', accepts), key


def test_with_a_workshop_file_it_leaves_materials_and_stock_to_that(tmp_path):
    path, *_ = write_starter(tmp_path / "job", materials=False)
    shop = write_workshop(tmp_path / "shop")
    document = tomllib.loads(path.read_text(encoding="utf-8"))
    assert not {"material", "stock"} & set(document)
    ticket = read_ticket(path, own=shop)
    assert {s.material for s in ticket.stock} == {"lettering", "template"}
    assert ticket.material["template"].name == "grey board"


def test_what_is_a_remark_in_the_workshop_file_is_right_once_the_sign_is_taken_away(tmp_path):
    path = write_workshop(tmp_path)
    remarks = re.sub(r"^# (?=\[|\w+ += )", "", path.read_text(encoding="utf-8"), flags=re.MULTILINE)
    path.write_text(remarks, encoding="utf-8")
    shop = read_workshop(path)
    assert [s.offcut for s in shop.stock] == [False, False, True]
    assert {k for k in shop.keys if k.startswith("machine.")} == {
        "machine.bed",
        "machine.rate",
        "machine.acceleration",
        *(f"machine.colours.{f.name}" for f in dataclasses.fields(ColourKeys)),
    }


def test_it_never_overwrites(tmp_path):
    write_starter(tmp_path)
    (tmp_path / "names.csv").write_text("mine", encoding="utf-8")
    with pytest.raises(OutputError) as caught:
        write_starter(tmp_path)
    assert len(caught.value.problems) == 3
    assert (tmp_path / "names.csv").read_text(encoding="utf-8") == "mine"
    write_workshop(tmp_path)
    with pytest.raises(OutputError):
        write_workshop(tmp_path)


def test_one_file_in_the_way_stops_both(tmp_path):
    (tmp_path / "names.csv").write_text("mine", encoding="utf-8")
    with pytest.raises(OutputError):
        write_starter(tmp_path)
    assert not (tmp_path / "job.toml").exists()


def test_a_file_in_place_of_the_folder_is_refused(tmp_path):
    (tmp_path / "here").write_text("", encoding="utf-8")
    with pytest.raises(OutputError, match="cannot be written"):
        write_starter(tmp_path / "here" / "job")


@pytest.mark.skipif(os.name == "nt", reason="a shell script")
def test_the_opener_opens_its_own_folder_with_the_program_that_wrote_it(tmp_path):
    seen = tmp_path / "seen"
    python = tmp_path / "it's a $program"
    python.write_text(f'#!/bin/sh\necho "$PWD" "$@" > {seen}\n', encoding="utf-8")
    python.chmod(0o755)
    *_, path = write_starter(tmp_path / "a job")
    assert os.access(path, os.X_OK)
    name, text = opener(str(python), windows=False)
    assert path.name == name
    path.write_text(text, encoding="utf-8")
    subprocess.run([path], check=True, cwd="/")
    assert seen.read_text(encoding="utf-8") == f"{tmp_path / 'a job'} -m nameplate open\n"


def test_the_opener_of_windows_keeps_signs_of_its_shell_apart():
    name, text = opener(r"C:\100% wood\python.exe", windows=True)
    assert name == "open.bat"
    assert text.count("\r\n") == text.count("\n") == 4
    assert r'"C:\100%% wood\python.exe" -m nameplate open' in text
