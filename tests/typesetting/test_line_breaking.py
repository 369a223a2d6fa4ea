import itertools
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.typesetting.block import Block
from nameplate.typesetting.line_breaking import (
    MOST_LINES,
    a_line_a_word,
    best_partition,
    break_costs,
    cost_of,
    good_partitions,
    leans_back,
    leans_forward,
    most_lines,
    name_breaks,
    partitions,
)

widths_of_words = st.lists(st.floats(0.1, 10), min_size=1, max_size=7)


@given(st.integers(1, 8), st.integers(1, 5))
def test_partitions_are_all_the_ways_to_cut_once_each(count, lines):
    # n words in k lines: choose k - 1 of the n - 1 places between them
    import math

    found = list(partitions(count, lines))
    assert len(found) == len(set(found)) == (math.comb(count - 1, lines - 1) if lines <= count else 0)
    for cut in found:
        assert [i for a, b in cut for i in range(a, b)] == list(range(count))
        assert all(b > a for a, b in cut)


@given(widths_of_words, st.integers(1, 4))
def test_without_ties_the_longest_line_is_as_short_as_can_be(widths, lines):
    words = [f"Word{i}" for i in range(len(widths))]
    found = best_partition(words, widths, 0.5, lines)
    if lines > len(words):
        assert found == ()
        return
    assert " ".join(found).split() == words

    def longest(cut):
        return max(sum(widths[a:b]) + 0.5 * (b - a - 1) for a, b in cut)

    at = list(itertools.accumulate(len(line.split()) for line in found))
    cut = list(zip([0, *at], at, strict=False))
    assert longest(cut) <= min(longest(c) for c in partitions(len(words), lines)) + 1e-9


@pytest.mark.parametrize(
    ("name", "lines"),
    [
        # how a signwriter breaks names: particles, initials and "&" go with what follows, numerals with what precedes
        ("Ana de la Torre", ("Ana", "de la Torre")),
        ("Maria van der Berg", ("Maria", "van der Berg")),
        ("Anna & Jörg Maier", ("Anna", "& Jörg", "Maier")),
        ("J. R. Ashby", ("J. R.", "Ashby")),
        ("Nguyễn Thị Ánh", ("Nguyễn", "Thị", "Ánh")),
        ("Peter Ash Jr.", ("Peter", "Ash Jr.")),
        ("Prof. Ines Abara", ("Prof. Ines", "Abara")),
        ("Pell & Sons Ltd", ("Pell", "& Sons Ltd")),
        ("Marta Holló 1931 – 2019", ("Marta", "Holló", "1931 – 2019")),
        ("Wren", ("Wren",)),
    ],
)
def test_a_line_a_word(name, lines):
    words = name.split()
    found = a_line_a_word(words, [len(w) for w in words], 1)
    assert found == lines


@given(st.lists(st.sampled_from(["Ana", "de", "III", "J.", "&", "Torre"]), min_size=1, max_size=9))
def test_never_more_lines_than_sensible_and_no_word_lost(words):
    found = a_line_a_word(words, [len(w) for w in words], 1)
    assert 1 <= len(found) <= MOST_LINES
    assert " ".join(found).split() == words
    assert len(break_costs(words)) == len(words) - 1
    assert most_lines(words) <= len(words)


def test_words_that_lean():
    assert leans_forward("d'") and leans_forward("VON") and not leans_forward("Vonn")
    assert leans_back("II") and leans_back("jr") and not leans_back("Mix") and not leans_back("")


@pytest.mark.parametrize(
    ("name", "lines"),
    [
        # how a signwriter breaks names (common practice): sense before even lines
        ("In loving memory of Jo", ("In loving", "memory of Jo")),
        ("Dr J. R. Pell", ("Dr J. R.", "Pell")),
        ("Mr & Mrs Holloway", ("Mr & Mrs", "Holloway")),
        ("Alder Row Inn", ("Alder", "Row Inn")),
        ("Prof. Jo Marchesseau", ("Prof. Jo", "Marchesseau")),
        ("Orchard Lane No. 7", ("Orchard", "Lane No. 7")),
        ("St. Alder's Row", ("St. Alder's", "Row")),
        ("Bran Ó Quill", ("Bran", "Ó Quill")),
    ],
)
def test_two_lines_are_broken_by_sense(name, lines):
    words = name.split()
    assert best_partition(words, [len(w) for w in words], 1, 2) == lines


def test_a_date_and_a_title_of_one_name_stay_on_one_line():
    assert [most_lines(name.split()) for name in ("1987 - 2024", "Dr Pell", "Ada & Tomás")] == [1, 1, 2]


def test_what_belongs_together_costs_more_to_part():
    names = (["Familie", "Pell"], ["J. R.", "Ashby"], ["Ada", "Pell"], ["Ada Pell"], ["Alder Row", "Hill", "Co"])
    assert [cost_of(lines) for lines in names] == [0.5, 0.15, 0.0, 0.0, 1.0]


@pytest.mark.parametrize(
    ("name", "best", "no_way"),
    [
        # how a signwriter breaks names (common practice): a line may end with a small word, unless another follows
        ("The Lanternmakers", ("The", "Lanternmakers"), None),
        ("Class of 2019", ("Class", "of 2019"), None),
        ("Friends of the Hedge", ("Friends", "of the Hedge"), ("Friends of", "the Hedge")),
        ("Ada & Tomás Rowe", ("Ada & Tomás", "Rowe"), ("Ada &", "Tomás Rowe")),
        ("Ana de la Torre", ("Ana", "de la Torre"), ("Ana de", "la Torre")),
    ],
)
def test_several_ways_are_offered_and_none_that_parts_what_belongs_together(name, best, no_way):
    words = name.split()
    found = good_partitions(words, [len(w) for w in words], 1, 2)
    assert found[0] == best and no_way not in found
    assert len(set(found)) == len(found) and all(" ".join(way) == name for way in found)


def test_a_line_may_end_with_a_small_word():
    words = ["Friends", "of", "the", "Hedge"]
    assert ("Friends of the", "Hedge") in good_partitions(words, [len(w) for w in words], 1, 2)


@given(
    st.lists(st.sampled_from(["Ada-Rose", "Ek-Torre-Holt", "J-P", "Ana", "de", "-", "Quill-"]), min_size=1, max_size=5)
)
def test_lines_that_may_end_behind_hyphens_are_the_name_again(words):
    name = " ".join(words)
    for lines in name_breaks(name, SimpleNamespace(width=len), Block("auto"), MOST_LINES):
        assert "".join(lines).replace(" ", "") == "".join(words)
        assert all(line == line.strip() and set(line) <= set(name) for line in lines)
        assert not any(line.startswith("-") and line[1:2].strip() for line in lines)
