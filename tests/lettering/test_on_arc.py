"""Finished lettering on an arc: whole, in its zone, of the radius asked for, and as large as that allows."""

from __future__ import annotations

import math
import re
from functools import cache

import numpy as np
import pytest
from scipy import ndimage

from nameplate.geometry import region as rg
from nameplate.geometry.nearby import grid_inside
from nameplate.lettering.draft import draft_lettering
from nameplate.lettering.legibility import read
from nameplate.lettering.making import EXACT_ON_ARC, make_lettering
from nameplate.lettering.on_arc import _between
from nameplate.lettering.rules import LetteringRules
from nameplate.lettering.stencil import pierce
from nameplate.lettering.webs import webs_hold
from nameplate.placement.objective import Standing
from nameplate.typesetting.fonts import load_font
from nameplate.typesetting.glyph_outlines import letter_region
from tests.typesetting.ways import settings, ways_of

#: An ellipse of 120 x 90 with an inset of 6.
TURNS = np.linspace(0, 2 * math.pi, 361)[:-1]
ZONE = rg.offset(rg.from_ring(np.column_stack([60 * np.cos(TURNS), 45 * np.sin(TURNS)])), -6)
RULES = LetteringRules(web=1.5, thickness=3, window_growth=0.3)
AWKWARD = ("Björk Jäger", "Świętosława", "Jiří O’Neil", "Ñuñez & Söhne")


def ways(name, arc, font="Pacifico", **keys):
    return ways_of(name, "", load_font(font), words="auto", arc=arc, **keys)


@cache
def made(name, arc, *, size=None, font="Pacifico", rules=RULES):
    return make_lettering(ways(name, arc, font), ZONE, rules, size=size)


def necks_cut(shape, width, pixel=0.08):
    """Count the pieces that are left when a shape is drawn on a raster and opened by a disc a little under `width`."""
    box = rg.bounds(shape).grown(1.0)
    xs, ys = np.arange(box.x0, box.x1, pixel), np.arange(box.y0, box.y1, pixel)
    ink = grid_inside(shape, xs, ys)
    core = ndimage.distance_transform_edt(ink) > (width / 2 - 1.5 * pixel) / pixel
    return ndimage.label(core, structure=np.ones((3, 3)))[1]


@pytest.mark.parametrize("arc", [90.0, -120.0])
@pytest.mark.parametrize("name", AWKWARD)
def test_awkward_names_are_one_piece_in_their_zone_with_their_webs(name, arc):
    lettering, findings = made(name, arc)
    assert not [f for f in findings if f.severity == "error"]
    assert len(rg.solids(lettering.region)) == 1 and rg.covers(ZONE, lettering.region)
    assert webs_hold(lettering.region, RULES.web)
    assert necks_cut(lettering.region, RULES.web) == 1
    assert lettering.arc.radius == pytest.approx(arc, abs=1e-9)


@pytest.mark.parametrize("arc", [90.0, -120.0])
def test_the_size_is_nearly_the_largest_that_fits(arc):
    lettering, _ = made("Lily Illingworth", arc)
    again, _ = made("Lily Illingworth", arc, size=0.99 * lettering.size)
    assert again.arc.radius == pytest.approx(arc, abs=1e-9) and again.size == 0.99 * lettering.size
    refused, (finding,) = made("Lily Illingworth", arc, size=1.03 * lettering.size)
    assert refused is None and finding.code == "zone-too-small" and f"its arc of {arc:g} mm" in finding.message


def test_a_name_on_an_arc_that_stands_free_is_as_wide_as_asked():
    zone = rg.rectangle(-40, -1e3, 40, 1e3)
    lettering, _ = make_lettering(ways("Ida Wren", 60.0), zone, RULES, standing=Standing("anywhere"))
    assert 80 / (1 + EXACT_ON_ARC) <= rg.bounds(lettering.region).width <= 80


def test_the_centre_of_the_arc_is_on_the_axis_but_for_what_ties_weigh():
    for arc in (90.0, -120.0):
        lettering, _ = made("Ada Müller", arc)
        assert abs(lettering.arc.x) < 0.5 and abs(lettering.placed[0]) < 1e-3


