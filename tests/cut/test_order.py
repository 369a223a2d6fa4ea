from itertools import groupby, pairwise

import numpy as np
import shapely

from nameplate.cut.kerf import toolpath
from nameplate.cut.order import OPERATIONS, PlacedToolpath, as_drawn, burning_order
from nameplate.geometry import engraving_font, region
from nameplate.geometry.curves.curve import Curve, flatten, moved
from nameplate.model import Part


def square(plate, size=10.0):
    return toolpath(Part(plate, "lettering", "lettering", region.rectangle(0, 0, size, size)), 0.2)


def frame(plate):
    shape = region.difference(region.rectangle(0, 0, 60, 60), region.rectangle(10, 10, 50, 50))
    return toolpath(Part(plate, "template", "template", shape), 0.2)


def travel(steps):
    """Length of the beam's way between the lines."""
    ways, at = 0.0, np.zeros(2)
    for step in steps:
        if isinstance(step.line, Curve):
            start = end = step.line.start
        else:
            start, end = step.line[0], step.line[-1]
        ways += float(np.hypot(*(start - at)))
        at = end
    return ways


def test_operations_come_in_burning_order(sheet):
    operations = [s.operation for s in burning_order(sheet.placed())]
    assert operations == ["score"] * 2 + ["cut-inside"] * 4 + ["cut-outside"] * 4


def test_a_part_in_a_window_comes_before_the_part_round_it():
    placed = [PlacedToolpath(frame("outer"), 1, 0, 0), PlacedToolpath(square("inner"), 1, 20, 20)]
    for order in (placed, placed[::-1]):
        outside = [s.owner.toolpath.plate for s in burning_order(order) if s.operation == "cut-outside"]
        assert outside == ["inner", "outer"]


def test_a_part_in_a_window_of_a_part_in_a_window():
    small = toolpath(
        Part("mid", "template", "t", region.difference(region.rectangle(0, 0, 30, 30), region.rectangle(5, 5, 25, 25))),
        0.2,
    )
    placed = [
        PlacedToolpath(frame("outer"), 1, 0, 0),
        PlacedToolpath(square("inner"), 1, 25, 25),
        PlacedToolpath(small, 1, 15, 15),
    ]
    outside = [s.owner.toolpath.plate for s in burning_order(placed) if s.operation == "cut-outside"]
    assert outside == ["inner", "mid", "outer"]


def test_every_line_is_burned_once(sheet):
    placed = sheet.placed()
    steps = burning_order(placed)
    assert len(steps) == sum(len(p.toolpath.contours) + len(p.toolpath.marks) for p in placed)
    assert len({id(s.line) for s in steps}) == len(steps)


def test_as_it_is_drawn_a_sheet_has_the_same_lines_in_a_possible_order(sheet):
    placed = [*sheet.placed(), PlacedToolpath(frame("outer"), 1, 0, 0), PlacedToolpath(square("inner"), 1, 20, 20)]
    drawn, burned = as_drawn(placed), burning_order(placed)
    assert [s.operation for s in drawn] == sorted((s.operation for s in drawn), key=OPERATIONS.index)
    assert sorted(map(length_of, drawn)) == sorted(map(length_of, burned))
    names = [s.owner.toolpath.plate for s in drawn if s.operation == "cut-outside"]
    assert names.index("inner") < names.index("outer")


def length_of(step):
    """Give whose line a step is, which operation, and its length to a tenth of a millimetre."""
    points = flatten(step.line) if isinstance(step.line, Curve) else step.line
    closed = np.vstack([points, points[:1]]) if isinstance(step.line, Curve) else points
    return step.owner.toolpath.plate, step.operation, round(shapely.LineString(closed).length, 1)


def test_the_way_is_shorter_than_in_any_shuffled_order():
    rng = np.random.default_rng(5)
    spots = [(x * 15.0, y * 15.0) for x in range(6) for y in range(6)]
    placed = [PlacedToolpath(square(str(k)), 1, *spots[k]) for k in rng.permutation(36)]
    steps = burning_order(placed)
    shuffled = [travel([steps[k] for k in rng.permutation(36)]) for _ in range(20)]
    assert travel(steps) < min(shuffled) / 2


