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

    def grown(self, reach: float) -> Box:
        """Give the box with its sides so much farther out."""
        return Box(self.x0 - reach, self.y0 - reach, self.x1 + reach, self.y1 + reach)


def around(boxes: Iterable[Box]) -> Box:
    """Give the box about some boxes, at least one.

    >>> around([Box(0, 0, 1, 1), Box(2, -1, 3, 0)])
    Box(x0=0, y0=-1, x1=3, y1=1)
    """
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return Box(min(x0), min(y0), max(x1), max(y1))