def test_letters_too_large_for_their_arc_are_refused_with_a_radius_and_a_size_that_do():
    lettering, (finding,) = made("Al", 20.0)
    assert lettering is None and finding.code == "arc-too-small"
    radius, size = map(float, re.search(r"arc = (\d+) or .* size of ([\d.]+) mm", finding.message).groups())
    assert made("Al", radius)[0] is not None
    assert made("Al", 20.0, size=size)[0].size == size
    assert made("Al", 20.0, size=size + 0.2)[1][0].code == "arc-too-small"
    assert made("Al", -20.0)[1][0].message.count("arc = -") == 1


def test_a_name_goes_half_round_at_most():
    (way,) = ways_of("Maximilian Featherstone", "", load_font("Pacifico"), words="tie", arc=12.0)
    rules = LetteringRules(web=0.3)
    lettering, _ = make_lettering([way], ZONE, rules)
    turns = [glyph.letter.glyphs[0].turn for glyph in way.setting.at(lettering.size).glyphs]
    assert turns[0] - turns[-1] == pytest.approx(180, abs=6)
    refused, (finding,) = make_lettering([way], ZONE, rules, size=1.05 * lettering.size)
    assert refused is None and finding.allowed == pytest.approx(lettering.size, rel=0.01)


def test_a_height_is_kept_on_an_arc():
    lettering, _ = made("Ada Müller", 60.0, rules=LetteringRules(web=1.5, max_height=25))
    assert 24.2 < rg.bounds(lettering.region).height <= 25 + 1e-6


@pytest.mark.parametrize("arc", [90.0, -120.0])
@pytest.mark.parametrize("name", ["Lily Illingworth", "Świętosława"])
def test_drafts_are_set_alike_and_as_large(name, arc):
    draft, _ = draft_lettering(ways_of(name, "", load_font("Pacifico"), words="auto", arc=arc), ZONE, RULES)
    lettering, _ = made(name, arc)
    assert draft.lines == lettering.lines and draft.size == pytest.approx(lettering.size, rel=0.03)
    assert draft.region.area == pytest.approx(lettering.region.area, rel=0.12)


def test_drafts_refuse_an_arc_that_is_too_small_in_the_same_words():
    drafted, why = draft_lettering(ways_of("Al", "", load_font("Pacifico"), words="auto", arc=20.0), ZONE, RULES)
    (same,) = made("Al", 20.0)[1]
    assert drafted is None and why[0].code == same.code
    assert why[0].measured == same.measured and why[0].allowed == pytest.approx(same.allowed, rel=0.01)


@pytest.mark.parametrize("arc", [60.0, -60.0])
def test_dots_stand_above_their_letters_and_not_above_the_page(arc):
    """A tie along the letter's own slant: on the line from the arc's centre, for a font that stands upright."""
    name, font = "iiiiiiiiiiii", "Playpen Sans ExtraBold"
    lettering, _ = made(name, arc, font=font)
    (way,) = ways(name, arc, font)
    for glyph in (way.setting.at(lettering.size).glyphs[n] for n in (0, -1)):
        drawn = rg.moved(glyph.region, *lettering.origin, scale=lettering.size)
        stem, dot = sorted(rg.solids(drawn), key=lambda s: -s.area)
        turn = lettering.arc.turn_at(*stem.centroid.coords[0])
        assert abs(turn) > 15
        # the tie is what is new in the strip from the dot to its stem, and leans as the letter does
        added = rg.difference(rg.intersection(lettering.region, rg.hull(drawn)), rg.offset(drawn, 0.1))
        tie = max(rg.solids(added), key=lambda s: s.area)
        line = np.array(dot.centroid.coords[0]) - np.array(stem.centroid.coords[0])
        ink = np.array(tie.centroid.coords[0]) - np.array(stem.centroid.coords[0])
        assert math.degrees(math.atan2(-line[0], line[1])) == pytest.approx(turn, abs=6)
        assert math.degrees(math.atan2(-ink[0], ink[1])) == pytest.approx(turn, abs=6)


