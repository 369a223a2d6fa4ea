import numpy as np

from nameplate.cut.kerf import toolpath
from nameplate.cut.order import PlacedToolpath, burning_order
from nameplate.geometry import region
from nameplate.geometry.curves.curve import Curve
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


def test_the_way_is_shorter_than_in_any_shuffled_order():
    rng = np.random.default_rng(5)
    spots = [(x * 15.0, y * 15.0) for x in range(6) for y in range(6)]
    placed = [PlacedToolpath(square(str(k)), 1, *spots[k]) for k in rng.permutation(36)]
    steps = burning_order(placed)
    shuffled = [travel([steps[k] for k in rng.permutation(36)]) for _ in range(20)]
    assert travel(steps) < min(shuffled) / 2


def test_each_line_is_entered_where_it_is_nearest_to_the_end_of_the_one_before():
    """The rule of the nearest neighbour, worked out again: strokes at either end, closed curves at any knot."""
    rng = np.random.default_rng(8)
    strokes = [np.cumsum(rng.uniform(-9, 9, (3, 2)), axis=0) + rng.uniform(0, 200, 2) for _ in range(12)]
    shapes = [region.rectangle(x, y, x + 12, y + 7) for x, y in ((30, 20), (150, 90), (60, 160), (110, 40), (10, 90))]
    parts = [toolpath(Part(str(k), "lettering", "m", shape), 0.2) for k, shape in enumerate(shapes)]
    marked = toolpath(Part("marks", "lettering", "m", region.rectangle(300, 300, 301, 301), tuple(strokes)), 0.2)
    steps = burning_order([PlacedToolpath(path, 1, 0, 0) for path in (marked, *parts)])
    at = np.zeros(2)
    for operation in ("score", "cut-outside"):
        left = [s for s in steps if s.operation == operation]
        while left:
            step, closed = left[0], isinstance(left[0].line, Curve)
            ways = [p for s in left for p in (s.line.segments[:, 0] if closed else s.line[[0, -1]])]
            start = step.line.start if closed else step.line[0]
            assert np.hypot(*(start - at)) == min(np.hypot(*(way - at)) for way in ways)
            at = start if closed else step.line[-1]
            left = left[1:]


def test_same_input_same_order(sheet):
    one, two = burning_order(sheet.placed()), burning_order(sheet.placed())
    assert [s.owner.toolpath.plate for s in one] == [s.owner.toolpath.plate for s in two]


def test_nothing():
    assert burning_order([]) == ()
