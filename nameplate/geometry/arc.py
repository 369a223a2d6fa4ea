"""The circle that letters stand on, and shapes on it seen as if they stood at its top or bottom.

Terms. A letter that stands on an *arc* is turned so that its foot is on the circle and its up points away from the
centre, or, where the radius is negative and the circle bows the other way, towards it. The *apex* is where a letter
stands upright: the top of the circle, or its bottom.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from nameplate.geometry.region import Array, Region, Shape, as_region, moved

#: Longest straight piece of an outline before it is bent, as a share of the radius: its middle is then off the true
#: line by 1/20,000 of the radius, 0.005 mm at 100 mm. Shorter ones only make more points.
BENT_STEP = 0.02


@dataclass(frozen=True, slots=True)
class Arc:
    """A circle to stand on: its centre at (x, y), and its radius, under 0 where letters stand inside its bottom."""

    x: float
    y: float
    radius: float

    def scaled(self, scale: float, dx: float = 0.0, dy: float = 0.0) -> Arc:
        """Give it larger about the origin, and then shifted.

        >>> Arc(0, -3, 3).scaled(10, 1, 2)
        Arc(x=1, y=-28, radius=30)
        """
        return Arc(self.x * scale + dx, self.y * scale + dy, self.radius * scale)

    def turn_at(self, x: float, y: float) -> float:
        """Give how far (degrees, counter-clockwise) a letter at a point is turned.

        >>> [round(Arc(0, 0, r).turn_at(3, y)) for r, y in ((5, 3), (-5, -3))]
        [-45, 45]
        """
        way = math.copysign(1.0, self.radius)
        return math.degrees(math.atan2(way * (self.x - x), way * (y - self.y)))

    def turned(self, shape: Shape, turn: float) -> Region:
        """Turn a shape about the centre by degrees, counter-clockwise."""
        return moved(moved(shape, -self.x, -self.y), self.x, self.y, turn=turn)

    def turned_point(self, point: tuple[float, float], turn: float) -> tuple[float, float]:
        """Turn a point about the centre by degrees, counter-clockwise."""
        angle, (x, y) = math.radians(turn), (point[0] - self.x, point[1] - self.y)
        c, s = math.cos(angle), math.sin(angle)
        return self.x + c * x - s * y, self.y + s * x + c * y

    def point(self, angle: float) -> tuple[float, float]:
        """Give the point of the line where letters are turned clockwise by so many radians."""
        return self.x + self.radius * math.sin(angle), self.y + self.radius * math.cos(angle)

    def unrolled(self, points: Array) -> Array:
        """Give points as they would lie were the circle straight, its apex where it is: (n, 2) arrays.

        >>> Arc(0, -9, 9).unrolled(np.array([(0.0, 0.0), (11.0, -9.0)])).round(2).tolist()
        [[0.0, 0.0], [14.14, 2.0]]
        """
        way = math.copysign(1.0, self.radius)
        x, y = way * (points - (self.x, self.y)).T
        out = np.hypot(x, y)
        return np.column_stack(
            (self.x + self.radius * np.arctan2(x, y), self.y + self.radius + way * (out - way * self.radius))
        )

    def bent(self, shape: Shape, xs: Array, angles: Array) -> Region:
        """Bend a shape that lies along y = 0 round the circle: what is at one of `xs` comes to its angle (radians)."""

        def lay(corners: Array) -> Array:
            angle, out = np.interp(corners[:, 0], xs, angles), self.radius + corners[:, 1]
            return np.column_stack((self.x + out * np.sin(angle), self.y + out * np.cos(angle)))

        fine = shapely.segmentize(shape, BENT_STEP * abs(self.radius))
        return as_region(shapely.transform(fine, lay))
