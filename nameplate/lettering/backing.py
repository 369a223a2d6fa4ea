"""Backing: the second layer under a lettering, its contour grown and smoothed."""

from __future__ import annotations

from nameplate import tolerances
from nameplate.geometry import region as geo
from nameplate.geometry.measure import without_dust, without_pinholes
from nameplate.geometry.region import Region
from nameplate.geometry.simplify import simplified

#: Inner corners of a backing's edge get this many times the radius by which it is grown: that is what its outer corners
#: have at least. Less leaves scallops along the feet of letters that a hand would file away, more hides their forms.
SOFT = 3.0

#: Corners of holes, and those where the edge meets the end of its room, are rounded with this radius (mm).
ROUND = 1.0


def backing(
    lettering: Region, *, grow: float, fill_holes_under: float = 0.0, room: Region | None = None, soft: float = SOFT
) -> Region:
    """Grow a lettering by `grow` mm all round and smooth its edge; fill holes narrower than `fill_holes_under` mm.

    Inner corners of the edge get the radius `soft` times `grow`, as far as that stays in the `room`, and those of holes
    ROUND. What is narrow of a hole is filled as a narrow hole is.

    Area of a convex lettering A with perimeter P: A + P grow + pi grow^2 (Steiner 1840).

    >>> round(backing(geo.rectangle(0, 0, 10, 10), grow=1).area, 1)
    143.1
    >>> backing(geo.EMPTY, grow=1).is_empty
    True
    """
    if lettering.is_empty:
        return geo.EMPTY
    grown = geo.offset(lettering, grow)
    edge = geo.closed(geo.filled(grown), max(soft * grow, ROUND))
    if room is not None and not geo.covers(room, edge):
        edge = geo.closed(geo.union(geo.filled(grown), geo.opened(geo.intersection(edge, room), ROUND)), ROUND)
    holes = geo.opened(geo.intersection(geo.holes(grown), edge), max(ROUND, fill_holes_under / 2))
    whole = without_pinholes(geo.difference(edge, holes), fill_holes_under)
    return without_dust(simplified(whole, tolerances.ARC))
