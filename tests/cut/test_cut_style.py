"""Parts finished one by one, tabs and lead-ins: burned with svgelements and shapely alone, and tampered with."""

import io
import re
from dataclasses import replace
from itertools import pairwise

import ezdxf
import numpy as np
import pypdfium2
import pytest
import shapely
import svgelements

from nameplate import tolerances
from nameplate.cut.closing import ClosedSheet, Stretch, _onward, closed_up
from nameplate.cut.cut_free import CutFree
from nameplate.cut.dxf import steps_dxf
from nameplate.cut.inspect import examine
from nameplate.cut.inspect_files import examine_files
from nameplate.cut.kerf import toolpath
from nameplate.cut.machine import CutRules, CutStyle
from nameplate.cut.order import PlacedToolpath, burning_order
from nameplate.cut.pdf import steps_pdf
from nameplate.cut.read_back import ReadPath, ReadSheet, read_text
from nameplate.cut.sheet_png import steps_png
from nameplate.cut.style_checks import _unfinished, judge_lead_ins
from nameplate.cut.svg import steps_svg
from nameplate.cut.tabs import STEP, _clear, _spread, tab_places
from nameplate.cut.timing import Speeds, burn_time, read_seconds
from nameplate.geometry import region
from nameplate.geometry.curves.along import Along
from nameplate.geometry.curves.curve import Curve, drawn, polygon
from nameplate.model import Part

from .conftest import GAP, HEIGHT, KERF, WIDTH

#: Everything that can be asked for.
EVERYTHING = CutStyle(by_part=True, lead_in=2.0, tabs=3, tab_width=0.6)


def rules_of(style, gap=GAP):
    return CutRules(style, KERF, gap, WIDTH, HEIGHT)


def cut(sheet, style):
    """The steps of a sheet in a style, its text and what is expected of it."""
    steps = burning_order(sheet.placed(), rules=rules_of(style))
    expected = replace(sheet.expected, style=style, tabs=CutFree.of(steps, style).tabs)
    return steps, steps_svg(WIDTH, HEIGHT, steps, cuts=style.words), expected


def found(text, expected):
    return examine(read_text(text, "a.svg"), expected, "a.svg").findings


def read_lines(text):
    """Each path of a cut file as svgelements has it: operation, plate and copy, points (y up)."""
    for operation, body in re.findall(r'<g data-operation="([^"]+)"[^>]*>(.*?)</g>', text, re.DOTALL):
        for plate, copy, data in re.findall(
            r'data-plate="([^"]+)" data-part="[^"]+" data-copy="(\d+)"[^>]* d="([^"]+)"', body
        ):
            path = svgelements.Path(data)
            points = [path.point(0)]
            for own in path:
                if not isinstance(own, svgelements.Move):
                    count = 40 if isinstance(own, svgelements.CubicBezier) else 1
                    points += [own.point(k / count) for k in range(1, count + 1)]
            yield operation, (plate, copy), np.array([(p.x, HEIGHT - p.y) for p in points])


def left_of(text, kerf=KERF):
    """What a beam leaves of a sheet: everything but a strip one kerf wide along each cut."""
    strips = [
        shapely.LineString(line).buffer(kerf / 2, quad_segs=32) for op, _, line in read_lines(text) if op != "score"
    ]
    return shapely.box(0, 0, WIDTH, HEIGHT).difference(shapely.union_all(strips))


def hang(left, parts):
    """Which of some parts are of one piece with the sheet's corner."""
    pieces = list(getattr(left, "geoms", [left]))
    (sheet,) = [piece for piece in pieces if piece.distance(shapely.Point(0, 0)) < 1]
    return [sheet.intersects(part.buffer(-1.0).representative_point()) for part in parts]


def tips(shape, pitch):
    """Whether parallel supports can lie under a shape, at some angle, with none on one side of its middle."""
    middle = shape.centroid
    for turn in range(0, 180, 5):
        lying = shapely.affinity.translate(shapely.affinity.rotate(shape, turn, middle), -middle.x, -middle.y)
        for shift in np.linspace(0.01, pitch - 0.01, 40):
            right, left = (shapely.LineString([(x, -99), (x, 99)]) for x in (shift, shift - pitch))
            if not (right.intersects(lying) and left.intersects(lying)):
                return True
    return False


