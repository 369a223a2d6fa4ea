"""How far a part can turn that is nearly round, where first-order theory is of no use.

Method: a part turned by an angle and shifted by t can only lie in an opening that is a gap wider when in every
direction u its support h(u - angle) + t . u is at most h(u) + gap. For an angle, the shifts t that allow this are a
polygon, found by meeting every two conditions. The angle is stepped up from nothing as long as there is such a shift;
from one step to the next, the part may be shifted as far as at either.

Known limit: only the part's hull is looked at, and only so many directions, so that turn and shift are not
understated; a notch that would stop the turn earlier is not seen.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from nameplate.geometry import region as rg
from nameplate.geometry.measure import narrowed
from nameplate.geometry.region import Array, Region

#: Directions in which supports and displacements are compared: those are overstated, and these understated, by up to
#: 1 - cos(2.5 degrees), a thousandth.
DIRECTIONS = 72

#: Step of the angle, degrees, and how finely its end is found. A larger step could jump over an angle that stops it.
STEP, FINE = 2.0, 0.05

#: The turn of a part that nothing is known to stop, degrees: it may end up either way round.
HALF_ROUND = 180.0

#: A condition may be missed by this much, mm: rounding.
SLACK = 1e-9


class Sweep(NamedTuple):
    """The turns from one to another (degrees, counter-clockwise), and how far (mm) the part's middle can be shifted on
    the way in each of the NORMALS, (n,)."""

    low: float
    high: float
    reach: Array


class WideTurn(NamedTuple):
    """Largest turn either way (degrees, at most 180), and the sweeps of which the way there is made up."""

    turn: float
    sweeps: tuple[Sweep, ...]

    def carried(self, lever: Array) -> Array:
        """Give how far places at levers (n, 2) from the part's middle can be carried in each of the NORMALS: (n, k)."""
        length = np.linalg.norm(lever, axis=1)[:, None]
        apart = _ANGLES - np.arctan2(lever[:, 1], lever[:, 0])[:, None]
        found = np.full(apart.shape, -math.inf)
        for low, high, reach in self.sweeps:
            # swung as near to the direction as these turns allow
            off = np.abs((apart - math.radians(low + high) / 2 + math.pi) % (2 * math.pi) - math.pi)
            nearest = np.maximum(0.0, off - math.radians(high - low) / 2)
            found = np.maximum(found, length * np.cos(nearest) + reach)
        carried: Array = found - lever @ NORMALS.T
        return carried


def any_turn(shift: float) -> WideTurn:
    """Give the motions of a part that turns as it likes while its middle is shifted by so many mm at most."""
    return WideTurn(HALF_ROUND, (Sweep(-HALF_ROUND, HALF_ROUND, np.full(DIRECTIONS, shift)),))


def wide_turn(part: Region, gap: float) -> WideTurn:
    """Give how far a part turns and shifts in the opening that is `gap` mm larger all round.

    >>> wide_turn(rg.disc((5, 5), 40), 0.2).turn
    180.0
    """
    corners = rg.convex_corners(part) - np.array([rg.bounds(part).centre])
    room = _supports(corners, 0.0) + gap
    sweeps = (*_sweeps(corners, room, 1.0), *_sweeps(corners, room, -1.0))
    turn = max(max(sweep.high, -sweep.low) for sweep in sweeps)
    if turn == HALF_ROUND:  # beside that, where the shift is largest counts for little
        sweeps = (Sweep(-HALF_ROUND, HALF_ROUND, np.max([sweep.reach for sweep in sweeps], axis=0)),)
    return WideTurn(turn, sweeps)


def _sweeps(corners: Array, room: Array, sense: float) -> Iterator[Sweep]:
    """Step from no turn to the largest, left round (a sense of 1) or right round (-1)."""

    def reach(turn: float) -> Array | None:
        return _shifts(corners, room, sense * turn)

    turn, before = 0.0, reach(0.0)
    while before is not None and turn < HALF_ROUND:
        further = turn + STEP
        after = last = reach(further)
        if last is None:
            still, further = narrowed(turn, further, lambda turn: reach(turn) is not None, within=FINE)
            last = reach(still)
        assert last is not None
        low, high = sorted((sense * turn, sense * further))
        yield Sweep(low, high, np.maximum(before, last))
        turn, before = further, after


def _shifts(corners: Array, room: Array, turn: float) -> Array | None:
    """Give how far it can be shifted in each of the NORMALS when turned by `turn` degrees; None where it cannot be."""
    left = room - _supports(corners, turn)
    i, j = _PAIRS
    across = left[i, None] * NORMALS[j] - left[j, None] * NORMALS[i]
    met = np.column_stack([across[:, 1], -across[:, 0]]) / np.sin(_ANGLES[j] - _ANGLES[i])[:, None]
    along = met @ NORMALS.T
    inside = (along <= left + SLACK).all(axis=1)
    return along[inside].max(axis=0) if inside.any() else None


def _supports(corners: Array, turn: float) -> Array:
    """Give how far a part, turned by degrees, reaches in each direction."""
    found: Array = (corners @ rg.unit_vectors(_ANGLES - math.radians(turn)).T).max(axis=0)
    return found


_ANGLES = np.linspace(0, 2 * math.pi, DIRECTIONS, endpoint=False)
NORMALS = rg.unit_vectors(_ANGLES)

#: Every two directions that are not opposite each other.
_PAIRS = np.array(
    [(i, j) for i, j in itertools.combinations(range(DIRECTIONS), 2) if 2 * (j - i) != DIRECTIONS], dtype=np.intp
).T
