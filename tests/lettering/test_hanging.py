"""Rings to hang a name by: where its centre of mass is, by an integral of our own, and what the ring is tied with."""

import math
from functools import cache

import numpy as np
import pytest

from nameplate.geometry import region as geo
from nameplate.geometry.box import Box
from nameplate.lettering.hanging import BITE, hang
from nameplate.lettering.making import make_lettering
from nameplate.lettering.rules import LetteringRules
from nameplate.lettering.webs import thicken
from nameplate.placement.objective import Standing
from nameplate.typesetting.fonts import load_font
from tests.typesetting.ways import ways_of

WEB = 1.5

#: Names whose centre of mass is over a gap, beside a tall letter, over a low one, over a dot, and in a hairline font.
NAMES = {
    "Robin & Sons": "Pacifico",
    "Tom": "Satisfy",
    "Jo Wren": "Lobster",
    "Lily": "Dancing Script Bold",
    "Ænid Öl": "Sacramento",
}


@cache
def lettered(name):
    zone = geo.rectangle(-3000, -25, 3000, 25)
    ways = ways_of(name, "", load_font(NAMES[name]), words="tie")
    lettering, _ = make_lettering(ways, zone, LetteringRules(web=WEB), standing=Standing())
    return lettering.region


@cache
def hung(name, at="balance", bore=4.0):
    def finish(whole):
        return thicken(whole, WEB, crevice=0.2, kerf=0.2).region

    return hang(lettered(name), bore=bore, web=WEB, at=at, finish=finish)


def mass_centre(region):
    """The centroid of a flat shape by Green's theorem: the boundary integrals of x dA and y dA over the area's."""
    area = first = second = 0.0
    for ring in (*geo.outer_rings(region), *geo.hole_rings(region)):  # holes run the other way round, and count against
        (x, y), (u, v) = ring.T, np.roll(ring, -1, axis=0).T
        cross = x * v - u * y
        area += cross.sum() / 2
        first += ((x + u) * cross).sum() / 6
        second += ((y + v) * cross).sum() / 6
    return first / area, second / area


def bores(region, at, bore):
    """The holes of a region whose edge is everywhere half a bore from one of these places."""
    found = []
    for ring in geo.hole_rings(region):
        for place in at:
            far = np.hypot(*(ring - place).T)
            if abs(far - bore / 2).max() < 0.01:
                found.append(place)
    return found


@pytest.mark.parametrize("name", NAMES)
def test_a_name_hangs_straight_by_one_ring(name):
    region, rings, holds = hung(name)
    ((x, y),) = rings.at
    at_x, at_y = mass_centre(region)
    assert holds and abs(at_x - x) < 0.1  # 0.5 mm was asked for
    assert rings.aside == pytest.approx(at_x - x, abs=1e-6)
    assert y >= geo.bounds(lettered(name)).y1 > at_y  # above the lettering, so that it is no accent of a letter


@pytest.mark.parametrize("at", ["balance", "ends"])
@pytest.mark.parametrize("name", NAMES)
def test_it_is_one_piece_with_all_its_letters_and_a_round_bore_in_a_full_rim(name, at):
    region, rings, holds = hung(name, at)
    assert holds and len(geo.solids(region)) == 1
    assert geo.covers(geo.offset(region, 0.005), lettered(name))
    assert bores(region, rings.at, 4.0) == list(rings.at)
    assert rings.rim >= WEB
    for place in rings.at:
        rim = geo.difference(geo.disc(place, 2 * (2.0 + rings.rim - 0.01)), geo.disc(place, 4.02))
        assert geo.difference(rim, region).area < 1e-3


def test_two_rings_are_level_at_the_ends_and_over_the_centre_of_mass():
    for name in NAMES:
        region, rings, _ = hung(name, "ends")
        (left, y), (right, level) = rings.at
        x, low = mass_centre(region)
        box = geo.bounds(lettered(name))
        assert y == level > low and left < x < right
        assert right - left > 0.8 * box.width


def test_what_is_widest_below_hangs_by_its_shoulders_all_the_same():
    region, rings, _ = hang(geo.from_ring([(-50, 0), (50, 0), (20, 40), (-20, 40)]), bore=4, web=WEB, at="ends")
    assert rings.at[0][1] == rings.at[1][1] > mass_centre(region)[1], "hung from below its centre it would turn over"


def test_the_centroid_of_a_triangle_is_a_third_along():
    """Of a right triangle it is a third of each leg from the right angle (Euclid's medians; any handbook)."""
    region, rings, _ = hang(geo.from_ring([(0, 0), (90, 0), (0, 60)]), bore=6, web=WEB)
    ((x, y),) = rings.at
    assert x == pytest.approx(30.0, abs=0.3)  # the strip to the slope weighs a little, and to the right of none
    assert mass_centre(region)[0] == pytest.approx(x, abs=0.06)
    assert y >= 60.0


def test_where_no_letter_is_a_strip_of_the_minimum_web_or_more_ties_the_ring():
    """Two posts on a bar: between them the ring has nothing to lie on."""
    bar = geo.union(geo.rectangle(-50, 0, 50, 6), geo.rectangle(-50, 0, -44, 40), geo.rectangle(44, 0, 50, 40))
    region, rings, holds = hang(bar, bore=4, web=WEB)
    ((x, y),) = rings.at
    stands = rings.bore / 2 + rings.rim - BITE * rings.rim  # as it would on a flat top at the posts' height
    assert holds and x == pytest.approx(0.0, abs=0.05) and y == pytest.approx(40.0 + stands)
    widths = [ends[1] - ends[0] for ends in (_across(region, level) for level in (12.0, 20.0, 30.0))]
    assert min(widths) >= WEB


def _across(region, y):
    """The stretch of a level line that lies in a region between x = -40 and 40."""
    strip = geo.bounds(geo.window(region, Box(-40, y, 40, y + 0.01)))
    return strip.x0, strip.x1


def test_a_larger_bore_has_a_wider_rim():
    assert hung("Tom", bore=12.0).rings.rim == pytest.approx(3.0)
    assert hung("Tom", bore=4.0).rings.rim == pytest.approx(1.2 * WEB)


def test_what_is_no_piece_does_not_hold():
    apart = geo.union(geo.rectangle(0, 0, 30, 10), geo.rectangle(90, 0, 120, 10))
    assert not hang(apart, bore=4, web=WEB).holds


def test_the_integral_agrees_with_a_half_disc():
    """The centroid of a half disc is 4r/3pi from its straight side (any handbook of mechanics)."""
    half = geo.intersection(geo.disc((0, 0), 60), geo.rectangle(-40, 0, 40, 40))
    assert mass_centre(half) == pytest.approx((0.0, 4 * 30 / (3 * math.pi)), abs=0.01)
