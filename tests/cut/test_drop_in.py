"""What belongs together, cut on different sheets, must drop in; a file in which it does not is found."""

from dataclasses import replace

import pytest

from nameplate.cut.burn import burn
from nameplate.cut.drop_in import judge_drop_ins, misfit
from nameplate.cut.expectation import DropIn, ExpectedPart, SheetExpectation
from nameplate.cut.inspect import examine
from nameplate.cut.kerf import toolpath
from nameplate.cut.nominal_file import RECORD
from nameplate.cut.order import PlacedToolpath
from nameplate.cut.read_back import read_sheet
from nameplate.cut.read_nominal import read_record
from nameplate.geometry import region
from nameplate.geometry.beam import Kerf
from nameplate.geometry.lie import Lie
from nameplate.job.inspect_folder import look_over
from nameplate.model import Part
from tests.cut.written import sheet_svg

from .records import record

ROOM = 0.2
NAME = region.union(region.rectangle(-20, -4, 20, 4), region.disc((20, 0), 14))
FIT = DropIn("the lettering", ("7", "template", 1), ROOM, ("7", "lettering", 1))


def written(folder, file, part, turn, kerf=0.2):
    """Cut one part from a sheet of its own."""
    (folder / "cut").mkdir(parents=True, exist_ok=True)
    path = folder / "cut" / file
    at = Lie(60.0, 50.0, float(turn))
    placed = PlacedToolpath(toolpath(part, kerf), 1, at.x, at.y, at.turn)
    path.write_text(sheet_svg(120, 100, [placed]), encoding="utf-8")
    lying = at.region(part.region)
    expected = ExpectedPart(part.plate, part.kind, 1, 1, lying, at=at)
    return path, SheetExpectation(part.material, 120, 100, Kerf.of(kerf), 1.5, 5, (expected,))


def template(room, plate="7"):
    window = region.offset(NAME, room)
    frame = region.difference(region.rectangle(-40, -20, 40, 20), window)
    return Part(plate, "template", "card", frame, features=(("window", window),))


def looked_at(path, expected):
    return examine(read_sheet(path), expected, path.name)


def burned_of(*sheets):
    return {key: left for path, expected in sheets for key, left in looked_at(path, expected).burned.items()}


@pytest.mark.parametrize(("name_turn", "window_turn"), [(0, 0), (180, 90), (37, 0)])
def test_a_burned_name_drops_into_its_burned_window_wherever_they_lie(tmp_path, name_turn, window_turn):
    name = written(tmp_path, "a.svg", Part("7", "lettering", "acrylic", NAME), name_turn)
    frame = written(tmp_path, "b.svg", template(ROOM), window_turn)
    burned = burned_of(name, frame)
    assert judge_drop_ins([FIT], burned) == ()
    # and really so: no nearer than the clearance less what an edge may be off, everywhere
    left = burned["7", "lettering", 1, 1], burned["7", "template", 1, 1]
    assert ROOM - 0.05 < region.distance(*left) < ROOM + 0.05


def test_each_part_right_by_itself_and_the_two_do_not_fit(tmp_path):
    """An octagon a little too large and its window a little too small pass by themselves, and not together."""
    octagon = region.from_ring([(15, 6), (6, 15), (-6, 15), (-15, 6), (-15, -6), (-6, -15), (6, -15), (15, -6)])
    off = 0.027

    def name(grown):
        return Part("7", "lettering", "acrylic", region.offset(octagon, grown, join="mitre"))

    def frame(room):
        window = region.offset(octagon, room, join="mitre")
        around = region.difference(region.rectangle(-40, -20, 40, 20), window)
        return Part("7", "template", "card", around, features=(("window", window),))

    meant = [written(tmp_path / "meant", f, p, 0)[1] for f, p in (("a.svg", name(0)), ("b.svg", frame(ROOM)))]
    got = [written(tmp_path, f, p, 0)[0] for f, p in (("a.svg", name(off)), ("b.svg", frame(ROOM - off)))]
    pairs = list(zip(got, meant, strict=True))
    assert [looked_at(*pair).findings for pair in pairs] == [(), ()]
    (finding,) = judge_drop_ins([FIT], burned_of(*pairs))
    assert (finding.code, finding.severity, finding.plate) == ("does-not-drop-in", "error", "7")
    assert "plate 7" in finding.message and "mm of room at (" in finding.message and "0.2 mm wanted" in finding.message


def test_a_name_in_another_plates_window_is_found(tmp_path):
    name = written(tmp_path, "a.svg", Part("7", "lettering", "acrylic", NAME), 0)
    other = Part("7", "template", "card", region.mirrored(template(ROOM).region))
    frame = written(tmp_path, "b.svg", other, 0)
    assert [f.code for f in judge_drop_ins([FIT], burned_of(name, frame))] == ["does-not-drop-in"]


