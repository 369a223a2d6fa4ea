"""Every fault put into a written file must be found; a clean file must pass."""

import re
from dataclasses import replace

import numpy as np
import pytest

from nameplate.cut.burn import burn
from nameplate.cut.expectation import ExpectedPart
from nameplate.cut.inspect import _cut_loose_too_early, examine
from nameplate.cut.kerf import toolpath
from nameplate.cut.order import PlacedToolpath
from nameplate.cut.read_back import ReadPath, ReadSheet, read_sheet
from nameplate.errors import OutputError
from nameplate.geometry import region
from nameplate.job.inspect_folder import look_over
from nameplate.model import Part

from .records import record


def findings_of(path, expected):
    return examine(read_sheet(path), expected, path.name).findings


def codes(sheet, expected=None):
    return {f.code for f in findings_of(sheet.path, expected or sheet.expected)}


def path_elements(text):
    return re.findall(r"<path [^>]*/>\n", text)


def shifted(element, dx):
    """The same element with every x of its path data moved by dx mm."""
    head, data, tail = re.fullmatch(r'(.* d=")([^"]*)("/>\n)', element, re.DOTALL).groups()
    pairs = re.sub(
        r"(-?[\d.]+) (-?[\d.]+)", lambda m: f"{float(m[1]) + dx:.4f}".rstrip("0").rstrip(".") + f" {m[2]}", data
    )
    return head + pairs + tail


class TestCleanSheets:
    def test_passes(self, sheet):
        assert findings_of(sheet.path, sheet.expected) == ()

    @pytest.mark.parametrize("turn", [0, 90, 180, 270, 33])
    @pytest.mark.parametrize("kerf", [0.05, 0.2, 0.5])
    def test_any_turn_and_kerf_passes(self, sheet, lettering, turn, kerf):
        sheet.spots = [(lettering, 1, 90.0, 60.0, turn)]
        sheet.write(sheet.placed(kerf))
        expected = replace(sheet.expected, kerf=kerf, parts=(sheet.part(*sheet.spots[0]),))
        assert findings_of(sheet.path, expected) == ()

    def test_parts_exactly_at_gap_and_margin_pass(self, sheet):
        tile = Part("1", "blank", "board", region.rectangle(0, 0, 20, 20))
        sheet.spots = [(tile, 1, 5.0, 5.0, 0), (tile, 2, 26.5, 5.0, 0), (tile, 3, 175.0, 95.0, 0)]
        sheet.write()
        expected = replace(sheet.expected, parts=tuple(sheet.part(*s) for s in sheet.spots))
        assert findings_of(sheet.path, expected) == ()

    def test_crevices_narrower_than_the_kerf_pass(self, sheet):
        notch = region.from_ring([(0, 0), (30, 0), (30, 20), (15.1, 20), (15, 8), (14.9, 20), (0, 20)])
        sheet.spots = [(Part("1", "blank", "board", notch), 1, 50.0, 50.0, 0)]
        sheet.write(sheet.placed(0.3))
        expected = replace(sheet.expected, kerf=0.3, parts=(sheet.part(*sheet.spots[0]),))
        assert findings_of(sheet.path, expected) == ()


