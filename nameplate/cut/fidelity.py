"""Whether what a beam leaves of a part is the part: near enough to its nominal shape, as far as a beam can follow.

Terms: a crevice is what the beam, as wide as the kerf, cannot reach from outside the part, or its square corners cut
past; the filled shape is the nominal one with its crevices filled. Outside of crevices what is left must lie at the
nominal outline. In a crevice it may end anywhere between the nominal outline and the filled one: how far a beam comes
into a pocket of a tenth of a millimetre hangs on the last decimal of the numbers in the file.

Method: every vertex of one outline that is not near the other outline must have a crevice to excuse it. Crevices are
looked for with a beam wider by SLACK, so that one just as wide as the kerf is one however the part is turned. What is
asked therefore changes by no more than the outlines do: one that moves by a micrometre is judged as before, except
where it is a micrometre from the limit.
"""

from __future__ import annotations

import numpy as np

from nameplate import tolerances
from nameplate.geometry import region
from nameplate.geometry.acute_tips import MITRE_LIMIT
from nameplate.geometry.beam import Kerf
from nameplate.geometry.compare import Deviation, agree, strays
from nameplate.geometry.elliptic import beam_grown, beam_shrunk
from nameplate.geometry.nearby import contains_points, depths, distances, edge_distances
from nameplate.geometry.region import Array, Region

#: How much wider (mm) than the kerf a crevice may be to be one: a curve's tolerance on each side. Smaller, and what a
#: beam makes of crevices about as wide as the kerf is a matter of luck; larger, and the round in every square inner
#: corner may be larger by a fifth of it.
SLACK = 2 * tolerances.CURVE

#: Corners about each of which alone the shape is filled. With many the whole shape is no more work.
FEW = 12

_NOWHERE = Deviation(0.0, 0.0, 0.0)


def comes_out(burned: Region, nominal: Region, kerf: Kerf | float, within: float) -> bool:
    """Tell whether a burned part is within `within` mm of what a beam of this kerf can make of it; neither is empty.

    >>> square = region.rectangle(0, 0, 9, 9)
    >>> comes_out(square, square, 0.2, 0.03), comes_out(region.offset(square, 0.1), square, 0.2, 0.03)
    (True, False)
    """
    if agree(burned, nominal, within):
        return True
    return farthest_off(burned, nominal, kerf, beyond=within).distance <= within


def farthest_off(burned: Region, nominal: Region, kerf: Kerf | float, *, beyond: float = 0.0) -> Deviation:
    """Give the largest distance (mm) that no crevice excuses, and where it is; neither may be empty.

    Only corners farther than `beyond` mm from the other outline are looked at; where there are none the distance is 0.

    >>> notched = region.from_ring([(0, 0), (9, 0), (9, 9), (4.6, 9), (4.6, 8), (4.5, 8), (4.5, 9), (0, 9)])
    >>> square = region.rectangle(0, 0, 9, 9)
    >>> round(farthest_off(square, notched, 0.2).distance, 3), round(farthest_off(square, notched, 0.05).distance, 3)
    (0.0, 0.98)
    >>> farthest_off(square, square, 0.2) == Deviation(0.0, 0.0, 0.0)
    True
    """
    proud = strays(region.points(burned), nominal, beyond)
    lost = strays(region.points(nominal), burned, beyond)
    if not len(proud) + len(lost):
        return _NOWHERE
    kerf = Kerf.of(kerf)
    filled = _filled(_around(nominal, burned, np.concatenate([proud, lost]), kerf), kerf)
    return max(_least_proud(proud, nominal, filled), _least_lost(lost, burned, filled))


def _around(nominal: Region, burned: Region, corners: Array, kerf: Kerf) -> Region:
    """Give the nominal shape as far about a few corners as it matters to them how it is filled, else all of it.

    What matters of the filled shape is no farther from a corner than this is off; and how a place is filled is told by
    what is as near to it as mitres of half a beam reach, growing and shrinking.
    """
    if len(corners) > FEW:
        return nominal
    off = np.maximum(edge_distances(corners, nominal), edge_distances(corners, burned))
    boxes = np.column_stack([corners, off + MITRE_LIMIT * (kerf.widest + SLACK)]).tolist()
    about = (region.rectangle(x - reach, y - reach, x + reach, y + reach) for x, y, reach in boxes)
    return region.intersection(nominal, region.union(*about))


def _filled(nominal: Region, kerf: Kerf) -> Region:
    """Fill the crevices: where a wide beam's round does not come, and where it cuts past square corners."""
    if kerf.widest <= 0:
        return nominal
    wider = kerf.wider(SLACK)
    return beam_shrunk(beam_grown(nominal, wider), wider)


def _least_proud(corners: Array, nominal: Region, filled: Region) -> Deviation:
    """Give how far corners of the burned outline are inside the nominal shape, or outside of it and the filled one."""
    off = edge_distances(corners, nominal)
    return _worst(
        corners, np.where(contains_points(nominal, corners), off, np.minimum(off, distances(filled, corners)))
    )


def _least_lost(corners: Array, burned: Region, filled: Region) -> Deviation:
    """Give how far corners of the nominal outline are from the burned one, less their depth in a filled crevice."""
    off = edge_distances(corners, burned)
    if filled.is_empty:
        return _worst(corners, off)
    return _worst(corners, off - np.maximum(depths(filled, corners), 0.0))


def _worst(corners: Array, off: Array) -> Deviation:
    if not len(off):
        return _NOWHERE
    worst = int(np.argmax(off))
    return Deviation(max(float(off[worst]), 0.0), float(corners[worst, 0]), float(corners[worst, 1]))
