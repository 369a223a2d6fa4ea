import numpy as np
import pytest

from nameplate.cut.expectation import SheetExpectation
from nameplate.cut.inspect import examine
from nameplate.cut.read_back import read_sheet
from nameplate.geometry.beam import Kerf

PATH = '<path data-plate="1" data-part="lettering" data-copy="1" fill="none" d="M1 1L9 1L9 9Z"/>'
GROUP = '<g data-operation="cut-outside" fill="none" stroke="#0072b2" stroke-width="0.1">{}</g>'
DRAWING = '<svg xmlns="http://www.w3.org/2000/svg" width="{w}" height="{h}" viewBox="{box}"{more}>{body}</svg>'


def drawing(body=None, w="100mm", h="50mm", box="0 0 100 50", more="", before=""):
    return before + DRAWING.format(w=w, h=h, box=box, more=more, body=GROUP.format(PATH) if body is None else body)


@pytest.fixture
def read(tmp_path):
    def read(text):
        path = tmp_path / "a.svg"
        path.write_text(text, encoding="utf-8")
        return read_sheet(path)

    return read


def with_data(data, operation="cut-outside"):
    return drawing(GROUP.replace("cut-outside", operation).format(PATH.replace("M1 1L9 1L9 9Z", data)))


def test_a_good_file_has_no_faults(read):
    sheet = read(drawing())
    assert sheet.faults == () and (sheet.width, sheet.height) == (100, 50)
    (path,) = sheet.paths
    assert path.key == ("1", "lettering", 1, 1) and path.closed
    assert path.points.tolist() == [[1, 49], [9, 49], [9, 41], [1, 49]]  # y up


def test_a_cubic_is_flattened_finely(read):
    # a quarter circle of radius 10 as a cubic with 0.5522847 arms is within 0.0028 mm of the circle (from memory:
    # the well-known error is 0.027 % of the radius)
    (path,) = read(with_data("M10 0C15.5228 0 20 4.4772 20 10L10 10Z")).paths
    arc = path.points[:-2]
    distances = np.hypot(arc[:, 0] - 10, arc[:, 1] - 40)
    assert abs(distances - 10).max() < 0.0035 and len(arc) > 15


@pytest.mark.parametrize("data", ["M1 1L9 1L9 9Z", "M1,1 L9,1 L9,9 Z", " M 1 1 L 9 1\nL 9 9 Z "])
def test_separators_are_free(read, data):
    assert read(with_data(data)).faults == ()


@pytest.mark.parametrize(
    ("data", "code"),
    [
        ("", "path-data"),
        ("M1 1Z", "path-data"),
        ("M1 1L9 1Z", "path-data"),
        ("L9 1L9 9Z", "path-data"),
        ("M1 1l8 0L9 9Z", "path-data"),
        ("M1 1H9L9 9Z", "path-data"),
        ("M1 1A4 4 0 0 1 9 1L9 9Z", "path-data"),
        ("M1 1Q5 0 9 1L9 9Z", "path-data"),
        ("M1 1L9 1 9 9Z", "path-data"),
        ("M1 1C9 1 9 9Z", "path-data"),
        ("M1 1L9 1L9 9ZM20 20L30 20L30 30Z", "path-data"),
        ("M1 1L9 1L9 9Zz", "path-data"),
        ("M1.00001 1L9 1L9 9Z", "path-data"),
        ("M1e0 1L9 1L9 9Z", "path-data"),
        ("M+1 1L9 1L9 9Z", "path-data"),
        ("M.5 1L9 1L9 9Z", "path-data"),
        ("MNaN 1L9 1L9 9Z", "path-data"),
        ("M1 1L9 1L9 9", "open-cut"),
        ("M1 1L9 1L9 9L1 1", "open-cut"),
        ("M-1 1L9 1L9 9Z", "off-sheet"),
        ("M1 1L101 1L9 9Z", "off-sheet"),
        ("M1 1L9 1L9 51Z", "off-sheet"),
    ],
)
def test_path_data_that_is_refused(read, data, code):
    assert code in {f.code for f in read(with_data(data)).faults}


def test_a_size_in_pixels_counts_where_the_viewbox_proves_the_scale(read):
    # 96 px are 25.4 mm (CSS Values and Units Level 4, section 6.2): 600 mm are 2267.7165 px, 300 mm 1133.8583 px
    for unit in ("", "px"):
        sheet = read(drawing(GROUP.format(PATH), w=f"2267.7165{unit}", h=f"1133.8583{unit}", box="0 0 600 300"))
        assert sheet.faults == () and (sheet.width, sheet.height) == (600.0, 300.0)
    assert read(drawing(GROUP.format(PATH), w="2267.7165", h="1133.8583", box="0 0 600.0008 300")).faults == ()
    for box in ("0 0 600.0012 300", "0 0 600.1 300", "0 0 2267.7165 1133.8583", ""):
        faults = read(drawing(GROUP.format(PATH), w="2267.7165", h="1133.8583", box=box)).faults
        assert [f.code for f in faults] == ["true-size"]


