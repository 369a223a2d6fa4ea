import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import settings as tried
from hypothesis import strategies as st

from nameplate.geometry import region as geo
from nameplate.geometry.arc import Arc
from nameplate.lettering.bridges import tie
from nameplate.lettering.line_ties import ASLANT, LENGTH, TURNED, LineTies
from nameplate.lettering.links import STOUT, Seat
from nameplate.typesetting.fonts import bundled_fonts, load_fonts
from tests.typesetting.ways import settings

WEB = 1.5
FONTS = [info.name for info in bundled_fonts()]


def tie_of(upper, lower, *, texts=("T", "T"), slant=0.0, arc=None):
    """Give the tie between two letters, each a region, one above the other."""
    groups = [upper, lower]
    bodies = [max(geo.solids(group), key=lambda s: s.area) for group in groups]
    ties = LineTies(groups, bodies, texts, (0, 1), (0, 1), width=STOUT * WEB, slant=slant, arc=arc)
    return ties.cheapest(0, 1)


def leaning(path, slant=0.0):
    """Give how far a path is from the slant, degrees."""
    angle = math.degrees(math.atan2(path.a[0] - path.b[0], path.a[1] - path.b[1]))
    return abs(angle - slant)


def tied_lines(lines, font, height=12.0):
    """Tie lines of a name whose capitals are so many mm high; give the longest tie between lines and their distance."""
    main, *more = load_fonts(tuple(dict.fromkeys((font, "Pacifico", "Playpen Sans ExtraBold"))))
    (setting,) = settings(" ".join(lines), "", main, words="auto", fallbacks=more, lines=lines)
    scale = height / setting.cap_height
    letters = [geo.moved(g.region, scale=scale) for g in setting.glyphs]
    seats = [Seat(g.text.strip(), g.word, g.line, setting.baselines[g.line] * scale) for g in setting.glyphs]
    tied = tie(letters, web=WEB, slant=setting.slant, seats=seats, fillet=0.2)
    whole = [geo.union(*(a for a, s in zip(letters, seats, strict=True) if s.line == n)) for n in range(len(lines))]
    assert len(geo.solids(tied.region)) == 1
    return tied, max(geo.distance(a, b) for a, b in pairwise(whole))


@pytest.mark.parametrize("font", FONTS)
def test_the_lines_of_a_name_with_many_accents_stand_on_these_and_no_long_tie_goes_past_them(font):
    tied, _ = tied_lines(("Jiří", "Dvořáček"), font)
    assert 0 < tied.between_lines < 0.25 * 12  # the longest was 12 mm, from the foot of the í past a caron to the e


@pytest.mark.parametrize("lines", [("Ödön", "Fűrész"), ("María-José", "Íñiguez"), ("Łukasz", "Żółć"), ("Ana", "Wilma")])
@pytest.mark.parametrize("font", ["Pacifico", "Oleo Script Bold", "Satisfy"])
def test_a_tie_is_little_longer_than_the_lines_are_apart_unless_letters_to_avoid_are_there(lines, font):
    tied, apart = tied_lines(lines, font)
    # the nearest points, level at worst, with a letter to avoid at either end, would cost no less
    assert 0 < tied.between_lines <= apart * (2 + ASLANT / LENGTH) + 2 * TURNED * 12


#: Letters of a line: where each begins, how far it stands off, how wide it is, in quarters of a mm.
LETTERS = st.lists(st.tuples(st.integers(0, 120), st.integers(0, 12), st.integers(8, 32)), min_size=1, max_size=4)


@given(
    LETTERS,
    LETTERS,
    st.sampled_from([-10.0, 0.0, 25.0]),
)
@tried(max_examples=40)
def test_no_tie_costs_more_than_the_nearest_points_of_letters_that_it_may_end_at(upper, lower, slant):
    above = geo.union(
        *(geo.rectangle(x / 4, 14 + y / 4, (x + w) / 4, 22) for x, y, w in upper), geo.rectangle(0, 20, 38, 22)
    )
    below = geo.union(
        *(geo.rectangle(x / 4, 0, (x + w) / 4, 10 - y / 4) for x, y, w in lower), geo.rectangle(0, 0, 38, 2)
    )
    found = tie_of(above, below, slant=slant)
    near = geo.distance(above, below)
    assert near - 1e-9 <= found.path.length <= near * (2 + ASLANT / LENGTH) + 0.5
    assert found.cost >= found.path.length
    assert geo.distance(above, geo.disc(found.path.a, 1e-3)) == geo.distance(below, geo.disc(found.path.b, 1e-3)) == 0


def test_a_stem_over_a_stem_is_tied_in_its_middle_and_upright():
    found = tie_of(geo.rectangle(3, 14, 6, 24), geo.union(geo.rectangle(3, 0, 6, 10), geo.rectangle(-20, 0, 20, 2)))
    assert found.path.a == pytest.approx((4.5, 14), abs=0.3) and found.path.b == pytest.approx((4.5, 10), abs=0.3)


@pytest.mark.parametrize(("aside", "upright"), [(3.0, True), (1.2, False)])
def test_a_level_tie_is_taken_only_where_it_is_much_shorter_than_an_upright_one(aside, upright):
    """A descender that ends 4 mm above a bar, and so far aside of a post that stands on the bar."""
    descender = geo.rectangle(0, 12, 2, 24)
    below = geo.union(geo.rectangle(-10, 0, 30, 8), geo.rectangle(2 + aside, 0, 4 + aside, 13))
    found = tie_of(descender, below)
    assert (leaning(found.path) < 5) == upright
    assert found.path.length == pytest.approx(4.0 if upright else aside, abs=0.1)
    assert upright or leaning(found.path) > 60


