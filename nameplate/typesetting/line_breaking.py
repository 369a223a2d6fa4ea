"""Where a name may be broken into lines, and which ways of breaking it are worth trying.

Terms. A *word* is what stands between spaces, or between those and a hyphen inside it, behind which a line may end, too
(Unicode Standard Annex 14, class HY). A *group* is words that belong on one line: a particle or an initial goes with
the word after it, a numeral or a "Jr." with the word before it, a title with its name.

Which breaking gives the larger letters depends on the face, so several of each number of lines are offered, the one
whose longest line is shortest first: on an oval the middle line may be longer than the others.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import accumulate, combinations, pairwise

from nameplate.typesetting.block import Block, LineStyle

#: More lines than this make letters smaller again on any face that is not a tall strip.
MOST_LINES = 4

#: Ways to break into the same number of lines that are offered at most. More are longer in some line, and lose.
MOST_ALIKE = 4

#: What breaking where it is better not done costs, as a part of the line's width: small enough that a line twice too
#: long breaks.
SPLIT_COST = 0.5

#: What breaking behind initials, and behind small words that are no part of a family's name, costs: "J. R. / Ashby",
#: "The / Lanternmakers" and "Friends of the / Long Hedge" are well enough.
SMALL_COST = 0.15

#: What breaking behind a hyphen inside a word costs: Jean-Luc stays on one line unless its letters get nearly twice as
#: large, or are too small to be well made.
HYPHEN_COST = 1.0

#: What it costs between two long words: Brandt- / Østergaard is two names, and breaks where letters get a quarter
#: larger. Of 10 hyphenated names in ten fonts on two faces those with such words get 1.05 to 1.9 times as large, and by
#: pictures the broken ones fill their plates. More leaves some of them small, less breaks others for hardly anything.
DOUBLE_COST = 0.4

#: Words on both sides of a hyphen are long from so many letters on: those of Anna-Lena and Ek-Torre are not.
LONG_WORD = 5

#: What breaking where it must not be done costs: only a name of which nothing else is left breaks there.
WRONG_COST = 20.0

#: Titles of so few letters are never parted from the name.
SHORT_TITLE = 5

#: A last line of one word of so few letters looks lost under longer ones: "Orchard Nursery / Co".
SHORT_LAST = 3

#: Ends a word that the next one follows without a space (zero width space: a line may break there, UAX 14).
JOINED = "\u200b"

#: A hyphen with letters on both sides of it.
_HYPHEN = re.compile(r"(?<=\w\w[-‐])(?=\w\w)")
_HYPHENS = re.compile("[-‐]")

_LEANING = (
    "a abu af al am and ap at av bin bint da das de dei del della den der des di do dos du e el et for i ibn im in la "
    "las le les lo los ní nic och of og op près san st st. sur ten ter the ua uí und van vom von y zu zum zur ó & + и і"
)
_TITLES = (
    "dr prof mr mrs ms mx miss sir dame rev fr hr frau herr m mme mlle sr sra dott ing pan pani "
    "familie famille familia famiglia rodina"
)

#: Words that lean on the one after them: particles and articles of European names, and titles. Common practice.
LEANING = frozenset(_LEANING.split())
TITLES = frozenset(_TITLES.split())
TRAILING = re.compile(
    r"[IVX]+\.?|[JS]r\.?|jun\.?|sen\.?|PhD|MD|Esq\.?|Ltd\.?|Co\.?|Inc\.?|LLC|GmbH|KG|AG|Cie\.?|\d{1,3}", re.IGNORECASE
)

#: Of the leaning words those that a line may end with: articles and prepositions that never begin a family's name.
SMALL = frozenset(("the", "of", "for", "at", "am", "im", "les", "los", "las"))

#: Words between the two titles of a couple.
COUPLING = frozenset(("&", "+", "and", "und", "et", "y"))

#: Signs that stand between two words and part neither.
DASHES = frozenset("-–—‐‑/·")


def leans_forward(word: str) -> bool:
    """Tell whether a word wants to stand on the line of the word after it.

    >>> [leans_forward(w) for w in ("von", "Wm.", "Dr", "&", "d’", "Anna", "Fitzgerald", "")]
    [True, True, True, True, True, False, False, False]
    """
    return _clings(word) or _is_title(word) or _is_initial(word)


def _is_initial(word: str) -> bool:
    return word.endswith(".") and len(word) <= 4 and not (_is_title(word) or _clings(word) or TRAILING.fullmatch(word))


def _is_title(word: str) -> bool:
    return word.lower().rstrip(".") in TITLES


def _clings(word: str) -> bool:
    """Tell of a word that leans forward whether it may not be parted from the next one even at a pinch."""
    return word.lower() in LEANING or word[-1:] in ("'", "’") or word in DASHES


def leans_back(word: str) -> bool:
    """Tell whether a word wants to stand on the line of the word before it.

    >>> [leans_back(w) for w in ("III", "Jr.", "Ivan", "Ltd", "7", "")]
    [True, True, False, True, True, False]
    """
    return TRAILING.fullmatch(word) is not None or word in DASHES


def break_costs(words: Sequence[str]) -> tuple[float, ...]:
    """Give what breaking costs at each of the places between words: 0 where a line breaks well.

    >>> break_costs(["Dr", "Ana", "de", "Torre", "III"])
    (20.0, 0.0, 20.0, 0.5)
    >>> break_costs("Mr & Mrs Holloway".split()), break_costs([])
    ((20.0, 20.0, 0.5), ())
    >>> break_costs(parted("Jean-Luc Holloway-Ashdown"))
    (1.0, 0.0, 0.4)
    """
    return tuple(_break_cost(words, after) for after in range(1, len(words)))


def _break_cost(words: Sequence[str], after: int) -> float:
    """Say what breaking before a word costs. A couple's title or a long one may be parted from the name at a pinch."""
    left, right = words[after - 1].rstrip(JOINED), words[after]
    if len(left) > 1 and left[-1] in "-‐":
        sides = (_HYPHENS.split(left)[-2], _HYPHENS.split(right)[0])
        return DOUBLE_COST if min(map(len, sides)) >= LONG_WORD else HYPHEN_COST
    couple = after > 1 and words[after - 2].lower() in COUPLING
    short_title = _is_title(left) and len(left) <= SHORT_TITLE and not couple
    joins = right in ("&", "+") and _is_title(left)
    initials = _is_initial(left) and _is_initial(right)
    clings = _clings(left) and (left.lower() not in SMALL or _clings(right)) and not leans_back(right)
    if clings or right in DASHES or short_title or joins or initials:
        return WRONG_COST
    if (_is_initial(left) or left.lower() in SMALL) and not leans_back(right):
        return SMALL_COST
    return SPLIT_COST if leans_forward(left) or leans_back(right) else 0.0