@pytest.mark.parametrize(
    ("data", "codes"),
    [
        ("M0 0L100 0L100 50Z", []),
        ("M1 1L100.1 1L9 9Z", ["off-sheet"]),
        ("M-0.1 1L9 1L9 9Z", ["off-sheet"]),
        ("M1 1L9 1L9 50.1Z", ["off-sheet"]),
        ("M1 -0.1L9 1L9 9Z", ["off-sheet"]),
    ],
)
def test_a_line_may_touch_the_sheets_edges_and_cross_none(read, data, codes):
    assert [f.code for f in read(with_data(data)).faults] == codes


def test_of_a_file_that_is_no_drawing_no_size_is_known(read):
    for text in ("<html/>", "not xml", drawing(w="10cm")):
        sheet = read(text)
        assert (sheet.width, sheet.height, sheet.paths) == (0, 0, ()) and sheet.faults


def test_a_path_of_more_than_ten_million_letters_is_read(read):
    # what libxml2 takes of one attribute unless it is told that trees may be huge (XML_MAX_TEXT_LENGTH)
    assert read(with_data("M1 1" + " " * 10_000_001 + "L9 1L9 9Z")).faults == ()


def test_a_sheet_of_another_unit_is_one_fault_and_nothing_else_of_it_is_judged(read):
    sheet = read(drawing(GROUP.format(PATH * 300), w="100", h="50"))
    expected = SheetExpectation("lettering", 100, 50, Kerf.of(0.2), 1.5, 5, ())
    (fault,) = examine(sheet, expected, "a.svg").findings
    assert fault.code == "true-size" and "width '100'" in fault.message and "one mm" in fault.message


def test_scores_may_be_open(read):
    sheet = read(with_data("M1 1L9 1L9 9", "score"))
    assert sheet.faults == () and not sheet.paths[0].closed


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (drawing(w="100"), "true-size"),
        (drawing(w="10cm"), "true-size"),
        (drawing(w="0mm", box="0 0 0 50"), "true-size"),
        (drawing(box="0 0 200 100"), "true-size"),
        (drawing(box="1 0 100 50"), "true-size"),
        (drawing(box="nonsense"), "true-size"),
        (drawing(more=' transform="scale(2)"'), "file-form"),
        (drawing(more=' style="display:none"'), "file-form"),
        (drawing(GROUP.format(PATH).replace("<g ", '<g transform="translate(1)" ')), "file-form"),
        (drawing(GROUP.format(PATH.replace("<path ", '<path transform="rotate(9)" '))), "file-form"),
        (drawing(GROUP.format(PATH.replace("<path ", '<path clip-path="url(#a)" '))), "file-form"),
        (drawing(GROUP.format(PATH.replace("<path ", '<path display="none" '))), "file-form"),
        (drawing(GROUP.format(PATH.replace('fill="none"', 'fill="red"'))), "file-form"),
        (drawing(GROUP.format(PATH.replace('fill="none"', ""))), "file-form"),
        (drawing(GROUP.format(PATH + "<text>hello</text>")), "file-form"),
        (drawing(GROUP.format(PATH + "hello")), "file-form"),
        (drawing(GROUP.format(PATH + '<rect width="5" height="5"/>')), "file-form"),
        (drawing(GROUP.format(PATH + "<g>" + PATH + "</g>")), "file-form"),
        (drawing(PATH), "file-form"),
        (drawing("<style>path {}</style>" + GROUP.format(PATH)), "file-form"),
        (drawing("<defs/>" + GROUP.format(PATH)), "file-form"),
        (drawing("<!-- note -->" + GROUP.format(PATH)), "file-form"),
        (drawing(GROUP.format(PATH).replace("cut-outside", "engrave")), "operation"),
        (drawing(GROUP.format(PATH).replace('data-operation="cut-outside"', "")), "operation"),
        (drawing(GROUP.format(PATH) + GROUP.format(PATH).replace("cut-outside", "score")), "burning-order"),
        (drawing(GROUP.format(PATH.replace(' data-plate="1"', ""))), "path-owner"),
        (drawing(GROUP.format(PATH.replace('"lettering"', '"house"'))), "path-owner"),
        (drawing(GROUP.format(PATH.replace('data-copy="1"', 'data-copy="0"'))), "path-owner"),
        (drawing(GROUP.format(PATH.replace('data-copy="1"', 'data-copy="one"'))), "path-owner"),
        (drawing(before='<!DOCTYPE svg [<!ENTITY a "b">]>'), "file-form"),
        ("<html/>", "file-form"),
        ("", "file-unreadable"),
        ("not xml", "file-unreadable"),
    ],
)
def test_forms_that_are_refused(read, text, code):
    assert code in {f.code for f in read(text).faults}


def test_entities_are_not_followed(read, tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("M1 1L9 1L9 9Z", encoding="utf-8")
    text = drawing(before=f'<!DOCTYPE svg [<!ENTITY a SYSTEM "{secret.as_uri()}">]>').replace(PATH, PATH + "&a;")
    assert "file-form" in {f.code for f in read(text).faults}


def test_a_folder_is_not_a_file(tmp_path):
    assert [f.code for f in read_sheet(tmp_path).faults] == ["file-unreadable"]


@pytest.mark.parametrize(("name", "faults"), [('id="cut-outside" ', 0), ("", 0), ('id="cut-inside" ', 1)])
def test_a_group_is_called_by_its_operation_or_not_at_all(read, name, faults):
    assert len(read(drawing(GROUP.replace("fill", name + "fill", 1).format(PATH))).faults) == faults
