"""Every form of a sheet has its lines: by independent readers, and by our own, which also tell what is wrong."""

import ctypes
import io
from dataclasses import replace

import ezdxf
import numpy as np
import pypdfium2
import pytest
from PIL import Image, ImageDraw
from pypdfium2 import raw
from scipy.spatial import cKDTree
from svgelements import SVG, Path

from nameplate.cut.dxf import FRAME, steps_dxf
from nameplate.cut.inspect_files import examine_files, judge_same_lines
from nameplate.cut.machine import CutPen
from nameplate.cut.order import burning_order
from nameplate.cut.pdf import put_together, steps_pdf
from nameplate.cut.read_back import read_sheet
from nameplate.cut.read_dxf import read_dxf
from nameplate.cut.sheet_png import density, read_png, steps_png, unlike
from nameplate.pdf.paper import Paper
from nameplate.ticket.workshop_schema import ColourKeys
from tests.cut.written import sheet_svg

WIDTH, HEIGHT = 200, 120


@pytest.fixture
def steps(sheet):
    return burning_order(sheet.placed())


def outlines_of_svg(path):
    """The boxes of all paths of a cut file, y up, by svgelements, which knows nothing of us."""
    found = []
    for element in SVG.parse(str(path), ppi=25.4).elements():
        if isinstance(element, Path):
            x0, y0, x1, y1 = element.bbox()
            found.append((x0, HEIGHT - y1, x1, HEIGHT - y0))
    return np.array(found)


def test_the_pdf_is_as_large_as_the_sheet_and_has_its_lines_as_pdfium_reads_it(sheet, steps):
    with pypdfium2.PdfDocument(steps_pdf(WIDTH, HEIGHT, steps)) as file:
        assert len(file) == 1
        assert np.array(file[0].get_size()) * 25.4 / 72 == pytest.approx((WIDTH, HEIGHT), abs=1e-4)
        boxes, colours = [], []
        for obj in file[0].get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
            raw.FPDFPageObj_SetStrokeWidth(obj, 0.0)
            sides = [ctypes.c_float() for _ in range(4)]
            assert raw.FPDFPageObj_GetBounds(obj, *sides)
            boxes.append([side.value * 25.4 / 72 for side in sides])
            channels = [ctypes.c_uint() for _ in range(4)]
            raw.FPDFPageObj_GetStrokeColor(obj, *channels)
            colours.append("#{:02x}{:02x}{:02x}".format(*(channel.value for channel in channels[:3])))
    # PDFium's boxes are those of control points or of the curve, with a hair's width
    middles = np.array(boxes)[:, :2] + np.array(boxes)[:, 2:]
    want = outlines_of_svg(sheet.path)
    straight = [k for k, step in enumerate(steps) if not hasattr(step.line, "lines") or step.line.lines.all()]
    assert straight
    assert (middles / 2)[straight] == pytest.approx(((want[:, :2] + want[:, 2:]) / 2)[straight], abs=0.01)
    of = {"score": "#009e73", "cut-inside": "#d55e00", "cut-outside": "#0072b2"}
    assert colours == [of[step.operation] for step in steps]


def test_the_pdf_drawn_by_pdfium_is_the_sheet(sheet, steps):
    with pypdfium2.PdfDocument(steps_pdf(WIDTH, HEIGHT, steps)) as file:
        image = np.asarray(file[0].render(scale=20 * 25.4 / 72).to_pil().convert("L"))
    rows, columns = np.nonzero(image < 128)
    drawn = np.column_stack([columns, image.shape[0] - rows]) / 20
    lines = np.vstack([path.points for path in read_sheet(sheet.path).paths])
    assert cKDTree(drawn).query(lines)[0].max() < 0.15  # a line is 0.1 mm wide, a pixel 0.05


def test_a_dxf_may_have_the_sheets_rectangle_and_no_splines(sheet, steps, tmp_path):
    text = steps_dxf(WIDTH, HEIGHT, steps, frame=True, polylines=True)
    drawing = ezdxf.read(io.StringIO(text))
    auditor = drawing.audit()
    assert not auditor.errors
    assert not auditor.fixes
    first, *others = drawing.modelspace()
    assert first.dxf.layer == FRAME
    assert [tuple(p) for p in first.get_points("xy")] == [(0, 0), (WIDTH, 0), (WIDTH, HEIGHT), (0, HEIGHT)]
    assert {entity.dxftype() for entity in others} == {"LWPOLYLINE"}
    # DXF reference, group code 62: 1 red, 3 green, 5 blue; all different, whatever the true colours
    indices = {layer.dxf.name: layer.color for layer in drawing.layers}
    assert (indices["cut-inside"], indices["score"], indices["cut-outside"]) == (1, 3, 5)
    assert len({indices[name] for name in ("score", "cut-inside", "cut-outside", FRAME)}) == 4
    assert drawing.layers.get(FRAME).dxf.plot == 0
    path = tmp_path / "a.dxf"
    path.write_text(text, encoding="utf-8")
    read = read_dxf(path)
    assert read.faults == ()
    assert list(judge_same_lines(read.paths, read_sheet(sheet.path).paths, "a.dxf", "a.svg")) == []


def along(line):
    """Points (4000, 2) along a polyline, its corners among them as near as that goes."""
    at = np.linspace(0, len(line) - 1, 4000)
    return np.column_stack([np.interp(at, range(len(line)), line[:, axis]) for axis in (0, 1)])


