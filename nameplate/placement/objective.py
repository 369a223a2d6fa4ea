"""What a fit aims at, in the units of a prepared zone: how large at most, where the ink should be centred."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from nameplate.geometry.region import Array

#: Ink this near to the middle, sideways, is not worth making the letters smaller (shares of half the zone's size;
#: 1.5 mm on a usual face). Smaller values cost size that nobody sees the use of.
CENTRED = 0.03


#: A level is kept within this (shares of half the zone's size): two rows without room between them have no inside.
LEVEL = 1e-9


@dataclass(frozen=True, slots=True)
class Level:
    """A height that lettering must keep: what is `height` above its origin comes to lie at y = `at` of the zone."""

    height: float
    at: float


@dataclass(frozen=True, slots=True)
class Aim:
    """The aim of one fit.

    `ink` (2,) is the optical centre of the lettering at scale 1, `target` (2,) where it should be; `cap` is the largest
    scale wanted; `give` the share of the largest scale that may be given up for being nearer to the target sideways;
    `level` is a height to keep.
    """

    ink: Array
    target: Array
    cap: float = math.inf
    give: float = 0.0
    level: Level | None = None

    def ideal(self, scale: float) -> Array:
        """Give the shift that puts the ink on the target, as far as the level allows."""
        return self.levelled(scale, np.asarray(self.target - scale * self.ink))

    def levelled(self, scale: float, shifts: Array) -> Array:
        """Give one shift (2,) or many (n, 2) moved up or down to the level, if there is one."""
        if self.level is None:
            return shifts
        y = np.full(shifts.shape[:-1], self.level.at - scale * self.level.height)
        return np.stack([shifts[..., 0], y], axis=-1)

    @property
    def rows(self) -> tuple[Array, Array]:
        """Rows and limits in (scale, x, y) that hold the level; none without one."""
        if self.level is None:
            return ANYWHERE
        row, at = np.array([self.level.height, 0.0, 1.0]), self.level.at
        return np.vstack([row, -row]), np.array([at + LEVEL, LEVEL - at])

    def away(self, scale: float, shifts: Array) -> Array:
        """Give how far the ink is from the target, for one shift (2,) or many (n, 2)."""
        off = shifts - self.ideal(scale)
        return np.asarray(np.hypot(off[..., 0], off[..., 1]))

    def sideways(self, scale: float, shifts: Array) -> Array:
        """Give how far the ink is to the right of the target, for one shift (2,) or many (n, 2)."""
        return np.asarray(shifts[..., 0] - self.ideal(scale)[0])

    def band(self, width: float) -> tuple[Array, Array]:
        """Give rows and limits that hold the ink within `width` of the target sideways, and the level."""
        row, (rows, limits) = np.array([self.ink[0], 1.0, 0.0]), self.rows
        near = np.array([self.target[0] + width, width - self.target[0]])
        return np.vstack([row, -row, rows]), np.concatenate([near, limits])


#: No rows at all, for a fit that may lie anywhere.
ANYWHERE: tuple[Array, Array] = (np.empty((0, 3)), np.empty(0))
