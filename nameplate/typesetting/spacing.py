"""How close words and lines may come, judged on their ink. Lengths in em, y up."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise

from nameplate.geometry.box import Box
from nameplate.geometry.nearby import approached
from nameplate.geometry.region import Region, bounds, moved, sheared, window

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