@pytest.mark.parametrize("arc", [60.0, -60.0])
def test_a_name_as_its_font_draws_it_reads_on_an_arc_as_well_as_in_a_line(arc):
    for name in ("Wren Abara", "Elena"):
        setting = settings(name, "", load_font("Pacifico"), words="tie", arc=arc)[0].at(15.0)
        cut = rg.moved(rg.union(*(g.region for g in setting.glyphs)), scale=15.0)
        letters = read(setting, cut, origin=(0.0, 0.0), size=15.0)
        assert min(letter.legibility for letter in letters) > 0.95 and not any(letter.rival for letter in letters)


@pytest.mark.parametrize("arc", [45.0, -45.0])
@pytest.mark.parametrize(("name", "number", "other"), [("Monarch", 1, "u"), ("Nil", 2, "t"), ("Bertram", 1, "c")])
def test_a_letter_drawn_as_another_reads_as_that_one_on_an_arc(arc, name, number, other):
    font = load_font("Pacifico")
    plain = settings(name, "", font, words="tie", arc=arc)[0].at(15.0)
    shapes = [glyph.region for glyph in plain.glyphs]
    foot, strange = plain.glyphs[number].letter.glyphs[0], letter_region(font.source, other)
    upright = rg.moved(rg.moved(shapes[number], -foot.x, -foot.y), turn=-foot.turn)
    aside = rg.bounds(upright).centre[0] - rg.bounds(strange).centre[0]
    shapes[number] = rg.moved(rg.moved(strange, aside), foot.x, foot.y, turn=foot.turn)
    worst = read(plain, rg.moved(rg.union(*shapes), scale=15.0), origin=(0.0, 0.0), size=15.0)[0]
    assert abs(foot.turn) > 8
    assert worst.place == f"the {name[number]}" and worst.rival == other and worst.legibility < 0.7


@pytest.mark.parametrize("arc", [60.0, -60.0])
def test_a_pierced_plate_on_an_arc_is_one_piece_and_its_ties_stand_with_the_letters(arc):
    setting = settings("Boodle", "", load_font("Playpen Sans ExtraBold"), words="tie", arc=arc)[0].at(22.0)
    letters = rg.moved(rg.union(*(g.region for g in setting.glyphs)), scale=22.0)
    blank = rg.rectangle(*rg.bounds(letters).grown(8))
    pierced = pierce(blank, letters, web=1.5, slant=0.0, baselines=(0.0,), arc=setting.bow.scaled(22.0))
    assert len(rg.solids(pierced.blank)) == 1 and pierced.holds
    ties = [s for s in rg.solids(pierced.bridges) if s.area > 2]
    assert len(ties) >= 4
    for tie in ties:
        corners = np.array(tie.minimum_rotated_rectangle.exterior.coords)
        sides = np.diff(corners, axis=0)[:2]
        turn = setting.bow.scaled(22.0).turn_at(*tie.centroid.coords[0])
        leans = [(math.degrees(math.atan2(-dx, dy)) - turn + 45) % 90 - 45 for dx, dy in sides]
        assert min(map(abs, leans)) < 12


def test_the_next_size_is_where_a_line_through_what_is_known_is_nought():
    rng = np.random.default_rng(3)
    for low, high, ratio in rng.uniform((5, 40, 0.2), (10, 80, 0.8), (20, 3)):
        known = (low, ratio), (high, ratio - 1)
        assert _between(*known, guess=1.0) == pytest.approx(np.interp(0, [ratio - 1, ratio], [high, low]))
    # nearly there on one side: a twentieth of the way at least
    assert _between((10.0, 1e-6), (20.0, -1.0), 1.0) == 10.5 and _between((10.0, 1.0), (20.0, -1e-6), 1.0) == 19.5
    assert _between((0.0, 1.0), (20.0, -1.0), 12.0) == 12.0 and _between((0.0, 1.0), (20.0, -1.0), 30.0) == 20.0
