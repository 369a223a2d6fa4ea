"""Face outlines by name: each shape is one function from a size to a ring.

A ring is centred on the origin and touches its box on all four sides, so that a face measures exactly what the ticket
says. Curves are flattened within `tolerances.FLATTEN`, with their points on the curve. To add a shape, write one
function and enter it in `SHAPES`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeAlias

import numpy as np

from nameplate.errors import FaceError
from nameplate.geometry.curves import flatten
from nameplate.geometry.region import Array, Region, from_ring, unit_vectors

#: Corner radius of `rounded` when none is given, as a share of the shorter side. Rounder corners cost room for letters.
ROUNDED_SHARE = 0.2


@dataclass(frozen=True, slots=True)
class Size:
    """What a shape is built from: its box in mm and, for `rounded`, the radius of its corners."""

    width: float
    height: float
    radius: float | None = None

    @property
    def half(self) -> tuple[float, float]:
        """Half the width and half the height."""
        return self.width / 2, self.height / 2


ShapeMaker: TypeAlias = Callable[[Size], Array]


def _rectangle(size: Size) -> Array:
    a, b = size.half
    return np.array([(-a, -b), (a, -b), (a, b), (-a, b)])


def _rounded(size: Size) -> Array:
    a, b = size.half
    radius = ROUNDED_SHARE * min(size.width, size.height) if size.radius is None else size.radius
    if radius > min(a, b):
        raise FaceError(
            f"radius {radius:g} mm is too large for a face of {size.width:g} x {size.height:g} mm; "
            f"the most is {min(a, b):g} mm"
        )
    if radius == 0:
        return _rectangle(size)
    steps = flatten.arc_steps(radius, math.pi / 2)
    turn = np.linspace(0, math.pi / 2, steps + 1)
    corner = radius * unit_vectors(turn) + (a - radius, b - radius)
    corner[0, 0], corner[-1, 1] = a, b
    return _four_quarters(corner)


def _ellipse(size: Size) -> Array:
    a, b = size.half
    steps = flatten.arc_steps(max(a, b), math.pi / 2)
    turn = np.linspace(0, math.pi / 2, steps + 1)
    quarter = unit_vectors(turn) * (a, b)
    quarter[0], quarter[-1] = (a, 0), (0, b)
    return _four_quarters(quarter)


def _shield(size: Size) -> Array:
    a, b = size.half
    shoulder = 0.2 * b
    side = flatten.bezier([(a, shoulder), (a, -0.4 * b), (0.55 * a, -0.75 * b), (0.0, -b)])
    right = np.vstack([side[::-1], [(a, b)]])
    return np.vstack([right, (right * (-1, 1))[::-1][:-1]])


def _leaf(size: Size) -> Array:
    a, b = size.half
    # a cubic rises to 3/4 of the height of its inner control points
    upper = flatten.bezier([(a, 0.0), (a / 2, b * 4 / 3), (-a / 2, b * 4 / 3), (-a, 0.0)])
    middle = len(upper) // 2
    if len(upper) % 2:
        upper[middle] = (0.0, b)
    else:
        upper = np.insert(upper, middle, (0.0, b), axis=0)
    return np.vstack([upper[:-1], -upper[:-1]])


def _hexagon(size: Size) -> Array:
    a, b = size.half
    return np.array([(a, 0), (a / 2, b), (-a / 2, b), (-a, 0), (-a / 2, -b), (a / 2, -b)])


def _four_quarters(quarter: Array) -> Array:
    """Mirror the quarter from the right end to the top into a whole ring; shared points are kept once."""
    half = np.vstack([quarter, (quarter * (-1, 1))[::-1]])
    ring = np.vstack([half, -half])
    keep = np.abs(np.diff(ring, axis=0, append=ring[:1])).max(axis=1) > 0
    return np.asarray(ring[keep])


#: Every face shape by its name in the job ticket.
SHAPES: Mapping[str, ShapeMaker] = MappingProxyType(
    {
        "rectangle": _rectangle,
        "rounded": _rounded,
        "ellipse": _ellipse,
        "circle": _ellipse,
        "shield": _shield,
        "leaf": _leaf,
        "hexagon": _hexagon,
    }
)


def outline(shape: str, width: float, height: float, radius: float | None = None) -> Region:
    """Make the outline of a named shape, `width` x `height` mm exactly, centred on the origin.

    `radius` (mm) rounds the corners of `rounded`; raises FaceError where it is too large for them.

    >>> outline("rectangle", 60, 40).bounds
    (-30.0, -20.0, 30.0, 20.0)
    """
    return from_ring(SHAPES[shape](Size(width, height, radius)))
