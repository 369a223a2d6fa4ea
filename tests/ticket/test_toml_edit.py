"""Measured figures in a workshop file: their values change, every other byte stays, or nothing is written."""

import tomllib
from datetime import date

import pytest

from nameplate.errors import TicketError
from nameplate.geometry.beam import Kerf
from nameplate.ticket.starter import write_workshop
from nameplate.ticket.toml_edit import edited, write_values
from nameplate.ticket.workshop import read_workshop

LETTERING = ("material", "lettering")
VALUES = {"kerf": 0.171, "kerf_off": 0.003, "kerf_date": date(2026, 3, 1), "kerf_batch": 'crate "2" µ'}
TABLES = """# top
[material.lettering]  # a remark
name = "cast acrylic"
kerf   = 0.18   # measured once
thickness = 3

# remark of the stock
[[stock]]
width = 400
height = 200
[machine.colours]
score = "#000000" """
DOTTED = 'material.lettering.kerf = 0.2  # old\nmaterial.lettering.name = "oak"\n[machine]\nrate = 3\n'
APART = '[material.blank]\nname = "oak"\n[[stock]]\nwidth = 3\nheight = 3\n[material.lettering]\nname = "oak"\n'


def others(data):
    return [line for line in data.splitlines(keepends=True) if b"kerf" not in line]


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("text", [TABLES, DOTTED, "[material.lettering]\n"])
def test_every_other_line_keeps_its_bytes(write, text, mark, ending):
    text = text if text.endswith("\n") else f"{text}\n"
    path = write(mark + text.replace("\n", ending), "workshop.toml")
    before = path.read_bytes()
    write_values(path, LETTERING, VALUES)
    after = path.read_bytes()
    assert others(after) == others(before)
    assert after.count(b"\r\n") == (after.count(b"\n") if ending == "\r\n" else 0)
    material = tomllib.loads(after.decode("utf-8-sig"))["material"]["lettering"]
    assert {key: material[key] for key in VALUES} == VALUES
    write_values(path, LETTERING, {**VALUES, "kerf": 0.2, "kerf_date": date(2026, 9, 1)})
    again = path.read_bytes()
    assert others(again) == others(before) and len(again.splitlines()) == len(after.splitlines())


def test_remarks_stay_where_they_were_and_new_keys_stand_with_the_kerf(write):
    path = write(TABLES, "workshop.toml")
    write_values(path, LETTERING, VALUES)
    lines = path.read_text(encoding="utf-8").splitlines()
    assert lines[3] == "kerf   = 0.171   # measured once"
    assert [line.split(" ")[0] for line in lines[4:8]] == ["kerf_off", "kerf_date", "kerf_batch", "thickness"]


def test_the_workshop_file_that_new_writes_can_be_changed_and_read(tmp_path):
    path = write_workshop(tmp_path)
    before = path.read_text(encoding="utf-8").splitlines()
    write_values(path, LETTERING, VALUES)
    changed = [a for a, b in zip(before, path.read_text(encoding="utf-8").splitlines(), strict=True) if a != b]
    assert len(changed) == 1 and changed[0].startswith("lettering = ")
    lettering = read_workshop(path).material["lettering"]
    assert (lettering.kerf, lettering.kerf_off, lettering.kerf_date) == (Kerf.of(0.171), 0.003, date(2026, 3, 1))
    assert lettering.kerf_batch == VALUES["kerf_batch"]


def test_a_table_at_the_top_is_added_at_the_end_where_it_is_missing(write):
    path = write("# ours\n[material.lettering]\nkerf = 1  # wide", "workshop.toml")
    write_values(path, ("machine",), {"time_factor": 1.2})
    assert path.read_text(encoding="utf-8") == (
        "# ours\n[material.lettering]\nkerf = 1  # wide\n\n[machine]\ntime_factor = 1.2\n"
    )
    assert read_workshop(path).machine.time_factor == 1.2


@pytest.mark.parametrize(
    ("text", "reason"), [(APART, "write below [material.lettering] yourself: kerf = 0.171"), ("[machine]\n", "has no")]
)
def test_what_cannot_be_changed_is_left_as_it_was(write, text, reason):
    path = write(text, "workshop.toml")
    with pytest.raises(TicketError) as caught:
        write_values(path, LETTERING, VALUES)
    assert reason in str(caught.value)
    assert path.read_text(encoding="utf-8") == text


