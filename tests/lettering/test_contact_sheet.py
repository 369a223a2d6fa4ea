import runpy
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

SCRIPT = Path(__file__).parents[2] / "examples" / "contact_sheet.py"


def test_the_contact_sheet_draws_each_font_and_name(tmp_path, monkeypatch):
    script = runpy.run_path(str(SCRIPT))
    draw = script["main"].__globals__
    monkeypatch.setitem(draw, "NAMES", ("Bo", "Łu"))
    monkeypatch.setitem(draw, "bundled_fonts", lambda: script["bundled_fonts"]()[2:3])  # one that has no Ł
    picture = tmp_path / "sheet.svg"
    monkeypatch.setattr(sys, "argv", ["contact_sheet.py", str(picture)])
    script["main"]()
    paths = ET.parse(picture).getroot().findall("{http://www.w3.org/2000/svg}path")
    filled = [p for p in paths if p.get("fill") != "none"]
    assert len(filled) == 4  # two names, and one more pierced and small
    assert all(p.get("d").startswith("M") for p in filled)
