"""Moves letters together that nearly touch, in fonts that join their letters.

A hair's breadth between two letters of a joined script looks like a fault and costs a bridge. Only pairs that are
nearly joined are moved, and by no more than the eye forgives; the rest of the word follows, so that its rhythm stays.

Known limit: letters move along the line only, so a gap that is open upwards only is left.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

from nameplate.geometry.collision_set import shifted
from nameplate.geometry.nearby import approached
from nameplate.geometry.region import Region, Solid, bounds, distance, moved, solids, union
from nameplate.typesetting.lines import COARSE, Letter, Line, words_of
from nameplate.typesetting.spacing import STEP

#: A pair is moved together by this much at most, in em: more is seen as a squeezed pair.
MOST_TIGHTENING = 0.05

#: How far strokes run into one another afterwards. Less leaves a join thinner than the strokes, more makes a knot.
OVERLAP = 0.012

#: Dots and accents keep this far from the neighbour; a pair that would bring them nearer is left as it is.
MARK_GAP = 0.03

#: What reaches below this part of the x-height belongs to the body of a letter, the rest are its marks.
BODY_REACH = 0.6


def tightened(line: Line, x_height: float) -> Line:
    """Close the nearly closed joins of a line, in em; words keep their distance."""
    done: list[Letter] = []
    shift = 0.0
    for word in words_of(line):
        done.append(word[0].moved(shift))
        for before, letter in pairwise(word):
            shift -= _closing(before, letter, x_height)
            done.append(letter.moved(shift))
    return tuple(done)


def _closing(before: Letter, after: Letter, x_height: float) -> float:
    """Give how far `after` may move to the left to join `before`; 0 when they join already or should not."""
    if not (before.text[-1:].isalpha() and after.text[:1].isalpha()) or before.font != after.font:
        return 0.0
    x, y = before.glyphs[0].x, before.glyphs[0].y
    return _closing_of(before.seen_from(x, y), after.seen_from(x, y), x_height)


@lru_cache(maxsize=8192)
def _closing_of(before: Letter, after: Letter, x_height: float) -> float:
    left, left_marks = _parts(before, x_height)
    right, right_marks = _parts(after, x_height)
    gap = distance(left, right)
    if gap == 0 or gap > MOST_TIGHTENING - OVERLAP:
        return 0.0
    step = approached(left, right, -1.0, 0.0, 0.0, step=STEP, most=MOST_TIGHTENING) + OVERLAP
    near = min(distance(left_marks, moved(after.region(COARSE), -step)), distance(left, moved(right_marks, -step)))
    return step if step <= MOST_TIGHTENING and near >= MARK_GAP else 0.0


def _parts(letter: Letter, x_height: float) -> tuple[Region, Region]:
    """Give body and marks of a letter where it stands."""
    x = letter.glyphs[0].x
    body, marks = _parted(letter.seen_from(x, 0.0), x_height)
    return shifted(body, x, 0.0), shifted(marks, x, 0.0)


@lru_cache(maxsize=4096)
def _parted(placed: Letter, x_height: float) -> tuple[Region, Region]:
    """Part a letter into its body and its marks."""
    body: list[Solid] = []
    marks: list[Solid] = []
    for solid in solids(placed.region(COARSE)):
        box = bounds(solid)
        (body if box.y0 < BODY_REACH * x_height and box.y1 > 0 else marks).append(solid)
    return union(*body), union(*marks)
