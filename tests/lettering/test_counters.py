"""Small counters stay as they are drawn where the strokes round them are widened."""

import pytest

from nameplate.geometry.measure import inscribed
from nameplate.geometry.region import bounds, disc, holes, intersection, moved, rectangle, solids
from nameplate.lettering.counters import with_counters
from nameplate.lettering.making import make_lettering
from nameplate.lettering.rules import LetteringRules
from nameplate.lettering.webs import thicken, webs_hold
from nameplate.typesetting.fonts import load_font
from nameplate.typesetting.glyph_outlines import letter_region
from tests.typesetting.ways import ways_of

WEB = 1.5


def letter(font, text, x_height):
    drawn = load_font(font)
    return moved(letter_region(drawn.source, text), scale=x_height / drawn.x_height)


def widest_counter(shape):
    return max((2 * inscribed(hole).r for hole in solids(holes(shape))), default=0.0)


@pytest.mark.parametrize("font", ["Pacifico", "Lobster", "Playpen Sans ExtraBold", "Oleo Script Bold"])
@pytest.mark.parametrize("text", ["o", "ö"])
def test_the_counter_of_a_small_o_is_as_wide_as_its_font_draws_it(font, text):
    drawn = letter(font, text, 4.0)
    bare, kept = (thicken(shape, WEB).region for shape in (drawn, with_counters(drawn, text, WEB)))
    assert widest_counter(bare) < widest_counter(drawn) - 0.1
    assert widest_counter(kept) == pytest.approx(widest_counter(drawn), abs=0.05)
    assert webs_hold(kept, WEB)


def test_letters_with_a_gap_beside_their_counter_and_large_ones_are_left_alone():
    for text in "aeg":
        small = letter("Pacifico", text, 4.0)
        assert with_counters(small, text, WEB) is small
    large = letter("Pacifico", "o", 12.0)
    assert with_counters(large, "o", WEB) is large


def test_counters_too_small_to_be_cut_are_no_counters():
    blot = letter("Pacifico", "o", 1.5)
    assert holes(blot).area > 0 and with_counters(blot, "o", WEB) is blot
    assert with_counters(disc((0, 0), 3), "o", WEB).area == disc((0, 0), 3).area


def test_the_loop_of_an_l_that_would_be_lost_is_filled_and_the_l_stays_as_slim_as_drawn():
    small = letter("Pacifico", "l", 4.2)
    bare, filled = (thicken(shape, WEB).region for shape in (small, with_counters(small, "l", WEB)))
    assert webs_hold(filled, WEB)
    assert widest_counter(small) < 0.75 * WEB and widest_counter(bare) == widest_counter(filled) == 0.0
    above = rectangle(-20.0, 4.2, 20.0, 40.0)
    widths = [bounds(intersection(shape, above)).width for shape in (small, filled, bare)]
    assert widths[1] == pytest.approx(widths[0], abs=0.05) and widths[2] > widths[0] + 0.3
    large = letter("Pacifico", "l", 8.0)
    assert with_counters(large, "l", WEB) is large


def test_a_small_name_keeps_the_counter_of_its_o_and_stays_one_piece():
    zone = rectangle(-15.0, -8.0, 15.0, 8.0)
    ways = ways_of("Mona", "", load_font("Pacifico"), words="tie")
    lettering = make_lettering(ways, zone, LetteringRules(web=WEB))[0]
    box = next(box for box in lettering.letters if box.text == "o")
    inside = intersection(holes(lettering.region), rectangle(box.x0, box.y0, box.x1, box.y1))
    drawn = widest_counter(letter("Pacifico", "o", lettering.size * load_font("Pacifico").x_height))
    assert len(solids(lettering.region)) == 1 and webs_hold(lettering.region, WEB)
    assert max(2 * inscribed(solid).r for solid in solids(inside)) == pytest.approx(drawn, abs=0.1)