class TestFaultsInTheFile:
    @pytest.mark.parametrize("number", range(10))
    def test_any_path_deleted(self, sheet, number):
        element = path_elements(sheet.text)[number]
        sheet.edit(sheet.text.replace(element, ""))
        assert codes(sheet) & {"part-missing", "shape-off", "piece-count", "marks"}

    @pytest.mark.parametrize("number", range(2, 10))
    @pytest.mark.parametrize("by", [0.05, 0.2, -0.2, 3.0])
    def test_any_cut_moved(self, sheet, number, by):
        element = path_elements(sheet.text)[number]
        sheet.edit(sheet.text.replace(element, shifted(element, by)))
        assert "shape-off" in codes(sheet)

    @pytest.mark.parametrize("number", range(2, 10))
    def test_any_cut_doubled(self, sheet, number):
        element = path_elements(sheet.text)[number]
        sheet.edit(sheet.text.replace(element, element * 2))
        assert "cut-twice" in codes(sheet)

    @pytest.mark.parametrize("number", range(2, 10))
    def test_any_cut_doubled_with_a_small_shift(self, sheet, number):
        element = path_elements(sheet.text)[number]
        sheet.edit(sheet.text.replace(element, element + shifted(element, 0.01)))
        assert "cut-twice" in codes(sheet)

    @pytest.mark.parametrize("number", range(2, 10))
    def test_any_cut_opened(self, sheet, number):
        element = path_elements(sheet.text)[number]
        sheet.edit(sheet.text.replace(element, element.replace('Z"/>', '"/>')))
        assert "open-cut" in codes(sheet)

    def test_a_line_cut_partly_twice(self, sheet):
        tile = Part("1", "blank", "board", region.rectangle(0, 0, 20, 20))
        sheet.spots = [(tile, 1, 50.0, 50.0, 0), (tile, 2, 70.2, 60.0, 0)]
        sheet.write()
        expected = replace(sheet.expected, gap=0.0, parts=tuple(sheet.part(*s) for s in sheet.spots))
        (finding,) = findings_of(sheet.path, expected)
        assert finding.code == "cut-twice" and finding.measured == pytest.approx(10.2, abs=0.1)
        assert "(70.10, 65.00)" in finding.message

    def test_a_cut_that_runs_back_along_itself(self, sheet):
        element = path_elements(sheet.text)[-1]
        x, y = re.search(r' d="M([-\d.]+) ([-\d.]+)', element).groups()
        spur = f"L{x} {float(y) + 3:g}L{x} {y}Z"
        sheet.edit(sheet.text.replace(element, element.replace("Z", spur)))
        assert "cut-twice" in codes(sheet)

    def test_a_scored_stroke_doubled(self, sheet):
        element = path_elements(sheet.text)[0]
        sheet.edit(sheet.text.replace(element, element * 2))
        assert codes(sheet) == {"marks"}

    def test_a_part_named_wrongly(self, sheet):
        sheet.edit(sheet.text.replace('data-plate="003"', 'data-plate="004"'))
        assert {"part-missing", "part-extra"} <= codes(sheet)

    def test_a_copy_named_wrongly(self, sheet):
        sheet.edit(sheet.text.replace('data-copy="2"', 'data-copy="3"'))
        assert {"part-missing", "part-extra"} <= codes(sheet)

    def test_inside_and_outside_mixed_up(self, sheet):
        text = (
            sheet.text.replace("cut-inside", "x").replace("cut-outside", "cut-inside").replace('"x"', '"cut-outside"')
        )
        sheet.edit(text)
        assert {"burning-order", "piece-count"} <= codes(sheet)

    def test_a_part_cut_after_the_one_it_lies_in(self, sheet):
        board = Part("9", "carrier", "board", region.rectangle(-20, -20, 20, 20))
        tile = Part("1", "blank", "board", region.rectangle(-5, -5, 5, 5))
        sheet.spots = [(board, 1, 60.0, 60.0, 0), (tile, 1, 60.0, 62.0, 0)]
        sheet.write()
        expected = replace(sheet.expected, parts=tuple(sheet.part(*s) for s in sheet.spots))
        inner, outer = (next(p for p in path_elements(sheet.text) if f'"{kind}"' in p) for kind in ("blank", "carrier"))
        assert sheet.text.index(inner) < sheet.text.index(outer)
        assert "burning-order" not in codes(sheet, expected)
        sheet.edit(sheet.text.replace(inner, "").replace(outer, outer + inner))
        assert "burning-order" in codes(sheet, expected)

    def test_a_part_in_a_hole_falls_with_the_waste_before_it_is_cut(self, sheet, template):
        tile = Part("1", "blank", "board", region.rectangle(-5, -5, 5, 5))
        sheet.spots = [(template, 1, 60.0, 60.0, 0), (tile, 1, 60.0, 62.0, 0)]
        sheet.write()
        expected = replace(sheet.expected, parts=tuple(sheet.part(*s) for s in sheet.spots))
        (finding,) = findings_of(sheet.path, expected)
        assert finding.code == "burning-order" and finding.plate == "1"

    def test_the_file_is_gone(self, sheet):
        sheet.path.unlink()
        assert codes(sheet) == {"file-unreadable"}

    def test_the_file_is_cut_short(self, sheet):
        sheet.path.write_text(sheet.text[: len(sheet.text) // 2], encoding="utf-8")
        assert codes(sheet) == {"file-unreadable"}


class TestFaultsInTheMaking:
    @pytest.mark.parametrize("kerf", [0.0, 0.1, 0.3])
    def test_the_wrong_kerf(self, sheet, kerf):
        sheet.write(sheet.placed(kerf))
        assert "shape-off" in codes(sheet)

    def test_a_part_nearer_than_the_gap(self, sheet):
        tile = Part("1", "blank", "board", region.rectangle(0, 0, 20, 20))
        sheet.spots = [(tile, 1, 50.0, 50.0, 0), (tile, 2, 71.4, 50.0, 0)]
        sheet.write()
        expected = replace(sheet.expected, parts=tuple(sheet.part(*s) for s in sheet.spots))
        (finding,) = findings_of(sheet.path, expected)
        assert finding.code == "gap" and finding.measured == pytest.approx(1.4) and finding.allowed == 1.5
        assert "plate 1" in finding.message and "(70.70, " in finding.message

    @pytest.mark.parametrize("x, y", [(4.9, 50.0), (90.0, 4.9), (175.1, 50.0), (90.0, 95.1)])  # on 200 x 120 mm
    def test_a_part_past_the_edge_margin_on_any_side(self, sheet, x, y):
        tile = Part("1", "blank", "board", region.rectangle(0, 0, 20, 20))
        sheet.spots = [(tile, 1, x, y, 0)]
        sheet.write()
        (finding,) = findings_of(sheet.path, replace(sheet.expected, parts=(sheet.part(*sheet.spots[0]),)))
        assert finding.code == "edge-margin" and finding.measured == pytest.approx(4.9)

    def test_a_neighbours_cut_nicks_a_part(self, sheet):
        tile = Part("1", "blank", "board", region.rectangle(0, 0, 20, 20))
        sheet.spots = [(tile, 1, 50.0, 50.0, 0), (tile, 2, 69.5, 60.0, 0)]
        sheet.write()
        expected = replace(sheet.expected, gap=0.0, parts=tuple(sheet.part(*s) for s in sheet.spots))
        assert "shape-off" in codes(sheet, expected)

    def test_what_a_name_is_cut_out_of_is_no_neighbour_and_anything_else_is(self, sheet):
        name = Part("1", "lettering", "board", region.rectangle(10, 10, 30, 30))
        for plate, found in (("1", set()), ("2", {"gap"})):
            rest = Part(plate, "template", "board", region.rectangle(0, 0, 40, 40))
            sheet.spots = [(name, 1, 50.0, 40.0, 0), (rest, 1, 50.0, 40.0, 0)]
            sheet.write()
            parts = (sheet.part(*sheet.spots[0]), replace(sheet.part(*sheet.spots[1]), is_waste=True))
            assert codes(sheet, replace(sheet.expected, parts=parts)) == found

    def test_a_part_that_leaves_the_room_of_an_offcut(self, sheet):
        assert codes(sheet, replace(sheet.expected, room=region.rectangle(5, 5, 195, 115))) == set()
        damaged = region.difference(region.rectangle(5, 5, 195, 115), region.rectangle(135, 20, 150, 30))
        (finding,) = findings_of(sheet.path, replace(sheet.expected, room=damaged))
        assert (finding.code, finding.plate) == ("edge-margin", "001") and "damaged places" in finding.message

    def test_a_beam_takes_half_its_width_of_a_neighbour_however_far_it_reaches_in(self):
        # two squares whose lines overlap by 0.1 mm, burned by a beam of 1 mm: each is left 0.5 mm from either line
        def square(plate, x):
            ring = np.array([(x, 0.0), (x + 10, 0.0), (x + 10, 10.0), (x, 10.0), (x, 0.0)])
            return ReadPath("cut-outside", plate, "blank", 1, 1, ring, closed=True, segments=4)

        left, right = burn(ReadSheet(40, 20, (square("1", 5.0), square("2", 14.9)), ()), 1.0).values()
        assert region.bounds(left).x1 == pytest.approx(14.4, abs=1e-3)
        assert region.bounds(right).x0 == pytest.approx(15.5, abs=1e-3)

    @pytest.mark.parametrize(("width", "found"), [(1.6, False), (1.46, False), (1.35, True), (0.8, True)])
    def test_a_thin_web(self, sheet, width, found):
        # two discs joined by a bar; quiet up to 0.05 mm short of 1.5, alarm from 0.1 mm
        disc = region.capsule([(0, 0), (0.001, 0)], 12)
        bar = region.rectangle(0, -width / 2, 30, width / 2)
        body = region.union(disc, region.moved(disc, 30, 0), bar)
        sheet.spots = [(Part("1", "lettering", "lettering", body), 1, 60.0, 60.0, 0)]
        sheet.write()
        got = findings_of(sheet.path, replace(sheet.expected, parts=(sheet.part(*sheet.spots[0]),)))
        assert [f.code for f in got] == ["web-thin"] * found
        if found:
            assert got[0].measured == pytest.approx(width, abs=0.05)

    def test_a_thin_web_round_a_counter(self, sheet):
        # the wall of a ring: thinner on one side, so that the counter would break out
        ring = region.difference(region.capsule([(0, 0), (0.001, 0)], 30), region.capsule([(4, 0), (4.001, 0)], 20))
        sheet.spots = [(Part("1", "lettering", "lettering", ring), 1, 60.0, 60.0, 0)]
        sheet.write()
        (finding,) = findings_of(sheet.path, replace(sheet.expected, parts=(sheet.part(*sheet.spots[0]),)))
        assert finding.code == "web-thin" and finding.measured == pytest.approx(1.0, abs=0.05)
        x, y = map(float, re.search(r"near \(([\d.]+), ([\d.]+)\)", finding.message).groups())
        assert (x, y) == pytest.approx((74.5, 60), abs=1.5)

    def test_a_web_of_its_own(self, sheet):
        part = sheet.expected.parts[-1]
        expected = replace(sheet.expected, parts=(*sheet.expected.parts[:-1], replace(part, web=14.0)))
        assert codes(sheet, expected) == {"web-thin"}

    def test_one_piece_where_two_are_expected(self, sheet):
        part = replace(sheet.expected.parts[0], pieces=2)
        expected = replace(sheet.expected, parts=(part, *sheet.expected.parts[1:]))
        (finding,) = findings_of(sheet.path, expected)
        assert finding.code == "piece-count" and (finding.measured, finding.allowed) == (1, 2)

    def test_another_sheet_size(self, sheet):
        assert "sheet-size" in codes(sheet, replace(sheet.expected, width=210.0))

    def test_every_finding_is_an_error_with_the_file_and_plate(self, sheet):
        sheet.write(sheet.placed(0.4))
        for finding in findings_of(sheet.path, sheet.expected):
            assert finding.severity == "error" and finding.message.startswith("mixed-01.svg: ")
            assert finding.plate in {"001", "0&2", "003"}


class TestFolders:
    def leave_record(self, sheet):
        folder = sheet.path.parent.parent
        (folder / "nominal.json").write_text(record([("cut/mixed-01.svg", sheet.expected)]), encoding="utf-8")
        self.list_files(folder)
        return folder

    @pytest.fixture(autouse=True)
    def _lister(self, list_files):
        self.list_files = list_files

    def test_an_earlier_run_passes(self, sheet):
        assert look_over(self.leave_record(sheet)).findings == ()

    def test_a_missing_file(self, sheet):
        folder = self.leave_record(sheet)
        sheet.path.unlink()
        assert [f.code for f in look_over(folder).findings] == ["file-missing"]

    def test_a_file_too_many(self, sheet):
        folder = self.leave_record(sheet)
        (folder / "cut" / "mixed-02.svg").write_text(sheet.text, encoding="utf-8")
        assert [f.code for f in look_over(folder).findings] == ["file-extra"]

    def test_a_changed_file(self, sheet):
        folder = self.leave_record(sheet)
        element = path_elements(sheet.text)[5]
        sheet.edit(sheet.text.replace(element, shifted(element, 0.1)))
        assert {f.code for f in look_over(folder).findings} == {"file-changed", "shape-off"}

    @pytest.mark.parametrize(
        "text", [None, "", "{", "[]", '{"version": 9}', '{"version": 1}', '{"version": 1, "sheets": [1]}']
    )
    def test_a_record_that_is_none(self, tmp_path, text):
        if text is not None:
            (tmp_path / "nominal.json").write_text(text, encoding="utf-8")
        with pytest.raises(OutputError, match=r"nominal\.json"):
            look_over(tmp_path)


def test_many_parts_at_once(sheet):
    tile = Part("1", "blank", "board", region.rectangle(0, 0, 8, 8))
    sheet.spots = [(tile, 1 + 12 * r + c, 6.0 + 10 * c, 6.0 + 10 * r, 0) for r in range(10) for c in range(12)]
    sheet.write()
    assert findings_of(sheet.path, replace(sheet.expected, parts=tuple(sheet.part(*s) for s in sheet.spots))) == ()


def test_nothing_expected_and_nothing_there(sheet):
    sheet.write([PlacedToolpath(toolpath(Part("1", "blank", "b", region.rectangle(0, 0, 9, 9)), 0.2), 1, 50, 50)])
    assert codes(sheet, replace(sheet.expected, parts=())) == {"part-extra"}


def test_an_expected_part_may_be_empty(sheet):
    ghost = ExpectedPart("9", "lettering", 1, 1, region.EMPTY, 1)
    assert codes(sheet, replace(sheet.expected, parts=(*sheet.expected.parts, ghost))) == {"part-missing"}
    assert np.isfinite(sheet.expected.kerf.widest)


@pytest.mark.parametrize(("around", "other"), [("cut-inside", False), ("cut-outside", True), ("cut-inside", True)])
def test_only_in_a_counter_of_its_own_part_may_an_outline_be_cut_later(around, other):
    def square(operation, plate, half):
        points = np.array([(-half, -half), (half, -half), (half, half), (-half, half), (-half, -half)], dtype=float)
        return ReadPath(operation, plate, "lettering", 1, 1, points + 50, True, 4)

    lines = (square(around, "1", 20), square("cut-outside", "12"[other], 5))
    assert [f.code for f in _cut_loose_too_early(ReadSheet(100, 100, lines, ()))] == ["burning-order"] * other
    assert list(_cut_loose_too_early(ReadSheet(100, 100, lines[::-1], ()))) == []