def test_a_part_in_the_bay_of_a_larger_one_comes_before_it():
    bay = region.difference(region.rectangle(0, 0, 60, 60), region.rectangle(10, 10, 60, 50))
    placed = [
        PlacedToolpath(toolpath(Part("bay", "template", "t", bay), 0.2), 1, 0, 0),
        PlacedToolpath(square("within"), 1, 30, 25),
        PlacedToolpath(square("mouth"), 1, 55, 25),
    ]
    for order in (placed, placed[::-1]):
        outside = [s.owner.toolpath.plate for s in burning_order(order) if s.operation == "cut-outside"]
        assert outside.index("within") < outside.index("bay")


def test_a_line_begins_at_one_of_its_knots_and_a_stroke_at_an_end(sheet):
    placed = sheet.placed()
    knots = [moved(c.curve, p.x, p.y, p.turn).segments[:, 0] for p in placed for c in p.toolpath.contours]
    strokes = [m for p in placed for m in p.lie.lines(p.toolpath.marks)]
    for step in burning_order(placed):
        if isinstance(step.line, Curve):
            assert any((own == step.line.start).all(axis=1).any() for own in knots)
        else:
            assert any(len(m) == len(step.line) and {*map(tuple, m)} == {*map(tuple, step.line)} for m in strokes)


def test_the_scores_of_a_label_are_burned_one_after_the_other():
    marks = engraving_font.label("Wren 017", 3.0)
    shape = region.rectangle(-30, -20, 30, 20)
    paths = [toolpath(Part(str(k), "template", "t", shape, tuple(m - (20, 0) for m in marks)), 0.2) for k in range(6)]
    steps = burning_order([PlacedToolpath(p, 1, 40 + 62 * (k % 3), 25 + 42 * (k // 3)) for k, p in enumerate(paths)])
    plates = [s.owner.toolpath.plate for s in steps if s.operation == "score"]
    assert len(plates) == 6 * len(marks)
    assert len([*groupby(plates)]) == 6


def test_a_row_of_scores_is_burned_from_whichever_end_is_nearer():
    dashes = tuple(np.array([(x, 5.0), (x + 2.0, 5.0)]) for x in (10.0, 14.0, 18.0, 22.0))
    path = toolpath(Part("1", "template", "t", region.rectangle(0, 0, 34, 10), dashes), 0.2)
    for corner, starts in (((0.0, 0.0), [10, 14, 18, 22]), ((34.0, 0.0), [24, 20, 16, 12])):
        steps = burning_order([PlacedToolpath(path, 1, 0, 0)], rest=corner)
        assert [step.line[0, 0] for step in steps if step.operation == "score"] == starts


class TestHeat:
    def test_cuts_that_follow_each_other_lie_apart(self):
        placed = [PlacedToolpath(square(str(k)), 1, 12.0 * (k % 10), 12.0 * (k // 10)) for k in range(100)]
        spread = burning_order(placed, spread_heat=30)
        assert sorted(s.owner.toolpath.plate for s in spread) == sorted(p.toolpath.plate for p in placed)
        areas = [shapely.Polygon(flatten(s.line)) for s in spread]
        gaps = [a.distance(b) for a, b in pairwise(areas)]
        assert np.mean([gap >= 30 for gap in gaps]) > 0.9
        plain = [shapely.Polygon(flatten(s.line)) for s in burning_order(placed)]
        assert np.mean([a.distance(b) >= 30 for a, b in pairwise(plain)]) < 0.1

    def test_what_must_come_first_still_does(self):
        placed = [PlacedToolpath(frame(f"f{k}"), 1, 70.0 * k, 0) for k in range(3)]
        bay = region.difference(region.rectangle(0, 0, 60, 60), region.rectangle(10, 10, 60, 50))
        placed += [PlacedToolpath(toolpath(Part("bay", "template", "t", bay), 0.2), 1, 0, 70)]
        placed += [PlacedToolpath(square("in"), 1, 30, 95)]
        steps = burning_order(placed, spread_heat=500)
        assert [s.operation for s in steps] == ["cut-inside"] * 3 + ["cut-outside"] * 5
        outside = [s.owner.toolpath.plate for s in steps[3:]]
        assert outside.index("in") < outside.index("bay")


def test_same_input_same_order(sheet):
    one, two = burning_order(sheet.placed()), burning_order(sheet.placed())
    assert [s.owner.toolpath.plate for s in one] == [s.owner.toolpath.plate for s in two]


def test_nothing():
    assert burning_order([]) == ()
