import pytest

from nameplate.geometry import region as geo
from nameplate.geometry.box import Box
from nameplate.geometry.bridge_paths import lean
from nameplate.lettering.bridges import tie
from nameplate.lettering.diacritics import APART, DAYLIGHT, DOT, DOT_GROWTH, SLIM, SPREAD, readable
from nameplate.typesetting.fonts import load_font
from tests.shapes import disc
from tests.typesetting.ways import settings

WEB = 1.5

#: How far apart the middles of two dots are once there is air between their ties.
ROOM = SLIM * WEB + DAYLIGHT


def umlaut(step, radius=0.7, height=7.0):
    return geo.union(geo.rectangle(-4, 0, 4, 4), disc(-step / 2, height, radius), disc(step / 2, height, radius))


def marks_of(letter):
    """The parts of a letter without its body, from left to right."""
    _, *marks = sorted(geo.solids(letter), key=lambda s: -s.area)
    return sorted(marks, key=lambda s: geo.bounds(s).centre[0])


def middles(letter):
    return [geo.bounds(mark).centre[0] for mark in marks_of(letter)]


@pytest.mark.parametrize("step", [1.6, 2.0, 2.4])
def test_two_small_dots_are_set_apart_until_there_is_air_between_their_ties(step):
    (letter,) = readable([umlaut(step)], WEB)
    left, right = middles(letter)
    assert right - left == pytest.approx(ROOM)
    assert left + right == pytest.approx(0)
    assert geo.distance(*marks_of(letter)) >= APART - 1e-6


def test_dots_with_room_stay_where_they_are():
    (letter,) = readable([umlaut(4.0, radius=1.6)], WEB)
    assert geo.hausdorff(letter, umlaut(4.0, radius=1.6)) == 0


def test_no_mark_wanders_off():
    (letter,) = readable([umlaut(0.2, radius=0.09)], WEB)
    left, right = middles(letter)
    assert right - left == pytest.approx(0.2 + 2 * SPREAD * WEB)


def test_what_one_mark_has_no_room_for_the_other_takes_over():
    stranger = geo.rectangle(2.5, 0, 4, 12)
    letter, there = readable([umlaut(2.0), stranger], WEB)
    left, right = middles(letter)
    assert right - left == pytest.approx(ROOM)
    assert abs(left) > abs(right)
    assert geo.distance(geo.as_region(marks_of(letter)[1]), there) >= APART - 1e-6


def test_marks_at_one_height_are_not_stacked_on_each_other():
    # the right dot is farther from the sloping body than from the left dot, and yet beside it
    body = geo.from_ring([(-4, 0), (4, 0), (4, 1), (-4, 6)])
    dots = [disc(x, 7.5, 0.8) for x in (-2.4, 0.2)]
    tied = tie([geo.union(body, *dots)], web=WEB)
    assert tied.count == 2
    assert all(geo.intersects(strip, body) for strip in tied.strips)


@pytest.mark.parametrize("leaning", [15, 30])
def test_the_ties_of_two_strokes_side_by_side_carry_them_on(leaning):
    stroke = geo.moved(geo.rectangle(-0.8, -2.5, 0.8, 2.5), turn=-leaning)
    strokes = [geo.moved(stroke, x, 8.5) for x in (-2.5, 2.5)]
    tied = tie([geo.union(geo.rectangle(-7, 0, 7, 4), *strokes)], web=WEB)
    for mark, strip in zip(strokes, sorted(tied.strips, key=lambda s: geo.bounds(s).x0), strict=True):
        assert geo.intersects(mark, strip)
        (whole,) = geo.solids(geo.window(geo.union(mark, strip), Box(-9, 4.5, 9, 20)))
        assert lean(whole) == pytest.approx(leaning, abs=2)


@pytest.mark.parametrize("font", ["Great Vibes", "Sacramento", "Satisfy", "Dancing Script Bold"])
def test_two_dots_of_a_fine_font_stay_two(font):
    setting = settings("ü", "", load_font(font), words="tie")[0]
    letters = [geo.moved(g.region, scale=20) for g in setting.glyphs]
    dots = marks_of(letters[0])
    tied = tie(letters, web=WEB, slant=setting.slant)
    # closed as far as a jig closes gaps; the band stays clear of the dots' round tops and of the strokes below
    box = geo.bounds(geo.union(*(geo.as_region(dot) for dot in dots)))
    band = Box(box.x0 - 1, box.centre[1] - 0.1, box.x1 + 1, box.centre[1] + 0.1)
    assert len(geo.solids(geo.window(geo.closed(tied.region, 0.3), band))) == 2


def test_a_dot_grows_less_beside_a_stranger_that_is_just_in_reach():
    letter = geo.union(geo.rectangle(0, 0, 2, 8), geo.disc((1, 11), 1.0))
    far, near = (geo.rectangle(1.5 + gap, 10.5, 8, 11.5) for gap in (5.0, APART + 2 * DOT_GROWTH * WEB - 0.1))

    def growth(stranger):
        lettered = readable([letter, stranger], WEB)[0]
        return geo.bounds(min(geo.solids(lettered), key=lambda s: s.area)).width / 2 - 0.5

    assert growth(far) == pytest.approx(DOT_GROWTH * WEB, abs=0.01)
    assert growth(near) == pytest.approx(DOT_GROWTH * WEB - 0.05, abs=0.01)


@pytest.mark.parametrize("web", [1.0, 3.0])
def test_the_dot_of_a_sign_grows_as_its_tie_asks_and_no_more_than_a_part_of_a_web(web):
    radius, wanted = 0.2 * web, SLIM * web * DOT / 2
    small, nearly = (geo.disc((0, 0), 2 * r) for r in (radius, wanted - 0.1 * web))
    grown = [geo.bounds(dot).width / 2 for dot in readable([small, nearly], web, signs=(True, True))]
    assert grown == pytest.approx([radius + DOT_GROWTH * web, wanted], abs=0.01 * web)
