"""A run whose parts are finished one by one and hang by tabs, and whose cuts begin in the waste."""

import re

import numpy as np
import pytest

from nameplate.cut.read_nominal import read_record
from nameplate.job.inspect_folder import look_over
from tests.job.small_job import made
from tests.jobs import json_of

FORMS = """
[files]
formats = ["svg", "dxf", "pdf", "tiled", "png"]
[machine]
acceleration = 3000
"""

KEYS = 'order = "part"\nlead_in = 1.5\ntabs = 2\ntab_width = 0.5\nbed_pitch = 40\n'


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("cut-free")


@pytest.fixture(scope="module")
def out(folder):
    return made(folder / "one", FORMS + KEYS)


def test_every_form_is_as_it_was_inspected_and_says_so(out):
    assert look_over(out).findings == ()
    (sheet,) = read_record(out / "nominal.json").sheets
    assert sheet[1].style.words == ("parts", "lead-ins", "tabs")
    text = (out / "cut" / "lettering-01.svg").read_text(encoding="utf-8")
    arcs, leads = len(re.findall("data-arc", text)), len(re.findall("data-lead-in", text))
    assert len(sheet[1].tabs) == arcs == 4
    told = json_of(out / "summary.json")
    assert told["sheets"][0]["cuts"] == {"order": "part", "lead_ins": leads, "tabs": arcs}
    assert leads > 0
    notes = (out / "notes.html").read_text(encoding="utf-8")
    assert "parts hang by 4 tabs, 0.5 mm wide" in notes
    assert "held-by-tabs" in {finding["code"] for finding in told["findings"]}
    assert "Hangs by 4 tabs: lift the sheet off whole" in (out / "worklist.html").read_text(encoding="utf-8")
    assert "<ol><li>Lift the sheet off the machine whole. " in (out / "cards.html").read_text(encoding="utf-8")


def test_the_same_run_leaves_the_same_bytes(folder, out, made_anew):
    again = made(folder / "two", FORMS + KEYS)
    files = {path.relative_to(out) for path in out.rglob("*") if path.is_file()}
    assert files == {path.relative_to(again) for path in again.rglob("*") if path.is_file()}
    assert [name for name in sorted(files) if (out / name).read_bytes() != (again / name).read_bytes()] == []


def test_without_the_keys_nothing_is_said_and_every_cut_closes(folder):
    plain = made(folder / "plain", FORMS)
    text = (plain / "cut" / "lettering-01.svg").read_text(encoding="utf-8")
    assert "data-cuts" not in text
    assert all(data.endswith("Z") for data in re.findall(r' d="([^"]+)"', text))
    assert '"style"' not in (plain / "nominal.json").read_text(encoding="utf-8")
    assert not any("tabs" in (plain / page).read_text(encoding="utf-8") for page in ("worklist.html", "cards.html"))
    assert "cuts" not in json_of(plain / "summary.json")["sheets"][0]


def test_a_tab_that_was_made_wider_is_found(folder, out):
    file = out / "cut" / "lettering-01.svg"
    before = file.read_text(encoding="utf-8")
    one = re.search(r'data-arc="1/2"[^>]*[L ](-?[\d.]+) (-?[\d.]+)"/>', before)
    end = np.array([float(one[1]), float(one[2])])
    sheet = read_record(out / "nominal.json").sheets[0][1]
    middles = sheet.tabs * (1, -1) + (0, sheet.height)
    away = end - middles[np.argmin(np.hypot(*(middles - end).T))]
    x, y = end + 0.1 * away / np.hypot(*away)
    head = one[0][: one[0].rindex(f"{one[1]} {one[2]}")]
    try:
        file.write_text(before.replace(one[0], f'{head}{x:.4f} {y:.4f}"/>'), encoding="utf-8")
        codes = {finding.code for finding in look_over(out).findings}
    finally:
        file.write_text(before, encoding="utf-8")
    assert {"file-changed", "tab"} <= codes
    assert look_over(out).findings == ()
