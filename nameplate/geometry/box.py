"""Upright boxes, and the box about several; no library is needed for them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple


class Box(NamedTuple):
    """An upright rectangle."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        """Size along x."""
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        """Size along y."""
        return self.y1 - self.y0

    @property
    def centre(self) -> tuple[float, float]:
        """The middle point."""
        return (self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2

    def grown(self, reach: float, up: float | None = None) -> Box:
        """Give the box with its sides so much farther out, the lower and the upper one by ``up`` where that is said."""
        rise = reach if up is None else up
        return Box(self.x0 - reach, self.y0 - rise, self.x1 + reach, self.y1 + rise)

    def moved(self, dx: float, dy: float) -> Box:
        """Give the box so much farther to the right and up."""
        return Box(self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy)

    def common(self, other: Box) -> Box:
        """Give what two boxes share; where that is nothing, its width or height is not above 0."""
        return Box(max(self.x0, other.x0), max(self.y0, other.y0), min(self.x1, other.x1), min(self.y1, other.y1))

    def meets(self, other: Box) -> bool:
        """Tell whether two boxes share more than an edge.

        >>> Box(0, 0, 2, 2).meets(Box(1, 1, 3, 3)), Box(0, 0, 2, 2).meets(Box(2, 0, 3, 2))
        (True, False)
        """
        shared = self.common(other)
        return shared.x0 < shared.x1 and shared.y0 < shared.y1

    def holds(self, x: float, y: float) -> bool:
        """Tell whether a place is inside, and not on an edge."""
        return self.x0 < x < self.x1 and self.y0 < y < self.y1


def around(boxes: Iterable[Box]) -> Box:
    """Give the box about some boxes, at least one.

    >>> around([Box(0, 0, 1, 1), Box(2, -1, 3, 0)])
    Box(x0=0, y0=-1, x1=3, y1=1)
    """
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return Box(min(x0), min(y0), max(x1), max(y1))
