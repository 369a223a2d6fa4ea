"""A DXF and a PDF are read back as what was drawn; whatever else stands in them, or no drawing at all, is said."""

import re

import ezdxf
import numpy as np
import pytest

from nameplate.cut.dxf import steps_dxf
from nameplate.cut.inspect_files import judge_same_lines
from nameplate.cut.kerf import toolpath
from nameplate.cut.order import burning_order
from nameplate.cut.pdf import jig_pdf, put_together
from nameplate.cut.read_back import read_sheet
from nameplate.cut.read_dxf import read_dxf
from nameplate.cut.read_pdf import read_jig_pdf
from nameplate.cut.svg import jig_svg
from nameplate.errors import OutputError
from nameplate.geometry import region
from nameplate.model import Part
from nameplate.pdf.paper import A4

NOISE = [b"", b"\x00" * 99, b"\xff\xfe", b"%PDF-1.4\n", b"  0\nSECTION\n", b"0\n" * 999, b"  0\nEOF\n", b"9" * 9999]


@pytest.fixture
def dxf(sheet, tmp_path):
    path = tmp_path / "a.dxf"
    path.write_text(steps_dxf(200, 120, burning_order(sheet.placed())), encoding="utf-8")
    return path


def test_a_dxf_has_the_lines_of_its_sheet(sheet, dxf):
    drawing = read_dxf(dxf)
    assert drawing.faults == () and (drawing.width, drawing.height) == (200, 120)
    assert list(judge_same_lines(drawing.paths, read_sheet(sheet.path).paths, "a.dxf", "a.svg")) == []


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        (r"(AcDbPolyline\n)", r"\1 43\n2.0\n", "file-form"),  # a width
        (r"(AcDbPolyline\n)", r"\1 38\n5.0\n", "file-form"),  # an elevation
        (r"(\n  8\nscore\n)", r"\1 60\n1\n", "file-form"),  # invisible
        (r"(\n  8\ncut-outside\n)", r"\1 62\n1\n", "file-form"),  # a colour of its own
        (r"\n1001\nNAMEPLATE(?:\n10\d\d\n[^\n]*)+\n10\d\d\n[^\n]*", "", "path-owner"),
    ],
)
def test_what_a_dxf_must_not_have(dxf, old, new, code):
    text = dxf.read_text(encoding="utf-8")
    head, entities = text[: text.index("ENTITIES")], text[text.index("ENTITIES") :]
    changed = re.sub(old, new, entities, count=1)
    assert changed != entities
    dxf.write_text(head + changed, encoding="utf-8")
    assert code in {f.code for f in read_dxf(dxf).faults}


def test_a_dxf_that_does_not_tell_its_extent_has_none(dxf):
    text, told = re.subn(r"  9\n\$EXTM(?:IN|AX)\n(?: [123]0\n.*\n)+", "", dxf.read_text(encoding="utf-8"))
    assert told == 2
    dxf.write_text(text, encoding="utf-8")
    drawing = read_dxf(dxf)
    assert drawing.paths and (drawing.width, drawing.height) == (0, 0) and drawing.faults == ()


@pytest.mark.parametrize("noise", NOISE)
def test_what_is_no_drawing_at_all(tmp_path, noise):
    path = tmp_path / "a"
    path.write_bytes(noise)
    sheet = read_dxf(path)
    assert sheet.paths == () and sheet.faults
    with pytest.raises(OutputError, match="a is not the PDF of a jig"):
        read_jig_pdf(path)


@pytest.mark.parametrize(("width", "pages"), [(100, 1), (300, 2)])
def test_a_pdf_has_the_lines_of_its_svg(tmp_path, width, pages):
    frame = region.difference(region.rectangle(-20, 0, width, 90), region.disc((30, 40), 25))
    jig = toolpath(Part("1", "template", "board", frame, (np.array([(5.0, 5), (9, 5), (9, 8)]),)), 0.0)
    (tmp_path / "a.svg").write_text(jig_svg([jig]), encoding="utf-8")
    (tmp_path / "a.pdf").write_bytes(jig_pdf(jig))
    assert (tmp_path / "a.pdf").read_bytes().count(b"/Contents") == pages
    drawn, paths = read_jig_pdf(tmp_path / "a.pdf"), read_sheet(tmp_path / "a.svg").paths
    assert [line.closed for line in drawn] == [path.closed for path in paths] == [False, True, True]
    for line, path in zip(drawn, paths, strict=True):
        assert np.abs(line.points - path.points).max() < 1e-3


def test_a_pdf_without_one_of_its_pages(tmp_path):
    data = jig_pdf(toolpath(Part("1", "template", "board", region.rectangle(0, 0, 300, 90), ()), 0.0))
    pages = re.findall(r"stream\n([^%]*?)\nendstream", data.decode())
    assert put_together(pages, A4) == data
    (tmp_path / "a.pdf").write_bytes(put_together(pages[:1], A4))
    with pytest.raises(OutputError, match="no page shows the drawing at"):
        read_jig_pdf(tmp_path / "a.pdf")


NOT_PLAIN = "a.dxf: a SPLINE is not a plain chain of cubic Beziers"


def _heavier(spline):
    spline.weights = [1.0, 2.0, *[1.0] * (len(spline.control_points) - 2)]


def _raised(spline):
    corners = np.array(spline.control_points)
    corners[1, 2] = 1e-3
    spline.control_points = corners


def _joined_elsewhere(spline):
    knots = list(spline.knots)
    knots[4] += 0.25
    spline.knots = knots


def _opened(spline):
    spline.control_points = [*list(spline.control_points)[:-1], spline.control_points[-1] + (0.001, 0, 0)]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda spline: None, []),
        (_opened, ["a.dxf: a SPLINE does not end where it begins"]),
        (_heavier, [NOT_PLAIN]),
        (lambda spline: setattr(spline, "fit_points", [(0, 0, 0), (1, 1, 0)]), [NOT_PLAIN]),
        (_raised, [NOT_PLAIN]),
        (_joined_elsewhere, [NOT_PLAIN]),
    ],
)
def test_a_spline_of_a_dxf_is_a_plain_chain_of_cubics_or_told(dxf, change, told):
    document = ezdxf.readfile(dxf)
    change(next(iter(document.modelspace().query("SPLINE"))))
    document.saveas(dxf)
    assert [f.message for f in read_dxf(dxf).faults] == told
