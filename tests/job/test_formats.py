"""A run with every form of its sheets: all are written, listed, inspected and found out."""

import json
import re
from pathlib import Path

import ezdxf
import numpy as np
import pypdfium2
import pytest
import shapely
from PIL import Image, ImageColor, ImageDraw
from shapely import affinity

from nameplate.cut.read_nominal import read_record
from nameplate.job.inspect_folder import look_over
from nameplate.paperwork.proof import FACE_COLOUR, LETTER_COLOUR
from nameplate.ticket.reader import read_ticket
from tests.job.small_job import TICKET, made
from tests.jobs import json_of


@pytest.fixture(scope="module")
def out(tmp_path_factory):
    return made(tmp_path_factory.mktemp("formats"), '[files]\nformats = ["svg", "dxf", "pdf", "tiled", "png"]\n')


def test_every_form_lies_beside_its_sheet_and_is_inspected(out):
    cut = sorted(path.name for path in (out / "cut").iterdir())
    stems = {Path(name).stem for name in cut if name.endswith(".svg")}
    endings = (".svg", ".dxf", ".pdf", "-tiled.pdf", ".png")
    assert cut == sorted(stem + ending for stem in stems for ending in endings)
    told = json_of(out / "summary.json")
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


def test_files_are_drawn_and_counted_as_the_machine_has_it(tmp_path):
    counted = '[machine]\nbed = [200, 100]\norigin = "top-left"\nstroke = 0.02\ndecimals = 3\n'
    out = made(tmp_path, f'[files]\nformats = ["dxf", "tiled", "pdf"]\n{counted}')
    assert look_over(out).findings == ()
    drawing = ezdxf.readfile(out / "cut" / "lettering-01.dxf")
    assert (tuple(drawing.header["$EXTMIN"])[:2], tuple(drawing.header["$EXTMAX"])[:2]) == ((0, 0), (120, 90))
    assert "The machine counts from the top left corner" in (out / "worklist.html").read_text(encoding="utf-8")
    for text in (path.read_text(encoding="utf-8") for path in (out / "cut").glob("*.svg")):
        assert set(re.findall(r'stroke-width="([^"]*)"', text)) == {"0.02"}
        assert max(len(places) for places in re.findall(r"\.(\d+)", "".join(re.findall(r' d="([^"]*)"', text)))) == 3
    points = [p for e in drawing.modelspace() if e.dxftype() == "SPLINE" for p in e.control_points]
    assert np.array_equal(np.round(points, 3), points)
    assert b"\n0.02 w\n" in (out / "cut" / "lettering-01.pdf").read_bytes().replace(b" j", b" j\n", 1)
    record = out / "nominal.json"
    record.write_text(record.read_text(encoding="utf-8").replace('"down":true', '"down":false'), encoding="utf-8")
    assert {"true-size"} <= {f.code for f in look_over(out).findings}


@pytest.mark.parametrize(
    ("bed", "said"),
    [
        ((110, 200), "lies on the bed of 110 x 200 mm only turned: turn it to 90 x 120 mm, and write that size"),
        ((80, 80), "is larger than the bed of 80 x 80 mm: use a larger machine, or cut it into 4 of 60 x 45 mm"),
    ],
)
def test_a_sheet_that_does_not_lie_on_the_bed_is_refused(tmp_path, bed, said):
    with pytest.raises(ValueError, match="stock 1, lettering: a sheet of 120 x 90 mm " + said):
        made(tmp_path, f"[machine]\nbed = [{bed[0]}, {bed[1]}]\n")


def test_an_offcut_that_does_not_lie_on_the_bed_is_refused(tmp_path):
    outline = [{"outer": [[0, 0], [400, 0], [400, 90], [0, 90]], "holes": []}]
    rest = {"name": "long one", "material": "lettering", "rectangle": [0, 0, 400, 90], "outline": outline}
    (tmp_path / "offcuts.json").write_text(json.dumps({"version": 1, "offcuts": [rest]}), encoding="utf-8")
    with pytest.raises(ValueError, match="the offcut “long one”: a sheet of 400 x 90 mm is larger than the bed"):
        made(tmp_path, '[nest]\noffcuts = "offcuts.json"\n[machine]\nbed = [150, 150]\n')


def test_every_plate_has_a_picture_of_what_it_looks_like(out):
    told = json_of(out / "summary.json")
    assert sorted(p.name for p in (out / "plates").iterdir()) == ["001-ida-vance.png", "002-jo.png"]
    assert {"plates/001-ida-vance.png", "plates/002-jo.png"} <= set(told["files"])
    face = affinity.scale(shapely.Point(0, 0).buffer(1, quad_segs=90), 40, 25)  # the ticket's ellipse
    rng = np.random.default_rng(3)
    for part in read_record(out / "nominal.json").sheets[0][1].parts:
        shape = part.at.region_back(part.region)
        name = next(p.name for p in (out / "plates").iterdir() if p.name.startswith(part.plate))
        with Image.open(out / "plates" / name) as image:
            assert image.size == (656, 416)  # 82 x 52 mm at 8 pixels a mm
            pixels = np.asarray(image.convert("RGB"))
        for x, y in rng.uniform((-40, -25), (40, 25), (4000, 2)):
            point = shapely.Point(x, y)
            if min(shape.boundary.distance(point), face.boundary.distance(point)) > 0.25:
                row, column = int((26 - y) * 8), int((x + 41) * 8)
                wanted = LETTER_COLOUR if shape.contains(point) else FACE_COLOUR if face.contains(point) else "#ffffff"
                got = tuple(pixels[row, column].tolist())
                assert got == ImageColor.getrgb(wanted), (x, y)
