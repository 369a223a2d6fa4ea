"""Segments of a path: Bezier curves (lines too) and elliptic arcs, as points of the complex plane.

Arcs come as SVG writes them, between end points, and are kept by their centre; the conversion is that of SVG 2,
appendix B.2 (implementation notes).
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from typing import TypeAlias


@dataclass(frozen=True, slots=True)
class Bezier:
    """A curve by its two, three or four control points; a line has two."""

    controls: tuple[complex, ...]

    @property
    def start(self) -> complex:
        """Where it begins."""
        return self.controls[0]

    @property
    def end(self) -> complex:
        """Where it ends."""
        return self.controls[-1]


@dataclass(frozen=True, slots=True)
class Arc:
    """A piece of an ellipse: half-axes along and across `tilt` (radians), from angle `theta` on for `delta` (radians).

    Angles are the ellipse's own, before it is tilted and stretched from a circle.
    """

    start: complex
    end: complex
    centre: complex
    radii: tuple[float, float]
    tilt: float
    theta: float
    delta: float


Segment: TypeAlias = Bezier | Arc


def arc(start: complex, end: complex, radii: tuple[float, float], tilt: float, *, large: bool, positive: bool) -> Arc:
    """Make the arc that SVG writes as two end points, radii, tilt (degrees) and the flags `large` and `sweep`.

    The points must differ and the radii must not be 0. Radii too small to reach are made large enough, as SVG says.
    Raises OverflowError when the numbers are too large to find the centre.

    >>> half = arc(0j, 2 + 0j, (1.0, 1.0), 0.0, large=False, positive=True)
    >>> half.centre, half.theta == math.pi, half.delta == math.pi
    ((1+0j), True, True)
    """
    angle = math.radians(tilt)
    half = (start - end) / 2 * cmath.exp(-1j * angle)
    rx, ry = abs(radii[0]), abs(radii[1])
    # on the circle of radius 1 that the ellipse is stretched from
    x, y = half.real / rx, half.imag / ry
    reach = math.hypot(x, y)
    grow = max(1.0, reach)
    rx, ry, x, y = rx * grow, ry * grow, x / grow, y / grow
    aside = math.sqrt(max(0.0, 1 - min(reach, 1.0) ** 2)) / min(reach, 1.0)
    if large == positive:
        aside = -aside
    cx, cy = aside * y, -aside * x
    theta = math.atan2(y - cy, x - cx)
    delta = math.atan2(-y - cy, -x - cx) - theta
    if positive and delta <= 0:
        delta += 2 * math.pi
    elif not positive and delta >= 0:
        delta -= 2 * math.pi
    centre = complex(cx * rx, cy * ry) * cmath.exp(1j * angle) + (start + end) / 2
    if not cmath.isfinite(centre):
        raise OverflowError("an arc with numbers too large to be drawn")
    return Arc(start, end, centre, (rx, ry), angle, theta, delta)
