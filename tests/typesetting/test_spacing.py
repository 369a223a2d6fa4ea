from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.geometry.region import bounds, distance, from_ring, intersects, moved, rectangle, solids, union
from nameplate.typesetting import metrics, spacing
from nameplate.typesetting.fonts import bundled_fonts, load_font
from nameplate.typesetting.lines import COARSE, Typeface, compose, ink
from nameplate.typesetting.spacing import (
    BODY_REACH,
    MARK_AIR,
    MOST_OPENING,
    MOST_TIGHTENING,
    OVERLAP,
    aligned,
    dropped,
    evened,
    kerned,
    word_shift,
)

BLOCK = rectangle(0, 0, 1, 0.5)

NAMES = ("Elizabeth", "Wm. Fitzgerald", "Jean-Luc", "Maximilian", "Ada Flynn", "Rosalind", "Oskar", "Bo")


@given(st.floats(0.0, 2.0), st.floats(0.0, 1.5))
def test_tied_words_stand_a_word_space_apart_and_keep_their_share_of_the_fonts(natural, least):
    after = moved(BLOCK, 1 + natural)
    shift = word_shift(BLOCK, after, 0.5, 0.0, least=least)
    expected = max(spacing.WORD_SPACE, spacing.WORD_GAP, least * natural)
    assert distance(BLOCK, moved(after, shift)) == pytest.approx(expected, abs=0.002)


@given(st.floats(-1.0, 1.0))
def test_loose_words_keep_the_fonts_space_but_never_weld(natural):
    after = moved(BLOCK, 1 + natural)
    shift = word_shift(BLOCK, after, 0.5, 0.0, least=None)
    assert shift >= 0
    assert distance(BLOCK, moved(after, shift)) == pytest.approx(max(natural, spacing.LOOSE_GAP), abs=0.002)


def test_an_overhang_keeps_its_distance():
    capital = union(rectangle(0.5, 0, 0.7, 1), rectangle(0, 0.9, 1.2, 1))  # a T whose arm reaches 0.5 to the left
    before = union(BLOCK, rectangle(0.9, 0, 1.0, 1))  # ends in a tall stem
    shift = word_shift(before, moved(capital, 2), 0.5, 0.0, least=0.0)
    assert distance(before, moved(capital, 2 + shift)) == pytest.approx(spacing.WORD_GAP, abs=0.002)


def test_lines_stop_at_the_gap():
    below = dropped(BLOCK, BLOCK, 0.4)
    assert below == pytest.approx(-0.5 - spacing.LINE_GAP, abs=0.002)


def test_a_line_never_passes_through_a_gap_to_a_place_beyond():
    ring = union(rectangle(0, 0, 2, 0.1), rectangle(0, 1, 2, 1.1))  # a hollow in which the lower line would fit
    lower = rectangle(0.5, 0, 1.5, 0.3)
    y = dropped(ring, lower, 0.3)
    assert bounds(moved(lower, 0, y)).y1 <= -spacing.LINE_GAP + 0.002


def test_a_descender_stays_above_the_small_letters_of_the_next_line():
    above = union(BLOCK, rectangle(0, -0.3, 0.1, 0.5))
    below = union(rectangle(0, 0, 1, 0.5), rectangle(0.8, 0, 1, 0.8))
    y = dropped(above, below, 0.5)
    assert -0.3 - (y + 0.5) >= spacing.DESCENDER_GAP - 1e-9
    assert distance(above, moved(below, 0, y)) >= spacing.LINE_GAP - 0.002


def test_small_letters_do_not_lie_against_the_baseline_above():
    y = dropped(moved(BLOCK, 0, 3.0), BLOCK, 0.5, baseline=3.0)
    assert 3.0 - (y + 0.5) == pytest.approx(spacing.BASELINE_GAP)


def test_the_middle_of_a_line_is_between_its_box_and_its_weight():
    assert aligned(moved(BLOCK, 3), "centre") == pytest.approx(-3.5)
    swash = from_ring([(0, 0), (1, 0), (1, 0.5), (0, 0.5)])
    tail = rectangle(1, 0.2, 2, 0.22)
    shift = aligned(union(swash, tail), "centre")
    assert -1.0 < shift < -0.5


@given(st.lists(st.floats(0.3, 2.0), min_size=1, max_size=4))
def test_steps_between_lines_are_nearly_even_and_never_narrower(steps):
    baselines = [-sum(steps[:k]) for k in range(len(steps) + 1)]
    found = evened(baselines)
    now = [a - b for a, b in pairwise(found)]
    assert found[0] == 0
    assert all(after >= before - 1e-9 for after, before in zip(now, steps, strict=True))
    assert max(now) == pytest.approx(max(steps))
    assert min(now) >= spacing.EVEN * max(now) - 1e-9


def block_line(make_font, monkeypatch_gap):
    """Two blocks "aa" 0.4 wide, whose gap is set by moving the second."""
    font = load_font(str(make_font()))
    first, second = compose("aa", [Typeface(font)])
    return (first, second.moved(monkeypatch_gap - 0.1))


