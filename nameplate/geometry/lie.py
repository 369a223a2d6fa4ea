"""How something flat lies on a sheet, and what of it lies where: regions and lines, there and back."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nameplate.geometry.region import Array, Region, mirrored, moved


@dataclass(frozen=True, slots=True)
class Lie:
    """Turned `over` first, left for right about the y axis; then turned counter-clockwise by `turn` degrees about the
    origin; then shifted by (x, y) mm."""

    x: float = 0.0
    y: float = 0.0
    turn: float = 0.0
    over: bool = False

    def region(self, shape: Region) -> Region:
        """Give a region where it lies."""
        return moved(mirrored(shape) if self.over else shape, self.x, self.y, turn=self.turn)

    def region_back(self, shape: Region) -> Region:
        """Give a region that lies so as it is by itself.

        >>> from nameplate.geometry.region import bounds, rectangle
        >>> lie = Lie(5, 0, 90, over=True)
        >>> tuple(bounds(lie.region(rectangle(0, 0, 3, 1)))), tuple(bounds(lie.region_back(rectangle(4, -3, 5, 0))))
        ((4.0, -3.0, 5.0, 0.0), (0.0, 0.0, 3.0, 1.0))
        """
        back = moved(moved(shape, -self.x, -self.y), turn=-self.turn)
        return mirrored(back) if self.over else back

    def lines(self, lines: Sequence[Array]) -> tuple[Array, ...]:
        """Give polylines (n, 2) where they lie; single points are left out."""
        return tuple((line * self._sides) @ _rotation(self.turn) + (self.x, self.y) for line in _whole(lines))

    def lines_back(self, lines: Sequence[Array]) -> tuple[Array, ...]:
        """Give polylines (n, 2) that lie so as they are by themselves; single points are left out."""
        return tuple(((line - (self.x, self.y)) @ _rotation(-self.turn)) * self._sides for line in _whole(lines))

    @property
    def _sides(self) -> tuple[float, float]:
        return (-1.0 if self.over else 1.0, 1.0)


#: As it is by itself.
UNMOVED = Lie()


def _whole(lines: Sequence[Array]) -> list[Array]:
    return [np.asarray(line, dtype=float) for line in lines if len(line) > 1]


def _rotation(turn: float) -> Array:
    angle = math.radians(turn % 360)
    c, s = round(math.cos(angle), 15), round(math.sin(angle), 15)
    return np.array([[c, s], [-s, c]])
