"""What `explain` says of the keys: all of them, from the fields that check them, with examples that work."""

from __future__ import annotations

import dataclasses
import re
import tomllib
from pathlib import Path

import pytest

from nameplate.errors import TicketError
from nameplate.ticket.explain import entries, explain
from nameplate.ticket.keys import KINDS, read_value
from nameplate.ticket.lettering_schema import LineKeys
from nameplate.ticket.schema import DesignKeys
from nameplate.ticket.tables import TABLES
from nameplate.ticket.workshop_schema import MATERIALS, MaterialKeys, StockKeys

PAGE = Path(__file__).parents[2] / "examples" / "keys.txt"
RECORDS = {**{name: (f"[{name}]", record) for name, record in TABLES.items()}}
RECORDS |= {
    "line": ("[[line]]", LineKeys),
    "design": ("[design.NAME]", DesignKeys),
    "material": ("[material.NAME]", MaterialKeys),
    "stock": ("[[stock]]", StockKeys),
}
FIELDS = {f"{name}.{f.name}": f for name, (_, record) in RECORDS.items() for f in dataclasses.fields(record)}


def test_every_key_is_told_and_none_that_is_not_there():
    assert {entry.name for entry in entries()} == set(FIELDS)
    whole = explain()
    assert [name for name in FIELDS if f"\n{name}: " not in whole] == []
    assert [heading for heading, _ in RECORDS.values() if f"\n{heading}  " not in whole] == []


def test_the_page_is_what_explain_prints():
    """Made anew by: nameplate explain > examples/keys.txt."""
    assert PAGE.read_text(encoding="utf-8") == explain() + "\n"


@pytest.mark.parametrize("entry", entries(), ids=lambda e: e.name)
def test_every_example_is_accepted(entry, tmp_path):
    document = tomllib.loads(entry.example)
    assert list(document) == [entry.key]
    if FIELDS[entry.name].metadata["kind"] == "path":
        (tmp_path / document[entry.key]).write_text("", encoding="utf-8")
    read_value(document[entry.key], FIELDS[entry.name].metadata, tmp_path)  # raises ValueError otherwise


@pytest.mark.parametrize("entry", entries(), ids=lambda e: e.name)
def test_what_is_left_out_takes_the_default_that_is_told(entry):
    if entry.default.startswith("none") or " (" in entry.default:
        return
    value = tomllib.loads(f"x = {entry.default}")["x"]
    read = read_value(value, FIELDS[entry.name].metadata, Path())
    assert read == FIELDS[entry.name].default


def test_every_kind_is_told_in_words():
    assert all(kind.accepted for kind in KINDS.values())


def test_the_materials_have_their_own_defaults():
    text = explain("material.template.kerf")
    assert "0.15 (template)" in text and text == explain("material.kerf") == explain("KERF")
    assert all(name in explain("material") for name in MATERIALS)


@pytest.mark.parametrize("word", ["lettering.font", "LETTERING.FONT", " Lettering.Font "])
def test_a_key_alone(word):
    lines = explain(word).splitlines()
    assert lines[0] == "[lettering]" and lines[1].startswith("lettering.font: ")
    assert [line.split()[0] for line in lines[2:] if line[2] != " "] == ["accepts", "default", "example"]


@pytest.mark.parametrize("word", ["nest", "[nest]", "[[stock]]", "material"])
def test_a_table_alone(word):
    name = word.strip("[]")
    told = [line.partition(":")[0] for line in explain(word).splitlines() if line.startswith(f"{name}.")]
    assert told == [key for key in FIELDS if key.startswith(f"{name}.")]


@pytest.mark.parametrize("word", ["blank", "material.blank", "[material.blank]", "material.lettering"])
def test_a_material_is_told_as_the_table_of_all(word):
    assert explain(word) == explain("material")
    assert explain("lettering") != explain("material")


def test_a_key_of_two_tables_is_told_of_both():
    assert "face.width: " in explain("width") and "stock.width: " in explain("width")


def test_a_value_is_told_by_the_keys_that_take_it():
    text = explain("Pierced")
    assert text.startswith("[lettering]\nlettering.mount: ") and 'example  mount = "pierced"' in text
    assert "face.shape: " in explain("ellipse")


@pytest.mark.parametrize("word", sorted({choice for entry in entries() for choice in entry.choices}))
def test_the_example_of_a_value_is_one_that_its_key_takes(word):
    told = re.findall(r"^([\w.]+): .*?^  example  (.+?)$", explain(word), re.MULTILINE | re.DOTALL)
    assert told
    for name, example in told:
        read_value(tomllib.loads(example)[name.rpartition(".")[2]], FIELDS[name].metadata, Path())


@pytest.mark.parametrize(("word", "hint"), [("fnot", "font"), ("coluors", "colours"), ("face.widht", "face.width")])
def test_a_slip_is_told_what_is_near(word, hint):
    with pytest.raises(TicketError, match=f"did you mean {hint}"):
        explain(word)
    with pytest.raises(TicketError, match="prints all"):
        explain("qqqq")


def test_no_line_is_longer_than_a_screen():
    assert max(map(len, explain().splitlines())) <= 80
