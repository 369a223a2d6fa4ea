"""Gaps that are too narrow are found and closed."""

import pytest

from nameplate.geometry import region as rg
from nameplate.lettering.making import make_lettering
from nameplate.lettering.narrow_gaps import narrow_gaps, plug
from nameplate.lettering.rules import LetteringRules
from nameplate.lettering.webs import mended, webs_hold
from nameplate.typesetting.fonts import load_font
from tests.typesetting.ways import ways_of

RING = rg.difference(rg.disc((0, 0), 20), rg.disc((0, 0), 14))
KERF = 0.18


def ring_with_gap(width):
    return rg.difference(RING, rg.rectangle(0, -width / 2, 12, width / 2))


def test_a_gap_that_would_cut_an_island_off_a_template_gets_a_web_across():
    shape = ring_with_gap(0.4)
    assert narrow_gaps(shape, kerf=KERF) == []
    (way,) = narrow_gaps(shape, window_growth=0.3, kerf=KERF)
    closed = rg.union(shape, plug(shape, way, 1.5))
    assert rg.hole_count(closed) == 1
    gained = rg.difference(closed, rg.disc((0, 0), 14))
    assert rg.covers(rg.offset(RING, 0.01), gained)  # it does not bulge
    for wide in (ring_with_gap(2), RING):
        assert narrow_gaps(wide, window_growth=0.3, kerf=KERF) == []


@pytest.mark.parametrize("growth", [0.3, 2.4, 2.6, 6.0, 10.1])  # a ticket's clearance is 10 mm at most
def test_a_gap_is_found_however_much_play_a_template_has(growth):
    ring = rg.difference(rg.disc((0, 0), 80), rg.disc((0, 0), 60))
    gapped = rg.difference(ring, rg.rectangle(0, -0.8 * growth, 50, 0.8 * growth))
    assert rg.hole_count(rg.offset(gapped, growth)) == 1
    assert len(narrow_gaps(gapped, kerf=KERF, window_growth=growth)) == 1


@pytest.mark.parametrize("width", [0.02, 0.1, 0.15, 0.19])
def test_a_gap_narrower_than_the_beam_is_found_whether_or_not_there_is_a_template(width):
    for growth in (0.0, 0.3):
        found = narrow_gaps(ring_with_gap(width), window_growth=growth, kerf=KERF)
        assert found
        assert all(abs(way[:, 1]).max() < 0.2 and way[:, 0].max() > 6.9 for way in found)
    assert narrow_gaps(ring_with_gap(0.25), kerf=KERF) == []
    assert len(narrow_gaps(ring_with_gap(0.25), kerf=0.3)) == 1


def test_an_island_that_is_a_mere_crevice_does_not_count():
    # shrunk by 0.1 mm the hole is a disc of 0.013 mm2; the other, by 0.3 mm, one of 2.8 mm2
    tiny = rg.difference(rg.disc((0, 0), 9), rg.union(rg.disc((0, 0), 0.33), rg.rectangle(0, -0.05, 5, 0.05)))
    assert narrow_gaps(tiny, kerf=KERF) == []
    small = rg.difference(rg.disc((0, 0), 9), rg.union(rg.disc((0, 0), 2.5), rg.rectangle(0, -0.2, 5, 0.2)))
    assert narrow_gaps(small, kerf=KERF, window_growth=0.3) == []
    assert narrow_gaps(small, kerf=0.4, window_growth=0.3)


def test_a_counter_that_falls_apart_under_the_beam_is_found_at_its_waist():
    waisted = rg.union(rg.disc((-3, 0), 5), rg.disc((3, 0), 5), rg.rectangle(-3, -0.07, 3, 0.07))
    plate = rg.difference(rg.disc((0, 0), 30), waisted)
    (way,) = narrow_gaps(plate, kerf=KERF)
    assert abs(way[:, 1]).max() < 0.1
    assert abs(way[:, 0]).max() < 1
    # in a counter there is no template's island, however narrow it is
    wide = rg.difference(rg.disc((0, 0), 30), rg.union(waisted, rg.rectangle(-3, -0.2, 3, 0.2)))
    assert narrow_gaps(wide, kerf=KERF, window_growth=0.3) == []


def test_gaps_are_closed_and_the_webs_that_close_them_hold():
    hooks = rg.difference(RING, rg.union(rg.rectangle(0, -0.05, 12, 0.05), rg.rectangle(-12, 1, 0, 1.14)))
    for shape in (ring_with_gap(0.1), hooks):
        done = mended(shape, 1.5, crevice=0.1, kerf=KERF)
        assert done.holds
        assert narrow_gaps(done.region, kerf=KERF) == []
        assert rg.covers(rg.offset(done.region, 0.005), shape)


@pytest.mark.parametrize("kerf", [0.18, 0.3])
def test_finished_letters_have_no_gap_that_the_beam_cannot_pass(kerf):
    # the thickened "r" and "o" of this name come within 0.1 mm of each other
    ways = ways_of("Magritte Rowan", "", load_font("Sacramento"), words="bar")
    rules = LetteringRules(web=1.0, window_growth=0.3, kerf=kerf)
    lettering, _ = make_lettering(ways, rg.rectangle(-49, -24, 49, 24), rules)
    grown = rg.offset(lettering.region, kerf / 2)
    assert rg.hole_count(grown) == rg.hole_count(lettering.region)
    assert webs_hold(lettering.region, 1.0)