def test_every_copy_is_tried(tmp_path):
    name = written(tmp_path, "a.svg", Part("7", "lettering", "acrylic", NAME), 0)
    frame = written(tmp_path, "b.svg", template(ROOM), 0)
    burned = burned_of(name, frame)
    burned["7", "lettering", 2, 1] = region.moved(NAME, 0.25)
    (finding,) = judge_drop_ins([FIT], burned)
    assert "copy 2" in finding.message
    files = {("7", "lettering", 1, 1): "a", ("7", "lettering", 2, 1): "cut/a.svg", ("7", "template", 1, 1): "cut/b.svg"}
    (finding,) = judge_drop_ins([FIT], burned, files)
    assert finding.message.startswith("cut/a.svg and cut/b.svg: the lettering (copy 2) of plate 7, as burned, ")


def test_what_is_missing_is_another_checks_business():
    assert judge_drop_ins([FIT], {("7", "lettering", 1, 1): NAME}) == ()


def test_a_plaque_goes_into_the_pocket_and_a_larger_one_does_not():
    plaque = region.rectangle(-30, -15, 30, 15)
    wall = region.difference(region.offset(plaque, 8), region.offset(plaque, ROOM, join="mitre"))
    fit = DropIn("the largest plaque", ("carrier", "carrier", 2), ROOM, None, plaque)
    burned = {("carrier", "carrier", 1, 2): wall}
    assert judge_drop_ins([fit], burned) == ()
    (finding,) = judge_drop_ins([replace(fit, shape=region.offset(plaque, 0.1))], burned)
    assert "carrier, layer 2" in finding.message and "0.100 mm of room" in finding.message
    (finding,) = judge_drop_ins([replace(fit, shape=region.offset(plaque, 30))], burned)
    assert "over the edge" in finding.message


def test_pins_stand_where_their_holes_were_burned():
    at, pin, gap = (0.0, 0.0), 3.0, 0.05
    ear = region.difference(region.rectangle(-9, -9, 9, 9), region.disc(at, pin + 2 * gap))
    fit = DropIn("the pins", ("7", "template", 1), gap, ("carrier", "carrier", 1), region.disc(at, pin))

    def with_hole(x):
        floor = region.difference(region.rectangle(-50, -20, 50, 20), region.disc((x, 0), pin))
        return {("7", "template", 1, 1): ear, ("carrier", "carrier", 1, 1): floor}

    assert judge_drop_ins([fit], with_hole(0.02)) == ()
    assert [f.code for f in judge_drop_ins([fit], with_hole(0.08))] == ["does-not-drop-in"]
    (finding,) = judge_drop_ins([fit], with_hole(20.0))
    assert "nothing where its hole should be" in finding.message


@pytest.mark.parametrize("room", [0.0, 0.02])
def test_a_fit_without_play_may_be_off_by_what_an_edge_may(room):
    hole = region.rectangle(0, 0, 10, 10)
    frame = region.difference(region.offset(hole, 5), hole)
    assert misfit(region.rectangle(0, 0, 10, 10), frame, 0.0) == ""
    assert misfit(region.offset(hole, -room + 0.04, join="mitre"), frame, room) == ""
    assert misfit(region.offset(hole, -room + 0.06, join="mitre"), frame, room) != ""


def test_an_earlier_run_is_tried_too(tmp_path, list_files):
    name = written(tmp_path, "a.svg", Part("7", "lettering", "acrylic", NAME), 0)
    frame = written(tmp_path, "b.svg", template(ROOM), 90)
    sheets = [("cut/a.svg", name[1]), ("cut/b.svg", frame[1])]
    plaque = DropIn("the plaque", ("7", "template", 1), ROOM, None, region.rectangle(-5, -2, 5, 2))
    (tmp_path / RECORD).write_text(record(sheets, [FIT, plaque]), encoding="utf-8")
    list_files(tmp_path)
    assert look_over(tmp_path).findings == ()
    read = read_record(tmp_path / RECORD)
    assert [(d.what, d.outer, d.room, d.inner) for d in read.drop_ins] == [
        (d.what, d.outer, d.room, d.inner) for d in (FIT, plaque)
    ]
    assert read.drop_ins[1].shape.area == pytest.approx(40) and read.drop_ins[0].shape.is_empty
    tight = replace(FIT, room=0.3)
    (tmp_path / RECORD).write_text(record(sheets, [tight]), encoding="utf-8")
    list_files(tmp_path)
    assert [f.code for f in look_over(tmp_path).findings] == ["does-not-drop-in"]


def test_what_is_laid_back_is_what_was_burned(tmp_path):
    path, expected = written(tmp_path, "a.svg", Part("7", "lettering", "acrylic", NAME), 37)
    (left,) = burn(read_sheet(path), 0.2).values()
    (back,) = looked_at(path, expected).burned.values()
    assert region.hausdorff(region.moved(back, 60, 50, turn=37), left) < 1e-9
    assert region.hausdorff(back, NAME) < 0.03
    unasked = replace(expected, parts=tuple(replace(p, at=None) for p in expected.parts))
    assert looked_at(path, unasked).burned == {}
