"""Whole runs with each style of jig: what is promised of the written files."""

import math
import re

import pytest

from tests.jobs import json_of, make_in, sheets_of

TICKET = """
[job]
title = "Gate"
roster = "names.csv"
[face]
shape = "rectangle"
width = 90
height = 45
[jig]
"""

SHEETS = sheets_of("lettering", "template", "carrier", width=300, height=200)


def made(tmp_path, keys):
    out = make_in(tmp_path, f"{TICKET}{keys}\n{SHEETS}")
    return out, json_of(out / "summary.json")


def features(path):
    """Every inner contour of a file carries what it is for."""
    text = path.read_text(encoding="utf-8")
    inner = re.findall(r'<g data-operation="cut-inside".*?</g>', text, re.DOTALL)
    paths = [p for group in inner for p in re.findall(r"<path[^>]*>", group)]
    return [m[1] if (m := re.search(r'data-feature="([^"]+)"', p)) else None for p in paths]


def test_a_carrier_with_contact_windows_and_a_ladder(tmp_path):
    out, summary = made(tmp_path, 'style = "carrier"\nwindow = "contacts"\nladder = true\nplaque_height = 6')
    (plate,) = summary["plates"]
    assert plate["status"] == "made"
    assert plate["jig"]["style"] == "carrier" and plate["jig"]["window"] == "contacts"
    assert set(plate["jig"]["play"]) == {"shift", "turn", "far"}
    assert [layer["what"] for layer in summary["carrier"]["layers"]] == ["floor", "wall", "wall"]
    assert len(summary["carrier"]["pins"]) == 3 and set(summary["carrier"]["play"]) == {"shift", "turn", "far"}
    assert summary["jig_stock"]["full_face_frames"] > summary["jig_stock"]["templates"] > 0

    template = features(out / plate["jig"]["file"])
    assert sorted(template) == ["contact-window", "pin-hole", "pin-hole", "pin-slot"]
    carrier = (out / "jigs" / "carrier.svg").read_text(encoding="utf-8")
    assert re.findall(r'<g data-layer="(\d)" id="layer-\1">', carrier) == ["1", "2", "3"]
    assert 'data-part="carrier"' in carrier and 'data-part="template"' not in carrier
    found = features(out / "jigs" / "carrier.svg")
    assert found.count("pocket") == 2 and found.count("release") == 1 and found.count("pin-hole") == 9

    # nested with everything else of its material
    assert (out / "cut" / "carrier-01.svg").is_file()
    sheets = "".join(p.read_text(encoding="utf-8") for p in (out / "cut").glob("*.svg"))
    assert 'data-part="coupon"' in sheets and features(out / "cut" / "template-01.svg").count("check") == 8
    assert summary["ladder"]["clearances"] == [0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4]
    assert summary["ladder"]["sheets"] == ["cut/lettering-01.svg", "cut/template-01.svg"]

    # what it needs besides stands on the cards, how it is used on the worklist, too
    pages = ((out / name).read_text(encoding="utf-8") for name in ("cards.html", "worklist.html"))
    cards, worklist = (page.replace("&nbsp;", " ") for page in pages)
    assert "3 dowel pins" in cards and "floor (3 mm), wall (3 mm), wall (3 mm)" in cards
    assert "on the three pins" in worklist and "edge to edge" not in worklist
    register = summary["carrier"]["register"]
    # common practice: the tilt of a plate on two pins, sin a = (c1 + c2) / (2 pitch), 0.05 mm a side and 0.02 for cuts
    assert math.sin(math.radians(register["turn"])) == pytest.approx(0.14 / register["pitch"], rel=1e-3)
    assert "Dry fit" in (out / "cards.html").read_text(encoding="utf-8")


@pytest.mark.parametrize("style", ["print", "none"])
def test_a_print_or_no_jig_takes_no_stock(tmp_path, style):
    out, summary = made(tmp_path, f'style = "{style}"')
    assert [p.name for p in (out / "cut").iterdir()] == ["lettering-01.svg"]
    assert summary["ladder"] is None
    assert summary["carrier"] is None and summary["jig_stock"] is None
    jigs = sorted(p.name for p in (out / "jigs").iterdir()) if (out / "jigs").is_dir() else []
    assert jigs == (["001-jo.pdf", "001-jo.svg", "all.pdf"] if style == "print" else [])
    cards = (out / "cards.html").read_text(encoding="utf-8")
    assert ("100 mm line of the print" in cards) is ("as true as your hand" in cards) is (style == "print")
    assert "mm off at most" not in cards
