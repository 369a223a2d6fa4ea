"""Gaps that are too narrow are found, and opened or closed."""

import pytest

from nameplate.geometry import region as rg
from nameplate.lettering.making import make_lettering
from nameplate.lettering.narrow_gaps import NarrowGap, cleared, narrow_gaps, plugs
from nameplate.lettering.rules import LetteringRules
from nameplate.lettering.webs import webs_hold
from nameplate.typesetting.fonts import load_font
from nameplate.typesetting.setting import settings

RING = rg.difference(rg.disc((0, 0), 20), rg.disc((0, 0), 14))
KERF = 0.18


def ring_with_gap(width):
    return rg.difference(RING, rg.rectangle(0, -width / 2, 12, width / 2))


def test_a_gap_that_would_cut_an_island_off_a_template_gets_a_web_across():
    shape = ring_with_gap(0.4)
    (gap,) = narrow_gaps(shape, window_growth=0.3, kerf=KERF)
    assert not gap.slit
    closed = rg.union(shape, *plugs(shape, [gap], 1.5))
    assert rg.hole_count(closed) == 1
    gained = rg.difference(closed, rg.disc((0, 0), 14))
    assert rg.covers(rg.offset(RING, 0.01), gained)  # it does not bulge
    for wide in (ring_with_gap(2), RING):
        assert narrow_gaps(wide, window_growth=0.3, kerf=KERF) == []


def test_a_gap_narrower_than_the_beam_is_found_whether_or_not_there_is_a_template():
    for growth in (0.0, 0.3):
        found = narrow_gaps(ring_with_gap(0.15), window_growth=growth, kerf=KERF)
        assert [m.slit for m in found] == ([True] if growth == 0 else [False, True])
        assert all(abs(m.way[:, 1]).max() < 0.2 and m.way[:, 0].max() > 7 for m in found)
    assert narrow_gaps(ring_with_gap(0.25), kerf=KERF) == []
    assert len(narrow_gaps(ring_with_gap(0.25), kerf=0.3)) == 1


def test_a_counter_that_falls_apart_under_the_beam_is_found_at_its_waist():
    waisted = rg.union(rg.disc((-3, 0), 5), rg.disc((3, 0), 5), rg.rectangle(-3, -0.07, 3, 0.07))
    (gap,) = narrow_gaps(rg.difference(rg.disc((0, 0), 30), waisted), kerf=KERF)
    assert gap.slit
    assert abs(gap.way[:, 1]).max() < 0.1
    assert abs(gap.way[:, 0]).max() < 1


def test_a_slit_between_what_was_added_to_the_letters_is_opened():
    letters = ring_with_gap(0.4)
    cusps = rg.difference(rg.rectangle(8, -0.2, 9, 0.2), rg.rectangle(0, -0.04, 12, 0.04))
    pinched = rg.union(letters, cusps)
    narrow = narrow_gaps(pinched, kerf=KERF)
    assert [m.slit for m in narrow] == [True]
    opened = cleared(pinched, narrow, letters, web=1.5, kerf=KERF)
    assert narrow_gaps(opened, kerf=KERF) == []
    assert rg.covers(rg.offset(opened, 1e-6), letters)


def test_slits_in_the_letters_themselves_and_those_of_webs_are_not_opened():
    letters = ring_with_gap(0.15)
    narrow = narrow_gaps(letters, kerf=KERF)
    assert rg.covers(rg.offset(cleared(letters, narrow, letters, web=1.5, kerf=KERF), 1e-6), letters)
    web = [NarrowGap(narrow[0].way, False)]
    assert cleared(letters, web, rg.EMPTY, web=1.5, kerf=KERF) is letters


def test_a_slit_stays_where_opening_it_would_take_of_a_web():
    bars = rg.union(rg.rectangle(0, 0, 16, 1.5), rg.rectangle(0, 3, 16, 4.5), rg.rectangle(0, 0, 1.5, 4.5))
    shape = rg.union(bars, rg.rectangle(9, 1, 10, 2.98))
    (gap,) = narrow_gaps(shape, kerf=KERF)
    assert gap.slit
    assert cleared(shape, [gap], rg.EMPTY, web=1.5, kerf=KERF) is shape
    assert cleared(shape, [gap], rg.EMPTY, web=1.2, kerf=KERF) is not shape


@pytest.mark.parametrize("kerf", [0.18, 0.3])
def test_finished_letters_have_no_gap_that_the_beam_cannot_pass(kerf):
    # the thickened "r" and "o" of this name come within 0.1 mm of each other
    ways = settings("Magritte Rowan", "", load_font("Sacramento"), words="bar")
    rules = LetteringRules(web=1.0, window_growth=0.3, kerf=kerf)
    lettering, _ = make_lettering(ways, rg.rectangle(-49, -24, 49, 24), rules)
    grown = rg.offset(lettering.region, kerf / 2)
    assert rg.hole_count(grown) == rg.hole_count(lettering.region)
    assert webs_hold(lettering.region, 1.0)
