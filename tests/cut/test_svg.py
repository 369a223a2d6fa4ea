import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from lxml import etree
from shapely.geometry import Polygon

from nameplate.cut.kerf import toolpath
from nameplate.cut.machine import CutPen
from nameplate.cut.order import PlacedToolpath
from nameplate.cut.svg import _data, jig_svg
from nameplate.geometry import region
from nameplate.geometry.curves.curve import flatten, moved
from nameplate.model import Part
from nameplate.ticket.workshop_schema import ColourKeys
from tests.cut.written import sheet_svg

SQUARE = Part("7", "lettering", "lettering", region.rectangle(0, 0, 10, 10), (np.array([(2.0, 2), (4, 2), (4, 4)]),))


def elements(text):
    root = etree.fromstring(text.encode())
    return root, [e for e in root.iter() if etree.QName(e).localname == "path"]


def svgelements_outlines(path):
    """Each closed outline as points, read by svgelements, scaled by it from px (1/96 in) to mm."""
    import svgelements

    drawing = svgelements.SVG.parse(str(path), ppi=96)
    outlines = []
    for shape in drawing.elements(lambda e: isinstance(e, svgelements.Path)):
        points = [
            (p.x, p.y) for s in shape.segments(transformed=True) for t in np.linspace(0, 1, 40) for p in [s.point(t)]
        ]
        outlines.append((shape.values["data-operation"], np.array(points) * 25.4 / 96))
    return outlines


def svgpathtools_outlines(path):
    import svgpathtools

    paths, attributes = svgpathtools.svg2paths(str(path))
    return [
        # rounded to 1e-9 mm: the reader's own rounding would fold a straight edge back on itself
        (None, np.array([(z.real, z.imag) for s in p for z in s.points(np.linspace(0, 1, 40))]).round(9))
        for p, a in zip(paths, attributes, strict=True)
    ]


class TestForm:
    def test_a_square_in_full(self):
        placed = PlacedToolpath(toolpath(SQUARE, 0.2), 1, 20, 10)
        assert sheet_svg(100, 50.5, [placed]) == (
            '<?xml version="1.0" encoding="UTF-8"?>\n'
            '<svg xmlns="http://www.w3.org/2000/svg" version="1.1" '
            'width="100mm" height="50.5mm" viewBox="0 0 100 50.5">\n'
            '<g data-operation="score" id="score" fill="none" stroke="#009e73" stroke-width="0.1">\n'
            '<path data-plate="7" data-part="lettering" data-copy="1" fill="none" d="M24 36.5L24 38.5L22 38.5"/>\n'
            "</g>\n"
            '<g data-operation="cut-outside" id="cut-outside" fill="none" stroke="#0072b2" stroke-width="0.1">\n'
            '<path data-plate="7" data-part="lettering" data-copy="1" fill="none" '
            'd="M19.9 40.6L30.1 40.6L30.1 30.4L19.9 30.4Z"/>\n'
            "</g>\n"
            "</svg>\n"
        )

    def test_only_what_a_cut_file_may_hold(self, sheet):
        root, paths = elements(sheet.text)
        assert {etree.QName(e).localname for e in root.iter()} == {"svg", "g", "path"}
        assert all(p.get("fill") == "none" for p in paths)
        for path in paths:
            data = path.get("d")
            assert set(re.findall("[A-Za-z]", data)) <= set("MLCZ")
            assert not re.search(r"\.\d{5}|\.\d*0(?!\d)|-0(?![.\d])", data)
            assert data.endswith("Z") == (path.getparent().get("data-operation") != "score")

    def test_parts_are_named(self, sheet):
        _, paths = elements(sheet.text)
        owners = {(p.get("data-plate"), p.get("data-part"), p.get("data-copy")) for p in paths}
        assert owners == {(s[0].plate, s[0].kind, str(s[1])) for s in sheet.spots}
        assert [p.get("data-feature") for p in paths if p.get("data-feature")] == ["window"]

    def test_layers_are_named_where_they_matter(self):
        carrier = Part("all", "carrier", "board", SQUARE.region)
        for part, layer in ((SQUARE, None), (replace(SQUARE, layer=2), "2"), (carrier, "1")):
            _, paths = elements(sheet_svg(50, 50, [PlacedToolpath(toolpath(part, 0), 1, 0, 0)]))
            assert {p.get("data-layer") for p in paths} == {layer}

    def test_colours_are_the_tickets(self):
        text = sheet_svg(
            50, 50, [PlacedToolpath(toolpath(SQUARE, 0), 1, 0, 0)], CutPen(ColourKeys(cut_outside="#123456"))
        )
        assert '<g data-operation="cut-outside" id="cut-outside" fill="none" stroke="#123456"' in text

    def test_awkward_ids_and_titles_survive(self):
        plate = "A&B <\"x\"> 'y' ü"
        text = sheet_svg(
            50, 50, [PlacedToolpath(toolpath(replace(SQUARE, plate=plate), 0), 1, 0, 0)], title='T "1" & <2>'
        )
        root, paths = elements(text)
        assert {p.get("data-plate") for p in paths} == {plate}
        assert root.get("data-title") == 'T "1" & <2>'

    def test_what_xml_cannot_carry_becomes_a_question_mark(self):
        text = sheet_svg(50, 50, [], title="a\x00b\ud800c")
        assert elements(text)[0].get("data-title") == "a?b?c"

    def test_same_input_same_bytes(self, sheet):
        before = sheet.text
        sheet.write()
        assert sheet.text == before

    def test_an_empty_sheet_is_still_a_drawing(self):
        root, paths = elements(sheet_svg(600, 300, []))
        assert root.get("viewBox") == "0 0 600 300" and not paths


