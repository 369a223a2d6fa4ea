"""How few sheets any nesting could need: proven lower bounds.

Area bound: parts at least `gap` apart do not overlap when each is grown by gap/2, and all of them lie in the sheet's
usable rectangle grown by gap/2; so sheets >= total grown area / that rectangle (Steiner's formula gives the grown
area of a convex part; here it is measured). Parts inside holes are covered too, since a grown part keeps its hole.

Big-part bound: parts that are, at every allowed turn, wider and higher than half the usable rectangle, and whose
boxes they fill so far that no two fit together, need a sheet each. It is claimed only for parts that contain the
centre of the sheet wherever they lie, which is what makes two of them collide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from nameplate.geometry.region import Region, bounds, difference, moved, offset, points, rectangle
from nameplate.geometry.simplify import simplified
from nameplate.nest.layout import Piece
from nameplate.system.shelf import Later, opened, stored


@dataclass(frozen=True, slots=True)
class Bound:
    """A proven lower bound.

    `sheets` is the whole number no nesting can go below; `density` the share of `sheets` whole sheets that the nominal
    parts cover, which no nesting can exceed.
    """

    sheets: int
    density: float


#: Sheets needed by area are counted less this, so that float noise does not make one more of a whole number.
NOISE = 1e-9

#: How much (mm) a part must reach beyond where the sheet's centre can be.
HAIR = 1e-9

#: Outlines are thinned out by this (mm) before they are grown. Larger is quicker, and weakens the bound by this times
#: the length of all outlines: 0.005 is 0.2 % of the area that script letters take for themselves.
THIN = 0.005


def area_bound(pieces: Sequence[Piece], width: float, height: float, gap: float, edge_margin: float) -> float:
    """Bound the number of sheets of one size by area, before it is rounded up to a whole number.

    >>> area_bound([], 600, 300, 1.5, 5)
    0.0
    """
    if pieces and min(width, height) <= 2 * edge_margin:
        raise ValueError(f"a {width:g} x {height:g} mm sheet has no room inside a margin of {edge_margin:g} mm")
    usable = (width - 2 * edge_margin + gap) * (height - 2 * edge_margin + gap)
    return sum((grown_area(stored(piece, "region"), gap) for piece in pieces), 0.0) / usable


@lru_cache(maxsize=4096)
def grown_area(held: Region | Later[Region], gap: float) -> float:
    """Give the area a part takes for itself when it keeps `gap` to the others: itself grown by half of it.

    The figure is never too large: the chords of a grown outline lie inside its arcs, and an outline with points left
    out, which is nowhere farther than `THIN` from the part, is grown by that much less. Of an outline that is laid away
    only the place is remembered.
    """
    region = opened(held)
    if gap <= 2 * THIN:
        return float(region.area)
    thin = simplified(region, THIN)
    less = THIN if len(points(thin)) < len(points(region)) else 0.0
    return float(max(region.area, offset(thin, gap / 2 - less).area))


def big_part_bound(
    pieces: Sequence[Piece], width: float, height: float, edge_margin: float, turns: Sequence[float]
) -> int:
    """Count the parts that need a sheet each, because each covers the sheet's centre wherever it lies.

    The centre's positions relative to a part form a rectangle; a part counts when it covers that whole rectangle at
    every allowed turn at which it fits.

    >>> big_part_bound([], 600, 300, 5, (0.0, 180.0))
    0
    """
    return sum(needs_a_sheet(piece, width, height, edge_margin, turns) for piece in pieces)


def needs_a_sheet(piece: Piece, width: float, height: float, edge_margin: float, turns: Sequence[float]) -> bool:
    """Tell whether a part covers the centre of a sheet wherever it lies there at any of some turns."""
    w, h = width - 2 * edge_margin, height - 2 * edge_margin
    box = bounds(piece.region)
    if math.hypot(box.width, box.height) <= max(w, h) / 2:  # at no turn does it reach from a side to the centre
        return False
    return all(_covers_centre(piece.region, w, h, turn) for turn in turns)


def _covers_centre(region: Region, w: float, h: float, turn: float) -> bool:
    turned = moved(region, turn=turn)
    box = bounds(turned)
    if box.width > w or box.height > h:
        return True
    # the sheet's centre, seen from the part, ranges from (x1 - w/2, y1 - h/2) to (x0 + w/2, y0 + h/2)
    x0, x1, y0, y1 = box.x1 - w / 2, box.x0 + w / 2, box.y1 - h / 2, box.y0 + h / 2
    if min(x0 - box.x0, box.x1 - x1, y0 - box.y0, box.y1 - y1) <= 0:
        return False
    # a hair larger, so that touching at the centre does not count as covering it
    where = rectangle(x0 - HAIR, y0 - HAIR, x1 + HAIR, y1 + HAIR)
    return bool(difference(where, turned).is_empty)


def best_bound(
    pieces: Sequence[Piece],
    width: float,
    height: float,
    gap: float,
    edge_margin: float,
    turns: Sequence[float],
) -> Bound:
    """Give the stronger of the two bounds for sheets of one size.

    >>> best_bound([], 600, 300, 1.5, 5, (0.0, 180.0))
    Bound(sheets=0, density=0.0)
    """
    if not pieces:
        return Bound(0, 0.0)
    by_area = max(1, math.ceil(area_bound(pieces, width, height, gap, edge_margin) - NOISE))
    sheets = max(by_area, big_part_bound(pieces, width, height, edge_margin, turns))
    return Bound(sheets, sum(piece.region.area for piece in pieces) / (sheets * width * height))
