"""The first job that the program writes: it reads back, and shows every key there is."""

from __future__ import annotations

import dataclasses
import re
import tomllib

import pytest

from nameplate.errors import OutputError
from nameplate.plates.orders import make_orders
from nameplate.roster.reader import read_roster
from nameplate.ticket.reader import TABLES, read_ticket
from nameplate.ticket.schema import MaterialKeys, StockKeys
from nameplate.ticket.starter import ticket_text, write_starter
from nameplate.ticket.values import read_value


def test_it_reads_back_without_a_remark(tmp_path):
    ticket_path, roster_path = write_starter(tmp_path / "new" / "job")
    ticket = read_ticket(ticket_path)
    roster = read_roster(roster_path)
    orders = make_orders(roster, ticket)
    assert ticket.assumptions == ()
    assert roster.findings == ()
    assert (len(orders.orders), orders.refused, orders.findings) == (6, (), ())


def test_every_key_is_in_it():
    text = ticket_text()
    for name, record in (*TABLES.items(), ("material.lettering", MaterialKeys)):
        block = text.partition(f"[{name}]")[2].partition("\n[")[0]
        assert {f.name for f in dataclasses.fields(record)} <= set(re.findall(r"^(?:# )?(\w+) = ", block, re.MULTILINE))
    assert {f.name for f in dataclasses.fields(StockKeys)} <= set(re.findall(r"^(?:# )?(\w+) = ", text, re.MULTILINE))


def test_every_key_that_is_a_remark_is_valid_toml_once_the_sign_is_taken_away():
    lines = re.sub(r"^# (\w+ = )", r"\1", ticket_text(), flags=re.MULTILINE)
    assert tomllib.loads(lines)["lettering"]["font"] == ["Pacifico"]


def keys_of(record):
    return [pytest.param(field, id=field.name) for field in dataclasses.fields(record)]


EVERY_KEY = [p for record in (*TABLES.values(), MaterialKeys, StockKeys) for p in keys_of(record)]


@pytest.mark.parametrize("field", EVERY_KEY)
def test_what_is_written_of_a_key_is_accepted_once_the_sign_is_taken_away(field, tmp_path):
    written = re.search(rf"^(?:# )?{field.name} = (.*)$", ticket_text(), re.MULTILINE)[1]
    value = tomllib.loads(f"value = {written}")["value"]
    if field.metadata["kind"] == "path":
        (tmp_path / value).write_text("", encoding="utf-8")
    read_value(value, field.metadata, tmp_path)  # raises ValueError otherwise


def test_it_never_overwrites(tmp_path):
    write_starter(tmp_path)
    (tmp_path / "names.csv").write_text("mine", encoding="utf-8")
    with pytest.raises(OutputError) as caught:
        write_starter(tmp_path)
    assert len(caught.value.problems) == 2
    assert (tmp_path / "names.csv").read_text(encoding="utf-8") == "mine"


def test_one_file_in_the_way_stops_both(tmp_path):
    (tmp_path / "names.csv").write_text("mine", encoding="utf-8")
    with pytest.raises(OutputError):
        write_starter(tmp_path)
    assert not (tmp_path / "job.toml").exists()


def test_a_file_in_place_of_the_folder_is_refused(tmp_path):
    (tmp_path / "here").write_text("", encoding="utf-8")
    with pytest.raises(OutputError, match="cannot be written"):
        write_starter(tmp_path / "here" / "job")