def cost_of(lines: Sequence[str]) -> float:
    """Add up what it costs to break a name into these lines.

    >>> cost_of(["Mr & Mrs", "Holloway"]), cost_of(["Ana", "de la Torre"]), cost_of(["Orchard Nursery", "Co"])
    (0.5, 0.0, 1.0)
    """
    each = [line.split() for line in lines]
    words = [word for line in each for word in line]
    return _cost_of(list(pairwise(accumulate(map(len, each), initial=0))), words, break_costs(words))


def _cost_of(cut: Sequence[tuple[int, int]], words: Sequence[str], costs: Sequence[float]) -> float:
    lost = len(words[-1]) <= SHORT_LAST and cut[-1][1] - cut[-1][0] == 1 < len(cut) < len(words)
    return sum(costs[b - 1] for _, b in cut[:-1]) + SPLIT_COST * lost


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
    return next(iter(good_partitions(words, widths, space, lines)), ())


def good_partitions(
    words: Sequence[str], widths: Sequence[float], space: float, lines: int, most: int = MOST_ALIKE
) -> tuple[tuple[str, ...], ...]:
    """Give at most so many ways to break words into so many lines, the best one first; the others part nothing.

    >>> good_partitions(["Ada,", "Bea", "&", "Cy"], [4, 3, 1, 2], 1, 2)
    (('Ada,', 'Bea & Cy'), ('Ada, Bea', '& Cy'))
    """
    costs, ways = break_costs(words), []
    for cut in partitions(len(words), lines):
        cost = _cost_of(cut, words, costs)
        lengths = [sum(widths[a:b]) + space * sum(not w.endswith(JOINED) for w in words[a : b - 1]) for a, b in cut]
        ways.append((max(lengths) * (1 + cost), max(lengths) - min(lengths), cut, cost))
    best = sorted(ways)[:most]
    kept = [cut for rank, (_, _, cut, cost) in enumerate(best) if not rank or cost < WRONG_COST]
    return tuple(tuple(_line(words[a:b]) for a, b in cut) for cut in kept)


def _line(words: Sequence[str]) -> str:
    return " ".join(words).replace(f"{JOINED} ", "").rstrip(JOINED)


def parted(name: str) -> list[str]:
    """Give the words of a name; those that a hyphen joins are parted behind it, where two letters stand on each side.

    >>> parted("Ada-Rose Ek"), parted("J-P Ek")
    (['Ada-\u200b', 'Rose', 'Ek'], ['J-P', 'Ek'])
    """
    return _HYPHEN.sub(f"{JOINED} ", name).split(" ")


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
    >>> most_lines(["Jo"]), most_lines([]), most_lines(parted("Ana Ek-Torre"))
    (1, 0, 3)
    """
    if not words:
        return 0
    costs = break_costs(words)
    joined = sum(word.endswith(JOINED) for word in words)
    return max(1 + any(cost < WRONG_COST for cost in costs), 1 + costs.count(0.0) + joined)


def broken_names(
    name: str, line2: str, style: LineStyle, block: Block, lines: tuple[str, ...], *, most: int
) -> tuple[tuple[str, ...], ...]:
    """Give at most so many ways to set a name, in these `lines` if there are any, and what stands below it."""
    below: tuple[str, ...] = (line2,) if line2 else ()
    if lines:
        return ((*lines, *below),)
    candidates = [(*upper, *below) for upper in name_breaks(name, style, block, MOST_LINES - len(below))]
    below_parts = line2.split(" ")
    if block.words == "auto" and len(below_parts) > 1:
        space = _space_of(style)
        below = best_partition(below_parts, [style.width(w) for w in below_parts], space, 2)
        parts = name.split(" ")
        uppers = [(name,), best_partition(parts, [style.width(w) for w in parts], space, 2)]
        candidates += [(*upper, *below) for upper in uppers if upper]
    return tuple(dict.fromkeys(candidates))[:most]


def name_breaks(name: str, style: LineStyle, block: Block, most: int) -> tuple[tuple[str, ...], ...]:
    """Give the ways to break a name into at most so many lines, the preferred one first."""
    if block.words not in ("stack", "auto"):
        return ((name,),)
    parts = name.split(" ") if block.words == "stack" else parted(name)
    widths = [style.width(w.rstrip(JOINED)) for w in parts]
    space = _space_of(style)
    if block.words == "stack":
        return (a_line_a_word(parts, widths, space),)
    alike = 1 if block.arc else MOST_ALIKE  # each way on an arc is a long search
    counts = range(2, min(most_lines(parts), most) + 1)
    return ((name,), *(way for count in counts for way in good_partitions(parts, widths, space, count, alike)))


def _space_of(style: LineStyle) -> float:
    return style.width("n n") - style.width("nn")
