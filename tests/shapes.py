"""Round shapes of many corners, for the tests of geometry: made without the package's own arcs."""

import numpy as np
from shapely.geometry import Point

from nameplate.geometry.region import as_region, from_ring


def disc(x, y, r, steps=32):
    """A disc with so many corners a quarter."""
    return as_region(Point(x, y).buffer(r, steps))


def ellipse(width, height, corners=360):
    turn = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    return from_ring(np.column_stack([width / 2 * np.cos(turn), height / 2 * np.sin(turn)]))
