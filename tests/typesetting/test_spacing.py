import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.geometry.region import bounds, distance, from_ring, moved, rectangle, union
from nameplate.typesetting import spacing
from nameplate.typesetting.spacing import aligned, dropped, evened, word_shift

BLOCK = rectangle(0, 0, 1, 0.5)


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
    now = [a - b for a, b in itertools.pairwise(found)]
    assert found[0] == 0
    assert all(after >= before - 1e-9 for after, before in zip(now, steps, strict=True))
    assert max(now) == pytest.approx(max(steps))
    assert min(now) >= spacing.EVEN * max(now) - 1e-9
