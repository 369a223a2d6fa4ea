"""DXF faces, drawn by ezdxf as other programs draw them: units, layers, arcs, splines, blocks."""

import math
import warnings

import ezdxf
import pytest
from ezdxf import units

from nameplate.errors import FaceError
from nameplate.face.drawing import dxf
from nameplate.face.drawing.face_outline import read_face_drawing
from nameplate.face.making import face_words, make_face
from nameplate.geometry import region
from nameplate.ticket.schema import FaceKeys

PLAQUE = [(0, 0), (90, 0), (90, 60), (0, 60)]


@pytest.fixture
def draw(tmp_path):
    def to_file(make, unit=units.MM, version="R2010"):
        document = ezdxf.new(version, units=unit)
        make(document.modelspace(), document)
        path = tmp_path / "face.dxf"
        document.saveas(path)
        return path

    return to_file


def plaque(space, document):
    space.add_lwpolyline(PLAQUE, close=True)


def size(drawing):
    box = region.bounds(drawing.outline)
    return box.width, box.height


@pytest.mark.parametrize(
    ("unit", "times"), [(units.MM, 1), (units.CM, 10), (units.IN, 25.4), (units.M, 1000), (units.FT, 304.8)]
)
def test_the_unit_is_that_of_the_header(draw, unit, times):
    path = draw(lambda space, _: space.add_lwpolyline([(x / 10, y / 10) for x, y in PLAQUE], close=True), unit)
    assert size(read_face_drawing(path)) == pytest.approx((9 * times, 6 * times))


def test_without_a_unit_it_is_millimetres_with_a_warning(draw):
    path = draw(plaque, unit=0)
    (finding,) = read_face_drawing(path).findings
    assert finding.severity == "warning"
    assert "90.0 x 60.0 mm (in inches it would be 2286.0 x 1524.0 mm)" in finding.message
    assert read_face_drawing(path, width=45).findings == ()


@pytest.mark.parametrize("version", ["R12", "R2000", "R2010", "R2018"])
def test_lines_and_arcs_join_and_layers_are_roles(draw, version):
    def make(space, document):
        for name in ("Plaque", "Holes", "Rim", "Notes"):
            document.layers.add(name)
        on = {"layer": "Plaque"}
        # a slot: two lines, two half circles
        space.add_line((20, 0), (80, 0), dxfattribs=on)
        space.add_line((80, 40), (20, 40), dxfattribs=on)
        space.add_arc((80, 20), 20, -90, 90, dxfattribs=on)
        space.add_arc((20, 20), 20, 90, 270, dxfattribs=on)
        space.add_circle((10, 20), 2, dxfattribs={"layer": "Holes"})
        space.add_line((20, 5), (80, 5), dxfattribs={"layer": "Rim"})
        space.add_text("orchard", dxfattribs={"layer": "Notes"})

    path = draw(make, version=version, unit=units.MM)
    drawing = read_face_drawing(path, width=100, roles={"rim": "score"})
    assert drawing.outline.area == pytest.approx(60 * 40 + math.pi * 400, abs=1)
    assert drawing.keep_outs.area == pytest.approx(4 * math.pi, abs=0.1)
    assert len(drawing.scored) == 1
    told = " ".join(f.message for f in drawing.findings)
    for words in ("line on layer", "and 3 more (widest gap", "on layer 'Holes'", "on layer 'Rim'", "TEXT"):
        assert words in told


def test_ellipses_splines_and_bulges_have_their_areas(draw):
    ellipse = draw(lambda space, _: space.add_ellipse((0, 0), (40, 0), 0.5))
    assert read_face_drawing(ellipse).outline.area == pytest.approx(math.pi * 40 * 20, rel=1e-3)
    # a closed polyline of two bulges of 1 is a circle (DXF reference: the tangent of a quarter of the angle)
    bulges = draw(lambda space, _: space.add_lwpolyline([(0, 0, 1), (60, 0, 1)], format="xyb", close=True))
    assert read_face_drawing(bulges).outline.area == pytest.approx(math.pi * 900, rel=1e-3)
    # one span is a Bezier curve: y = 120 t (1 - t), dx = 360 t (1 - t) dt, and the integral of t2 (1 - t)2 is 1/30
    spline = draw(
        lambda space, _: (
            space.add_open_spline([(0, 0), (0, 40), (60, 40), (60, 0)], degree=3),
            space.add_line((60, 0), (0, 0)),
        )
    )
    assert read_face_drawing(spline).outline.area == pytest.approx(120 * 360 / 30, rel=1e-3)


def test_blocks_are_put_where_they_are_used(draw):
    def make(space, document):
        hole = document.blocks.new("screw")
        hole.add_circle((0, 0), 2)
        both = document.blocks.new("screws")
        both.add_blockref("screw", (10, 30))
        both.add_blockref("screw", (80, 30), dxfattribs={"xscale": 0.5, "yscale": 0.5, "rotation": 30})
        plaque(space, document)
        space.add_blockref("screws", (0, 0))

    drawing = read_face_drawing(draw(make))
    assert drawing.keep_outs.area == pytest.approx(math.pi * (4 + 1), abs=0.1)
    ignored = read_face_drawing(draw(make), roles={"screw": "ignore"})
    assert ignored.keep_outs.is_empty


