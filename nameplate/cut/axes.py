"""Where a machine counts its millimetres from, and which way: the numbers of forms that have no rule for it, as a DXF.

An SVG and a PDF have their own rules and are the same for every machine.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nameplate.geometry.region import Array
from nameplate.ticket.workshop_schema import MachineKeys


@dataclass(frozen=True, slots=True)
class Axes:
    """A machine's zero, a corner of the sheet like "top-left", and whether its x grows to the `left`, its y `down`.

    Where just one of these is so, its numbers drawn with x to the right and y up show the sheet mirrored; the machine,
    which counts that way, does not.
    """

    origin: str = "bottom-left"
    left: bool = False
    down: bool = False

    @classmethod
    def of(cls, machine: MachineKeys) -> Axes:
        """Take them from a ticket; an axis that it does not give grows into the sheet.

        >>> Axes.of(MachineKeys(origin="top-right"))
        Axes(origin='top-right', left=True, down=True)
        """
        left = machine.origin.endswith("right") if machine.x_axis is None else machine.x_axis == "left"
        down = machine.origin.startswith("top") if machine.y_axis is None else machine.y_axis == "down"
        return cls(machine.origin, left, down)

    def corner(self, width: float, height: float) -> tuple[float, float]:
        """Give the machine's zero on a sheet of this size (mm), from its lower left corner.

        >>> Axes("top-right").corner(600, 300), Axes().corner(600, 300)
        ((600, 300), (0.0, 0.0))
        """
        return (width if self.origin.endswith("right") else 0.0, height if self.origin.startswith("top") else 0.0)

    def counted(self, points: Array, width: float, height: float) -> Array:
        """Give points (n, 2) of a sheet, from its lower left corner, as the machine counts them.

        >>> Axes("top-left", down=True).counted(np.array([(10.0, 290.0)]), 600, 300).tolist()
        [[10.0, 10.0]]
        """
        return (points - self.corner(width, height)) * self._signs + 0.0  # 0.0 in place of -0.0

    def on_sheet(self, counted: Array, width: float, height: float) -> Array:
        """Undo `counted`."""
        return counted * self._signs + self.corner(width, height)

    @property
    def _signs(self) -> Array:
        return np.array([-1.0 if self.left else 1.0, -1.0 if self.down else 1.0])


#: Counted from the lower left corner, x to the right and y up: where a ticket says nothing.
BOTTOM_LEFT = Axes()