class TestTrueSize:
    @pytest.mark.parametrize("read", [svgelements_outlines, svgpathtools_outlines])
    def test_two_other_readers_see_the_same_lines(self, sheet, read):
        want = []
        for placed in sheet.placed():
            for contour in placed.toolpath.contours:
                curve = moved(contour.curve, placed.x, placed.y, placed.turn)
                want.append(Polygon(flatten(curve, 0.0005) * (1, -1) + (0, 120)))
        got = [Polygon(p) for operation, p in read(sheet.path) if operation != "score" and len(p) > 100]
        assert len(got) >= len(want)
        for shape in want:
            best = min(got, key=lambda g: shapely.hausdorff_distance(g, shape))
            assert shapely.symmetric_difference(best, shape).area / shape.length < 1e-3
            assert best.bounds == pytest.approx(shape.bounds, abs=2e-3)

    def test_y_is_flipped_once(self):
        low = PlacedToolpath(toolpath(SQUARE, 0), 1, 3, 1)
        _, paths = elements(sheet_svg(50, 40, [low]))
        assert paths[-1].get("d") in {"M3 29L3 39L13 39L13 29Z", "M3 39L13 39L13 29L3 29Z", "M3 39L3 29L13 29L13 39Z"}


class TestJig:
    def test_a_jig_file_is_nominal_and_true_to_size(self, template):
        text = jig_svg([toolpath(template, 0.0)])
        root, paths = elements(text)
        assert (root.get("width"), root.get("height")) == ("60mm", "40mm")
        inside = [p for p in paths if p.getparent().get("data-operation") == "cut-inside"]
        assert [p.get("data-feature") for p in inside] == ["window"]


def test_rounding_does_not_leave_empty_pieces():
    tiny = region.from_ring([(0, 0), (10, 0), (10, 10), (0.00002, 10), (0, 9.99998)])
    text = sheet_svg(20, 20, [PlacedToolpath(toolpath(replace(SQUARE, region=tiny, marks=()), 0), 1, 0, 0)])
    numbers = re.findall(r"[-\d.]+ [-\d.]+", text.split(' d="')[1])
    assert len(numbers) == len(set(numbers)) == 4


def plain(value, decimals):
    """A number by Python's own formatting, without zeros at its end and without a minus before a zero."""
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if decimals else text
    return "0" if text == "-0" else text


@pytest.mark.parametrize("decimals", [0, 1, 4])
def test_numbers_are_written_as_python_writes_them_one_by_one(decimals):
    rng = np.random.default_rng(4)
    spread = rng.uniform(-1, 1, 5000) * 10.0 ** rng.integers(-6, 6, 5000)
    values = np.round([*spread, *np.rint(spread), 0.0, -0.0, 1e-4, -1e-4, 0.0003, -0.02, 9.9999, 99999.0], decimals)
    places = np.column_stack([values, -values[::-1]])
    places = places[np.append(True, (np.diff(places, axis=0) != 0).any(axis=1))]
    wanted = "L".join(f"{plain(x, decimals)} {plain(-y, decimals)}" for x, y in places)
    assert _data(places, 0.0, decimals) == f"M{wanted}"