class TestTabs:
    def test_parts_hang_by_tabs_as_wide_as_asked_for_and_by_nothing_else(self, sheet):
        for width in (0.4, 0.9):
            _, text, expected = cut(sheet, CutStyle(tabs=2, tab_width=width))
            assert found(text, expected) == ()
            assert len(expected.tabs) == 2 * len(expected.parts)
            parts = [part.region for part in expected.parts]
            left = left_of(text)
            assert all(hang(left, parts))
            assert all(hang(left.buffer(-(width / 2 - 0.02)), parts))
            assert not any(hang(left.buffer(-(width / 2 + 0.02)), parts))
            for k in range(2):  # without one of its two tabs each part hangs by the other, without both by none
                some = shapely.union_all([shapely.Point(p).buffer(width) for p in expected.tabs[k::2]])
                assert all(hang(left.difference(some), parts))
            every = shapely.union_all([shapely.Point(p).buffer(width) for p in expected.tabs])
            assert not any(hang(left.difference(every), parts))

    def test_an_arc_goes_on_along_the_tangent_of_its_curve(self):
        # of a circle, whose chords are unlike each other; a straight stretch as long as the tab goes on as it is
        for turn in np.linspace(0, 2 * np.pi, 7):
            angles = turn + np.array([0.0, 0.05, 0.08, 0.1])
            circle = 10 * np.column_stack([np.cos(angles), np.sin(angles)])
            tangent = np.array([-np.sin(angles[-1]), np.cos(angles[-1])])
            assert _onward(circle, 4.0) == pytest.approx(tangent, abs=1e-5)
            assert _onward(circle[::-1], 4.0) == pytest.approx([np.sin(turn), -np.cos(turn)], abs=1e-5)
            chord = circle[-1] - circle[-2]
            assert _onward(circle, 0.1) == pytest.approx(chord / np.hypot(*chord))

    def test_without_tabs_nothing_hangs(self, sheet):
        _, text, expected = cut(sheet, CutStyle(by_part=True))
        assert not any(hang(left_of(text), [part.region for part in expected.parts]))

    def test_a_tab_keeps_away_from_tips_corners_and_thin_places(self):
        bar = region.union(
            region.rectangle(0, 0, 30, 10), region.rectangle(30, 4.2, 40, 5.8), region.rectangle(40, 0, 70, 10)
        )
        spike = region.from_ring([(70, 0), (95, 5), (70, 10)])
        shape = region.union(bar, spike)
        path = toolpath(Part("1", "lettering", "l", shape), KERF)
        (places,) = tab_places(path, rules_of(CutStyle(tabs=6)))
        assert len(places) == 6
        corners = np.array(shape.geoms[0].exterior.coords)
        assert min(np.hypot(*(corners - place).T).min() for place in places) > 0.5
        thin = shapely.union_all([shapely.box(28.5, 0, 41.5, 4.3), shapely.box(28.5, 5.7, 41.5, 10)])
        assert not any(shapely.intersects_xy(shapely.box(30, 0, 40, 10), *place) for place in places)
        assert not any(shapely.intersects_xy(thin, *place) for place in places)
        assert all(place[0] < 90 for place in places)  # from there on the spike is narrower than 2 mm

    def test_places_for_tabs_are_as_far_from_a_thin_place_on_either_side(self):
        right = [(10.0, 0.0), (10.0, 20.0), (0.5, 20.0), (0.5, 26.0)]
        along = Along(polygon([(0.0, 0.0), *right, *((-x, y) for x, y in right[::-1])]))
        count = round(along.length / STEP)
        clear = _clear(along.points(along.length / count * np.arange(count)), [along])
        assert 0 < clear.sum() < count and np.array_equal(
            clear[1:], clear[1:][::-1]
        )  # the first is its own mirror image

    def test_a_tab_holds_on_to_wide_waste_even_where_the_part_is_narrow(self):
        # prongs of 4 mm with a bay of 4 mm between them: the waste in the bay is a tongue that bends
        bay = region.rectangle(4, 4, 8, 60)
        fork = region.difference(region.rectangle(0, 0, 12, 60), bay)
        (places,) = tab_places(toolpath(Part("1", "lettering", "l", fork), KERF), rules_of(CutStyle(tabs=2)))
        assert len(places) == 2
        assert not any(shapely.intersects_xy(region.offset(bay, 0.5), *place) for place in places)

    def test_of_the_places_that_are_free_tabs_take_those_spread_most_evenly(self):
        even = [50, 150, 250, 350]  # in the middle of each of four stretches of 100
        free = np.array(sorted([*even, 15, 85, 170, 235, 310, 395]))
        chosen = _spread(free, np.zeros(400), 400, 4, 2.0)
        assert chosen.tolist() == even
        # one that lies as well and is hidden is taken before one that is seen
        seen = np.where(np.arange(400) == 250, 0.5, 0.0)
        assert _spread(free, seen, 400, 4, 2.0).tolist() == [50, 150, 235, 350]

    def test_only_what_may_tip_or_fall_between_supports_gets_tabs(self, sheet):
        # the letter is 24 mm wide where it is narrowest, the frame 40 mm: it is wider than 30 mm and tips all the same
        solids = [part.region for part in sheet.expected.parts]
        for pitch, plates in ((8, 0), (15, 3), (30, 4)):
            assert sum(tips(shapely.Polygon(solid.geoms[0].exterior), pitch) for solid in solids) == plates
            steps, text, expected = cut(sheet, CutStyle(tabs=1, bed_pitch=pitch))
            assert len(expected.tabs) == plates
            assert sum(hang(left_of(text), [part.region for part in expected.parts])) == plates
            assert CutFree.of(steps, expected.style).loose == ()

    def test_a_part_without_a_place_for_a_tab_is_told(self, disc):
        pin = toolpath(Part("1", "lettering", "l", region.offset(disc, -9.0)), KERF)
        style = CutStyle(tabs=2)
        steps = burning_order([PlacedToolpath(pin, 1, 50, 50)], rules=rules_of(style))
        assert CutFree.of(steps, style).loose == ("1",)
        assert [step.arc for step in steps] == [None]

    def test_a_part_turned_over_has_its_tabs_where_it_has_them_face_up(self, sheet):
        path = sheet.placed()[0].toolpath
        style = CutStyle(tabs=3)
        up, down = (
            CutFree.of(burning_order([PlacedToolpath(path, 1, 60, 60, 90, over)], rules=rules_of(style)), style).tabs
            for over in (False, True)
        )
        flipped = (down - 60) * (1, -1) + 60  # turned over about y, then by 90 degrees: about x
        assert np.sort(flipped, axis=0) == pytest.approx(np.sort(up, axis=0), abs=0.1)

    def test_the_arcs_of_an_outline_are_its_line_without_the_openings(self, sheet):
        plain = burning_order(sheet.placed()[:1], rules=rules_of(CutStyle()))
        steps = burning_order(sheet.placed()[:1], rules=rules_of(CutStyle(tabs=4, tab_width=1.0)))
        outline = shapely.LineString(drawn(plain[-1].line, 0.001))
        arcs = [shapely.LineString(drawn(step.line, 0.001)) for step in steps if step.arc]
        assert len(arcs) == 4
        assert sum(arc.length for arc in arcs) == pytest.approx(outline.length - 4 * (1.0 + KERF), abs=0.02)
        assert max(arc.hausdorff_distance(outline.intersection(arc.buffer(0.1))) for arc in arcs) < 0.15
        assert all(outline.buffer(0.005).covers(arc) for arc in arcs)


