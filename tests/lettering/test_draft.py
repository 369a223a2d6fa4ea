"""Drafts against the finished lettering of the same names: the measure of what an estimate may say."""

from statistics import mean

import pytest

from nameplate.geometry.region import bounds, difference, disc, from_ring, rectangle
from nameplate.lettering.draft import draft_lettering
from nameplate.lettering.making import make_lettering
from nameplate.lettering.rules import LetteringRules
from nameplate.placement.objective import Level, Standing
from nameplate.typesetting.fonts import bundled_fonts, load_font
from tests.typesetting.ways import ways_of

#: The apple of an orchard, roughly: wide shoulders with a dip between them, and a hole for hanging.
APPLE = difference(
    from_ring([(-20, -36), (20, -36), (46, -8), (48, 16), (28, 34), (0, 26), (-28, 34), (-48, 16), (-46, -8)]),
    disc((0, 18), 8),
)
OBLONG = rectangle(-50, -30, 50, 30)
RULES = LetteringRules(web=1.5, max_height=40, window_growth=0.3)

#: What module `draft` states: area within this of the finished lettering for one name, and in the mean of ten fonts;
#: extent of one name.
AREA, MEAN_AREA, EXTENT = 0.12, 0.025, 0.03


def both(name, font, zone, rules=RULES):
    ways = ways_of(name, "", load_font(font), words="auto")
    draft, _ = draft_lettering(ways, zone, rules)
    made, _ = make_lettering(ways, zone, rules)
    return draft, made


@pytest.fixture(scope="module")
def pairs():
    fonts = [info.name for info in bundled_fonts()]
    return [both("Wren Abara", font, OBLONG) for font in fonts] + [both("Jo Quill", fonts[0], APPLE)]


def test_drafts_in_every_font_are_set_alike_and_as_large(pairs):
    for draft, made in pairs:
        assert draft.lines == made.lines
        assert draft.size == pytest.approx(made.size, rel=EXTENT)
        for side in ("width", "height"):
            own, other = (getattr(bounds(x.region), side) for x in (draft, made))
            assert own == pytest.approx(other, rel=EXTENT)


def test_the_area_of_drafts_is_as_near_as_is_said(pairs):
    ratios = [draft.region.area / made.region.area for draft, made in pairs]
    assert max(abs(r - 1) for r in ratios) < AREA
    assert abs(mean(ratios) - 1) < MEAN_AREA


def test_a_name_too_long_for_its_face_is_refused_in_the_same_words():
    small = rectangle(-12, -6, 12, 6)
    ways = ways_of("Bartholomew Featherstonehaugh", "", load_font("Pacifico"), words="tie")
    drafted, why = draft_lettering(ways, small, RULES)
    made, same = make_lettering(ways, small, RULES)
    assert drafted is None and made is None
    assert [f.code for f in why] == [f.code for f in same] == ["letters-too-small"]


def test_a_size_of_its_own_is_kept_or_refused():
    ways = ways_of("Wren", "", load_font("Pacifico"), words="auto")
    fits, _ = draft_lettering(ways, OBLONG, RULES, size=20.0)
    assert fits.size == 20.0
    none, (why,) = draft_lettering(ways, OBLONG, RULES, size=90.0)
    assert none is None and why.code == "zone-too-small"


def test_letters_that_stay_in_their_plate_are_not_thickened():
    ways = ways_of("Wren", "", load_font("Great Vibes"), words="auto")
    plain, _ = draft_lettering(ways, OBLONG, LetteringRules(web=0.5, tied=False))
    tied, _ = draft_lettering(ways, OBLONG, LetteringRules(web=3.0))
    assert tied.region.area / tied.size**2 > 1.2 * plain.region.area / plain.size**2


@pytest.mark.parametrize(
    ("zone", "at", "name"),
    [(OBLONG, -10.0, "Jo Quill"), (OBLONG, -4.0, "Otto"), (APPLE, -8.0, "Otto"), (APPLE, -14.0, "Jo Quill")],
)
def test_on_a_level_a_draft_is_as_large_as_the_lettering_there(zone, at, name):
    ways = ways_of(name, "", load_font("Pacifico"), words="auto")
    level = Level(0.0, at)
    draft, _ = draft_lettering(ways, zone, RULES, standing=Standing("centre", level=level))
    made, _ = make_lettering(ways, zone, RULES, standing=Standing("centre", level=level))
    assert draft.lines == made.lines
    assert draft.size == pytest.approx(made.size, rel=EXTENT)
    again, _ = draft_lettering(ways, zone, RULES, size=made.size * 0.95, standing=Standing("centre", level=level))
    assert again.size == made.size * 0.95


def test_a_title_on_a_level_costs_a_draft_what_it_costs_the_lettering():
    ways = ways_of("Mr & Mrs Holloway", "", load_font("Lobster"), words="auto")
    zone, standing = rectangle(-27, -9.5, 27, 9.5), Standing("centre", level=Level(0.0, 0.0))
    draft, told = draft_lettering(ways, zone, RULES, standing=standing)
    made, same = make_lettering(ways, zone, RULES, standing=standing)
    assert draft.size == pytest.approx(made.size, rel=EXTENT)
    assert [f.code for f in told] == [f.code for f in same]