LIST = """\
# sheets
[[stock]]   # the usual one
width = 3
outline = [
  [0, 0],
  [1, 1],
]   # odd
# about the second
[[ stock ]]
width = 4   # four

[machine]
bed = [3, 4]
[[stock]]
width = 5
# the end


"""


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize(
    ("table", "gone"),
    [
        (("stock", 0), LIST[LIST.index("[[stock]]") : LIST.index("# about")]),
        (("stock", 1), LIST[LIST.index("[[ stock ]]") : LIST.index("\n[machine]")]),
        (("stock", 2), "[[stock]]\nwidth = 5\n"),
        (("design", "gold", "line", 0), '\n[[design.gold.line]]\ntext = "a"\n'),
    ],
)
def test_of_a_list_one_table_is_taken_out_and_remarks_before_and_behind_it_stay(table, gone, mark, ending):
    text = LIST if table[0] == "stock" else '[design.gold]\n\n[[design.gold.line]]\ntext = "a"\n'
    after = edited((mark + text.replace("\n", ending)).encode(), "job.toml", table, None)
    assert gone in text and after.decode() == mark + text.replace(gone, "").replace("\n", ending)


def test_the_next_table_of_a_list_stands_behind_the_last(tmp_path):
    after = edited(
        LIST.encode(), "job.toml", ("stock", 3), {"width": "24 in", "outline": [[0, 0.12345678]], "price": None}
    )
    new = '\n[[stock]]\nwidth = "24 in"\noutline = [[0, 0.12345678]]\n'
    assert after.decode() == LIST.replace("width = 5\n", f"width = 5\n{new}")
    assert edited(b"a = 1", "job.toml", ("line", 0), {"text": "x"}) == b'a = 1\n\n[[line]]\ntext = "x"\n'


def test_a_value_of_a_table_of_a_list_changes_in_its_place():
    text = LIST.partition("[machine]")[0].replace("[[ stock ]]", "[[stock]]")
    assert edited(text.encode(), "job.toml", ("stock", 1), {"width": 6}).decode() == text.replace(
        "4   # four", "6   # four"
    )
    assert edited(b"stock = [{ width = 3 }]", "job.toml", ("stock", 0), {"width": 6}) == b"stock = [{ width = 6 }]\n"


@pytest.mark.parametrize(
    ("text", "number", "values", "advice"),
    [
        (LIST, 1, {"width": 6}, "write below [[stock]] 2 yourself: width = 6"),  # tomlkit would move it
        ("stock = [{ width = 3 }]", 0, None, "take out [[stock]] 1 yourself"),
        ("stock = [{ width = 3 }]", 1, {"width": 6}, "write [[stock]] 2 yourself"),
        ('a = """\n[[stock]]\n"""\n[[stock]]\nwidth = 3\n', 0, None, "take out [[stock]] 1 yourself"),
    ],
)
def test_a_list_that_cannot_be_changed_line_by_line_is_left_to_the_person(text, number, values, advice):
    with pytest.raises(TicketError) as caught:
        edited(text.encode(), "job.toml", ("stock", number), values)
    assert advice in str(caught.value)


def test_a_material_that_a_ticket_lacks_gets_a_table_of_its_own():
    for text in ("a = 1\n", '[material]\nblank = { name = "oak" }\n', "[material.blank]\nkerf = 0.2\n"):
        after = edited(text.encode(), "job.toml", LETTERING, {"kerf": 0.3}).decode()
        assert after.startswith(text) and after[len(text) :].strip() == "[material.lettering]\nkerf = 0.3"


def test_a_new_key_of_a_design_stands_above_its_tables():
    text = "[design.gold]  # ours\n[design.gold.face]\nwidth = 3\n"
    after = edited(text.encode(), "job.toml", ("design", "gold"), {"materials": {"lettering": "mirror"}}).decode()
    assert after == text.replace("ours\n", 'ours\nmaterials = {lettering = "mirror"}\n')