class TestLeadIns:
    def test_they_run_through_waste_only(self, sheet):
        for gap in (0.3, GAP):
            style = CutStyle(lead_in=2.0)
            steps = burning_order(sheet.placed(), rules=rules_of(style, gap))
            led = [step for step in steps if step.lead_in]
            assert {step.operation for step in led} == {"cut-inside", "cut-outside"}
            solids = {(part.plate, str(part.copy)): part.region for part in sheet.expected.parts}
            for step in led:
                key = step.owner.toolpath.plate, str(step.owner.copy)
                pierced, begun = step.line.segments[0, 0], step.line.segments[0, 3]
                strip = shapely.LineString([pierced, begun]).buffer(KERF / 2)
                assert np.hypot(*(begun - pierced)) == pytest.approx(2.0)
                assert strip.intersection(solids[key]).area < 1e-4
                assert solids[key].distance(shapely.Point(pierced)) >= 1.0
                others = [solid for other, solid in solids.items() if other != key]
                assert min(solid.distance(strip) for solid in others) >= gap - 0.01
            text = steps_svg(WIDTH, HEIGHT, steps, cuts=style.words)
            expected = replace(sheet.expected, style=style, gap=gap)
            assert found(text, expected) == ()
            freed = CutFree.of(steps, style)
            assert (freed.led, freed.led + freed.not_led) == (len(led), sum(s.operation != "score" for s in steps))

    def test_where_there_is_no_room_a_cut_begins_on_its_line(self):
        slit = region.difference(region.rectangle(0, 0, 30, 20), region.rectangle(5, 5, 25, 5.6))
        path = toolpath(Part("1", "blank", "b", slit), KERF)
        style = CutStyle(lead_in=2.0)
        placed = [PlacedToolpath(path, copy, 10 + 30.5 * (copy - 1), 1.5) for copy in (1, 2)]
        for width, height, outlines in ((80.0, 23.0, 0), (80.0, 40.0, 2)):
            steps = burning_order(placed, rules=CutRules(style, KERF, 0.5, width, height))
            led = [step.operation for step in steps if step.lead_in]
            assert led == ["cut-outside"] * outlines  # from their corners at a slant, and into no slit
            freed = CutFree.of(steps, style)
            assert (freed.not_led, freed.outlines_not_led) == (4 - outlines, 2 - outlines)

    def test_a_part_that_lies_in_another_has_no_waste_round_it(self):
        board = toolpath(Part("board", "template", "t", region.rectangle(0, 0, 60, 60)), KERF)
        name = toolpath(Part("name", "lettering", "l", region.rectangle(0, 0, 20, 20)), KERF)
        placed = [PlacedToolpath(board, 1, 20, 20), PlacedToolpath(name, 1, 40, 40)]
        steps = burning_order(placed, rules=rules_of(CutStyle(lead_in=2.0)))
        assert {step.owner.toolpath.plate: step.lead_in for step in steps} == {
            "name": 0.0,
            "board": pytest.approx(2.0),
        }


