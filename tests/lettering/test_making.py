import math
import re
from functools import cache

import pytest

from nameplate.geometry import region as rg
from nameplate.lettering.building import TIGHT, Build, _blunted
from nameplate.lettering.making import _does_not_fit, _line_places, make_lettering
from nameplate.lettering.rules import LetteringRules
from nameplate.lettering.webs import webs_hold
from nameplate.placement.fit import Fit, prepared
from nameplate.placement.objective import Level, Standing
from nameplate.typesetting.fonts import load_font
from tests.typesetting.ways import settings, ways_of

ZONE = rg.moved(rg.disc((0, 0), 2), scale=40)
RULES = LetteringRules(web=1.5, thickness=3, window_growth=0.3)


@cache
def made(name, zone=ZONE, rules=RULES, *, words="auto", size=None, font="Pacifico", level=None, place="centre"):
    standing = Standing(place, level=level)
    return make_lettering(ways_of(name, "", load_font(font), words=words), zone, rules, size=size, standing=standing)


@pytest.mark.parametrize("font", ["Pacifico", "Great Vibes"])
def test_a_name_is_one_piece_in_its_zone_with_its_webs(font):
    lettering, findings = made("Ada Müller", font=font)
    assert not [f for f in findings if f.severity == "error"]
    assert len(rg.solids(lettering.region)) == lettering.pieces == 1
    assert rg.covers(ZONE, lettering.region)
    assert webs_hold(lettering.region, 1.5)
    assert (
        lettering.neck is not None
        and rg.distance(rg.disc((lettering.neck.x, lettering.neck.y), 1), lettering.region) == 0
    )


def test_a_name_in_the_middle_of_a_lopsided_zone_tells_what_it_gives_up_for_that():
    corner = rg.from_ring([(-45, -30), (45, -30), (-45, 40)])
    centred, largest = (made("Ada", corner, place=place)[0] for place in ("centre", "largest"))
    assert centred.of_largest == pytest.approx(centred.size / largest.size, abs=0.01) and centred.of_largest < 0.9
    assert largest.of_largest == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize(
    ("name", "font"),
    [
        ("Ada Müller", "Pacifico"),
        ("Ada Müller", "Lobster"),
        ("Ada Müller", "Great Vibes"),
        ("Björk Jäger-Lindqvist", "Playpen Sans ExtraBold"),
        ("Björk Jäger-Lindqvist", "Leckerli One"),
        ("Björk Jäger-Lindqvist", "Great Vibes"),
    ],
)
def test_the_finished_lettering_fills_its_zone_whatever_thickening_added(name, font):
    lettering, _ = made(name, font=font)
    assert rg.covers(ZONE, lettering.region)
    # what ties add moves the weight by a little, after the size of the bare letters was found about theirs
    assert 1 <= prepared(ZONE).growth(lettering.region, Standing("centre")) * (1 + 1e-6) < 1 + TIGHT
    assert webs_hold(lettering.region, RULES.web)


def test_auto_takes_the_larger_letters():
    one, two = made("Ada Müller", words="tie")[0], made("Ada Müller", words="stack")[0]
    assert made("Ada Müller")[0].size >= max(one.size, two.size) * 0.98


def test_the_lettering_is_never_taller_than_asked():
    lettering, _ = made("Ada", rules=LetteringRules(web=1.5, max_height=20))
    assert 19 < rg.bounds(lettering.region).height <= 20 + 1e-6


def test_a_given_size_is_kept_or_refused_with_the_numbers():
    assert made("Ada", size=12)[0].size == 12
    lettering, (finding,) = made("Ada", size=200)
    assert lettering is None and finding.code == "zone-too-small"
    assert finding.measured == 200 and 0 < finding.allowed < 200


def test_the_size_that_a_name_comes_to_by_itself_can_be_asked_for():
    # resized, this name fits; built at that size it is a hair too large
    alone, _ = made("Emmi", font="Dancing Script Bold")
    asked, _ = made("Emmi", font="Dancing Script Bold", size=alone.size)
    assert asked is not None and asked.size == pytest.approx(alone.size, rel=1e-12)
    assert rg.covers(ZONE, asked.region) and webs_hold(asked.region, RULES.web)


