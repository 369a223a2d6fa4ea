"""Nearest places on the boundary of a region, for many points at once."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from nameplate.geometry.region import Array, Shape


class Boundary:
    """The boundary of a region, prepared for many questions."""

    def __init__(self, shape: Shape) -> None:
        self._shape = shape
        self._lines = shape.boundary
        shapely.prepare(self._shape)
        shapely.prepare(self._lines)

    def feet(self, places: Array) -> Array:
        """Give the nearest point of the boundary for each of (n, 2) places.

        >>> from nameplate.geometry.region import rectangle
        >>> Boundary(rectangle(0, 0, 4, 4)).feet(np.array([(1.0, 2.0), (9.0, 4.0)])).tolist()
        [[0.0, 2.0], [4.0, 4.0]]
        """
        lines = shapely.shortest_line(shapely.points(places), self._lines)
        found: Array = shapely.get_coordinates(lines).reshape(-1, 2, 2)[:, 1]
        return found

    def inside(self, places: Array) -> npt.NDArray[np.bool_]:
        """Tell for each of (n, 2) places whether it lies inside the region."""
        found: npt.NDArray[np.bool_] = shapely.contains_xy(self._shape, places[:, 0], places[:, 1])
        return found

    def depths(self, places: Array) -> Array:
        """Give how deep each of (n, 2) places lies inside the region, in mm; negative outside.

        >>> from nameplate.geometry.region import rectangle
        >>> Boundary(rectangle(0, 0, 4, 4)).depths(np.array([(1.0, 2.0), (9.0, 4.0)])).tolist()
        [1.0, -5.0]
        """
        far: Array = shapely.distance(shapely.points(places), self._lines)
        return np.where(self.inside(places), far, -far)