class TestByPart:
    def test_each_part_is_finished_before_the_next_is_begun(self, sheet):
        steps, text, expected = cut(sheet, CutStyle(by_part=True))
        assert found(text, expected) == ()
        operations = [step.operation for step in steps]
        assert operations[:2] == ["score", "score"]
        assert operations[2:] == ["cut-inside", "cut-outside"] * 4
        for inside, outside in zip(steps[2::2], steps[3::2], strict=True):
            assert inside.owner is outside.owner
        assert re.findall(r'<g data-operation="[^"]+" id="([^"]+)"', text)[:4] == [
            "score",
            "cut-inside",
            "cut-outside",
            "cut-inside-2",
        ]

    def test_every_line_is_there_once_as_in_the_other_order(self, sheet):
        either = [burning_order(sheet.placed(), rules=rules_of(CutStyle(by_part=by))) for by in (False, True)]
        one, two = ({(s.owner.copy, s.owner.toolpath.plate, s.operation, size(s)) for s in steps} for steps in either)
        assert one == two
        assert len(either[0]) == len(either[1])

    def test_solids_that_interlock_are_each_finished(self):
        # two names of two pieces each, a piece of either in the bay of the other
        def name(plate):
            bay = region.difference(region.rectangle(0, 0, 40, 40), region.rectangle(10, 10, 40, 30))
            pin = region.difference(region.rectangle(70, 15, 80, 25), region.rectangle(73, 18, 77, 22))
            return toolpath(Part(plate, "lettering", "l", region.union(bay, pin)), KERF)

        placed = [PlacedToolpath(name("a"), 1, 20, 20), PlacedToolpath(name("b"), 1, 110, 60, 180)]
        steps = burning_order(placed, rules=rules_of(CutStyle(by_part=True)))
        areas = [shapely.Polygon(drawn(step.line)) for step in steps]
        for k, step in enumerate(steps):
            if step.operation == "cut-inside":
                assert steps[k + 1].operation == "cut-outside"
                assert areas[k + 1].contains(areas[k])
        assert sorted(s.operation for s in steps) == ["cut-inside"] * 2 + ["cut-outside"] * 4
        pins, bays = (
            [k for k, area in enumerate(areas) if low < area.area < high] for low, high in ((90, 200), (700, 1200))
        )
        for pin in pins:
            (bay,) = [k for k in bays if areas[k].convex_hull.contains(areas[pin])]
            assert pin < bay
            assert steps[pin].owner is not steps[bay].owner

    def test_the_way_from_part_to_part_is_short(self):
        square = toolpath(
            Part("s", "blank", "b", region.difference(region.rectangle(0, 0, 9, 9), region.rectangle(3, 3, 6, 6))), KERF
        )
        rng = np.random.default_rng(3)
        placed = [PlacedToolpath(square, int(k) + 1, 12.0 * (k % 8), 12.0 * (k // 8)) for k in rng.permutation(40)]
        steps = burning_order(placed, rules=rules_of(CutStyle(by_part=True)))
        middles = [np.array(shapely.Polygon(drawn(s.line)).centroid.coords[0]) for s in steps[1::2]]
        way = sum(np.hypot(*(b - a)) for a, b in pairwise(middles))
        assert way < 1.1 * 12 * 39  # a neighbour is 12 mm away
        spread = burning_order(placed, spread_heat=30, rules=rules_of(CutStyle(by_part=True)))
        assert [s.operation for s in spread] == ["cut-inside", "cut-outside"] * 40
        outlines = [shapely.Polygon(drawn(s.line)) for s in spread[1::2]]
        assert np.mean([a.distance(b) >= 30 for a, b in pairwise(outlines)]) > 0.8


def size(step):
    line = drawn(step.line) if isinstance(step.line, Curve) else step.line
    return round(float(shapely.LineString(line).length), 2)


class TestOtherForms:
    @pytest.mark.parametrize("style", [EVERYTHING, CutStyle(lead_in=1.0), CutStyle(tabs=1)])
    def test_they_have_the_lines_of_the_svg(self, sheet, style, tmp_path):
        steps, text, expected = cut(sheet, style)
        (tmp_path / "a.svg").write_text(text, encoding="utf-8")
        dxf = steps_dxf(WIDTH, HEIGHT, steps)
        (tmp_path / "a.dxf").write_text(dxf, encoding="utf-8")
        (tmp_path / "a.pdf").write_bytes(steps_pdf(WIDTH, HEIGHT, steps))
        (tmp_path / "a.png").write_bytes(steps_png(WIDTH, HEIGHT, steps))
        names = ["a.svg", "a.dxf", "a.pdf", "a.png"]
        assert examine_files(tmp_path, names, expected).findings == ()
        lines = list(read_lines(text))
        drawing = ezdxf.read(io.StringIO(dxf))
        assert not drawing.audit().errors
        for (operation, _, points), entity in zip(lines, drawing.modelspace(), strict=True):
            assert entity.dxf.layer == operation
            there = np.array([(p.x, p.y) for p in ezdxf.path.make_path(entity).flattening(0.001)])
            ends = np.hypot(*(there[[0, -1]] - points[[0, -1]]).T)
            assert ends == pytest.approx([0, 0], abs=0.001)
            assert shapely.LineString(there).hausdorff_distance(shapely.LineString(points)) < 0.01
        with pypdfium2.PdfDocument(tmp_path / "a.pdf") as file:
            assert len(list(file[0].get_objects())) == len(lines)

    def test_polylines_are_open_too(self, sheet, tmp_path):
        steps, text, expected = cut(sheet, EVERYTHING)
        (tmp_path / "a.svg").write_text(text, encoding="utf-8")
        (tmp_path / "a.dxf").write_text(steps_dxf(WIDTH, HEIGHT, steps, polylines=True), encoding="utf-8")
        assert examine_files(tmp_path, ["a.svg", "a.dxf"], expected).findings == ()

    def test_the_time_counts_them(self, sheet):
        speeds = Speeds(cut=10, score=100, travel=300, pierce=0.2)
        plain, _, _ = cut(sheet, CutStyle())
        steps, text, expected = cut(sheet, CutStyle(tabs=2, lead_in=2.0))
        led, more = CutFree.of(steps, expected.style).led, len(expected.tabs)
        length = burn_time(plain).cut_length + 2.0 * led - more * (0.6 + KERF)
        assert burn_time(steps).cut_length == pytest.approx(length, abs=0.05)
        assert len(steps) == len(plain) + more - 4  # an outline of two tabs is two lines
        told = burn_time(steps, speeds).seconds
        assert read_seconds(read_text(text, "a.svg").paths, speeds) == pytest.approx(told, rel=0.001)


def moved_path(text, number, shift):
    """The text with all points of its path of this number shifted."""
    data = re.findall(r' d="([^"]+)"', text)[number]
    words = re.split(r"([MLCZ ])", data)
    out, axis = [], 0
    for word in words:
        if re.fullmatch(r"-?[\d.]+", word):
            word, axis = f"{float(word) + shift[axis % 2]:.4f}".rstrip("0").rstrip("."), axis + 1
        out.append(word)
    return text.replace(f' d="{data}"', f' d="{"".join(out)}"')


class TestTampering:
    """What is changed in a file is found by what it comes to; as it was written it is clean."""

    def codes(self, text, expected):
        return {f.code for f in found(text, expected)}

    def test_as_written(self, sheet):
        for style in (EVERYTHING, CutStyle(tabs=1), CutStyle(lead_in=2.0), CutStyle(by_part=True), CutStyle()):
            _, text, expected = cut(sheet, style)
            assert found(text, expected) == ()

    def test_a_file_that_says_other_words_than_asked_for(self, sheet):
        _, text, expected = cut(sheet, EVERYTHING)
        assert "cut-style" in self.codes(text, replace(expected, style=CutStyle(tabs=3)))
        assert "cut-style" in self.codes(cut(sheet, CutStyle())[1], expected)
        assert {"cut-style", "open-cut"} <= self.codes(text.replace(' data-cuts="parts lead-ins tabs"', ""), expected)
        assert "file-form" in self.codes(text.replace("parts lead-ins tabs", "parts lead-ins tabs knots"), expected)
        assert "file-form" in self.codes(text.replace("parts lead-ins tabs", "tabs parts"), expected)

    def test_a_tab_that_is_missing(self, sheet):
        _, text, expected = cut(sheet, CutStyle(tabs=1))
        one = re.search(r'<path [^>]*data-arc="1/1"[^>]*>', text)[0]
        closed = one.replace(' data-arc="1/1"', "").replace('"/>', 'Z"/>')
        (fault,) = found(text.replace(one, closed), expected)
        assert fault.code == "tab"
        assert "no part hangs by a tab" in fault.message

    def test_a_tab_that_should_not_be(self, sheet):
        _, text, expected = cut(sheet, CutStyle(tabs=2))
        faults = found(text, replace(expected, tabs=expected.tabs[1:]))
        assert [f.code for f in faults] == ["tab"]
        assert "where no tab belongs" in faults[0].message

    @pytest.mark.parametrize(("share", "said"), [(0.4, "wide, and not"), (-0.35, "wide, and not"), (-0.78, "")])
    def test_a_tab_of_another_width(self, sheet, share, said):
        """Its arc's ends are moved along their directions, the middle staying where it is."""
        style = CutStyle(tabs=1)
        _, _, expected = cut(sheet, style)
        other = replace(style, tab_width=style.tab_width + share)
        _, text, _ = cut(sheet, other)
        faults = found(text, expected)
        assert {f.code for f in faults} == {"tab"}
        assert all(said in f.message for f in faults)

    def test_a_tab_somewhere_else(self, sheet):
        _, text, expected = cut(sheet, CutStyle(tabs=1))
        faults = found(text, replace(expected, tabs=expected.tabs + np.array([0.05, 0.0])))
        assert {f.code for f in faults} == {"tab"}
        assert len(faults) == 2 * len(expected.tabs)

    def test_a_tab_that_another_line_cuts_through(self, sheet):
        _, text, expected = cut(sheet, CutStyle(tabs=1, lead_in=2.0))
        x, y = expected.tabs[0]
        one = re.findall(r'<path [^>]*data-lead-in="2"[^>]*d="M[^"]+"/>', text)[-1]
        through = re.sub(r'd="M\S+ \S+?L', f'd="M{x:.3f} {HEIGHT - y:.3f}L', one)
        assert through != one
        said = [f.message for f in found(text.replace(one, through), expected) if f.code == "tab"]
        assert any("cut through" in message for message in said)

    def test_arcs_out_of_order_or_left_out(self, sheet):
        _, text, expected = cut(sheet, CutStyle(tabs=3))
        paths = re.findall(r"<path [^>]*data-arc[^>]*>\n", text)
        assert "open-cut" in self.codes(text.replace(paths[0], ""), expected)
        assert "open-cut" in self.codes(text.replace(paths[0] + paths[1], paths[1] + paths[0]), expected)
        assert "open-cut" in self.codes(text.replace('data-arc="2/3"', 'data-arc="2/4"', 1), expected)
        assert "open-cut" in self.codes(text.replace('data-arc="2/3"', 'data-arc="4/3"', 1), expected)
        assert "open-cut" in self.codes(text.replace(' data-arc="2/3"', "", 1), expected)

    def test_a_lead_in_of_another_length_or_into_the_part(self, sheet):
        _, text, expected = cut(sheet, CutStyle(lead_in=2.0))
        assert "lead-in" in self.codes(text, replace(expected, style=CutStyle(lead_in=1.5)))
        one = re.search(r'<path [^>]*data-lead-in="2"[^>]*d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)', text)
        x, y, a, b = map(float, one.groups())
        mirrored = f"M{2 * a - x:.4f} {2 * b - y:.4f}L"
        inward = text.replace(f"M{one[1]} {one[2]}L", mirrored)
        assert inward != text
        assert "shape-off" in self.codes(inward, expected)
        assert "open-cut" in self.codes(text.replace(' data-lead-in="2"', "", 1), expected)
        assert "lead-in" in self.codes(text.replace('data-lead-in="2"', 'data-lead-in="-2"', 1), expected)
        assert "open-cut" in self.codes(text.replace('data-lead-in="2"', 'data-lead-in="2 mm"', 1), expected)

    def test_a_part_with_lead_ins_that_does_not_close_at_all(self, sheet):
        path = toolpath(Part("1", "blank", "b", region.rectangle(0, 0, 30, 20)), KERF)
        steps = burning_order([PlacedToolpath(path, 1, 20, 20)], rules=rules_of(EVERYTHING))
        text = steps_svg(WIDTH, HEIGHT, steps, cuts=EVERYTHING.words)
        assert "data-lead-in" in text
        expected = replace(sheet.expected, style=EVERYTHING, parts=())
        assert {"open-cut"} <= self.codes(re.sub(r'data-arc="(\d)/3"', r'data-arc="\1/4"', text), expected)

    @pytest.mark.parametrize("wrong", ["M{0}L{0}L{0}", "M50 50L{0}L{0}"])
    def test_an_arc_without_length(self, sheet, wrong):
        _, text, expected = cut(sheet, EVERYTHING)
        data, start = re.search(r'data-arc="2/3"[^>]* d="(M([\d.]+ [\d.]+)[^"]*)"', text).groups()
        faults = found(text.replace(data, wrong.format(start)), expected)
        assert any(f.code == "open-cut" and "an arc without length" in f.message for f in faults)

    def test_an_arc_whose_last_point_comes_twice(self, sheet):
        _, text, expected = cut(sheet, EVERYTHING)
        data, end = re.search(r'data-arc="2/3"[^>]* d="(M[^"]*?([\d.]+ [\d.]+))"', text).groups()
        assert found(text.replace(data, f"{data}L{end}"), expected) == ()

    def test_a_lead_in_near_another_part(self, sheet):
        _, text, expected = cut(sheet, CutStyle(lead_in=2.0))
        assert "lead-in" in self.codes(text, replace(expected, gap=40.0))

    def test_a_hole_that_is_not_cut_before_its_outline(self, sheet):
        _, text, expected = cut(sheet, CutStyle(by_part=True))
        groups = re.findall(r'<g data-operation="cut-inside".*?</g>\n', text, re.DOTALL)
        first, second = (re.search(r"<path.*/>", group)[0] for group in groups[:2])
        swapped = text.replace(first, "*").replace(second, first).replace("*", second)
        places = re.findall(r"inside cut at \((.*?), (.*?)\) is not followed", str(found(swapped, expected)))
        begun = [re.search(r' d="M(\S+) (\S+?)[A-Z]', path).groups() for path in (first, second)]
        assert {(float(x), float(y)) for x, y in places} <= {
            (round(float(x), 2), round(HEIGHT - float(y), 2)) for x, y in begun
        }
        assert places and "burning-order" in self.codes(swapped, expected)
        ordinary = cut(sheet, CutStyle())[1].replace("<svg ", '<svg data-cuts="parts" ')
        assert "burning-order" in self.codes(ordinary, expected)

    def test_a_part_that_is_not_where_it_belongs(self, sheet):
        _, text, expected = cut(sheet, CutStyle(tabs=2))
        number = next(k for k, p in enumerate(re.findall(r"<path [^>]*>", text)) if "data-arc" in p)
        assert self.codes(moved_path(text, number, (0.2, 0.0)), expected) >= {"tab", "shape-off"}


def test_a_plain_file_is_closed_as_it_is(sheet):
    read = read_text(sheet.text, "a.svg")
    assert closed_up(read).sheet is read


def test_the_same_steps_twice(sheet):
    assert cut(sheet, EVERYTHING)[1] == cut(sheet, EVERYTHING)[1]


@pytest.mark.parametrize(("short", "codes"), [(-0.5, []), (0.5, []), (1.5, ["lead-in"])])
def test_a_lead_in_may_come_as_near_to_another_part_as_the_gap_less_what_a_burn_is_off(short, codes):
    parts = {
        ("1", "blank", 1, 1): region.rectangle(0, 0, 20, 20),
        ("2", "blank", 1, 1): region.rectangle(30, 0, 50, 20),
    }
    cut = ReadPath("cut-outside", "1", "blank", 1, 1, np.array([(20.0, 5), (20, 15)]), True, 1, lead_in=3.0)
    from_x = 30 - GAP + short * tolerances.BURN
    lead = Stretch(cut, np.array([(from_x, 5), (20.0, 5)]))
    sheet = ClosedSheet(ReadSheet(100, 100, (cut,), ()), (lead,))
    assert [f.code for f in judge_lead_ins(sheet, parts, GAP)] == codes


@pytest.mark.parametrize(("plate", "x", "strays"), [("1", 5, False), ("2", 5, True), ("1", 25, True)])
def test_only_the_outline_round_a_hole_finishes_it(plate, x, strays):
    def square(operation, plate, x, half):
        points = np.array([(-half, -half), (half, -half), (half, half), (-half, half), (-half, -half)])
        return ReadPath(operation, plate, "lettering", 1, 1, np.add(points, (x, 5)), True, 4)

    lines = square("cut-inside", plate, x, 1.0), square("cut-outside", "1", 5, 5.0)
    assert [f.code for f in _unfinished(ReadSheet(100, 100, lines, ()))] == ["burning-order"] * strays