@pytest.mark.parametrize("gap", [0.005, 0.02, MOST_TIGHTENING - OVERLAP - 0.002])
def test_a_small_gap_is_closed_and_the_strokes_run_into_one_another(make_font, gap):
    first, second = kerned(block_line(make_font, gap), 0.5, joins=True)
    a, b = bounds(first.region(COARSE)), bounds(second.region(COARSE))
    assert a.x1 - b.x0 == pytest.approx(OVERLAP, abs=0.0015)


@pytest.mark.parametrize("gap", [MOST_TIGHTENING - OVERLAP + 0.002, 0.1, 0.3, 0.0, -0.05])
def test_wider_gaps_and_joined_letters_are_left(make_font, gap):
    line = block_line(make_font, gap)
    assert kerned(line, 0.5, joins=True) == line


def body(letter, x_height):
    """What of a letter reaches down to the height of small letters."""
    return union(*(solid for solid in solids(letter.region(COARSE)) if bounds(solid).y0 < BODY_REACH * x_height))


@pytest.mark.parametrize("info", bundled_fonts(), ids=lambda i: i.name)
def test_in_every_font_no_letter_moves_too_far_and_nothing_comes_apart(info):
    font = load_font(info.name)
    for name in NAMES:
        line = compose(name, [Typeface(font)])
        closed = kerned(line, font.x_height, joins=True)
        shifts = [a.glyphs[0].x - b.glyphs[0].x for a, b in zip(line, closed, strict=True)]
        steps = [b - a for a, b in zip([0.0, *shifts], shifts, strict=False)]
        assert all(-MOST_OPENING - 1e-9 <= step <= MOST_TIGHTENING + 1e-9 for step in steps)
        if min(steps) > -1e-9:
            assert len(solids(ink(closed))) <= len(solids(ink(line)))
        for i, step in enumerate(steps):
            if step < -1e-9:
                assert not intersects(body(line[i - 1], font.x_height), body(line[i], font.x_height))
            if step > 1e-6:
                assert intersects(closed[i - 1].region(COARSE), closed[i].region(COARSE))
                assert line[i - 1].text.isalpha() and line[i].text.isalpha()


def test_tightening_joins_what_nearly_joins():
    font = load_font("Lobster")
    pieces = [
        len(solids(ink(f(compose("Fitzgerald", [Typeface(font)])))))
        for f in (tuple, lambda x: kerned(x, 0.5, joins=True))
    ]
    assert pieces[1] < pieces[0]


def test_dots_keep_clear_of_the_neighbour():
    checked = 0
    for info in bundled_fonts():
        font = load_font(info.name)
        for name in ("Fi", "Rï", "Kj", "Pj", "di", "zïzi"):
            line = compose(name, [Typeface(font)]) if not font.missing(name) else ()
            for (a, b), (c, d) in zip(pairwise(line), pairwise(kerned(line, font.x_height, joins=True)), strict=True):
                if d.glyphs[0].x - c.glyphs[0].x < b.glyphs[0].x - a.glyphs[0].x - 1e-9:
                    (body, _), (_, marks) = (spacing._parted(letter, font.x_height) for letter in (c, d))
                    assert marks.is_empty or distance(body, marks) >= 0.02
                    checked += not marks.is_empty
    assert checked >= 10


@pytest.mark.parametrize(
    ("name", "font"),
    [("Fê", "Pacifico"), ("Fi", "Pacifico"), ("Tā", "Lobster"), ("Tü", "Lobster"), ("fí", "Playpen Sans ExtraBold")],
)
def test_an_accent_that_runs_into_the_letter_beside_it_is_set_clear_of_it(name, font):
    # common practice: fonts of many accents have kerning of their own for such pairs
    drawn = load_font(font)
    line = compose(name, [Typeface(drawn)])

    def air(letters):
        first, last = (letter.region(COARSE) for letter in letters)
        high = [solid for solid in solids(last) if bounds(solid).y0 > 0.6 * drawn.x_height]
        return min(distance(first, mark) for mark in high)

    set_clear = kerned(line, drawn.x_height, joins=metrics.joins(drawn.source))
    assert air(line) < 0.03
    assert air(set_clear) == pytest.approx(MARK_AIR, abs=0.005) or air(set_clear) > MARK_AIR
    assert 0 < set_clear[1].glyphs[0].x - line[1].glyphs[0].x <= MOST_OPENING


def test_what_cannot_be_set_clear_and_what_joins_stays():
    drawn = load_font("Pacifico")
    for name in ("Ní", "Tā", "íl", "Ab"):
        line = compose(name, [Typeface(drawn)])
        assert kerned(line, drawn.x_height, joins=True)[1].glyphs[0].x <= line[1].glyphs[0].x


def test_which_fonts_join_their_letters():
    # measured with other code before: share of overlapping pairs 1.00 to 0.70 for the scripts, 0.06 and 0 for these
    apart = [i.name for i in bundled_fonts() if not metrics.joins(load_font(i.name).source)]
    assert apart == ["Oleo Script Bold", "Playpen Sans ExtraBold"]


def test_union_of_nothing_is_nothing():
    assert union().is_empty
    assert kerned((), 0.5, joins=True) == ()
