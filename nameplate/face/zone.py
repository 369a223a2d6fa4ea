"""Where lettering may lie on a face."""

from __future__ import annotations

from nameplate.geometry import region
from nameplate.geometry.region import EMPTY, Region

#: Pieces of a zone under this area (mm2) hold no letter worth cutting.
LEAST_PIECE = 25.0


def lettering_zone(outline: Region, keep_outs: Region, *, inset: float, drawn: Region | None = None) -> Region:
    """Give the zone of a face: `inset` mm inside its outline and away from its keep-outs.

    A `drawn` zone takes the place of that distance and is only cut to the face. The result is empty when nothing of at
    least `LEAST_PIECE` mm2 is left.

    >>> lettering_zone(region.rectangle(0, 0, 40, 30), EMPTY, inset=5).bounds
    (5.0, 5.0, 35.0, 25.0)
    >>> lettering_zone(EMPTY, EMPTY, inset=5).is_empty
    True
    """
    if drawn is not None:
        zone = region.difference(region.intersection(drawn, outline), keep_outs)
    else:
        zone = region.difference(region.offset(outline, -inset), region.offset(keep_outs, inset))
    kept = [s for s in region.solids(zone) if s.area >= LEAST_PIECE]
    return region.union(*kept) if kept else EMPTY
