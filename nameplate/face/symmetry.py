"""How far a face is from being its own mirror image, and rebuilding it from one half.

The axis is upright, through the origin, which is the centre of the outline's box.
"""

from __future__ import annotations

from nameplate.errors import FaceError
from nameplate.geometry import region
from nameplate.geometry.region import Region
from nameplate.geometry.simplify import cleaned


def asymmetry(outline: Region) -> float:
    """Give the largest distance in mm between a boundary and its mirror image.

    >>> asymmetry(region.rectangle(-2, 0, 2, 1))
    0.0
    >>> asymmetry(region.EMPTY)
    0.0
    """
    return region.hausdorff(outline, region.mirrored(outline))


def rebuilt(shape: Region, side: str) -> Region:
    """Make a region symmetric: keep its left or right half and mirror that.

    >>> rebuilt(region.rectangle(-1, 0, 2, 1), "right").bounds
    (-2.0, 0.0, 2.0, 1.0)
    >>> rebuilt(region.EMPTY, "left").is_empty
    True
    """
    if shape.is_empty:
        return shape
    box = region.bounds(shape)
    far = 1 + max(abs(box.x0), abs(box.x1))
    x0, x1 = (-far, 0.0) if side == "left" else (0.0, far)
    half = region.intersection(shape, region.rectangle(x0, box.y0 - 1, x1, box.y1 + 1))
    return cleaned(region.union(half, region.mirrored(half)))


def rebuilt_outline(outline: Region, side: str) -> Region:
    """Rebuild an outline from one half; raises FaceError when that leaves no single piece."""
    whole = rebuilt(outline, side)
    if len(region.solids(whole)) != 1:
        raise FaceError(
            f'symmetry = "{side}" leaves {len(region.solids(whole))} pieces instead of one outline; '
            "the drawing's middle must lie inside it"
        )
    return region.filled(whole)
