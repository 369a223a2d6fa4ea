import numpy as np
import pytest

from nameplate.cut.kerf import toolpath
from nameplate.geometry import region as geo
from nameplate.geometry.box import Box
from nameplate.lettering.stencil import STOUT, TONGUE, pierce
from nameplate.lettering.webs import webs_hold
from nameplate.model import LetterBox, Part
from nameplate.typesetting.fonts import load_font
from tests.shapes import disc
from tests.typesetting.ways import settings

WEB = 1.5


def letter_o(outer, inner):
    return geo.difference(disc(0, 0, outer), disc(0, 0, inner))


BLANK = geo.rectangle(-30, -20, 30, 20)


@pytest.mark.parametrize("font", ["Pacifico", "Great Vibes", "Lobster", "Playpen Sans ExtraBold"])
def test_a_plate_stays_in_one_piece_with_its_webs_and_the_name_still_reads(font):
    setting = settings("Debora", "", load_font(font), words="tie")[0]
    raw = geo.union(*(g.region for g in setting.glyphs))
    letters = geo.moved(raw, scale=100 / geo.bounds(raw).width)
    box = geo.bounds(letters)
    blank = geo.rectangle(box.x0 - 6, box.y0 - 6, box.x1 + 6, box.y1 + 6)
    pierced = pierce(blank, letters, web=WEB, slant=setting.slant)
    assert len(geo.solids(pierced.blank)) == 1
    assert pierced.holds
    assert webs_hold(pierced.blank, WEB)
    assert 0.85 < pierced.kept <= 1.05
    assert geo.difference(pierced.blank, blank).area < 1e-6
    # nothing is cut but letters (fine strokes are widened to a slot)
    assert geo.difference(geo.difference(blank, pierced.blank), geo.offset(letters, 0.35)).area < 0.01


def test_a_large_island_hangs_on_two_ties_a_small_one_on_one():
    assert len(geo.solids(pierce(BLANK, letter_o(8, 5.5), web=WEB, slant=0).bridges)) == 2
    assert len(geo.solids(pierce(BLANK, letter_o(8, 5), web=WEB, slant=0).bridges)) == 1


def letter_e():
    """A ring of 8 x 10 mm with a bar across its middle and open below the bar on the right."""
    ring = geo.difference(geo.rectangle(0, 0, 8, 10), geo.rectangle(1.5, 1.5, 6.5, 8.5))
    return geo.difference(geo.union(ring, geo.rectangle(0, 4, 8, 5.5)), geo.rectangle(6, 2, 9, 4))


def test_the_bar_of_an_e_and_the_top_of_an_a_stay_whole():
    bridges = geo.bounds(pierce(BLANK, letter_e(), web=WEB, slant=0, baselines=[0.0]).bridges)
    assert bridges.y0 > 8 and bridges.y1 > 10 - 0.1
    closed = geo.difference(geo.rectangle(0, 0, 8, 10), geo.rectangle(1.5, 1.5, 6.5, 8.5))
    assert geo.bounds(pierce(BLANK, closed, web=WEB, slant=0, baselines=[0.0]).bridges).y1 < 2


def test_an_a_is_tied_to_the_left_a_b_upwards_and_a_d_below():
    ring = geo.difference(geo.rectangle(0, 0, 8, 10), geo.rectangle(1.5, 1.5, 6.5, 8.5))
    seats = {text: [LetterBox(text, 0, 0, 8, 10)] for text in ("a", "ä", "b", "d")}
    ties = {text: geo.bounds(pierce(BLANK, ring, web=WEB, slant=0, places=seats[text]).bridges) for text in seats}
    for text in ("a", "ä"):
        assert ties[text].x1 < 2 and ties[text].height == pytest.approx(STOUT * WEB, abs=0.02)
    assert ties["d"].y1 < 2 and ties["b"].y0 > 8
    mark = geo.moved(letter_o(2.5, 1.2), 4, 14)
    ringed = pierce(BLANK, geo.union(ring, mark), web=WEB, slant=0, places=[LetterBox("å", 0, 0, 8, 16.5)])
    left, right = sorted((geo.bounds(tie) for tie in geo.solids(ringed.bridges)), key=lambda box: box.x0)
    assert left.x1 < 2 and left.y1 < 10 and right.x0 > 4
    assert right.centre[1] == pytest.approx(14, abs=0.01)  # where the ring is thinnest to its right


