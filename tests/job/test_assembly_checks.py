"""What of a whole run is tried: every name in its window, every template on the pins, the plaque in the pocket."""

import json
import re
from dataclasses import replace

import pytest

from nameplate.cut.nominal_file import RECORD
from nameplate.cut.read_nominal import read_record
from nameplate.job.inspect_folder import look_over
from tests.jobs import json_of, make_in, sheets_of

TICKET = """
[job]
title = "Gate"
roster = "names.csv"
[face]
shape = "shield"
width = 80
height = 70
[lettering]
strengthen = false
legibility = "off"
{lettering}
[jig]
"""

SHEETS = sheets_of("lettering", "template", "carrier", width=400, height=300)


def made(tmp_path, keys, lettering=""):
    return make_in(tmp_path, f"{TICKET.format(lettering=lettering)}{keys}\n{SHEETS}", "name,copies\nJo,2\nIda,1\n")


@pytest.mark.parametrize(
    ("keys", "tried"),
    [
        ('style = "template"', {("001", "template", 1): 0.2, ("002", "template", 1): 0.2}),
        # its play is the kerf of the lettering's stock
        ('style = "skeleton"', {("001", "template", 1): 0.18, ("002", "template", 1): 0.18}),
        ('style = "none"', {}),
    ],
)
def test_what_is_tried(tmp_path, keys, tried):
    out = made(tmp_path, keys)
    drop_ins = read_record(out / RECORD).drop_ins
    assert {d.outer: d.room for d in drop_ins} == pytest.approx(tried)
    assert look_over(out).findings == ()


@pytest.mark.parametrize(
    ("style", "tried"),
    [
        ("none", {("001", "template", 2): 0.2, ("002", "template", 2): 0.2}),
        ("skeleton", {(p, "template", n): room for p in ("001", "002") for n, room in ((1, 0.2), (2, 0.2))}),
    ],
)
def test_a_name_is_tried_in_the_window_that_places_it_on_its_backing(tmp_path, style, tried):
    stock = '[[stock]]\nmaterial = "backing"\nwidth = 400\nheight = 300\n'
    out = made(tmp_path, f'style = "{style}"\n{stock}', 'mount = "backed"\nregister = "template"')
    record = read_record(out / RECORD)
    assert {d.outer: d.room for d in record.drop_ins} == pytest.approx(tried)
    guides = [p for _, sheet in record.sheets for p in sheet.parts if p.kind == "template" and p.layer == 2]
    assert len(guides) == 2 and not any(p.is_waste for p in guides)
    assert look_over(out).findings == ()


def test_a_carrier_is_tried_with_plaque_and_pins(tmp_path):
    out = made(tmp_path, 'style = "carrier"\nplaque_height = 6\nplaque_tolerance = 0.3')
    drop_ins = read_record(out / RECORD).drop_ins
    assert sorted((d.what, d.outer[:1] + d.outer[2:]) for d in drop_ins) == [
        ("the key pin", ("001", 1)),
        ("the key pin", ("002", 1)),
        ("the largest plaque", ("carrier", 2)),
        ("the largest plaque", ("carrier", 3)),
        ("the lettering", ("001", 1)),
        ("the lettering", ("002", 1)),
        ("the locating pins", ("001", 1)),
        ("the locating pins", ("002", 1)),
    ]
    assert look_over(out).findings == ()
    # the same files against a plaque that is larger than stated
    record = json.loads((out / RECORD).read_text(encoding="utf-8"))
    for drop_in in record["drop_ins"]:
        if "plaque" in drop_in["what"]:
            drop_in["room"] += 0.1
    (out / RECORD).write_text(json.dumps(record), encoding="utf-8")
    found = look_over(out).findings
    assert [f.code for f in found] == ["file-changed", "does-not-drop-in", "does-not-drop-in"]
    wanted = r"^cut/\w+-\d\d\.svg: the largest plaque of .* carrier, layer [23]: only 0\.\d{3} mm of room"
    assert all(re.search(wanted, f.message) for f in found[1:])


def test_names_that_do_not_drop_in_are_taken_out(tmp_path, monkeypatch):
    from nameplate.cut import drop_in

    monkeypatch.setattr(drop_in, "SHORT", -0.1)  # as if 0.1 mm more than the clearance were wanted
    out = made(tmp_path, 'style = "template"')
    told = json_of(out / "summary.json")
    assert [p["status"] for p in told["plates"]] == ["refused", "refused"]
    errors = [f for f in told["findings"] if f["severity"] == "error"]
    assert {(f["code"], f["plate"]) for f in errors} == {("does-not-drop-in", "001"), ("does-not-drop-in", "002")}
    assert all("does not go into the template" in f["message"] for f in errors)
    assert not list(out.glob("cut/*"))


def test_a_carrier_that_does_not_hold_its_plaque_is_left_out(tmp_path, monkeypatch):
    from nameplate.job import assembly_checks

    plaques = assembly_checks._plaques
    monkeypatch.setattr(
        assembly_checks, "_plaques", lambda *all_: [replace(d, room=d.room + 0.1) for d in plaques(*all_)]
    )
    out = made(tmp_path, 'style = "carrier"\nplaque_height = 6\nplaque_tolerance = 0.3')
    told = json_of(out / "summary.json")
    assert [p["status"] for p in told["plates"]] == ["made", "made"]
    assert {s["material"] for s in told["sheets"] if s.get("left_out")} == {"carrier"}
    assert not list(out.glob("cut/carrier-*")) and list(out.glob("cut/template-*"))
    assert {f["code"] for f in told["findings"] if f["severity"] == "error"} == {"sheet-left-out"}
