import pytest

from nameplate.geometry.region import bounds, distance, intersects, solids, union
from nameplate.typesetting import join_closing, metrics
from nameplate.typesetting.fonts import bundled_fonts, load_font
from nameplate.typesetting.join_closing import MOST_TIGHTENING, OVERLAP, tightened
from nameplate.typesetting.lines import COARSE, Typeface, compose, ink

NAMES = ("Elizabeth", "Wm. Fitzgerald", "Jean-Luc", "Maximilian", "Ada Flynn", "Rosalind", "Oskar", "Bo")


def block_line(make_font, monkeypatch_gap):
    """Two blocks "aa" 0.4 wide, whose gap is set by moving the second."""
    font = load_font(str(make_font()))
    first, second = compose("aa", [Typeface(font)])
    return (first, second.moved(monkeypatch_gap - 0.1))


@pytest.mark.parametrize("gap", [0.005, 0.02, MOST_TIGHTENING - OVERLAP - 0.002])
def test_a_small_gap_is_closed_and_the_strokes_run_into_one_another(make_font, gap):
    first, second = tightened(block_line(make_font, gap), 0.5)
    a, b = bounds(first.region(COARSE)), bounds(second.region(COARSE))
    assert a.x1 - b.x0 == pytest.approx(OVERLAP, abs=0.0015)


@pytest.mark.parametrize("gap", [MOST_TIGHTENING - OVERLAP + 0.002, 0.1, 0.3, 0.0, -0.05])
def test_wider_gaps_and_joined_letters_are_left(make_font, gap):
    line = block_line(make_font, gap)
    assert tightened(line, 0.5) == line


@pytest.mark.parametrize("info", bundled_fonts(), ids=lambda i: i.name)
def test_in_every_font_no_letter_moves_too_far_and_nothing_comes_apart(info):
    font = load_font(info.name)
    for name in NAMES:
        line = compose(name, [Typeface(font)])
        closed = tightened(line, font.x_height)
        shifts = [a.glyphs[0].x - b.glyphs[0].x for a, b in zip(line, closed, strict=True)]
        steps = [b - a for a, b in zip([0.0, *shifts], shifts, strict=False)]
        assert all(-1e-9 <= step <= MOST_TIGHTENING + 1e-9 for step in steps)
        assert len(solids(ink(closed))) <= len(solids(ink(line)))
        for i, step in enumerate(steps):
            if step > 1e-6:
                assert intersects(closed[i - 1].region(COARSE), closed[i].region(COARSE))
                assert line[i - 1].text.isalpha() and line[i].text.isalpha()


def test_tightening_joins_what_nearly_joins():
    font = load_font("Lobster")
    pieces = [
        len(solids(ink(f(compose("Fitzgerald", [Typeface(font)]))))) for f in (tuple, lambda x: tightened(x, 0.5))
    ]
    assert pieces[1] < pieces[0]


def test_dots_keep_clear_of_the_neighbour():
    for info in bundled_fonts():
        font = load_font(info.name)
        for name in ("fif", "Tïf", "dìl"):
            if font.missing(name):
                continue
            line = compose(name, [Typeface(font)])
            closed = tightened(line, font.x_height)
            for a, b, c, d in zip(line, line[1:], closed, closed[1:], strict=False):
                if c.glyphs[0].x == a.glyphs[0].x and d.glyphs[0].x == b.glyphs[0].x:
                    continue
                marks = join_closing._parted(d.region(COARSE), font.x_height)[1]
                if not marks.is_empty:
                    assert distance(join_closing._parted(c.region(COARSE), font.x_height)[0], marks) >= 0.02


def test_which_fonts_join_their_letters():
    # measured with other code before: share of overlapping pairs 1.00 to 0.70 for the scripts, 0.06 and 0 for these
    apart = [i.name for i in bundled_fonts() if not metrics.joins(load_font(i.name).source)]
    assert apart == ["Oleo Script Bold", "Playpen Sans ExtraBold"]


def test_union_of_nothing_is_nothing():
    assert union().is_empty
    assert tightened((), 0.5) == ()