def test_both_bowls_of_a_b_are_tied_upwards_beside_its_stem():
    """A capital B of 8 x 13 mm whose bowls are 3 mm high: open above and below in their middles it is a K."""
    bowls = geo.union(geo.rectangle(1.5, 1.5, 6.5, 5.5), geo.rectangle(1.5, 7, 6.5, 11.5))
    letter = geo.difference(geo.rectangle(0, 0, 8, 13), bowls)
    pierced = pierce(BLANK, letter, web=WEB, slant=0, baselines=[0.0], places=[LetterBox("B", 0, 0, 8, 13)])
    low, high = sorted((geo.bounds(tie) for tie in geo.solids(pierced.bridges)), key=lambda box: box.y0)
    assert low.y0 == pytest.approx(5.5, abs=0.01) and high.y1 == pytest.approx(13, abs=0.01)
    assert max(low.centre[0], high.centre[0]) < 4


def test_a_tie_to_the_left_keeps_clear_of_the_letter_before():
    """A stroke 1 mm to the left leaves too little plate beside the upper half of a bowl: the tie is below it."""
    ring = geo.difference(geo.rectangle(0, 0, 8, 10), geo.rectangle(1.5, 1.5, 6.5, 8.5))
    before = geo.rectangle(-3, 4, -1, 14)
    pierced = pierce(BLANK, geo.union(ring, before), web=WEB, slant=0, places=[LetterBox("a", 0, 0, 8, 10)])
    assert pierced.holds and geo.bounds(pierced.bridges).centre[1] < 4


def test_a_thin_island_is_widened_into_a_stroke_that_has_room():
    inner = geo.rectangle(-0.5, -3, 0.5, 3)
    pierced = pierce(BLANK, geo.difference(geo.offset(inner, 2), inner), web=WEB, slant=0)
    island = geo.intersection(pierced.blank, geo.rectangle(-2, -1, 2, 1))
    assert geo.bounds(island).width == pytest.approx(WEB, abs=0.03)


def test_ties_are_as_wide_as_asked_and_follow_the_slant():
    upright = pierce(BLANK, letter_o(10, 7), web=WEB, slant=0)
    for tie in geo.solids(upright.bridges):
        assert geo.bounds(tie).width == pytest.approx(STOUT * WEB, abs=0.02)
        assert abs(geo.bounds(tie).centre[0]) < 0.7
    leaning = pierce(BLANK, letter_o(10, 7), web=WEB, slant=25)
    for tie in geo.solids(leaning.bridges):
        ring = geo.outer_rings(tie)[0]
        upper, lower = ring[ring[:, 1] > ring[:, 1].mean()], ring[ring[:, 1] < ring[:, 1].mean()]
        run, rise = upper.mean(axis=0) - lower.mean(axis=0)
        assert np.degrees(np.arctan2(run, rise)) == pytest.approx(25, abs=8)


def test_an_island_in_an_island_is_held():
    rings = geo.union(letter_o(14, 11), letter_o(7, 4))
    pierced = pierce(BLANK, rings, web=WEB, slant=10)
    assert len(geo.solids(pierced.blank)) == 1
    assert geo.covers(pierced.blank, disc(0, 0, 3))


@pytest.mark.parametrize(("gap", "wide"), [(1.0, 1.0), (0.5, TONGUE * WEB)])
def test_a_tongue_between_the_stems_of_an_n_is_widened_to_half_a_web_only(gap, wide):
    stems = [geo.rectangle(x - 2, 0, x, 8) for x in (0, 2 + gap)]
    pierced = pierce(BLANK, geo.union(*stems, geo.rectangle(-2, 6.5, 2 + gap, 8)), web=WEB, slant=0)
    assert len(geo.solids(geo.difference(BLANK, pierced.blank))) == 1
    tongue = geo.window(pierced.blank, Box(-1, 2, 2 + gap - 1, 5))
    assert geo.bounds(tongue).width == pytest.approx(wide, abs=0.03)


def test_the_plate_between_two_strokes_is_widened_at_their_cost():
    strokes = geo.union(geo.rectangle(-10, -8, -0.4, 8), geo.rectangle(0.4, -8, 10, 8))
    pierced = pierce(BLANK, strokes, web=WEB, slant=0)
    between = geo.intersection(pierced.blank, geo.rectangle(-5, -5, 5, 5))
    assert geo.bounds(between).width == pytest.approx(WEB, abs=0.02)
    assert pierced.holds


