"""Stands the letters of a setting on an arc: each is turned about the foot of its advance's middle, not bent itself.

Terms. The *radius* is that of the baseline of the largest line; the other lines stand on circles about the same centre.
It is under 0 where the arc bows the other way, and in em, as all lengths.

Method. Turned apart over the top of a circle letters open, inside its bottom they crowd. So they are as far apart along
the arc as along a straight line where their strokes meet: letters that touch as set, at the height at which they do,
and then until they run into one another as far as before; all others at half the height of small letters, and not much
nearer than before where a little room does it. An underline is bent, and so is nothing else. Lines that come too near
are moved on. The whole is turned about the centre until the weight of its ink is at the apex.

Known limit: only neighbours are looked at.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import accumulate, pairwise
from typing import NamedTuple

import numpy as np

from nameplate.geometry.arc import Arc
from nameplate.geometry.region import Region, distance, intersection, moved, union
from nameplate.typesetting.block import PlacedLine
from nameplate.typesetting.lines import COARSE, Letter, Line, Placed

#: No letter stands on a smaller circle than so many times its em: its feet would be off the line by an eighth of a wide
#: letter's width, and inside the bottom of a circle capitals would meet.
LEAST_RADIUS = 1.5

#: Letters go round half the circle at most: then none lies on its side.
MOST_ANGLE = math.pi

#: Letters that touch as set share as much ink on the arc, within this share of it, or are moved on or back along it by
#: at most so many em: more is seen as a squeezed pair. The place is looked for in strides of so many em, the last of
#: them halved so often.
AS_JOINED = 0.05
MOST_CLOSING, STRIDE, HALVINGS = 0.05, 0.01, 3

#: Letters that do not touch keep this share of their distance: inside the bottom of a circle ascenders would meet.
KEPT = 0.6

#: Those that have come to overlap are moved on by so many em at a time. More leaves wider gaps, less takes more steps.
OVERLAPPED = 0.03

#: They are moved apart by at most so many em along the arc: farther, a long arm over the next letter would tear a hole
#: into the word.
MOST_SHIFT = 0.12

#: Lines are moved on at most so often; each time they are set anew.
MOST_LEADINGS = 4


class Bent(NamedTuple):
    """Lines that stand on an arc, where they lie; `baselines` is the y of each line's apex."""

    lines: tuple[PlacedLine, ...]
    baselines: tuple[float, ...]
    arc: Arc


class _Pair(NamedTuple):
    """Two letters, each with its foot at the origin; how far apart those are, and what they share as set.

    `height` is that at which they touch, None where they do not; `gap` is how far apart their ink is.
    """

    left: Region
    right: Region
    step: float
    area: float
    height: float | None
    gap: float


def least_radii(lines: Sequence[PlacedLine], way: float) -> tuple[float, float]:
    """Give the least radii that lines can stand on: for the size of their letters, and to go half round at most.

    `way` is over 0 where they stand over the top, under 0 inside the bottom; the radii are given without their sign.
    """
    main = _main(lines)
    sizes, turns = [], []
    for line in lines:
        below = math.copysign(1.0, way) * (line.dy - lines[main].dy)
        half = math.copysign(line.style.x_height / 2, way)
        sizes.append(LEAST_RADIUS * line.style.em - below)
        turns.append((line.line[-1].middle - line.line[0].middle) / MOST_ANGLE - half - below)
    return max(sizes), max(turns)


def bent(lines: Sequence[PlacedLine], radius: float, *, approximate: bool = False) -> Bent:
    """Stand lines on an arc; `approximate` without a look at how letters meet, to say how large they are."""
    main = _main(lines)
    baselines = [line.dy for line in lines]
    for _ in range(MOST_LEADINGS):
        arc = Arc(0.0, baselines[main] - radius, radius)
        done = tuple(_on_arc(line, y, arc, approximate=approximate) for line, y in zip(lines, baselines, strict=True))
        lacking = [max(0.0, b.gap - distance(a.ink, b.ink)) for a, b in pairwise(done)]
        if max(lacking, default=0.0) <= COARSE:
            break
        down = accumulate(lacking, initial=0.0)
        baselines = [y - lower for y, lower in zip(baselines, down, strict=True)]
    return Bent(_centred(done, arc), tuple(baselines), arc)


def _main(lines: Sequence[PlacedLine]) -> int:
    return max(range(len(lines)), key=lambda number: lines[number].style.x_height)


