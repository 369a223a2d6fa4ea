import math

import numpy as np
import pytest

from nameplate import tolerances
from nameplate.cut.kerf import toolpath
from nameplate.cut.order import PlacedToolpath, burning_order
from nameplate.cut.read_back import read_text
from nameplate.cut.svg import steps_svg
from nameplate.cut.timing import ROUNDED, Speeds, _reachable, burn_time, part_seconds, read_seconds
from nameplate.geometry import region
from nameplate.geometry.curves.curve import flatten
from nameplate.model import Part


def steps(shape, marks=(), kerf=0.0):
    return burning_order([PlacedToolpath(toolpath(Part("1", "blank", "b", shape, marks), kerf), 1, 0, 0)])


def test_a_square_and_a_score():
    mark = np.array([(0.0, 0), (3, 4)])
    got = burn_time(steps(region.rectangle(0, 0, 10, 10), (mark,)), Speeds(cut=10, score=50, travel=100, pierce=0.5))
    # worked by hand: the score from the corner to (3, 4), 5 mm back to the corner, and there round the square
    assert got.cut_length == pytest.approx(40)
    assert got.seconds == pytest.approx(40 / 10 + 5 / 50 + 5 / 100 + 2 * 0.5)


def test_a_circle_is_as_long_as_its_perimeter(disc):
    assert burn_time(steps(disc)).cut_length == pytest.approx(2 * math.pi * 10, abs=0.02)


def test_cut_length_does_not_depend_on_the_place(sheet):
    rings = [flatten(c.curve, tolerances.ARC) for p in sheet.placed() for c in p.toolpath.contours]
    length = sum(np.hypot(*np.diff(ring, axis=0, append=ring[:1]).T).sum() for ring in rings)
    assert burn_time(burning_order(sheet.placed())).cut_length == pytest.approx(length)


def test_without_speeds_there_is_no_time():
    assert burn_time(steps(region.rectangle(0, 0, 9, 9))).seconds is None


# --- with an acceleration: closed forms of uniformly accelerated motion, s = v^2 / 2a and t = v / a ------------------


def scored(points, **speeds):
    """Seconds for one scored line by itself, without the way to it."""
    return part_seconds((), (np.array(points, dtype=float),), Speeds(cut=1, pierce=0, **speeds))


def test_a_straight_line_long_enough_for_its_speed():
    # 100 mm/s at 1000 mm/s2: 5 mm and 0.1 s to start, as much to brake, and 40 mm at full speed
    assert scored([(0, 0), (50, 0)], score=100, acceleration=1000) == pytest.approx(0.1 + 0.4 + 0.1)
    # points on the way change nothing
    many = scored(np.column_stack([np.linspace(0, 50, 77), np.zeros(77)]), score=100, acceleration=1000)
    assert many == pytest.approx(0.6)


def test_a_line_too_short_for_its_speed_is_a_triangle():
    assert scored([(0, 0), (2.5, 0)], score=100, acceleration=1000) == pytest.approx(2 * math.sqrt(2.5 / 1000))


def test_a_reversal_is_two_lines_from_rest_to_rest():
    there_and_back = scored([(0, 0), (50, 0), (0, 0)], score=100, acceleration=1000)
    assert there_and_back == pytest.approx(2 * 0.6, rel=0.001)


@pytest.mark.parametrize("degrees", [30, 90, 150])
def test_a_corner_is_passed_on_the_arc_that_rounds_it(degrees):
    # an arc that touches both sides and passes the corner at d has r = d cos(h) / (1 - cos(h)), h half the turn
    half = math.radians(degrees) / 2
    slow = math.sqrt(1000 * ROUNDED * math.cos(half) / (1 - math.cos(half)))
    end = (50 + 50 * math.cos(2 * half), 50 * math.sin(2 * half))
    one = 0.1 + (100 - slow) / 1000 + (50 - 5 - (100**2 - slow**2) / 2000) / 100
    assert scored([(0, 0), (50, 0), end], score=100, acceleration=1000) == pytest.approx(2 * one)


@pytest.mark.parametrize("radius", [1.0, 5.0])
@pytest.mark.parametrize("fine", [1, 7])
def test_a_circle_is_driven_no_faster_than_its_radius_allows(radius, fine):
    # v^2 / r = a, from rest and to rest again; flattening more finely makes no difference but for what is
    # gained between joints
    count = fine * math.ceil(math.pi / math.acos(1 - tolerances.ARC / radius))
    t = np.linspace(0, 2 * math.pi, count + 1)
    circle = radius * np.column_stack([np.cos(t), np.sin(t)])
    slow = math.sqrt(2000 * radius)
    wanted = 2 * math.pi * radius / slow + slow / 2000
    assert scored(circle, score=1000, acceleration=2000) == pytest.approx(wanted, rel=0.03 if fine == 1 else 0.01)


def test_travel_starts_and_brakes_too():
    mark = np.array([(30.0, 40), (30, 50)])
    got = burn_time(
        [s for s in steps(region.rectangle(0, 0, 60, 60), (mark,)) if s.operation == "score"],
        Speeds(cut=10, score=10, travel=100, pierce=0, acceleration=1000),
    )
    # 50 mm there at 100 mm/s, 10 mm of score at 10 mm/s, and back from its other end
    back = math.hypot(30, 50)
    assert got.seconds == pytest.approx((50 / 100 + 0.1) + (10 / 10 + 0.01) + (back / 100 + 0.1))


def test_a_great_acceleration_is_as_good_as_none_and_a_small_one_takes_longer(sheet):
    lines = burning_order(sheet.placed())
    times = [burn_time(lines, Speeds(cut=20, score=100, acceleration=a)).seconds for a in (1e12, 1e4, 1e3, 1e2)]
    assert times[0] == pytest.approx(burn_time(lines, Speeds(cut=20, score=100)).seconds, rel=1e-4)
    assert times == sorted(times)


def test_a_file_that_is_read_back_takes_as_long_as_what_was_written(sheet):
    speeds = Speeds(cut=20, score=100, acceleration=800, factor=1.25)
    lines = burning_order(sheet.placed())
    read = read_text(steps_svg(200, 120, lines), "sheet.svg")
    assert read_seconds(read.paths, speeds) == pytest.approx(burn_time(lines, speeds).seconds, rel=0.01)


def test_a_measured_factor_stretches_all_of_it():
    plain, slow = (burn_time(steps(region.rectangle(0, 0, 9, 9)), Speeds(cut=9, score=9, factor=f)) for f in (1, 1.5))
    assert slow.seconds == pytest.approx(1.5 * plain.seconds)


def test_the_way_from_and_to_the_rest_counts():
    """A square of 10 mm whose corner is where the head rests, or 30 and 40 mm (so 50) off it: 100 mm more to go."""
    speeds = Speeds(cut=10, score=10, travel=100)
    near, far = (burn_time(steps(region.rectangle(0, 0, 10, 10)), speeds, rest=at) for at in ((0, 0), (-30, -40)))
    assert far.seconds - near.seconds == pytest.approx(100 / 100)


@pytest.mark.parametrize("seed", range(4))
def test_the_speed_at_a_place_is_what_can_be_reached_from_every_other(seed):
    rng = np.random.default_rng(seed)
    at, squares = np.cumsum(rng.uniform(0.1, 9, 30)), rng.uniform(0, 5000, 30)
    # by v^2 = u^2 + 2 a s from each place to each
    wanted = [min(u + 2 * 150 * abs(s - there) for u, s in zip(squares, at, strict=True)) for there in at]
    assert _reachable(squares, at, 150.0) == pytest.approx(np.array(wanted))
