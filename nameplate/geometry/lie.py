"""How something flat lies on a sheet, and what of it lies where: regions and lines, there and back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nameplate.geometry.region import Array, Region, mirrored, moved, rotation


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
        """Undo `region`: give a region of the sheet in the coordinates of what lies there.

        >>> from nameplate.geometry.region import bounds, rectangle
        >>> lie = Lie(5, 0, 90, over=True)
        >>> tuple(bounds(lie.region(rectangle(0, 0, 3, 1)))), tuple(bounds(lie.region_back(rectangle(4, -3, 5, 0))))
        ((4.0, -3.0, 5.0, 0.0), (0.0, 0.0, 3.0, 1.0))
        """
        back = moved(moved(shape, -self.x, -self.y), turn=-self.turn)
        return mirrored(back) if self.over else back

    def lines(self, lines: Sequence[Array]) -> tuple[Array, ...]:
        """Give polylines (n, 2) where they lie; single points are left out."""
        return tuple(map(self.points, _whole(lines)))

    def points(self, places: Array) -> Array:
        """Give points (n, 2) where they lie."""
        return (places * self._sides) @ rotation(self.turn) + (self.x, self.y)

    def lines_back(self, lines: Sequence[Array]) -> tuple[Array, ...]:
        """Undo `lines`: give polylines (n, 2) of the sheet in the coordinates of what lies there."""
        return tuple(((line - (self.x, self.y)) @ rotation(-self.turn)) * self._sides for line in _whole(lines))

    @property
    def _sides(self) -> tuple[float, float]:
        return (-1.0 if self.over else 1.0, 1.0)


#: What lies on the sheet as it was drawn.
UNMOVED = Lie()


def _whole(lines: Sequence[Array]) -> list[Array]:
    return [np.asarray(line, dtype=float) for line in lines if len(line) > 1]