def test_layers_that_are_off_are_not_read(draw):
    def make(space, document):
        document.layers.add("frame").off()
        space.add_lwpolyline(
            [(-50, -50), (200, -50), (200, 200), (-50, 200)], close=True, dxfattribs={"layer": "frame"}
        )
        plaque(space, document)

    assert size(read_face_drawing(draw(make))) == pytest.approx((90, 60))


def test_a_face_is_made_of_it(draw):
    face, _ = make_face(FaceKeys(file=draw(plaque), width=45))
    assert face_words(face) == "45.0 x 30.0 mm, no holes"
    assert face.outline.bounds == pytest.approx((-22.5, -15, 22.5, 15))


# --- hostile files --------------------------------------------------------------------------------------------------


def refused(path, words):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(FaceError, match=words) as caught:
            read_face_drawing(path)
    assert all(problem.startswith("face.dxf: ") for problem in caught.value.problems)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"hello",
        b"  0\nSECTION\n",
        b"\x89PNG\n",
        b"0\nEOF\n",
        b"<svg/>",
        b"999\n" * 9999,
        b"0\nSECTION\n2\nENTITIES\n" * 99,
    ],
)
def test_what_is_no_dxf_is_refused_in_a_sentence(tmp_path, content):
    path = tmp_path / "face.dxf"
    path.write_bytes(content)
    refused(path, "is not a DXF drawing that can be read|nothing is drawn in it")


def test_binary_and_large_files_are_refused(tmp_path, monkeypatch):
    path = tmp_path / "face.dxf"
    path.write_bytes(b"binary\0\0")
    refused(path, "binary DXF")
    monkeypatch.setattr(dxf, "MOST_BYTES", 10)
    path.write_bytes(b"0\n" * 20)
    with pytest.raises(FaceError, match="too large for a DXF drawing"):
        read_face_drawing(path)


def test_blocks_that_multiply_are_refused(draw, monkeypatch):
    def nested(space, document):
        document.blocks.new("b0").add_line((0, 0), (1, 1))
        for level in range(1, 9):
            block = document.blocks.new(f"b{level}")
            for i in range(10):
                block.add_blockref(f"b{level - 1}", (i, 0))
        space.add_blockref("b8", (0, 0))

    def grid(space, document):
        document.blocks.new("b").add_circle((0, 0), 1)
        space.add_blockref("b", (0, 0), dxfattribs={"row_count": 30000, "row_spacing": 1})

    refused(draw(grid), "repeated 30000 times")
    monkeypatch.setattr(dxf, "MOST_ELEMENTS", 2000)
    refused(draw(nested), "more than 2000 elements")


def test_a_drawing_may_have_as_many_elements_as_the_limit_and_no_more(draw, monkeypatch):
    def lines(count):  # the outline is one element, too
        return draw(
            lambda space, _: [plaque(space, _), *(space.add_line((9, y), (9, y + 1)) for y in range(count - 1))]
        )

    def copies(count):
        def grid(space, document):
            document.blocks.new("b").add_lwpolyline(PLAQUE, close=True)
            space.add_blockref("b", (0, 0), dxfattribs={"row_count": count, "row_spacing": 90})

        return draw(grid)

    monkeypatch.setattr(dxf, "MOST_ELEMENTS", 7)
    assert size(read_face_drawing(lines(7))) == pytest.approx((90, 60))
    refused(lines(8), "more than 7 elements")
    refused(copies(8), "repeated 8 times")
    refused(copies(7), "more than 7 elements, blocks counted")  # the block's name is one as well
    assert size(read_face_drawing(copies(6))) == pytest.approx((90, 60))


def test_coordinates_beyond_measure_are_refused(draw):
    refused(draw(lambda space, _: space.add_circle((0, 0), 1e9)), "coordinates are too large")
    refused(draw(lambda space, _: space.add_lwpolyline([(0, 0), (1e300, 0), (0, 1e300)], close=True)), "too large")


def test_places_are_told_as_the_program_that_drew_them_shows_them(draw):
    def left_open(space, document):
        space.add_lwpolyline([(5, 5), (105, 5), (105, 75), (5, 75), (5, 6.4)], dxfattribs={"layer": "Plaque"})
        space.add_circle((55, 60), 3)

    with pytest.raises(FaceError) as caught:
        read_face_drawing(draw(left_open))
    (problem,) = caught.value.problems
    assert "a gap of 1.4 mm near x 5.0, y 5.0 mm of the drawing" in problem
    assert problem.endswith('roles = { Plaque = "ignore" } below [face]')

    def crossed(space, document):
        space.add_lwpolyline([(0, 0), (60, 40), (60, 0), (0, 40)], close=True)

    with pytest.raises(FaceError, match=r"crosses itself near x 30\.0, y 20\.0 mm"):
        read_face_drawing(draw(crossed))
