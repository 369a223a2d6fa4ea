"""Outlines let out with square corners.

Known fault of the library below: in pockets narrower than twice the distance its mitred parallel can come out too near
to the shape, one way up and not another. Its parallels with round corners do not; where a vertex is found too near, the
two are joined.
"""

from __future__ import annotations

from nameplate import tolerances
from nameplate.geometry import region as rg
from nameplate.geometry.acute_tips import MITRE_LIMIT
from nameplate.geometry.nearby import line_within, points_within
from nameplate.geometry.region import Region, Shape
from nameplate.geometry.simplify import cleaned


def squarely_grown(shape: Shape, distance: float) -> Region:
    """Grow a region by `distance` mm (at least 0) and keep its corners square, but for the acute tips'.

    No point of the new outline is nearer to the shape than `distance`, less what the facets of arcs cost.

    >>> squarely_grown(rg.rectangle(0, 0, 2, 2), 1).area
    16.0
    """
    grown = rg.offset(shape, distance, join="mitre", mitre_limit=MITRE_LIMIT)
    short = max(distance - 2 * tolerances.ARC, 0.0)
    if not short or not line_within(shape, grown, short) or not points_within(shape, rg.points(grown), short).any():
        return grown
    return cleaned(rg.union(grown, rg.offset(shape, distance)))