def test_a_name_too_small_to_read_is_refused_with_the_numbers():
    lettering, (finding,) = made("Maximiliane Oberwieser", zone=rg.rectangle(-12, -3, 12, 3))
    assert lettering is None and finding.severity == "error"
    assert finding.code == "letters-too-small"


@pytest.mark.parametrize(("font", "said"), [("Pacifico", False), ("Great Vibes", True)])
def test_letters_much_heavier_than_their_font_are_said_to_be(font, said):
    lettering, findings = made("Maximilian Fitzgerald", words="tie", font=font)
    plain = union_of_glyphs("Maximilian Fitzgerald", font, lettering.size)
    found = [finding for finding in findings if finding.code == "letters-heavier"]
    assert bool(found) == said == (lettering.region.area > 2 * plain.area)
    assert all(finding.measured == pytest.approx(lettering.region.area / plain.area, rel=0.05) for finding in found)


@pytest.mark.parametrize(("font", "said"), [("Playpen Sans ExtraBold", True), ("Great Vibes", False)])
def test_a_tie_between_lines_is_said_to_be_long_from_four_tenths_of_the_capitals_on(font, said):
    ways = ways_of("Bao Đặng Nguyễn", "", load_font(font), words="auto", lines=("Bao", "Đặng", "Nguyễn"))
    zone = rg.rectangle(-35, -20, 35, 20)
    lettering, findings = make_lettering(ways, zone, RULES)
    found = [finding for finding in findings if finding.code == "long-tie"]
    assert [finding.severity for finding in found] == ["note"] * said
    for finding in found:
        assert finding.measured > finding.allowed == pytest.approx(0.4 * lettering.letter_height)
        assert f"a tie of {finding.measured:.1f} mm" in finding.message and "another font" in finding.message


def test_the_length_of_a_tie_grows_with_the_letters_that_are_resized():
    build = Build(None, 10.0, ZONE, 1.2, True, between_lines=3.0)
    assert build.resized(1.1).between_lines == pytest.approx(3.3)


def union_of_glyphs(name, font, size):
    shape = settings(name, "", load_font(font), words="tie")[0].shape
    return rg.moved(shape, scale=size)


def test_letters_that_stay_in_a_plate_keep_their_hairlines():
    # in Great Vibes at this size, hairlines are under 0.2 mm wide; rounding them like needles took a sixth of the ink
    zone = rg.rectangle(-20, -10, 20, 10)
    rules = LetteringRules(web=0.5, tied=False)
    lettering, _ = made("Rodolphe Editha Fennimore", zone=zone, rules=rules, font="Great Vibes", words="tie")
    (setting,) = settings("Rodolphe Editha Fennimore", "", load_font("Great Vibes"), words="tie")
    drawn = rg.union(*(g.region for g in setting.glyphs)).area * lettering.size**2
    assert lettering.region.area == pytest.approx(drawn, rel=1e-3)


def test_loose_words_stay_apart():
    lettering, _ = made("Ada Pell", words="loose")
    assert len(rg.solids(lettering.region)) == lettering.pieces == 2


def test_letters_that_stay_in_a_plate_are_not_tied():
    lettering, _ = made("Müller", rules=LetteringRules(web=1.5, tied=False))
    # welded in Pacifico the name is its body and two dots
    assert lettering.pieces == len(rg.solids(lettering.region)) == 3


@pytest.mark.parametrize("zone", [ZONE, rg.difference(ZONE, rg.moved(rg.disc((0, 0), 6), 0, 36))])
def test_names_of_one_size_stand_on_one_baseline(zone):
    level = Level(0.3, 2.0)  # what is 0.3 em above the baseline comes to y = 2
    for name in ("Ada", "Gregory", "Jupp"):
        lettering, findings = made(name, zone, size=15, level=level, words="tie")
        assert lettering.baselines == (pytest.approx(2.0 - 0.3 * 15, abs=1e-6),)
        assert not [f for f in findings if f.code == "off-baseline"]
        # flat-footed letters stand there: in Pacifico, "d" ends on the baseline and "A" within 0.03 em of it
        alone, _ = made("Ad", zone, size=15, level=level, words="tie")
        assert rg.bounds(alone.region).y0 == pytest.approx(2.0 - 0.3 * 15, abs=0.06 * 15)
        assert rg.covers(zone, lettering.region)


