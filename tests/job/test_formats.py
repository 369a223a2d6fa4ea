"""A run with every form of its sheets: all are written, listed, inspected and found out."""

import json
from pathlib import Path

import ezdxf
import numpy as np
import pypdfium2
import pytest
from PIL import Image, ImageDraw

from nameplate.job.inspect_folder import look_over
from nameplate.job.run import make_job
from nameplate.ticket.reader import read_ticket

TICKET = """
[job]
title = "Orchard"
roster = "names.csv"
[face]
shape = "ellipse"
width = 80
height = 50
[jig]
style = "none"
[[stock]]
material = "lettering"
width = 120
height = 90
"""


def made(folder, more=""):
    (folder / "names.csv").write_text("name\nIda Vance\nJo\n", encoding="utf-8")
    (folder / "job.toml").write_text(TICKET + more, encoding="utf-8")
    make_job(read_ticket(folder / "job.toml"), folder / "out", workers=1)
    return folder / "out"


@pytest.fixture(scope="module")
def out(tmp_path_factory):
    return made(tmp_path_factory.mktemp("formats"), '[files]\nformats = ["svg", "dxf", "pdf", "tiled", "png"]\n')


def test_every_form_lies_beside_its_sheet_and_is_inspected(out):
    cut = sorted(path.name for path in (out / "cut").iterdir())
    stems = {Path(name).stem for name in cut if name.endswith(".svg")}
    endings = (".svg", ".dxf", ".pdf", "-tiled.pdf", ".png")
    assert cut == sorted(stem + ending for stem in stems for ending in endings)
    told = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    assert {f"cut/{name}" for name in cut} <= set(told["files"])
    assert look_over(out).findings == ()
    drawing = ezdxf.readfile(out / "cut" / "lettering-01.dxf")
    assert not drawing.audit().errors
    with pypdfium2.PdfDocument(out / "cut" / "lettering-01.pdf") as file:
        assert np.array(file[0].get_size()) * 25.4 / 72 == pytest.approx((120, 90), abs=1e-4)
    with pypdfium2.PdfDocument(out / "cut" / "lettering-01-tiled.pdf") as file:
        assert np.array(file[0].get_size()) * 25.4 / 72 == pytest.approx((210, 297), abs=1e-3)
    with Image.open(out / "cut" / "lettering-01.png") as image:
        assert image.size == (960, 720)


@pytest.mark.parametrize("name", ["lettering-01.dxf", "lettering-01.pdf", "lettering-01-tiled.pdf", "lettering-01.png"])
def test_a_form_that_was_changed_is_told_by_what_it_now_comes_to(out, name):
    path, form = out / "cut" / name, name.rpartition(".")[2]
    before = path.read_bytes()
    if form == "png":
        with Image.open(path) as image:
            ImageDraw.Draw(image).line([(3, 3), (99, 3)], fill="black")
            image.save(path)
    else:
        lines = before.splitlines(keepends=True)
        mark, other = (b" c\n", b"1 1 2 2 3 3 c\n") if form == "pdf" else (b"cut-outside\n", b"score\n")
        at = next(k for k, line in enumerate(lines) if line.endswith(mark) and k > len(lines) // 2)
        path.write_bytes(b"".join([*lines[:at], other, *lines[at + 1 :]]))
    try:
        said = look_over(out).findings
    finally:
        path.write_bytes(before)
    assert {"file-changed"} < {f.code for f in said}
    assert all(name in f.message for f in said)


def test_the_older_key_for_a_dxf_still_asks_for_one(tmp_path):
    (tmp_path / "names.csv").write_text("name\nJo\n", encoding="utf-8")
    for files, forms in (("", ("dxf",)), ('[files]\nformats = "png"\n', ("dxf", "png"))):
        text = TICKET.replace('title = "Orchard"\n', 'title = "Orchard"\ndxf = true\n') + files
        (tmp_path / "job.toml").write_text(text, encoding="utf-8")
        assert read_ticket(tmp_path / "job.toml").cut_files.others == forms