@pytest.mark.parametrize("kerf", [0.0, 0.2, 0.8])
def test_what_stays_open_can_be_cut_with_the_beam_there_is(kerf):
    setting = settings("Annabel", "", load_font("Great Vibes"), words="tie")[0]
    raw = geo.union(*(g.region for g in setting.glyphs))
    letters = geo.moved(raw, scale=70 / geo.bounds(raw).width)
    blank = geo.rectangle(-60, -40, 120, 60)
    pierced = pierce(blank, letters, web=WEB, slant=setting.slant, kerf=kerf)
    assert pierced.holds and len(geo.solids(pierced.blank)) == 1
    narrow = geo.difference(geo.closed(pierced.blank, kerf / 2), pierced.blank)
    assert geo.offset(narrow, -0.02).is_empty  # no slot that the beam is wider than
    assert toolpath(Part("1", "blank", "blank", pierced.blank), kerf).contours


@pytest.mark.parametrize(
    ("name", "font", "width"),
    [("Dorothea Zane", "Dancing Script Bold", 60), ("Segolene Yarrow", "Satisfy", 80), ("Magda Orrin", "Lobster", 80)],
)
def test_no_opening_falls_apart_under_the_beam_that_cuts_it(name, font, width):
    setting = settings(name, "", load_font(font), words="tie")[0]
    raw = geo.union(*(g.region for g in setting.glyphs))
    letters = geo.moved(raw, scale=width / geo.bounds(raw).width)
    box = geo.bounds(letters)
    blank = geo.rectangle(box.x0 - 6, box.y0 - 6, box.x1 + 6, box.y1 + 6)
    pierced = pierce(blank, letters, web=WEB, slant=setting.slant, kerf=0.2)
    openings = geo.difference(blank, pierced.blank)
    paths = [s for s in geo.solids(geo.offset(openings, -0.1)) if s.area > 0.02]
    assert len(paths) == len(geo.solids(openings))
    assert pierced.holds and len(geo.solids(pierced.blank)) == 1


def test_a_finer_beam_leaves_more_of_the_letters():
    setting = settings("Bernardo", "", load_font("Sacramento"), words="tie")[0]
    raw = geo.union(*(g.region for g in setting.glyphs))
    letters = geo.moved(raw, scale=50 / geo.bounds(raw).width)
    blank = geo.rectangle(-60, -40, 120, 60)
    fine, coarse = (pierce(blank, letters, web=WEB, slant=setting.slant, kerf=kerf).kept for kerf in (0.15, 0.4))
    assert fine > coarse + 0.01


def test_an_island_much_thinner_than_a_web_falls_and_its_loop_stays_open():
    def loop(counter):
        inner = geo.rectangle(-counter / 2, -6, counter / 2, 6)
        return geo.difference(geo.offset(inner, 0.7), inner)

    thin = pierce(BLANK, loop(1.2), web=WEB, slant=0)
    assert thin.bridges.is_empty
    assert geo.covers(geo.difference(BLANK, geo.offset(thin.blank, -1e-6)), loop(1.2))
    assert not pierce(BLANK, loop(1.4), web=WEB, slant=0).bridges.is_empty


def test_specks_fall_out_and_nothing_to_cut_is_fine():
    pierced = pierce(BLANK, letter_o(6, 0.2), web=WEB, slant=0)
    assert pierced.bridges.is_empty
    assert geo.hole_count(pierced.blank) == 1
    untouched = pierce(BLANK, geo.EMPTY, web=WEB, slant=0)
    assert untouched.blank.area == BLANK.area
    assert untouched.kept == 1


@pytest.mark.parametrize(("below", "only_up"), [(0.9, False), (1.1, True)])
def test_a_tie_leads_down_where_the_stroke_there_is_thicker_by_less_than_a_web(below, only_up):
    # the stroke is 2 mm above the counter and thicker below it
    letter = geo.difference(geo.rectangle(-6, -8, 6, 8), geo.rectangle(-3, -6 + below * WEB, 3, 6))
    bridges = geo.solids(pierce(BLANK, letter, web=WEB, slant=0).bridges)
    assert all(geo.bounds(bridge).y0 > 0 for bridge in bridges) is only_up
