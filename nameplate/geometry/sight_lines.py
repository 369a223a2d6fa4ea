"""Sight lines between outlines: from a point of one straight to a point of another, with no outline in between.

Method. Each direction is a set of parallel rays, BIN apart. All points of the outlines are sorted along them, so that
those that follow one another on a ray and belong to different outlines see one another.

Known limit: what is thinner than the points are apart may lie between two of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin

import numpy as np
import shapely

from nameplate.geometry.region import Array, Indices, Solid

#: Points on outlines are at most so many mm apart...
STEP = 0.2

#: ... and rays are so wide: wider ones turn short sight lines off their direction, narrower ones miss outlines.
BIN = 0.3


def outline_points(solids: Sequence[Solid]) -> tuple[Array, Indices]:
    """Give the points of the outer outlines of solids, an (n, 2) array, and the position of the solid of each."""
    rings = shapely.segmentize([solid.exterior for solid in solids], STEP)
    points, owners = shapely.get_coordinates(rings, return_index=True)
    return points, owners


def sight_lines(points: Array, owners: Indices, leans: Sequence[float]) -> Indices:
    """Give the points of different owners that see one another, by their positions: an (n, 2) array, the lower first.

    The directions lean by so many degrees to the right of upright.

    >>> points, owners = np.array([(0, 0), (0, 1), (0, 4)]), np.array([0, 0, 1])
    >>> sight_lines(points, owners, [0.0]).tolist()
    [[1, 2]]
    """
    found = []
    for lean in leans:
        s, c = sin(radians(lean)), cos(radians(lean))
        rays, along = np.floor((points @ (c, -s)) / BIN), points @ (s, c)
        order = np.lexsort((along, rays))
        low, high = order[:-1], order[1:]
        seen = (rays[low] == rays[high]) & (owners[low] != owners[high])
        found.append(np.column_stack((low[seen], high[seen])))
    return np.concatenate(found) if found else np.empty((0, 2), dtype=int)
