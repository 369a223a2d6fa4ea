import re

import pytest

from nameplate.face.making import make_face
from nameplate.findings import Finding
from nameplate.geometry import region as geo
from nameplate.lettering.legibility import (
    HARD_GLUED,
    HARD_PIERCED,
    MISREAD_GLUED,
    LetterRead,
    _places,
    legibility_findings,
    read,
    small_text,
    still_hard_to_read,
    with_unclear,
)
from nameplate.lettering.rules import SMALL_LETTERS
from nameplate.model import Lettering, Order
from nameplate.plates.make import PlateContext, make_plate
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import FaceKeys, JigKeys, Ticket
from nameplate.typesetting.fonts import load_font
from nameplate.typesetting.glyph_outlines import letter_region
from tests.typesetting.ways import settings

FONTS = ["Pacifico", "Lobster", "Great Vibes", "Playpen Sans ExtraBold"]


def set_in(font, name, words="tie"):
    return settings(name, "", load_font(font), words=words)[0]


def judged(setting, shapes, size=20.0, origin=(3.0, -7.0)):
    cut = geo.moved(geo.union(*shapes), *origin, scale=size)
    return read(setting, cut, origin=origin, size=size)


@pytest.mark.parametrize("font", FONTS)
def test_letters_as_the_font_draws_them_are_legible_at_any_size_and_place(font):
    setting = set_in(font, "Jörg Abigail Quill", "stack")
    shapes = [glyph.region for glyph in setting.glyphs]
    for size, origin in ((20.0, (3.0, -7.0)), (8.0, (-41.3, 0.0))):
        letters = judged(setting, shapes, size, origin)
        assert len(letters) == 16
        assert letters[0].legibility > 0.98 and not any(letter.rival for letter in letters)


@pytest.mark.parametrize("font", FONTS)
def test_letters_evenly_heavier_stay_legible_and_hardly_suffer(font):
    setting = set_in(font, "Mona")
    bold = [geo.offset(glyph.region, 0.05 * setting.x_height) for glyph in setting.glyphs]
    assert judged(setting, bold)[0].legibility > 0.75


@pytest.mark.parametrize("font", FONTS)
def test_a_closed_counter_is_found_and_named(font):
    setting = set_in(font, "Abelard")
    shapes = [geo.filled(g.region) if g.text == "A" else g.region for g in setting.glyphs]
    shapes += [geo.filled(g.region) for g in setting.glyphs if g.text == "d"]
    assert next(x.legibility for x in judged(setting, shapes) if x.place == "the d") < 0.75


@pytest.mark.parametrize("font", FONTS)
@pytest.mark.parametrize(("name", "number", "other"), [("Mona", 1, "u"), ("Nil", 2, "t"), ("Bert", 1, "c")])
def test_a_letter_drawn_as_another_reads_as_that_one(font, name, number, other):
    setting = set_in(font, name)
    shapes = [glyph.region for glyph in setting.glyphs]
    own, strange = geo.bounds(shapes[number]), letter_region(load_font(font).source, other)
    box = geo.bounds(strange)
    shapes[number] = geo.moved(strange, own.centre[0] - box.centre[0], 0)
    worst = judged(setting, shapes)[0]
    assert worst.place == f"the {name[number]}" and worst.rival == other and worst.legibility < 0.7


@pytest.mark.parametrize("font", FONTS)
def test_a_dot_that_has_grown_into_its_stem_is_seen(font):
    setting = set_in(font, "Mina")
    i = setting.glyphs[1].region
    bridged = geo.offset(geo.offset(i, 0.15), -0.15)
    assert len(geo.solids(bridged)) == 1 < len(geo.solids(i))
    worst = judged(setting, [bridged if g.text == "i" else g.region for g in setting.glyphs])[0]
    assert worst.place == "the i" and worst.legibility < 0.8


@pytest.mark.parametrize("font", FONTS)
def test_stops_that_a_tie_runs_through_are_nothing_that_could_be_taken_for_a_letter(font):
    setting = set_in(font, "J. P. Lea-Ohm")
    box = geo.bounds(geo.union(*(g.region for g in setting.glyphs)))
    tie = geo.rectangle(box.x0, 0.0, box.x1, 0.08)
    letters = judged(setting, [*(g.region for g in setting.glyphs), tie])
    assert len(letters) == len("JPLeaOhm") and not any(set(letter.place[4:]) & set(".-") for letter in letters)


