"""Draws the bar under a line that holds its words together: words = "bar".

The bar lies under the feet of the letters and runs a little into them, so that each word stands on it. It leaves room
round descenders, which stay readable, except between words, where it must hold.
"""

from __future__ import annotations

import math
from itertools import pairwise

from nameplate.geometry import region as rg
from nameplate.geometry.region import EMPTY, Region, bounds, intersection, offset, rectangle, solids, union
from nameplate.typesetting.lines import COARSE, Line, ink, words_of

#: How far the bar runs into the feet of the letters, in em: deep enough to weld, not so deep as to fill their joins.
FOOTING = 0.025

#: How far below the baseline a bar lies that holds nothing, in em: nearer, the plate between it and the feet must be
#: widened at their cost.
CLEAR = 0.09

#: The bar is as thick as the strokes of the letters, within these bounds, in em.
THINNEST, THICKEST = 0.05, 0.1

#: The bar ends this far inside the first and the last letter, in em, so that it does not hook on to their last strokes.
INSET = 0.07

#: Ends are judged on what stands this low, in x-heights: a swash beside the first or last letter has no foot to bear.
FOOT = 0.3

#: Clear space beside a descender, in em.
DESCENDER_CLEAR = 0.05

#: Bits of bar shorter than this, in em, say nothing and are left out.
SHORTEST = 0.18


def bars(line: Line, x_height: float, slant: float, stem: float, *, holding: bool = True) -> tuple[Region, ...]:
    """Give the pieces of the bar under a line whose baseline is y = 0, from left to right, in em.

    A bar that is not `holding` the words together stands clear of them.
    """
    thickness = min(max(stem, THINNEST), THICKEST)
    words = [ink(word) for word in words_of(line)]
    bodies = [_low(word, x_height) for word in words]
    first, last = (bounds(_low(words[end], FOOT * x_height)) for end in (0, -1))
    x0, x1 = first.x0 + INSET, max(last.x1, first.x0 + 3 * INSET) - INSET
    top = FOOTING if holding else -CLEAR
    middle = top - thickness / 2
    bar = rg.capsule([(x0 + thickness / 2, middle), (x1 - thickness / 2, middle)], thickness)
    held = [
        intersection(bar, rectangle(bounds(a).x1 - thickness, -1.0, bounds(b).x0 + thickness, 1.0))
        for a, b in (pairwise(bodies) if holding else ())
    ]
    letters = [letter.region(COARSE) for letter in line]
    if holding:
        rooms = [_room(letter, top - thickness, thickness, slant) for letter in letters]
    else:
        rooms = [offset(_below(letter, 0.0), DESCENDER_CLEAR) for letter in letters]
    pieces = [s for s in solids(rg.difference(bar, union(*rooms))) if bounds(s).width >= SHORTEST]
    return tuple(sorted((Region([s]) for s in solids(union(*pieces, *held))), key=lambda r: bounds(r).x0))


def _low(word: Region, height: float) -> Region:
    """Give what stands between the baseline and a height; the whole word where nothing does."""
    box = bounds(word)
    body = intersection(word, rectangle(box.x0, 0.0, box.x1, height))
    return word if body.is_empty else body


def _below(letter: Region, height: float) -> Region:
    box = bounds(letter)
    return EMPTY if box.y0 >= height else intersection(letter, rectangle(box.x0, box.y0, box.x1, height))


def _room(letter: Region, bottom: float, thickness: float, slant: float) -> Region:
    """Give the room that a letter takes in the bar where it passes through to reach well below it."""
    box = bounds(letter)
    if box.y0 > bottom - DESCENDER_CLEAR:
        return EMPTY
    tail = offset(_below(letter, bottom), DESCENDER_CLEAR)
    lean = math.tan(math.radians(slant))
    return union(*(rg.moved(tail, up * lean, up) for up in (0.0, thickness / 2, thickness)))