def _on_arc(line: PlacedLine, baseline: float, arc: Arc, *, approximate: bool) -> PlacedLine:
    """Stand one line on its own circle about the centre; its letters are then where they belong."""
    letters = tuple(letter.moved(line.dx) for letter in line.line)
    own = Arc(arc.x, arc.y, baseline - arc.y)
    middle = line.style.x_height / 2
    xs = np.array([letter.middle for letter in letters])
    steps = [_step(a, b, own.radius, middle, approximate=approximate) for a, b in pairwise(letters)]
    angles = np.array(list(accumulate(steps, initial=0.0)))
    ends = np.array([xs[0] - 1.0, *xs, xs[-1] + 1.0])
    beyond = 1.0 / (own.radius + middle)
    turns = np.array([angles[0] - beyond, *angles, angles[-1] + beyond])
    turns += line.anchor / (arc.radius + middle) - np.interp(line.anchor, ends, turns)
    stood = tuple(_stood(a, own, float(t)) for a, t in zip(letters, turns[1:-1], strict=True))
    bar = tuple(own.bent(moved(piece, line.dx), ends, turns) for piece in line.bar)
    ink = union(*(letter.region(COARSE) for letter in stood), *bar)
    return line._replace(line=stood, bar=bar, dx=0.0, dy=0.0, ink=ink)


def _stood(letter: Letter, arc: Arc, angle: float) -> Letter:
    """Turn a letter clockwise by an angle (radians), and put the foot of its advance's middle on the circle."""
    foot = arc.point(angle)
    turn = math.degrees(-angle)
    c, s = math.cos(angle), math.sin(angle)
    glyphs = []
    for g in letter.glyphs:
        x, y = g.x - letter.middle, g.y
        glyphs.append(g._replace(x=foot[0] + c * x + s * y, y=foot[1] - s * x + c * y, turn=turn))
    return letter._replace(glyphs=tuple(glyphs), middle=foot[0])


def _centred(lines: Sequence[PlacedLine], arc: Arc) -> tuple[PlacedLine, ...]:
    """Turn all lines about the centre until the weight of their ink is at the apex."""
    weight = union(*(line.ink for line in lines)).centroid
    turn = -arc.turn_at(float(weight.x), float(weight.y))
    return tuple(
        line._replace(
            line=_turned(line.line, arc, turn),
            bar=tuple(arc.turned(piece, turn) for piece in line.bar),
            ink=arc.turned(line.ink, turn),
        )
        for line in lines
    )


def _turned(line: Line, arc: Arc, turn: float) -> Line:
    def turned(glyph: Placed) -> Placed:
        x, y = arc.turned_point((glyph.x, glyph.y), turn)
        return glyph._replace(x=x, y=y, turn=glyph.turn + turn)

    return tuple(letter._replace(glyphs=tuple(map(turned, letter.glyphs))) for letter in line)


# --- how far apart letters stand ------------------------------------------------------------------------------------


def _step(before: Letter, after: Letter, radius: float, middle: float, *, approximate: bool) -> float:
    """Give the angle (radians, clockwise) from one letter to the next; `middle` is half the height of small letters."""
    x = before.middle
    pair = _pair(before.seen_from(x, 0.0), after.seen_from(x, 0.0))
    height = middle if pair.height is None else pair.height
    step = pair.step / (radius + height)
    if approximate:
        return step
    return _apart(pair, radius, step, middle) if pair.height is None else _joined(pair, radius, step, height)


@lru_cache(maxsize=4096)
def _pair(before: Letter, after: Letter) -> _Pair:
    """Look at two letters that follow one another, the first with its foot at x = 0, as they are set."""
    left, right = before.region(COARSE), after.region(COARSE)
    shared = intersection(left, right)
    height = None if shared.is_empty or shared.area <= COARSE**2 else float(shared.centroid.y)
    return _Pair(left, moved(right, -after.middle), after.middle, shared.area, height, distance(left, right))


def _there(pair: _Pair, radius: float, step: float) -> Region:
    """Give the second letter where it stands by the first, at an angle from it."""
    x, y = Arc(0.0, -radius, radius).point(step)
    return moved(pair.right, x, y, turn=math.degrees(-step))


def _apart(pair: _Pair, radius: float, step: float, height: float) -> float:
    """Move a letter on until it keeps its distance from the one before it; not at all where that is too far."""
    shift = 0.0
    while shift <= MOST_SHIFT:
        now = step + shift / (radius + height)
        gap = distance(pair.left, _there(pair, radius, now))
        if gap >= KEPT * pair.gap - COARSE:
            return now
        shift += KEPT * pair.gap - gap if gap else OVERLAPPED
    return step


def _joined(pair: _Pair, radius: float, step: float, height: float) -> float:
    """Move a letter on or back until it runs into the one before it about as far as it does as set.

    The nearest place is taken where that is so, found in strides and by halving the last one; where there is none in
    reach the letter stays.
    """

    def excess(shift: float) -> float:
        there = _there(pair, radius, step + shift / (radius + height))
        return intersection(pair.left, there).area / pair.area - 1

    found = excess(0.0)
    if abs(found) <= AS_JOINED:
        return step
    low, stride = 0.0, math.copysign(STRIDE, found)
    while excess(low + stride) * found > 0:
        low += stride
        if abs(low) >= MOST_CLOSING:
            return step
    high = low + stride
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if excess(middle) * found > 0 else (low, middle)
    return step + (low + high) / 2 / (radius + height)
