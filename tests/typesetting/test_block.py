"""Lines in styles of their own under one another: heights, gaps and ends, measured on the ink."""

from __future__ import annotations

from itertools import pairwise

import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from nameplate.geometry.region import bounds, distance, union
from nameplate.typesetting.block import Block, LineStyle
from nameplate.typesetting.fonts import load_font
from nameplate.typesetting.glyph_outlines import FLATNESS
from nameplate.typesetting.ways import StyledLine, typefaces_of, ways_of_lines

MAIN, OTHER = load_font("Pacifico"), load_font("Satisfy")


def styled(font, em=1.0, **more):
    return LineStyle(typefaces_of(font), em=em, **more)


def set_lines(*lines, words="tie", **keys):
    return [way.setting for way in ways_of_lines(lines, Block(words, **keys))]


def ink(setting, line):
    return union(*(g.region for g in setting.glyphs if g.line == line))


def drawn_height(font, letter):
    """Give the height of a letter, in em, as fontTools measures its glyph."""
    with TTFont(font.path) as file:
        glyphs, name = file.getGlyphSet(), file.getBestCmap()[ord(letter)]
        pen = BoundsPen(glyphs)
        glyphs[name].draw(pen)
        return (pen.bounds[3] - pen.bounds[1]) / file["head"].unitsPerEm


@pytest.mark.parametrize(("font", "em"), [(OTHER, 0.6), (MAIN, 0.4), (OTHER, 1.0)])
def test_letters_are_as_high_as_the_em_of_their_line_makes_them(font, em):
    (setting,) = set_lines(StyledLine("x", styled(font, em)), StyledLine("Ada", styled(MAIN)))
    assert bounds(ink(setting, 0)).height == pytest.approx(em * drawn_height(font, "x"), abs=2 * FLATNESS)


def test_a_gap_is_kept_between_the_inks_and_the_usual_one_is_smaller():
    close, wide = (
        set_lines(StyledLine("In memory", styled(OTHER, 0.5)), StyledLine("Ada", styled(MAIN, gap=gap)))[0]
        for gap in (None, 0.5)
    )
    assert distance(ink(wide, 0), ink(wide, 1)) == pytest.approx(0.5, abs=2e-3)
    assert distance(ink(close, 0), ink(close, 1)) < 0.5


@pytest.mark.parametrize("align", ["left", "right", "centre"])
def test_a_line_aligned_by_itself_keeps_within_the_widest(align):
    below = StyledLine("1931", styled(MAIN, 0.4, align=align))
    (setting,) = set_lines(StyledLine("Maximilian", styled(MAIN)), below)
    name, dates = bounds(ink(setting, 0)), bounds(ink(setting, 1))
    ends = {"left": dates.x0 - name.x0, "right": dates.x1 - name.x1, "centre": 0.0}
    assert ends[align] == pytest.approx(0.0, abs=2e-3) and name.x0 < dates.centre[0] < name.x1


def test_a_column_alone_goes_on_two_lines_where_words_are_broken_by_themselves():
    name = StyledLine("Ada Pell", styled(MAIN), breaks=True)
    kind = StyledLine("Egremont Russet Improved", styled(OTHER, 0.8), column=True)
    said = [setting.lines for setting in set_lines(name, kind, words="auto")]
    assert said[:2] == [("Ada Pell", kind.text), ("Ada", "Pell", kind.text)]
    assert ("Ada", "Pell", "Egremont Russet", "Improved") in said[2:]
    for words in ("tie", "stack", "bar", "loose"):
        assert all(setting.lines[-1] == kind.text for setting in set_lines(name, kind, words=words))
    years = StyledLine("1931 - 2012", styled(OTHER, 0.5), column=True)
    assert all(setting.lines[-1] == years.text for setting in set_lines(name, years, words="auto"))


def test_only_a_line_that_breaks_is_broken_and_lines_below_go_down_with_it():
    lines = (
        StyledLine("In memory of", styled(OTHER, 0.5)),
        StyledLine("Ada Pell", styled(MAIN), breaks=True),
        StyledLine("1931 - 2012", styled(MAIN, 0.4)),
    )
    one, two = set_lines(*lines, words="auto")
    assert one.lines == ("In memory of", "Ada Pell", "1931 - 2012")
    assert two.lines == ("In memory of", "Ada", "Pell", "1931 - 2012")
    for setting in (one, two):
        ys = setting.baselines
        assert list(ys) == sorted(ys, reverse=True)
        inks = [ink(setting, n) for n in range(len(setting.lines))]
        assert all(distance(a, b) > 0.07 for a, b in pairwise(inks))
