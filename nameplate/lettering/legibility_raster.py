"""Letters and finished lettering as a reader's eye has them: in grey, slightly blurred, sized by their x-height.

One pixel is 1 / PIXELS of the x-height, whatever that is in millimetres: a reader goes nearer to smaller letters. How
near, is judged by itself (`legibility.small_text`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from nameplate.geometry.box import Box, around
from nameplate.geometry.nearby import grid_inside
from nameplate.geometry.region import Array, Flags, Region, bounds

#: Pixels that an x-height has. More see finer gaps, which the blur takes away again, and cost by their square.
PIXELS = 14

#: Points a side that a pixel's grey is counted from.
FINE = 2

#: Standard deviation of the blur, in x-heights. At the distance that signs are sized for (300 times the height of a
#: capital, so some 450 times the x-height) it is 0.8 minutes of arc: a healthy eye tells one minute (common practice).
BLUR = 0.1

#: Even growth of all strokes, in x-heights a side, that leaves a letter itself: a bolder font has it, too.
WEIGHTS = (0.0, 0.06, 0.12)


def size_of(window: Box) -> tuple[int, int]:
    """Give the rows and columns of a window: a box of whole pixels."""
    return int(window.height), int(window.width)


def within(window: Box, outer: Box) -> tuple[slice, slice]:
    """Give the rows and columns of an outer window's image that another one has."""
    x0, y0, x1, y1 = map(int, window.moved(-outer.x0, -outer.y0))
    return slice(y0, y1), slice(x0, x1)


def window(shapes: Iterable[Region], margin: float) -> Box:
    """Give the window round some shapes in pixels, with a margin of so many x-heights."""
    x0, y0, x1, y1 = around(map(bounds, shapes)).grown(margin * PIXELS)
    return Box(math.floor(x0), math.floor(y0), math.ceil(x1), math.ceil(y1))


def inked(ink: Region, seen: Box) -> Flags:
    """Tell which points of a window, FINE a pixel each way, are ink."""
    rows, columns = size_of(seen)
    xs = seen.x0 + (np.arange(columns * FINE) + 0.5) / FINE
    ys = seen.y0 + (np.arange(rows * FINE) + 0.5) / FINE
    return grid_inside(ink, xs, ys)


def grey(points: Flags) -> Array:
    """Give how much of each pixel is ink, from 0 to 1."""
    count = sum(points[row::FINE, column::FINE].astype(np.uint8) for row in range(FINE) for column in range(FINE))
    return np.asarray(count / FINE**2)


def in_weights(points: Flags) -> Array:
    """Draw a letter as it is and heavier by each of WEIGHTS, in grey: (weights, rows, columns)."""
    from scipy.ndimage import distance_transform_edt

    away = distance_transform_edt(~points)
    return np.stack([grey(away <= weight * PIXELS * FINE) for weight in WEIGHTS])


def blurred(images: Array) -> Array:
    """Give images (..., rows, columns) as an eye has them."""
    from scipy.ndimage import gaussian_filter

    sigma = (*(0.0 for _ in images.shape[:-2]), BLUR * PIXELS, BLUR * PIXELS)
    return np.asarray(gaussian_filter(images, sigma, mode="constant"))


def pasted(image: Array, place: Box, onto: Box) -> Array:
    """Give the part of an image (..., rows, columns) that lies in another window, on white."""
    found = np.zeros((*image.shape[:-2], *size_of(onto)))
    if place.meets(onto):
        both = place.common(onto)
        found[(..., *within(both, onto))] = image[(..., *within(both, place))]
    return found