def test_the_largest_letters_on_a_level_are_no_larger_than_the_largest_anywhere():
    free, _ = made("Gregory", place="largest")
    level = Level(free.size and -free.baselines[0] / free.size, 0.0)  # just where it stands by itself
    same, _ = made("Gregory", level=level, place="largest")
    assert same.size == pytest.approx(free.size, rel=2e-3)
    lower, _ = made("Gregory", level=Level(level.height, -4.0), place="largest")
    assert 0.88 * free.size < lower.size < free.size


def test_two_lines_stand_about_the_line_that_one_line_stands_on():
    lettering, _ = made("Ada Pell", words="stack", size=12, level=Level(0.25, 0.0))
    first, last = lettering.baselines
    assert first > last
    assert (first + last) / 2 == pytest.approx(-0.25 * 12)


def test_a_name_without_room_on_the_line_leaves_it_and_says_by_how_much():
    zone = rg.rectangle(-40, -10, 40, 10)
    lettering, findings = made("Gregory", zone, size=13, level=Level(0.3, 9.0))
    (finding,) = [f for f in findings if f.code == "off-baseline"]
    assert finding.severity == "warning" and rg.covers(zone, lettering.region)
    assert finding.measured == pytest.approx(abs(lettering.baselines[0] - (9.0 - 0.3 * 13)))
    assert "below" in finding.message


@pytest.mark.parametrize("length", [0.5, 0.8, 1.2])
@pytest.mark.parametrize("lean", [0, 40])
def test_the_hair_at_the_end_of_a_stroke_is_not_lost(length, lean):
    hair = rg.moved(rg.rectangle(0, 1.4, 12 + length, 1.56), turn=lean)  # narrower than a kerf
    drawn = rg.union(rg.moved(rg.rectangle(0, 0, 12, 3), turn=lean), hair)
    made = _blunted(drawn)
    assert max((s.area for s in rg.solids(rg.difference(drawn, made))), default=0.0) < 0.005
    assert made.area < drawn.area + 0.5 * length
    assert rg.opened(made, 0.08).area > made.area - 0.02  # and a beam holds it


def test_corners_are_not_taken_for_hairs():
    serif = rg.from_ring([(0, 0), (8, 0), (8, 8 * math.tan(math.radians(33)))])
    assert 0.017 < serif.area - _blunted(serif).area < 0.02
    square = rg.rectangle(0, 0, 5, 5)
    assert _blunted(square).area == pytest.approx(25, abs=1e-6)


def test_letters_with_more_outline_than_can_be_worked_on_are_refused_with_a_height_that_can():
    hall = rg.rectangle(0, 0, 9000, 9000)
    lettering, (finding,) = made("Ann", hall)
    assert lettering is None
    assert finding.code == "too-large"
    assert finding.measured > finding.allowed
    height = int(re.search(r"set lettering.max_height = (\d+) or less", finding.message)[1])
    setting = settings("Ann", "", load_font("Pacifico"), words="auto")[0]
    tall = rg.bounds(rg.union(*(g.region for g in setting.glyphs)))
    length = sum(g.region.length for g in setting.glyphs)
    assert length * height / (tall.y1 - tall.y0) == pytest.approx(finding.allowed, rel=0.001)


def test_letters_too_low_for_their_strokes_are_told_with_their_height():
    (setting,) = settings("Ada", "", load_font("Pacifico"), words="tie")
    finding = _does_not_fit(setting, 8.0, None)
    height = 8 * setting.x_height
    assert finding.measured == pytest.approx(height) and f"room for small letters of {height:.1f} mm" in finding.message


def test_each_line_is_told_with_the_middle_of_its_box_on_the_plate():
    (setting,) = settings("Ada", "of the pears", load_font("Pacifico"), words="tie")
    placed = _line_places(Build(setting, 8.0, rg.EMPTY, 1.0, True), Fit(1.0, 3.0, -5.0))
    boxes = [rg.bounds(rg.moved(ink, 3, -5, scale=8)) for ink in setting.inks]
    assert len(placed) == 2 and placed[0].y > placed[1].y
    assert [(line.x, line.y) for line in placed] == [pytest.approx(box.centre) for box in boxes]
