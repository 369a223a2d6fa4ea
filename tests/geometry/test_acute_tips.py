import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.geometry import region as rg
from nameplate.geometry.acute_tips import MITRE_LIMIT, SHARP, dulled
from nameplate.geometry.box import Box


def wedge(degrees, length=20.0):
    half = math.radians(degrees / 2)
    return rg.from_ring(
        [
            (0, 0),
            (length * math.cos(half), -length * math.sin(half)),
            (length * math.cos(half), length * math.sin(half)),
        ]
    )


@pytest.mark.parametrize("degrees", [6, 15, 30, 40])
def test_a_needles_tip_recedes_by_the_inscribed_circles_distance(degrees):
    # a circle of radius r in a corner of half angle a touches its sides; its near end is r (1 / sin a - 1) from the tip
    tip = rg.bounds(dulled(wedge(degrees), 0.1)).x0
    assert tip == pytest.approx(0.1 * (1 / math.sin(math.radians(degrees / 2)) - 1), abs=0.01)


@pytest.mark.parametrize("degrees", [10, 25, 40])
def test_a_rounded_tip_has_no_notches(degrees):
    # what is left of a convex shape is convex
    blunt = dulled(wedge(degrees), 0.1)
    assert rg.hull(blunt).area - blunt.area < 1e-6


def lens(radius, degrees):
    """What two discs share whose edges meet at the given angle."""
    apart = radius * math.cos(math.radians(degrees / 2))
    return rg.intersection(rg.disc((0, apart), 2 * radius), rg.disc((0, -apart), 2 * radius))


@pytest.mark.parametrize(("radius", "degrees"), [(5, 25), (5, 35), (20, 30)])
def test_a_rounded_tip_has_no_spikes(radius, degrees):
    # the parallel of a shape without corners is the same with mitres and with round joins
    blunt = dulled(lens(radius, degrees), 0.09)
    mitred, rounded = (rg.offset(blunt, 0.09, join=join, mitre_limit=MITRE_LIMIT) for join in ("mitre", "round"))
    assert rg.hausdorff(mitred, rounded) < 0.005


def test_the_outline_away_from_a_needle_stays_untouched():
    turns = [2 * math.pi * k / 3000 for k in range(3000)]
    disc = rg.from_ring([(20 * math.cos(t), 20 * math.sin(t)) for t in turns])
    blunt = dulled(rg.union(disc, rg.moved(wedge(20, 30), -40)), 0.09)
    left = Box(0, -30, 30, 30)
    assert rg.window(blunt, left).equals(rg.window(disc, left))


def thorn(degrees, side, base=1.0):
    """A corner with straight sides only so long, which then turn away as quarter circles of the given radius."""
    half = math.radians(degrees / 2)
    x, y = side * math.cos(half), side * math.sin(half)
    turns = [half + k * (math.pi / 2 - half) / 12 for k in range(13)]
    upper = [(x + base * (math.sin(t) - math.sin(half)), y + base * (math.cos(half) - math.cos(t))) for t in turns]
    end = upper[-1][0]
    return rg.from_ring([(0, 0), *((u, -v) for u, v in upper), (end, -3), (9, -3), (9, 3), (end, 3), *reversed(upper)])


@pytest.mark.parametrize("degrees", [30, 40])
def test_a_thorn_between_two_fillets_is_rounded_too(degrees):
    short = thorn(degrees, 0.1, 0.15)
    blunt = dulled(short, 0.1)
    assert rg.bounds(blunt).x0 > 0.05
    assert rg.hausdorff(rg.opened(short, 0.1), rg.opened(blunt, 0.1)) < 0.005


def test_a_blunt_thorn_stays():
    assert dulled(thorn(60, 0.1, 0.15), 0.1).equals(thorn(60, 0.1, 0.15))


@pytest.mark.parametrize("degrees", [50, 60, 90])
def test_corners_that_are_no_needles_stay(degrees):
    assert dulled(wedge(degrees), 0.1).equals(wedge(degrees))


def test_a_needle_on_a_hole_is_found_too():
    plate = rg.difference(rg.rectangle(-5, -5, 30, 5), rg.rectangle(0, -2, 25, 2))
    needle = rg.moved(wedge(10, 6), 19.5)
    both = rg.union(plate, needle)
    assert dulled(both, 0.1).area < both.area - 0.01
    assert len(rg.solids(dulled(both, 0.1))) == 1


def test_nothing_comes_of_nothing():
    assert dulled(rg.EMPTY, 0.1).is_empty


@given(st.floats(20, SHARP - 3), st.floats(0, 360))
def test_turning_a_needle_turns_what_is_left(degrees, turn):
    there = rg.moved(dulled(wedge(degrees), 0.1), turn=turn)
    here = dulled(rg.moved(wedge(degrees), turn=turn), 0.1)
    assert rg.hausdorff(there, here) < 0.03
