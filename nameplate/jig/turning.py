"""How far a part can turn that is nearly round, where first-order theory is of no use.

Method: a part turned by an angle and shifted by t can only lie in an opening that is a gap wider when in every
direction u its support h(u - angle) + t . u is at most h(u) + gap. For an angle, the shifts t that allow this are a
polygon, found by meeting every two conditions. The angle is stepped up from nothing as long as there is such a shift.

Known limit: only the part's hull is looked at, and only so many directions, so that turn and shift are never
understated; a notch that would stop the turn earlier is not seen.
"""

from __future__ import annotations

import itertools
import math
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


class WideTurn(NamedTuple):
    """Largest turn either way (degrees, at most 180) and the largest shift of the part's middle on the way (mm)."""

    turn: float
    shift: float


def wide_turn(part: Region, gap: float) -> WideTurn:
    """Give how far a part turns and shifts in the opening that is `gap` mm larger all round.

    >>> wide_turn(rg.disc((5, 5), 40), 0.2).turn
    180.0
    """
    corners = rg.convex_corners(part) - np.array([rg.bounds(part).centre])
    room = _supports(corners, 0.0) + gap
    ways = [_turned(corners, room, sense) for sense in (1.0, -1.0)]
    return WideTurn(max(way.turn for way in ways), max(way.shift for way in ways))


def _turned(corners: Array, room: Array, sense: float) -> WideTurn:
    turn, shift = 0.0, float(_shifts(corners, room, 0.0) or 0.0)
    while turn < HALF_ROUND:
        further = _shifts(corners, room, sense * (turn + STEP))
        if further is None:
            return WideTurn(turn + _last_bit(corners, room, sense, turn), shift)
        turn, shift = turn + STEP, max(shift, further)
    return WideTurn(HALF_ROUND, shift)


def _last_bit(corners: Array, room: Array, sense: float, turn: float) -> float:
    """Give how much further than `turn` the part turns within one step, from above."""
    return narrowed(0.0, STEP, lambda by: _shifts(corners, room, sense * (turn + by)) is not None, within=FINE)[1]


def _shifts(corners: Array, room: Array, turn: float) -> float | None:
    """Give the largest shift that is possible when turned by `turn` degrees; None when none is."""
    left = room - _supports(corners, turn)
    i, j = _PAIRS
    across = left[i, None] * NORMALS[j] - left[j, None] * NORMALS[i]
    met = np.column_stack([across[:, 1], -across[:, 0]]) / np.sin(_ANGLES[j] - _ANGLES[i])[:, None]
    inside = (met @ NORMALS.T <= left + SLACK).all(axis=1)
    return float(np.linalg.norm(met[inside], axis=1).max()) if inside.any() else None


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
