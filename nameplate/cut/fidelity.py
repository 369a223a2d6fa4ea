"""Whether what a beam leaves of a part is the part: near enough to its nominal shape, as far as a beam can follow.

Where the kerf is wider than a crevice of the nominal shape, the beam goes in as far as its round fits (the shape closed
by half a kerf), or it cuts straight past the crevice's corners (the same with square joins). Both are right.
"""

from __future__ import annotations

from collections.abc import Iterator

from nameplate.geometry import region
from nameplate.geometry.compare import Deviation, agree, deviation
from nameplate.geometry.region import Region


def comes_out(burned: Region, nominal: Region, kerf: float, within: float) -> bool:
    """Tell whether a burned part is within `within` mm (Hausdorff) of what a beam of this kerf can make of it.

    >>> square = region.rectangle(0, 0, 9, 9)
    >>> comes_out(square, square, 0.2, 0.03), comes_out(region.offset(square, 0.1), square, 0.2, 0.03)
    (True, False)
    """
    return any(agree(burned, shape, within) for shape in _followable(nominal, kerf))


def farthest_off(burned: Region, nominal: Region, kerf: float) -> Deviation:
    """Give the least of the deviations from what a beam can make of the nominal shape; neither may be empty."""
    return min(deviation(burned, shape) for shape in _followable(nominal, kerf))


def _followable(nominal: Region, kerf: float) -> Iterator[Region]:
    yield nominal
    if kerf > 0:
        yield region.closed(nominal, kerf / 2)
        yield region.offset(region.offset(nominal, kerf / 2, join="mitre"), -kerf / 2)
