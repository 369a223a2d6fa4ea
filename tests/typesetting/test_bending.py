"""Letters on an arc: where their feet stand, against HarfBuzz's advances and the circle's geometry; their joins."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely
import uharfbuzz as hb

from nameplate.geometry.region import distance
from nameplate.typesetting.bending import KEPT, LEAST_RADIUS, MOST_CLOSING
from nameplate.typesetting.block import Block, LineStyle
from nameplate.typesetting.fonts import load_font
from nameplate.typesetting.ways import StyledLine, typefaces_of, ways_of_lines
from tests.typesetting.ways import settings

JOINED = ("Pacifico", "Lobster", "Great Vibes")
APART = "Playpen Sans ExtraBold"
RADII = (90.0, -120.0, 40.0, -40.0)
SIZE = 18.0


def set_on(arc, text, font, size=SIZE):
    (setting,) = settings(text, "", load_font(font), words="tie", arc=arc)
    return setting, setting.at(size)


def advances(font, text):
    """Give the advance of each letter in em, as HarfBuzz shapes the text in the file itself."""
    face = hb.Face(hb.Blob.from_file_path(str(load_font(font).path)))
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    own = hb.Font(face)
    own.set_variations(dict(load_font(font).source.axes))
    hb.shape(own, buffer)
    assert len(buffer.glyph_infos) == len(text)
    return [p.x_advance / face.upem for p in buffer.glyph_positions], [p.x_offset for p in buffer.glyph_positions]


def feet(setting, wide):
    """Give the foot of each letter's middle: its glyph's origin, and half its advance along its own line."""
    placed = [glyph.letter.glyphs[0] for glyph in setting.glyphs]
    return [
        (g.x + math.cos(math.radians(g.turn)) * w * g.scale / 2, g.y + math.sin(math.radians(g.turn)) * w * g.scale / 2)
        for g, w in zip(placed, wide, strict=True)
    ]


@pytest.mark.parametrize("arc", RADII)
def test_feet_stand_on_the_circle_as_far_apart_as_advances_are_at_half_the_small_letters(arc):
    text, font = "ocoeo", load_font(APART)  # round letters, nearest to each other at that height
    wide, offsets = advances(APART, text)
    assert not any(offsets)
    _, bent = set_on(arc, text, APART)
    radius, middle = arc / SIZE, arc / SIZE + font.x_height / 2
    stands = feet(bent, wide)
    for x, y in stands:
        assert math.hypot(x - bent.bow.x, y - bent.bow.y) == pytest.approx(abs(radius), abs=1e-9)
    for (a, b), (before, after) in zip(pairwise(stands), pairwise(wide), strict=True):
        angle = (before + after) / 2 / middle
        assert math.dist(a, b) == pytest.approx(abs(2 * radius * math.sin(angle / 2)), abs=1e-9)
    # from the first foot to the last the line at that height is as long as the advances between them
    turns = [math.radians(glyph.letter.glyphs[0].turn) for glyph in bent.glyphs]
    between = sum(wide) - wide[0] / 2 - wide[-1] / 2
    assert abs(turns[0] - turns[-1]) * abs(middle) == pytest.approx(between, abs=1e-9)


@pytest.mark.parametrize("arc", RADII)
def test_an_arc_bows_up_and_one_under_zero_down(arc):
    _, bent = set_on(arc, "namur", APART)
    first, middle, last = (bent.glyphs[n].letter.glyphs[0] for n in (0, 2, 4))
    assert (middle.y > max(first.y, last.y)) == (arc > 0)
    assert (first.turn > 0 > last.turn) == (arc > 0)
    # the weight of the ink is at the apex, above or below the centre
    assert bent.bow.x == 0 and bent.shape.centroid.x == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("font", JOINED)
@pytest.mark.parametrize("arc", RADII)
def test_letters_that_join_run_into_one_another_as_far_as_they_do_in_a_line(font, arc):
    flat, bent = set_on(arc, "Bartholomew", font)
    joined = 0
    for (a, b), (c, d) in zip(pairwise(flat.glyphs), pairwise(bent.glyphs), strict=True):
        want = shapely.intersection(a.region, b.region).area
        if want > 1e-4:  # a hundredth of an em squared: a stroke, and not two that graze
            joined += 1
            assert shapely.intersection(c.region, d.region).area == pytest.approx(want, rel=0.12)
        # and no pair is squeezed for it
        turn = math.radians(c.letter.glyphs[0].turn - d.letter.glyphs[0].turn)
        along = turn * (arc / SIZE + load_font(font).x_height / 2)
        assert along == pytest.approx(b.letter.middle - a.letter.middle, abs=MOST_CLOSING + 0.04)
    assert joined >= 5


@pytest.mark.parametrize("font", ["Pacifico", "Lobster", APART])
@pytest.mark.parametrize("arc", [30.0, -30.0])
def test_letters_that_do_not_touch_keep_apart(font, arc):
    flat, bent = set_on(arc, "Lilly Nil", font, size=12)
    pairs = list(zip(pairwise(flat.glyphs), pairwise(bent.glyphs), strict=True))
    gaps = [(distance(a.region, b.region), distance(c.region, d.region)) for (a, b), (c, d) in pairs]
    assert any(own > 0 for own, _ in gaps)
    assert all(now >= KEPT * own - 2e-3 for own, now in gaps if own > 0)


@pytest.mark.parametrize("arc", [90.0, -90.0])
def test_lines_stand_on_circles_about_one_centre_and_keep_their_gap(arc):
    main, other = load_font("Pacifico"), load_font("Satisfy")
    lines = [
        StyledLine("In memory of", LineStyle(typefaces_of(other), em=0.5)),
        StyledLine("Bartholomew", LineStyle(typefaces_of(main), gap=0.2)),
        StyledLine("1931", LineStyle(typefaces_of(main), em=0.4)),
    ]
    bent = ways_of_lines(lines, Block("tie", arc=arc))[0].setting.at(20.0)
    assert bent.baselines[1] - bent.bow.y == pytest.approx(arc / 20)  # the largest line has the arc's own radius
    for glyph in bent.glyphs:
        own = abs(bent.baselines[glyph.line] - bent.bow.y)
        foot = glyph.letter.glyphs[0]
        # the origin of a glyph is half an advance along the tangent from its foot
        assert own <= math.hypot(foot.x - bent.bow.x, foot.y - bent.bow.y) < math.hypot(own, 0.7)
    assert distance(bent.inks[0], bent.inks[1]) >= 0.2 - 2e-3
    assert distance(bent.inks[1], bent.inks[2]) >= 0.08 - 2e-3


def test_an_underline_is_bent_along():
    (flat,) = settings("Ada Pell", "", load_font("Pacifico"), words="bar", arc=60.0)
    bent = flat.at(15.0)
    bar = next(glyph.region for glyph in bent.glyphs if glyph.letter is None)
    away = [math.dist(point, (bent.bow.x, bent.bow.y)) for point in shapely.get_coordinates(bar)]
    thick = shapely.get_coordinates(next(glyph.region for glyph in flat.glyphs if glyph.letter is None))[:, 1]
    # but where descenders pass through it, the bar is a strip of even thickness along its circle
    assert max(away) - min(away) == pytest.approx(thick.max() - thick.min(), abs=5e-3)
    assert max(away) == pytest.approx(60 / 15 + thick.max(), abs=5e-3)


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_the_least_radii_are_those_of_letters_and_of_half_a_circle(way):
    short, long = (settings(t, "", load_font(APART), words="tie", arc=way)[0] for t in ("Al", "ocoeo" * 4))
    assert short.least_radii[0] == LEAST_RADIUS
    wide, _ = advances(APART, "ocoeo" * 4)
    half = (sum(wide) - wide[0] / 2 - wide[-1] / 2) / math.pi
    assert long.least_radii[1] == pytest.approx(half - way * load_font(APART).x_height / 2)
    turns = [g.letter.glyphs[0].turn for g in long.at(1.0 / long.least_radii[1]).glyphs]
    assert abs(turns[0] - turns[-1]) == pytest.approx(180, abs=1e-6)


def test_without_an_arc_nothing_is_bent():
    (setting,) = settings("Ada", "", load_font(APART), words="tie")
    assert setting.at(20.0) is setting and setting.bow is None
