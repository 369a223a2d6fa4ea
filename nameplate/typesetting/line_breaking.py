"""Where a name may be broken into lines, and which ways of breaking it are worth trying.

Terms. A *word* is what stands between spaces. A *group* is words that belong on one line: a particle or an initial
goes with the word after it, a numeral or a "Jr." with the word before it.

Which breaking gives the larger letters depends on the face, so the best one of each number of lines is offered:
the one whose longest line is shortest.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

#: More lines than this make letters smaller again on any face that is not a tall strip.
MOST_LINES = 4

#: What breaking inside a group costs, as a part of the line's width: small enough that a line twice too long breaks.
SPLIT_COST = 0.5

#: Words that lean on the one after them. Particles and articles of European names (common practice).
LEANING = frozenset(
    (
        *("a", "af", "al", "and", "av", "da", "das", "de", "dei", "del", "della", "den", "der", "des", "di", "do"),
        *("dos", "du", "e", "el", "et", "i", "im", "la", "las", "le", "les", "lo", "los", "och", "of", "og", "op"),
        *("san", "st", "ten", "ter", "the", "und", "van", "vom", "von", "y", "zu", "zum", "zur", "&", "+", "и", "і"),
    )
)
TRAILING = re.compile(r"[IVX]+\.?|[JS]r\.?|jun\.?|sen\.?|PhD|MD|Esq\.?", re.IGNORECASE)


def leans_forward(word: str) -> bool:
    """Tell whether a word wants to stand on the line of the word after it.

    >>> [leans_forward(w) for w in ("von", "Wm.", "J.", "&", "d’", "Anna", "Fitzgerald", "")]
    [True, True, True, True, True, False, False, False]
    """
    return _clings(word) or (word.endswith(".") and len(word) <= 4)


def _clings(word: str) -> bool:
    """Tell of a word that leans forward whether it may not be parted from the next one even at a pinch."""
    return word.lower() in LEANING or word[-1:] in ("'", "’")


def leans_back(word: str) -> bool:
    """Tell whether a word wants to stand on the line of the word before it.

    >>> [leans_back(w) for w in ("III", "Jr.", "Ivan", "I", "")]
    [True, True, False, True, False]
    """
    return TRAILING.fullmatch(word) is not None


def breaks(words: Sequence[str]) -> tuple[bool, ...]:
    """Tell for each of the places between words whether a line breaks well there.

    >>> breaks(["Wm.", "Fitzgerald", "III"])
    (False, False)
    >>> breaks(["Ana", "de", "la", "Torre"])
    (True, False, False)
    >>> breaks([])
    ()
    """
    pairs = pairwise(words)
    return tuple(not (leans_forward(a) and not leans_back(b)) and not leans_back(b) for a, b in pairs)


def partitions(count: int, lines: int) -> Iterator[tuple[tuple[int, int], ...]]:
    """Give every way to break `count` words into `lines` lines, each line as (first word, word after the last).

    >>> list(partitions(3, 2))
    [((0, 1), (1, 3)), ((0, 2), (2, 3))]
    >>> list(partitions(2, 3))
    []
    """
    for cuts in combinations(range(1, count), lines - 1):
        edges = (0, *cuts, count)
        yield tuple(pairwise(edges))


def best_partition(words: Sequence[str], widths: Sequence[float], space: float, lines: int) -> tuple[str, ...]:
    """Break words into so many lines that the longest is shortest, without parting what belongs together.

    `widths` are the widths of the words, in any unit, `space` that of the space between them. Empty when there are
    fewer words than lines.

    >>> best_partition(["Ana", "de", "la", "Torre"], [3, 2, 2, 5], 1, 2)
    ('Ana', 'de la Torre')
    """
    good = breaks(words)
    return min(
        (
            (_cost(cut, widths, space, good), tuple(" ".join(words[a:b]) for a, b in cut))
            for cut in partitions(len(words), lines)
        ),
        default=(0.0, ()),
    )[1]


def _cost(
    cut: tuple[tuple[int, int], ...], widths: Sequence[float], space: float, good: Sequence[bool]
) -> tuple[float, float]:
    lengths = [sum(widths[a:b]) + space * (b - a - 1) for a, b in cut]
    parted = sum(not good[b - 1] for _, b in cut[:-1])
    return max(lengths) * (1 + SPLIT_COST * parted), max(lengths) - min(lengths)


def a_line_a_word(words: Sequence[str], widths: Sequence[float], space: float) -> tuple[str, ...]:
    """Give a line to each word, particles and numerals with the word they belong to, at most MOST_LINES lines.

    >>> a_line_a_word(["Jan", "van", "Dael"], [1, 1, 1], 1)
    ('Jan', 'van Dael')
    """
    lines = max(most_lines(words), min(len(words), 2))
    return best_partition(words, widths, space, min(lines, MOST_LINES))


def most_lines(words: Sequence[str]) -> int:
    """Give the number of lines when every group has its own; two when the only group can be parted at a pinch.

    >>> most_lines(["Wm.", "Fitzgerald", "III"]), most_lines(["Jan", "van", "Dael"]), most_lines(["van", "Dael"])
    (2, 2, 1)
    >>> most_lines(["Jo"]), most_lines([])
    (1, 0)
    """
    if not words:
        return 0
    loose = any(not _clings(word) for word in words[:-1])
    return max(1 + loose, 1 + sum(breaks(words)))
