"""Ribbons: strips of even width along chosen edges of a medial graph, with smooth sides.

The nodes of a medial graph zigzag by some hundredths of a millimetre, and a strip along them has facets. Method: join
the edges to lines, place points evenly along each, and put every point where a parabola through its neighbours says
(Savitzky and Golay, Analytical Chemistry 36 (1964) 1627): bends stay where they are, noise goes. The ends stay.

Known limit: bends much tighter than REACH are cut short by a few hundredths of a millimetre.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import LineString

from nameplate.geometry.medial import Medial
from nameplate.geometry.region import EMPTY, Array, Flags, Region, arc_steps, as_region

#: Distance of the points of a middle line (mm). Half of it costs twice the time and shows nowhere.
PACE = 0.1

#: A point is smoothed over this much (mm) of its line on either side. Less leaves facets where a stroke is narrower
#: than the sampling of its outline; more cuts bends short.
REACH = 0.6

#: Points of the smoothed line are left out where it moves by less than this (mm): what a quarter of a facet would be.
EVEN = 0.004


def ribbon(graph: Medial, keep: Flags, width: float) -> Region:
    """Make a strip of the given width (mm) with round ends along the kept edges of a medial graph.

    >>> from nameplate.geometry.medial import medial
    >>> from nameplate.geometry.region import bounds, rectangle
    >>> graph = medial(rectangle(0, 0, 20, 1))
    >>> box = bounds(ribbon(graph, graph.apart > 3, 2.0))
    >>> round(box.y0, 2), round(box.y1, 2)
    (-0.5, 1.5)
    """
    if not keep.any():
        return EMPTY
    lines = shapely.line_merge(shapely.multilinestrings(graph.nodes[graph.edges[keep]]))
    middle = [LineString(_smooth(shapely.get_coordinates(line))) for line in shapely.get_parts(lines)]
    light = shapely.simplify(shapely.multilinestrings(middle), EVEN, preserve_topology=False)
    return as_region(shapely.buffer(light, width / 2, quad_segs=arc_steps(width / 2)))


def _smooth(line: Array) -> Array:
    """Give a line, (n, 2), with evenly spaced points and without its zigzag; both ends stay (a closed one turns)."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    count = max(1, round(along[-1] / PACE))
    places = np.linspace(0.0, along[-1], count + 1)
    even = np.stack([np.interp(places, along, line[:, k]) for k in (0, 1)], axis=1)
    half = min(round(REACH / PACE), count // 2)
    if half < 2:
        return line[[0, -1]] if count < 2 else even
    if np.array_equal(line[0], line[-1]):
        padded = np.concatenate([even[-half - 1 : -1], even, even[1 : half + 1]])
    else:  # turned about its ends
        padded = np.concatenate([2 * even[0] - even[half:0:-1], even, 2 * even[-1] - even[-2 : -half - 2 : -1]])
    weights = _weights(half)
    return np.stack([np.convolve(padded[:, k], weights, mode="valid") for k in (0, 1)], axis=1)


@lru_cache(maxsize=16)
def _weights(half: int) -> Array:
    """Give the weights, of 2 half + 1 even points, that say where their least-squares parabola passes the middle."""
    place = np.arange(-half, half + 1) / half
    weights: Array = np.linalg.pinv(np.stack([np.ones_like(place), place, place**2], axis=1))[0]
    return weights
