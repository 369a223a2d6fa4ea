"""Whether a shape lies in the room that is left for it: one rule for placing parts, checking a layout and inspecting.

Rule: a shape lies in a room when no point of it is outside the room grown by `PLAY`, with mitred corners. Who knows the
shape less well says so: a slimmed outline that may be `slack` mm off must lie that much further in, and what was burned
may reach `beyond` by what burning may change. So whatever is placed by this rule passes the check, and whatever passes
the check passes the inspection.
"""

from __future__ import annotations

import numpy as np
import shapely

from nameplate.geometry.region import Region, Shape, difference, offset, points

#: How far (mm) a shape may reach out of its room: the rounding of its place to four decimals, and of the room's arcs.
PLAY = 0.001

#: Of this (mm) a placed shape takes no advantage: rounding its turn moves it by so much ten metres from the origin.
TURNING = 2e-5


class Room:
    """A region in which shapes may lie."""

    def __init__(self, shape: Region) -> None:
        self.shape = shape
        self._grown: dict[float, Region] = {}

    def holds(self, shape: Shape, *, slack: float = 0.0, beyond: float = 0.0) -> bool:
        """Tell whether a shape lies inside.

        It may lie `slack` mm off what is true, if that is not 0, or reach `beyond` mm further out.

        >>> from nameplate.geometry.region import EMPTY, rectangle
        >>> room = Room(rectangle(0, 0, 10, 10))
        >>> room.holds(rectangle(0, 0, 10, 10)), room.holds(rectangle(0, 0, 10.01, 10)), Room(EMPTY).holds(room.shape)
        (True, False, False)
        """
        reach = PLAY + beyond - slack
        if reach not in self._grown:
            self._grown[reach] = offset(self.shape, reach, join="mitre")
            shapely.prepare(self._grown[reach])
        return bool(shapely.covers(self._grown[reach], shape))

    def outside(self, shape: Shape) -> float:
        """Give how far (mm) the corners of a shape reach out of the room, 0 when they do not; infinite without room."""
        if self.shape.is_empty:
            return float("inf")
        out = difference(shape, self.shape)
        return float(np.max(shapely.distance(self.shape, shapely.points(points(out))), initial=0.0))
