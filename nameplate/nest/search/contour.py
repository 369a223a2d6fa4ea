"""What the strip solver gets to see of a part: one plain outline round it, with few points and nothing it cannot use.

The solver's time grows with the number of points, and most of those of a name lie in gaps between letters that no
other part can enter. So narrow gaps are closed. A part of several solids becomes one by thin links.
"""

from __future__ import annotations

from nameplate.geometry.collision_set import outward
from nameplate.geometry.nearby import nearest
from nameplate.geometry.region import (
    Array,
    Region,
    capsule,
    distance,
    filled,
    of_solids,
    offset,
    outer_rings,
    simplified,
    solids,
    union,
)

#: Extra growth (mm) of an outline beyond half the gap, which the simplified outline may use up. The solver slows with
#: the number of points; less growth needs more of them.
GROWTH = 0.15

#: Gaps narrower than twice this (mm) are closed: narrower than a stroke of a name with its own gap on both sides. More
#: leaves fewer points, but takes away room that a part could use. On two sets of 50 names strips came out 1 to 3 %
#: longer without it or with two thirds more, for the same time.
CLOSED = 3.0

#: How far (mm) outlines may move before they are grown, which makes that quicker.
FIRST = 0.02

#: Width (mm) of the links between the solids of a part.
LINK = 0.1


def contour(region: Region, gap: float) -> Array:
    """Give one ring, (n, 2), round a part: half of `gap` mm from it everywhere, or farther.

    >>> from nameplate.geometry.region import from_ring, bounds, rectangle
    >>> two = union(rectangle(0, 0, 10, 5), rectangle(30, 0, 40, 5))
    >>> box = bounds(from_ring(contour(two, 2.0)))
    >>> box.width > 42 and box.height > 7
    True
    """
    one = linked(simplified(filled(region), FIRST))
    grown = offset(outward(one, gap / 2 + GROWTH + CLOSED, FIRST), -CLOSED)
    rings = outer_rings(simplified(filled(grown), GROWTH - FIRST))
    return max(rings, key=len)


def linked(region: Region) -> Region:
    """Join the solids of a region by thin links, each to the nearest that is joined already.

    >>> from nameplate.geometry.region import rectangle
    >>> len(solids(linked(union(rectangle(0, 0, 1, 1), rectangle(3, 0, 4, 1), rectangle(6, 0, 7, 1)))))
    1
    """
    first, *loose = sorted(solids(region), key=lambda solid: -solid.area)
    joined, links = of_solids([first]), []
    while loose:
        near = min(range(len(loose)), key=lambda n: distance(joined, loose[n]))
        solid = loose.pop(near)
        links.append(capsule(nearest(joined, solid), LINK))
        joined = union(joined, solid)
    return union(joined, *links) if links else region
