"""How lettering should stand, and what one fit aims at.

`Standing` is said in millimetres by who wants a fit; `Objective` is the same in the units of a prepared zone.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from nameplate.geometry.region import Array

#: Where the largest place is wanted, ink this near to the middle, sideways, is not worth making the letters smaller
#: (shares of half the zone's size; 1.5 mm on a usual face). Smaller values cost size that nobody sees the use of.
CENTRED = 0.03

#: Ink that stands in the middle may be this much above or below it (shares of half the zone's size; 0.5 mm on a usual
#: face) where the letters get larger there; to the sides it stands exactly. Three times as much makes them 2 % larger,
#: and many look high.
UPRIGHT = 0.01

#: What is held exactly is held within this (shares of half the zone's size): a strip without any width has no inside.
EXACT = 1e-9


@dataclass(frozen=True, slots=True)
class Level:
    """A height that lettering must keep: what is `height` above its origin comes to lie at y = `at` of the zone."""

    height: float
    at: float


@dataclass(frozen=True, slots=True)
class Standing:
    """How lettering should stand in its zone.

    `place` is "centre": its optical centre on the middle of the zone, "largest": where it gets largest, with a little
    given up not to flee from the middle, or "anywhere": with nothing given up. Of a centred one `align` may be "left"
    or "right": as far to that side as it goes at its size. A `level` is kept. Ink beyond `body`, a left and a right
    limit in the lettering's own coordinates, has no weight: it is a swash.
    """

    place: str = "anywhere"
    align: str = "centre"
    level: Level | None = None
    body: tuple[float, float] = (-math.inf, math.inf)

    def scaled(self, size: float) -> Standing:
        """Give the same for lettering that is `size` times as large.

        >>> Standing(level=Level(0.5, 3.0), body=(0.0, 2.0)).scaled(10.0)
        Standing(place='anywhere', align='centre', level=Level(height=5.0, at=3.0), body=(0.0, 20.0))
        """
        level = None if self.level is None else replace(self.level, height=self.level.height * size)
        return replace(self, level=level, body=(self.body[0] * size, self.body[1] * size))


@dataclass(frozen=True, slots=True)
class Pose:
    """A scale about the origin and a shift (2,) after it; `easy` when nothing is near, so that it cannot be refined."""

    scale: float
    shift: Array
    easy: bool = False


#: Tells whether a zone really holds a fit.
Holds: TypeAlias = Callable[[Pose], bool]


@dataclass(frozen=True, slots=True)
class Objective:
    """The aim of one fit: as large as can be, then as near to the target as that size allows.

    `ink` (2,) is the optical centre of the lettering at scale 1, `target` (2,) where it should be; `cap` is the largest
    scale wanted; `give` the share of the largest scale that may be given up for being nearer to the target sideways.
    The ink may be `aside` of the target and `upright` above or below it at most; a `level` is kept instead of the
    latter.
    """

    ink: Array
    target: Array
    cap: float = math.inf
    give: float = 0.0
    level: Level | None = None
    aside: float = math.inf
    upright: float = math.inf

    def ideal(self, scale: float) -> Array:
        """Give the shift that puts the ink on the target, as far as the level allows."""
        there = np.asarray(self.target - scale * self.ink)
        return there if self.level is None else np.array([there[0], self.level.at - scale * self.level.height])

    def held(self, scale: float, shifts: Array) -> Array:
        """Give one shift (2,) or many (n, 2), moved no farther than needed to where the ink may be."""
        off = np.array([self.aside, self.upright if self.level is None else 0.0])
        there = self.ideal(scale)
        return np.clip(shifts, there - off, there + off)

    def rows(self, aside: float = math.inf) -> tuple[Array, Array]:
        """Give rows and limits in (scale, x, y) that hold the ink where it may be, and within `aside` sideways."""
        bands = [(np.array([self.ink[0], 1.0, 0.0]), self.target[0], min(aside, self.aside))]
        if self.level is None:
            bands.append((np.array([self.ink[1], 0.0, 1.0]), self.target[1], self.upright))
        else:
            bands.append((np.array([self.level.height, 0.0, 1.0]), self.level.at, 0.0))
        rows, limits = [np.empty((0, 3))], [np.empty(0)]
        for row, at, width in bands:
            if math.isfinite(width):
                rows.append(np.vstack([row, -row]))
                limits.append(np.array([at, -at]) + width + EXACT)
        return np.vstack(rows), np.concatenate(limits)

    def away(self, scale: float, shifts: Array) -> Array:
        """Give how far the ink is from the target, for one shift (2,) or many (n, 2)."""
        off = shifts - self.ideal(scale)
        return np.asarray(np.hypot(off[..., 0], off[..., 1]))

    def sideways(self, scale: float, shifts: Array) -> Array:
        """Give how far the ink is to the right of the target, for one shift (2,) or many (n, 2)."""
        return np.asarray(shifts[..., 0] - self.ideal(scale)[0])