def plate(name, legibility="refuse", mount="pierced"):
    face = FaceKeys(shape="rectangle", width=45.0, height=20.0)
    keys = LetteringKeys(mount=mount, legibility=legibility)
    ticket = Ticket(face=face, lettering=keys, jig=JigKeys(style="none"))
    return make_plate(PlateContext.of(ticket, make_face(face)[0], cuts=False), Order("1", 2, name, mount=mount))[0]


def test_a_pierced_name_that_would_read_as_another_is_refused_and_the_key_lowers_it():
    refused, warned, unjudged = (plate("Abel Bell", key) for key in ("refuse", "warn", "off"))
    (error,) = (f for f in refused.findings if f.code == "misread")
    assert refused.lettering is None and error.severity == "error"
    assert "“Abel Bell” would read as another name: the b reads as" in error.message
    (warning,) = (f for f in warned.findings if f.code == "misread")
    assert warning.severity == "warning" and warned.lettering.legibility < HARD_PIERCED
    assert warned.lettering.weakest_letter == "the b"
    assert {f.code for f in unjudged.findings} == {"small-letters", "letters-thinned"}
    assert unjudged.lettering.legibility is None


@pytest.mark.parametrize(
    ("pierced", "least", "severity"), [(True, HARD_PIERCED, "error"), (False, MISREAD_GLUED, "warning")]
)
def test_only_letters_that_are_hard_to_read_are_told_and_more_of_them_where_they_are_pierced(pierced, least, severity):
    for legibility in (least - 0.01, least + 0.01):
        letters = [LetterRead("the e", legibility, "c"), LetterRead("the l", 0.9)]
        found = list(legibility_findings("Elm", letters, pierced=pierced, refuse=True))
        assert [(f.code, f.severity) for f in found] == ([("misread", severity)] if legibility < least else [])
        assert all(('lettering.legibility = "warn"' in f.message) == pierced for f in found)


@pytest.mark.parametrize(("pierced", "least"), [(True, HARD_PIERCED), (False, HARD_GLUED)])
def test_a_letter_that_reads_as_no_other_is_told_where_it_is_hopeless(pierced, least):
    found = [
        [f.code for f in legibility_findings("Elm", [LetterRead("the e", at)], pierced=pierced, refuse=True)]
        for at in (least - 0.01, least + 0.01)
    ]
    assert found == [["hard-to-read"], []]


def test_small_glued_letters_are_named_once_in_what_is_said_of_their_size():
    face = FaceKeys(shape="rectangle", width=60.0, height=25.0, inset=3.0)
    keys = LetteringKeys(font=("Pacifico",), mount="backed")
    ticket = Ticket(face=face, lettering=keys, jig=JigKeys(style="none"))
    order = Order("1", 2, "Theodor Leed", fonts=("Pacifico",), mount="backed")
    found = make_plate(PlateContext.of(ticket, make_face(face)[0], cuts=False), order)[0].findings
    (small,) = (f.message for f in found if f.code == "small-letters")
    # two strokes of 1.5 mm leave an o of this height a counter of half a millimetre
    assert re.search(r"small letters are 3\.\d mm high; .* begin to close: .*the 2nd o.* are not clear; give it", small)
    assert not any(f.code == "hard-to-read" for f in found)


def test_a_line_of_small_letters_names_its_own():
    said = [
        Finding(SMALL_LETTERS, "warning", f"the letters of “{line}” are 3 mm high; give it a larger face")
        for line in ("Ana", "Bo")
    ]
    letters = [LetterRead("the a of “Ana”", 0.1), LetterRead("the o of “Bo”", 0.2), LetterRead("the B of “Bo”", 0.9)]
    assert [f.message for f in with_unclear(said, letters)] == [
        "the letters of “Ana” are 3 mm high: the a is not clear; give it a larger face",
        "the letters of “Bo” are 3 mm high: the o is not clear; give it a larger face",
    ]


