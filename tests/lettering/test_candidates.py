"""Where a title stays with its name: not where that leaves letters too small."""

import math

import pytest

from nameplate.geometry.region import from_ring, rectangle
from nameplate.lettering.candidates import choices, likely_ways
from nameplate.lettering.draft import draft_lettering
from nameplate.lettering.rules import LEAST_X_HEIGHT_WEBS, LetteringRules
from nameplate.placement.fit import prepared
from nameplate.placement.objective import Level, Standing
from nameplate.typesetting.fonts import load_font
from nameplate.typesetting.line_breaking import cost_of, partitions
from tests.typesetting.ways import ways_of

CENTRED = Standing(place="centre")
RULES = LetteringRules(web=1.5)


@pytest.mark.parametrize(("width", "height", "lines"), [(54, 19, 2), (160, 40, 1)])
def test_a_title_is_parted_from_its_name_only_where_the_letters_are_small(width, height, lines):
    zone = rectangle(-width / 2, -height / 2, width / 2, height / 2)
    font = load_font("Lobster")
    name = "Mr & Mrs Holloway"
    (chosen,) = choices(ways_of(name, "", font, words="auto"), prepared(zone), RULES, None, CENTRED)
    drafted, _ = draft_lettering(ways_of(name, "", font, words="auto"), zone, RULES, standing=CENTRED)
    assert len(chosen.setting.lines) == len(drafted.lines) == lines


@pytest.mark.parametrize(("height", "lines"), [(11, [1, 2]), (36, [1])])
def test_lines_that_part_a_title_from_its_name_are_likely_only_where_letters_are_small(height, lines):
    zone = rectangle(-2.3 * height, -height / 2, 2.3 * height, height / 2)
    ways = ways_of("Mr & Mrs Holloway", "", load_font("Lobster"), words="auto")
    assert [len(way.lines) for way in likely_ways(ways, prepared(zone), RULES, None, CENTRED)] == lines


OVAL = from_ring([(49 * math.cos(t / 50), 34 * math.sin(t / 50)) for t in range(0, 314)])


def height_in(name, zone, **keys):
    """The height (mm) of the small letters of the bare way that is chosen, and its lines."""
    (chosen,) = choices(ways_of(name, "", load_font("Lobster"), **keys), prepared(zone), RULES, None, CENTRED)
    return chosen.largest * chosen.setting.x_height, chosen.setting.lines


@pytest.mark.parametrize("zone", [rectangle(-49, -24, 49, 24), rectangle(-27, -9.5, 27, 9.5), OVAL])
@pytest.mark.parametrize("name", ["The Lanternmakers", "Families Ek & Tomás Rowe", "Friends of the Long Hedge"])
def test_no_break_that_makes_sense_gives_much_larger_letters(name, zone):
    height, _ = height_in(name, zone, words="auto")
    words = name.split()
    for count in range(1, len(words) + 1):
        for cut in partitions(len(words), count):
            lines = tuple(" ".join(words[a:b]) for a, b in cut)
            if cost_of(lines) == 0:
                assert height_in(name, zone, words="auto", lines=lines)[0] <= 1.03 * height


@pytest.mark.parametrize(
    ("name", "lines"),
    [
        # a line may end behind a hyphen (Unicode Standard Annex 14, class HY); that it better does not: common practice
        ("Jean-Luc", ("Jean-Luc",)),
        ("Ida Ek-Torre", ("Ida", "Ek-Torre")),
        ("Bartholomew-Featherstone", ("Bartholomew-", "Featherstone")),
        # two long names: broken where letters get a quarter larger, which those of the second do not
        ("Halvard Brandt-Østergaard", ("Halvard", "Brandt-", "Østergaard")),
        ("Tilda Crake-Wyndle", ("Tilda", "Crake-Wyndle")),
    ],
)
def test_a_name_is_broken_behind_a_hyphen_only_where_its_letters_are_small_otherwise(name, lines):
    assert height_in(name, rectangle(-49, -24, 49, 24), words="auto")[1] == lines


def test_letters_that_would_be_refused_are_broken_behind_any_hyphen():
    height, lines = height_in("Jean-Luc", rectangle(-10, -6, 10, 6), words="auto")
    assert lines == ("Jean-", "Luc") and height >= LEAST_X_HEIGHT_WEBS * RULES.web
    assert height_in("Jean-Luc", rectangle(-10, -6, 10, 6), words="none")[0] < LEAST_X_HEIGHT_WEBS * RULES.web


def test_where_a_size_fits_no_way_only_the_one_with_the_largest_letters_is_built():
    zone, standing = prepared(rectangle(-49, -24, 49, 24)), Standing()
    ways = ways_of("Families Ek & Tomás Rowe", "", load_font("Pacifico"), words="auto")
    (best,) = choices(ways, zone, RULES, None, standing)
    assert [c.setting for c in choices(ways, zone, RULES, 9 * best.largest, standing)] == [best.setting]
    fitting = list(choices(ways, zone, RULES, 0.5 * best.largest, standing))
    assert len(fitting) > 1 and all(c.largest >= 0.5 * best.largest for c in fitting)


def test_on_an_oval_the_middle_line_is_the_longest():
    assert height_in("Families Ek & Tomás Rowe", OVAL, words="auto")[1] == ("Families", "Ek & Tomás", "Rowe")


@pytest.mark.parametrize(("level", "fits"), [(0.0, True), (24.5, False)])
def test_where_a_name_cannot_stand_even_the_smallest_does_not_fit(level, fits):
    ways, zone = ways_of("Ada Pell", "", load_font("Pacifico"), words="auto"), prepared(rectangle(-49, -24, 49, 24))
    found = choices(ways, zone, RULES, 0.5, Standing(place="centre", level=Level(0.3, level)))
    assert any(chosen.largest >= 0.5 for chosen in found) is fits
