"""Marking: a name scored into a plate instead of cut out: its outline, or hatch lines that fill it."""

from __future__ import annotations

import math

import numpy as np

from nameplate.errors import GeometryError
from nameplate.geometry import region as geo
from nameplate.geometry.measure import section
from nameplate.geometry.region import Array, Region

#: Hatch lines and rings shorter than this (mm) are left out: less than a quarter of the narrowest beam, they mark
#: nothing that the lines beside them do not, and a file rounds the shortest to a point.
LEAST_LINE = 0.02

#: Most rows of hatch lines in one name: a name 400 mm wide at 0.05 mm has 6,000. Each takes time to find and to burn.
MOST_ROWS = 10_000


def outline(region: Region) -> tuple[Array, ...]:
    """Give the rings of a region as closed polylines (the first point repeated at the end), each an (n, 2) array.

    Rings that are smaller than LEAST_LINE both ways are left out.

    >>> [len(line) for line in outline(geo.rectangle(0, 0, 2, 1))]
    [5]
    """
    return tuple(line for line in geo.closed_lines(region) if np.ptp(line, axis=0).max() >= LEAST_LINE)


def hatch(region: Region, spacing: float, angle: float = 45.0) -> tuple[Array, ...]:
    """Fill a region with parallel lines `spacing` mm apart, `angle` degrees counter-clockwise from the x axis.

    Gives (2, 2) polylines in the order of burning: row by row, every other row backwards, so that the way between two
    lines is short. The rows lie on multiples of the spacing: two regions hatched alike match. Raises GeometryError when
    the spacing is not a positive number, or so small that it takes more than MOST_ROWS rows.

    >>> len(hatch(geo.rectangle(0.1, 0.1, 9.9, 0.9), 1.0, 90))
    9
    >>> hatch(geo.EMPTY, 1.0)
    ()
    """
    if not (math.isfinite(spacing) and spacing > 0):
        raise GeometryError(f"hatch lines cannot be {spacing} mm apart")
    if region.is_empty:
        return ()
    upright = geo.moved(region, turn=90 - angle)
    box = geo.bounds(upright)
    rows = (box.x1 - box.x0) / spacing
    if rows > MOST_ROWS:
        raise GeometryError(
            f"hatch lines {spacing:g} mm apart fill this name with {rows:.0f} rows, and {MOST_ROWS} are the most; set "
            f'lettering.hatch to {math.ceil(rows * spacing / MOST_ROWS * 100) / 100:g} mm or more, or mark = "outline"'
        )
    lines = []
    for number, row in enumerate(range(math.ceil(box.x0 / spacing), math.floor(box.x1 / spacing) + 1)):
        stretches = section(upright, row * spacing)
        stretches = stretches[np.abs(stretches[:, 1] - stretches[:, 0]) >= LEAST_LINE]
        for y0, y1 in stretches if number % 2 == 0 else stretches[::-1, ::-1]:
            lines.append(((row * spacing, y0), (row * spacing, y1)))
    back = math.radians(angle - 90)
    turn = np.array([[math.cos(back), math.sin(back)], [-math.sin(back), math.cos(back)]])
    return tuple(np.asarray(line) @ turn for line in lines)
