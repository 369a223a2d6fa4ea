"""How close letters, words and lines may come, judged on their ink. Lengths in em, y up.

A hair's breadth between two letters of a joined script looks like a fault and costs a bridge. Only pairs that are
nearly joined are moved together, and by no more than the eye forgives; the rest of the word follows, so that its rhythm
stays. Known limit: they move along the line only, so a gap that is open upwards only is left.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import accumulate, pairwise
from typing import TypeAlias

from nameplate.geometry.box import Box
from nameplate.geometry.collision_set import shifted
from nameplate.geometry.nearby import approached
from nameplate.geometry.region import Region, Solid, bounds, distance, moved, sheared, solids, union, window
from nameplate.typesetting.lines import COARSE, Letter, Line, words_of

#: Space between the bodies of two tied words on one line (at the height of the small letters) that still reads as a
#: space when a tie runs through it and strokes are widened. Wider costs letter size, narrower reads as one word;
#: natural spaces are 0.1 to 0.4.
WORD_SPACE = 0.27

#: Tied words come no nearer than this with any ink, so that an overhanging capital does not close the space.
WORD_GAP = 0.22

#: Ink of loose words, where the font itself sets them nearer, is kept this far apart, so that thickening does not weld
#: them.
LOOSE_GAP = 0.14

#: Distance of the ink of two lines (of loose words LOOSE_GAP). Wider costs letter size, narrower looks crammed and
#: welds under thickening.
LINE_GAP = 0.08

#: A line's descenders stay this far above the small letters of the next line, so that none stands among them.
DESCENDER_GAP = 0.03

#: Small letters keep this distance from the baseline above them, where nothing else holds the lines apart: nearer ones
#: look as if the upper line lay on them. More leaves short words over long ones hanging.
BASELINE_GAP = 0.15

#: Of three lines or more, none stands nearer to the one above it than this part of the farthest step: evener looks
#: calmer and costs letter size, since lines without ascenders or descenders could stand nearer.
EVEN = 0.85

#: Places are found to this fraction of an em.
STEP = 1e-3

#: How much the weight of the ink counts against its extent when a line is centred: all ink and a line with one long
#: swash hangs out on that side; all box and it looks pushed away from it.
INK_SHARE = 0.5

#: A pair is moved together by this much at most, in em: more is seen as a squeezed pair.
MOST_TIGHTENING = 0.05

#: How far strokes run into one another afterwards. Less leaves a join thinner than the strokes, more makes a knot.
OVERLAP = 0.012

#: Dots and accents keep this far from the neighbour; a pair that would bring them nearer is left as it is.
MARK_GAP = 0.03

#: Where letters do not join, dots and accents stand so far (em) from the neighbour, if need be by moving the letters
#: apart by at most the second: kerning that suits bare letters lets a bar run into an accent. The first is a stroke's
#: width of a light script; a larger second leaves a hole in the word.
MARK_AIR, MOST_OPENING = 0.05, 0.16

#: Shapes to the left, each with what of the right must keep clear of it.
Facing: TypeAlias = tuple[tuple[Region, Region], ...]

#: What reaches below this part of the x-height belongs to the body of a letter, the rest are its marks.
BODY_REACH = 0.6


def word_shift(before: Region, after: Region, x_height: float, slant: float, *, least: float | None) -> float:
    """Give the shift along x that puts a word at its proper space after the one before it.

    For tied words that is WORD_SPACE between the bodies, no less than the share `least` of the font's own space between
    them, nor than WORD_GAP between any ink. For loose words (None) the font's own space is kept, LOOSE_GAP at least.
    """
    if least is None:
        return max(0.0, _nearest(before, after, LOOSE_GAP))
    own = _body_box(after, x_height, slant).x0 - _body_box(before, x_height, slant).x1
    return max(WORD_SPACE - own, (least - 1) * max(own, 0.0), _nearest(before, after, WORD_GAP))


def _nearest(before: Region, after: Region, gap: float) -> float:
    """Give the shift along x that puts `after` the first time `gap` from `before`, coming from the right."""
    start = bounds(before).x1 - bounds(after).x0 + gap
    return start - approached(before, moved(after, start), -1.0, 0.0, gap, step=STEP)


def _body_box(word: Region, x_height: float, slant: float) -> Box:
    """Give the box, in upright coordinates, of what a word shows at the height of the small letters."""
    upright = sheared(word, -slant)
    box = bounds(upright)
    body = window(upright, Box(box.x0, 0.0, box.x1, x_height))
    return box if body.is_empty else bounds(body)


def dropped(above: Region, below: Region, x_height: float, *, baseline: float = 0.0, gap: float = LINE_GAP) -> float:
    """Give the shift along y that puts a line, set at baseline 0, under the line above it where that one lies.

    The line above, with its `baseline`, may lie anywhere; the result is the new baseline of the line below. Their ink
    is `gap` apart.
    """
    upper, lower = bounds(above), bounds(below)
    start = upper.y0 - lower.y1 - gap
    contact = start + approached(above, moved(below, 0.0, start), 0.0, 1.0, gap, step=STEP)
    highest = min(upper.y0 - DESCENDER_GAP, baseline - BASELINE_GAP) - x_height
    return min(contact, highest)


def evened(baselines: Sequence[float]) -> tuple[float, ...]:
    """Give lines, from the first baseline down, steps that are nearly even: only ever larger ones.

    >>> [round(y, 3) for y in evened([0.0, -1.0, -1.5])], evened([0.0, -0.7]), evened([])
    ([0.0, -1.0, -1.85], (0.0, -0.7), ())
    """
    steps = [a - b for a, b in pairwise(baselines)]
    least = EVEN * max(steps, default=0.0)
    return tuple(accumulate((-max(step, least) for step in steps), initial=baselines[0])) if baselines else ()


def aligned(line: Region, align: str) -> float:
    """Give the shift along x that puts a line's "left" or "right" end at x = 0.

    A line in the "centre" stands on x = 0 to the eye: halfway between its middle and its centre of ink.

    >>> from nameplate.geometry.region import rectangle
    >>> [aligned(rectangle(1, 0, 3, 1), align) for align in ("left", "centre", "right")]
    [-1.0, -2.0, -3.0]
    """
    if align != "centre":
        return -bounds(line).x0 if align == "left" else -bounds(line).x1
    middle = bounds(line).centre[0]
    ink = float(line.centroid.x)
    return -(middle + INK_SHARE * (ink - middle))


def kerned(line: Line, x_height: float, *, joins: bool) -> Line:
    """Close the nearly closed joins of a line of a font that joins, in em, and set accents clear of the neighbours.

    Words keep their distance.
    """
    done: list[Letter] = []
    shift = 0.0
    for word in words_of(line):
        done.append(word[0].moved(shift))
        for before, letter in pairwise(word):
            shift += _kerning(before, letter, x_height, joins=joins)
            done.append(letter.moved(shift))
    return tuple(done)


def _kerning(before: Letter, after: Letter, x_height: float, *, joins: bool) -> float:
    """Give how far `after` is to move along x: to the left to join `before`, or to the right off an accent."""
    if not (before.text[-1:].isalpha() and after.text[:1].isalpha()) or before.font != after.font:
        return 0.0
    x, y = before.glyphs[0].x, before.glyphs[0].y  # the same two letters are moved alike wherever they stand
    before, after = before.seen_from(x, y), after.seen_from(x, y)
    left, left_marks = _parts(before, x_height)
    right, right_marks = _parts(after, x_height)
    if not joins and left_marks.is_empty and right_marks.is_empty:
        return 0.0
    gap = distance(left, right)
    if gap == 0:
        return 0.0
    facing: Facing = ((left_marks, after.region(COARSE)), (left, right_marks))
    closing = _closing(left, right, facing) if joins and gap <= MOST_TIGHTENING - OVERLAP else 0.0
    return -closing or _opening(facing)


def _closing(left: Region, right: Region, facing: Facing) -> float:
    """Give how far the right one of two bodies may move to the left to join the other; 0 when it should not."""
    step = approached(left, right, -1.0, 0.0, 0.0, step=STEP, most=MOST_TIGHTENING) + OVERLAP
    return step if step <= MOST_TIGHTENING and _air(facing, -step) >= MARK_GAP else 0.0


def _opening(facing: Facing) -> float:
    """Give how far what stands to the right moves to be clear of marks; 0 when it is, or cannot be."""
    if _air(facing, 0.0) >= MARK_AIR or _air(facing, MOST_OPENING) < MARK_AIR:
        return 0.0
    apart = ((still, moved(moving, MOST_OPENING)) for still, moving in facing)
    return MOST_OPENING - min(approached(still, there, -1.0, 0.0, MARK_AIR, step=STEP) for still, there in apart)


def _air(facing: Facing, shift: float) -> float:
    """Give the distance between what faces one another, once all to the right is moved."""
    return min(distance(still, moved(moving, shift)) for still, moving in facing)


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