@pytest.mark.parametrize(
    ("pierced", "small", "codes"), [(True, True, ["hard-to-read"]), (False, False, ["hard-to-read"]), (False, True, [])]
)
def test_a_glued_name_with_hopeless_letters_is_told_of_once(pierced, small, codes):
    letters = [LetterRead("the e", 0.05)]
    found = legibility_findings("Elm", letters, pierced=pierced, refuse=True, small=small)
    assert [f.code for f in found] == codes


def test_a_tie_between_lines_that_gives_an_o_the_stem_of_a_b_is_found():
    # the independent reader of tests/reader reads "membry" in 8 of 8 showings
    setting = set_in("Playpen Sans ExtraBold", "memory")
    height, o = setting.x_height, geo.bounds(setting.glyphs[3].region)
    tie = geo.rectangle(o.x0 + 0.08 * height, 0.5 * height, o.x0 + 0.38 * height, 1.7 * height)
    worst = judged(setting, [*(glyph.region for glyph in setting.glyphs), tie])[0]
    assert (worst.place, worst.rival) == ("the o", "b") and worst.legibility < 0.55


def test_a_letter_that_lost_its_shape_is_warned_of_with_its_place():
    finding = next(f for f in plate("Elli Heel").findings if f.code == "hard-to-read")
    assert "the i is not clear" in finding.message and finding.severity == "warning"


def test_nothing_is_said_of_a_legible_name_and_many_letters_are_summed_up():
    assert list(legibility_findings("Anna", [LetterRead("the A", 0.9)], pierced=True, refuse=True)) == []
    assert list(legibility_findings("…", [], pierced=True, refuse=True)) == []
    many = [LetterRead(f"the {x}", 0.1) for x in "abcde"]
    (finding,) = legibility_findings("Abcde", many, pierced=True, refuse=True)
    assert "the a, the b, the c and 2 more are not clear; give it a larger face," in finding.message
    (finding,) = legibility_findings("Abcde", many, pierced=True, refuse=True, cap=30.0)
    assert "give it a larger max_height (30 mm keeps it small)," in finding.message


def test_small_letters_are_told_with_the_distance_they_read_from():
    # ANSI Z535.2 and DIN 4844-1: the distance is 300 times the height of a capital, so 1.5 m asks for 5 mm
    assert small_text("Anna", 0.7 * 5.0) is None
    finding = small_text("Anna", 0.7 * 2.5)
    assert finding.code == "small-text" and "read from 0.7 m" in finding.message
    assert "are 3.4 mm high and read from 1.4 m; 3.5 mm read from 1.5 m" in small_text("Anna", 3.49).message


def test_a_letter_reads_as_another_where_it_is_not_yet_twice_as_near():
    # without its bar and the stroke left of it an e is 1.8 times as near to a c as to itself
    setting = set_in("Pacifico", "Bert")
    shapes = [glyph.region for glyph in setting.glyphs]
    box = geo.bounds(shapes[1])
    bar = geo.rectangle(box.x0, box.y0 + 0.3 * box.height, box.x1, box.y0 + 0.62 * box.height)
    shapes[1] = geo.difference(shapes[1], bar)
    assert (judged(setting, shapes)[0].place, judged(setting, shapes)[0].rival) == ("the e", "c")


@pytest.mark.parametrize(("mount", "least"), [("pierced", HARD_PIERCED), ("applied", HARD_GLUED)])
def test_a_name_that_is_cut_again_is_told_of_where_it_was_hard_to_read(mount, least):
    def said(legibility):
        lettering = Lettering(geo.EMPTY, 20.0, 14.0, ("Elm",), 1, legibility=legibility, weakest_letter="the e")
        return still_hard_to_read(Order("7", 8, "Elm", mount=mount), lettering)

    assert said(None) is None and said(least) is None and said(least + 0.01) is None
    finding = said(least - 0.01)
    assert (finding.code, finding.plate, finding.row, finding.allowed) == ("hard-to-read", "7", 8, least)
    assert "the e is not clear" in finding.message and "--again 7" in finding.message


def test_letters_are_counted_as_people_write_it():
    endings = ["st", "nd", "rd", *["th"] * 17, "st", "nd", "rd", "th"]
    assert _places("e" * 24) == [f"the {n}{ending} e" for n, ending in enumerate(endings, 1)]
