"""Regions grown, shrunk and swept by an elliptical beam, whose axes lie along x and y.

Method: the narrower axis is stretched until the ellipse is a disc, the shape is grown by that, and stretched back. That
is exact: an affine map takes the sum of a shape and an ellipse to the sum of their images, and tangents to tangents,
so that mitres meet where they should. As the stretching is never below 1, no tolerance grows when it is undone.

Known limit: where a mitre is cut off is told by the stretched corner, not by the true one.

Known fault of the library below: in pockets narrower than twice the distance its mitred parallel can come out too near
to the shape, one way up and not another. Its parallels with round corners do not; where a vertex is found too near, the
two are joined.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import shapely

from nameplate import tolerances
from nameplate.geometry import region as rg
from nameplate.geometry.acute_tips import MITRE_LIMIT
from nameplate.geometry.beam import Kerf, Strip
from nameplate.geometry.compare import strips
from nameplate.geometry.nearby import line_within, points_within
from nameplate.geometry.region import Array, Region, Shape
from nameplate.geometry.simplify import cleaned


def beam_grown(shape: Shape, kerf: Kerf) -> Region:
    """Give where the beam's middle runs round a part, as the outlines of a region: half a strip outside of it.

    Corners are kept square. Outer outlines are grown by the strip of outside cuts, holes shrunk by that of inside cuts.

    >>> rg.bounds(beam_grown(rg.rectangle(0, 0, 4, 4), Kerf(Strip(0.2, 0.2), Strip(2, 1))))
    Box(x0=-1.0, y0=-0.5, x1=5.0, y1=4.5)
    """
    if kerf.is_even:
        return _grown(shape, kerf.outside)
    return rg.union(*(_unevenly_grown(solid, kerf) for solid in rg.solids(shape) if not solid.is_empty))


def _unevenly_grown(solid: rg.Solid, kerf: Kerf) -> Region:
    open_still = rg.intersection(rg.holes(_grown(solid, kerf.inside)), rg.holes(solid))
    return rg.difference(_grown(rg.filled(solid), kerf.outside), open_still)


def beam_shrunk(shape: Shape, kerf: Kerf) -> Region:
    """Give what is left of a shape that is cut along its edges: half a strip less all round.

    It undoes `beam_grown`, but for crevices that this has closed.

    >>> frame = rg.difference(rg.rectangle(0, 0, 9, 9), rg.rectangle(3, 3, 6, 6))
    >>> rg.bounds(beam_shrunk(frame, Kerf(Strip(0, 0), Strip(2, 1))))
    Box(x0=1.0, y0=0.5, x1=8.0, y1=8.5)
    """
    if kerf.is_even:
        return _shrunk(shape, kerf.outside)
    return rg.union(*(_unevenly_shrunk(solid, kerf) for solid in rg.solids(shape) if not solid.is_empty))


def _unevenly_shrunk(solid: rg.Solid, kerf: Kerf) -> Region:
    return rg.difference(_shrunk(rg.filled(solid), kerf.outside), _widened(rg.holes(solid), kerf.inside, rg.offset))


def beam_strips(lines: Sequence[Array], strip: Strip) -> tuple[Region, ...]:
    """Give what the beam burns along each (n, 2) polyline; nothing for a width of 0."""
    if strip.is_round:
        return strips(lines, strip.x)
    by = _stretch(strip)
    return tuple(_stretched(swept, 1 / by) for swept in strips([line * by for line in lines], strip.widest))


def _grown(shape: Shape, strip: Strip) -> Region:
    return _widened(shape, strip, squarely_grown)


def _shrunk(shape: Shape, strip: Strip) -> Region:
    return _widened(shape, strip, lambda stretched, half: rg.offset(stretched, -half))


def _widened(shape: Shape, strip: Strip, grow: Callable[[Shape, float], Region]) -> Region:
    """Grow a shape by half a strip where that is round, else where it is stretched until it is."""
    if strip.is_round:
        return grow(shape, strip.x / 2)
    by = _stretch(strip)
    return _stretched(grow(_stretched(shape, by), strip.widest / 2), 1 / by)


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


def _stretch(strip: Strip) -> Array:
    """Give by how much (2,) x and y are to be stretched, none less than 1."""
    return np.array([strip.widest / strip.x, strip.widest / strip.y])


def _stretched(shape: Shape, by: Array) -> Region:
    return rg.as_region(shapely.transform(shape, lambda corners: corners * by))