def test_the_picture_has_the_lines_and_nothing_else(sheet, steps, tmp_path):
    path = tmp_path / "a.png"
    path.write_bytes(steps_png(WIDTH, HEIGHT, steps))
    with Image.open(path) as image:
        assert image.size == (WIDTH * density(WIDTH, HEIGHT), HEIGHT * density(WIDTH, HEIGHT))
        pixels = np.asarray(image.convert("RGB"))
    lines = [line.points for line in read_sheet(sheet.path).paths]
    assert unlike(read_png(path), WIDTH, HEIGHT, lines) == ""
    rows, columns = np.nonzero((pixels < 255).any(axis=2))
    drawn = np.column_stack([columns, HEIGHT * density(WIDTH, HEIGHT) - rows]) / density(WIDTH, HEIGHT)
    dense = np.vstack([along(line) for line in lines])
    assert cKDTree(dense).query(drawn)[0].max() < 0.5
    assert "a line is missing" in unlike(pixels, WIDTH, HEIGHT, [*lines, lines[0] + 9])
    assert "something is drawn" in unlike(pixels, WIDTH, HEIGHT, lines[1:])
    assert "pixels, not" in unlike(pixels, WIDTH + 1, HEIGHT, lines)


def written(sheet, steps, folder):
    """A folder with all forms of a sheet."""
    (folder / "a.svg").write_bytes(sheet.path.read_bytes())
    (folder / "a.dxf").write_text(steps_dxf(WIDTH, HEIGHT, steps, frame=True), encoding="utf-8")
    (folder / "a.pdf").write_bytes(steps_pdf(WIDTH, HEIGHT, steps))
    (folder / "a.png").write_bytes(steps_png(WIDTH, HEIGHT, steps))
    return ["a.svg", "a.dxf", "a.pdf", "a.png"]


def test_the_inspection_reads_all_forms_and_finds_what_differs(sheet, steps, tmp_path):
    names = written(sheet, steps, tmp_path)
    assert examine_files(tmp_path, names, sheet.expected).findings == ()
    off = [replace(steps[0], line=steps[-1].line) if k == 0 else step for k, step in enumerate(steps)]
    (tmp_path / "a.pdf").write_bytes(steps_pdf(WIDTH, HEIGHT, off))
    with Image.open(tmp_path / "a.png") as image:
        ImageDraw.Draw(image).line([(5, 5), (60, 5)], fill="black")
        image.save(tmp_path / "a.png")
    said = examine_files(tmp_path, names, sheet.expected).findings
    assert {f.code for f in said} == {"other-form"}
    assert [("a.pdf" in f.message, "a.png" in f.message) for f in said] == [(True, False), (False, True)]


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("a.pdf", b"%PDF-1.4\n", "file-unreadable"),
        ("a.png", b"\x89PNG\r\n\x1a\n" + b"0" * 99, "file-unreadable"),
        ("a.png", b"", "file-unreadable"),
        ("a.dxf", b"0\nEOF\n", "file-unreadable"),
    ],
)
def test_what_is_no_form_of_a_sheet_is_said_by_name(sheet, steps, tmp_path, name, data, code):
    names = written(sheet, steps, tmp_path)
    (tmp_path / name).write_bytes(data)
    said = examine_files(tmp_path, names, sheet.expected).findings
    assert [f.code for f in said] == [code]
    assert name in said[0].message


def test_a_pdf_of_another_size_or_colour_is_told(sheet, steps, tmp_path):
    names = written(sheet, steps, tmp_path)
    (tmp_path / "a.pdf").write_bytes(steps_pdf(WIDTH + 1, HEIGHT, steps))
    assert {f.code for f in examine_files(tmp_path, names, sheet.expected).findings} == {"sheet-size"}
    data = steps_pdf(WIDTH, HEIGHT, steps)
    colour = b"0.0000 0.4471 0.6980 RG"
    assert colour in data
    (tmp_path / "a.pdf").write_bytes(data.replace(colour, b"0.0000 0.4471 0.0980 RG", 1))
    assert {f.code for f in examine_files(tmp_path, names, sheet.expected).findings} == {"other-form"}


@pytest.mark.parametrize(
    ("now", "why"),
    [
        (b"0 0 m 9 9 l S\n0.1 w\n", "where its scale"),
        (b"0.5 w\n", "0.1 mm wide"),
        (b"2 0 0 2 0 0 cm\n0.1 w\n", "where its scale"),
    ],
)
def test_what_is_told_or_drawn_before_the_lines_of_a_pdf_is_judged(sheet, steps, tmp_path, now, why):
    names = written(sheet, steps, tmp_path)
    content = steps_pdf(WIDTH, HEIGHT, steps).decode().split("stream\n", 1)[1].split("\nendstream", 1)[0]
    changed = content.replace("0.1 w\n", now.decode(), 1)
    assert changed != content
    (tmp_path / "a.pdf").write_bytes(put_together([changed], Paper(WIDTH, HEIGHT)))
    (said,) = examine_files(tmp_path, names, sheet.expected).findings
    assert said.code == "file-unreadable"
    assert why in said.message


def test_operations_may_share_a_colour(sheet, steps, tmp_path):
    one = CutPen(ColourKeys(score="#111111", cut_inside="#111111", cut_outside="#111111"))
    (tmp_path / "a.svg").write_text(sheet_svg(WIDTH, HEIGHT, sheet.placed(), one), encoding="utf-8")
    (tmp_path / "a.pdf").write_bytes(steps_pdf(WIDTH, HEIGHT, steps, one))
    assert examine_files(tmp_path, ["a.svg", "a.pdf"], replace(sheet.expected, pen=one)).findings == ()


def test_same_sheet_same_bytes(steps):
    assert steps_pdf(WIDTH, HEIGHT, steps) == steps_pdf(WIDTH, HEIGHT, steps)
    assert steps_png(WIDTH, HEIGHT, steps) == steps_png(WIDTH, HEIGHT, steps)