@pytest.mark.parametrize("aside", [-3.9, -2.2, -1.0, 1.0, 2.2, 3.9])
def test_lines_that_do_not_lie_under_one_another_are_tied_from_corner_to_corner(aside):
    side = math.copysign(1.0, aside)
    above, below = (aside, 4.0, 20 * side, 9.0), (0.0, -5.0, -20 * side, 0.0)
    boxes = ((min(x0, x1), y0, max(x0, x1), y1) for x0, y0, x1, y1 in (above, below))
    path = tie_of(*(geo.rectangle(*box) for box in boxes)).path
    assert path.length == pytest.approx(math.hypot(aside, 4), rel=0.1)


@pytest.mark.parametrize("slant", [0.0, 14.0])
def test_ties_follow_the_slant_or_stand_upright(slant):
    bars = geo.rectangle(-20, 6, 20, 9), geo.rectangle(-20, 0, 20, 2)
    path = tie_of(*bars, slant=slant).path
    assert -5 <= math.degrees(math.atan2(path.a[0] - path.b[0], path.a[1] - path.b[1])) <= slant + 5


@pytest.mark.parametrize(("aside", "along"), [(0.4, False), (3.0, True)])
def test_a_tie_does_not_run_along_an_accent_where_another_is_little_longer(aside, along):
    """A long accent so far beside a tie of 6 mm to one letter; there is another letter 7 mm below the line."""
    accented = geo.union(geo.rectangle(-30, 0, -20, 34), geo.rectangle(-3 - aside, 20, -aside, 39))
    groups = [geo.rectangle(-40, 40, 40, 74), accented, geo.rectangle(0, 0, 0.8, 34), geo.rectangle(10, 0, 20, 33)]
    bodies = [max(geo.solids(group), key=lambda s: s.area) for group in groups]
    ties = LineTies(groups, bodies, ("T", "é", "l", "l"), (0, 1, 1, 1), (0, 1, 1, 1), width=1.65, slant=0.0)
    found = ties.cheapest(0, 1)
    assert (found.path.b[0] < 1) == along
    assert found.path.length == pytest.approx(6.0 if along else 7.0, abs=0.3)


@pytest.mark.parametrize(("gap", "at_mark"), [(4.0, False), (14.0, True)])
def test_a_mark_carries_a_line_only_where_the_tie_to_a_letter_would_be_long(gap, at_mark):
    """An accent 1.5 mm below the line above, on one letter; the bare top of another is so much farther down."""
    above = geo.rectangle(-20, 30, 20, 34)
    body, mark = geo.rectangle(-3, 0, 3, 12), geo.rectangle(-1, 24, 1, 28.5)
    plain = geo.rectangle(10, 0, 16, 30 - gap)
    groups = [above, geo.union(body, mark), plain]
    bodies = [max(geo.solids(group), key=lambda s: s.area) for group in groups]
    ties = LineTies(groups, bodies, ("T", "é", "l"), (0, 1, 1), (0, 1, 1), width=1.65, slant=0.0)
    found = ties.cheapest(0, 1)
    assert (geo.distance(found.other, mark) == 0) == at_mark
    assert found.path.length == pytest.approx(1.5 if at_mark else gap, abs=0.3)
    assert found.path.length < ties.least(1, 0) <= found.cost and ties.least(1, 2) is None


@pytest.mark.parametrize(("mark_y", "avoided"), [(12.0, True), (-6.0, False)])
def test_a_letter_with_its_mark_above_is_avoided_from_above_and_one_with_a_cedilla_is_not(mark_y, avoided):
    # the marked letter is 2 mm below the line above, the other one 3 mm: that is taken where the first is avoided
    above = geo.rectangle(-20, 20, 20, 24)
    marked = geo.union(geo.rectangle(-9, 0, -1, 18), geo.rectangle(-20, mark_y + 1, -18, mark_y + 7.0))
    groups = [above, marked, geo.rectangle(4, 0, 12, 17)]
    bodies = [max(geo.solids(group), key=lambda s: s.area) for group in groups]
    ties = LineTies(groups, bodies, ("T", "e", "e"), (0, 1, 1), (0, 1, 1), width=1.65, slant=0.0)
    assert (ties.cheapest(0, 1).path.b[0] > 3) == avoided


@pytest.mark.parametrize("radius", [60.0, -60.0])
def test_on_an_arc_ties_stand_upright_where_they_are(radius):
    arc = Arc(0.0, -radius, radius)
    xs, angles = [-40.0, 40.0], [-40.0 / radius, 40.0 / radius]
    above, below = (
        arc.bent(shape, xs, angles) for shape in (geo.rectangle(20, 6, 24, 9), geo.rectangle(-30, -9, 30, 0))
    )
    path = tie_of(above, below, arc=arc).path
    turn = math.degrees(math.atan2(path.b[0] - path.a[0], path.a[1] - path.b[1]))
    assert turn == pytest.approx(arc.turn_at(*path.a), abs=6)
    assert path.length == pytest.approx(6.0, abs=0.3)


def test_only_a_tie_from_line_to_line_is_one_between_lines():
    """A word and a bar under it, or another word under it, 3 mm apart."""
    boxes = [geo.rectangle(0, 6, 9, 12), geo.rectangle(0, 0, 9, 3)]
    for text, length in (("", 0.0), ("T", 3.0)):
        tied = tie(boxes, web=WEB, seats=[Seat("T", 0, 0, 6.0), Seat(text, 1, 1 if text else 0, 0.0)])
        assert tied.count == 1 and len(geo.solids(tied.region)) == 1
        assert tied.between_lines == pytest.approx(length)
