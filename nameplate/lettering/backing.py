"""Backing: the second layer under a lettering, its contour grown."""

from __future__ import annotations

from nameplate import tolerances
from nameplate.geometry import region as geo
from nameplate.geometry.measure import without_dust, without_pinholes
from nameplate.geometry.region import Region

#: Radius (mm) that inner corners of a backing get: a soft contour, as a brush would draw it.
SOFT = 1.0


def backing(lettering: Region, *, grow: float, fill_holes_under: float = 0.0, soft: float = SOFT) -> Region:
    """Grow a lettering by `grow` mm all round; fill the holes whose inscribed circle is under `fill_holes_under` mm.

    Inner corners get the radius `soft`. Area of a convex lettering A with perimeter P: A + P grow + pi grow^2
    (Steiner 1840).

    >>> round(backing(geo.rectangle(0, 0, 10, 10), grow=1).area, 1)
    143.1
    >>> backing(geo.EMPTY, grow=1).is_empty
    True
    """
    if lettering.is_empty:
        return geo.EMPTY
    grown = geo.offset(geo.offset(lettering, grow + soft), -soft)
    return without_dust(geo.simplified(without_pinholes(grown, fill_holes_under), tolerances.ARC))
