"""Letters and finished lettering as a reader's eye has them: in grey, slightly blurred, sized by their x-height.

One pixel is 1 / PIXELS of the x-height, whatever that is in millimetres: a reader goes nearer to smaller letters. How
near, is judged by itself (`legibility.small_text`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from nameplate.geometry.nearby import grid_inside
from nameplate.geometry.region import Array, Region, bounds

#: Pixels that an x-height has. More see finer gaps, which the blur takes away again, and cost by their square.
PIXELS = 14

#: Points a side that a pixel's grey is counted from.
FINE = 2

#: Standard deviation of the blur, in x-heights. At the distance that signs are sized for (300 times the height of a
#: capital, so some 450 times the x-height) it is 0.8 minutes of arc: a healthy eye tells one minute (common practice).
BLUR = 0.1

#: Even growth of all strokes, in x-heights a side, that leaves a letter itself: a bolder font has it, too.
WEIGHTS = (0.0, 0.06, 0.12)


class Window(NamedTuple):
    """A box of whole pixels: columns x0 to x1, rows y0 to y1 (upwards), the last ones not included."""

    x0: int
    y0: int
    x1: int
    y1: int

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.y1 - self.y0, self.x1 - self.x0

    def within(self, outer: Window) -> tuple[slice, slice]:
        """Give the rows and columns of an outer window's image that this one has."""
        return slice(self.y0 - outer.y0, self.y1 - outer.y0), slice(self.x0 - outer.x0, self.x1 - outer.x0)

    def meets(self, other: Window) -> bool:
        """Tell whether they share a pixel.

        >>> seen = Window(2, 2, 4, 4)
        >>> [seen.meets(Window(x, y, x + 2, y + 2)) for x, y in ((0, 2), (4, 2), (2, 0), (2, 4), (1, 3))]
        [False, False, False, False, True]
        """
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def moved(self, right: int, up: int) -> Window:
        """Shift it by whole pixels."""
        return Window(self.x0 + right, self.y0 + up, self.x1 + right, self.y1 + up)


def window(shapes: Iterable[Region], margin: float) -> Window:
    """Give the window round some shapes in pixels, with a margin of so many x-heights."""
    boxes, out = [bounds(shape) for shape in shapes], margin * PIXELS
    return Window(
        math.floor(min(b.x0 for b in boxes) - out),
        math.floor(min(b.y0 for b in boxes) - out),
        math.ceil(max(b.x1 for b in boxes) + out),
        math.ceil(max(b.y1 for b in boxes) + out),
    )


def inked(ink: Region, seen: Window) -> npt.NDArray[np.bool_]:
    """Tell which points of a window, FINE a pixel each way, are ink."""
    rows, columns = seen.shape
    xs = seen.x0 + (np.arange(columns * FINE) + 0.5) / FINE
    ys = seen.y0 + (np.arange(rows * FINE) + 0.5) / FINE
    return grid_inside(ink, xs, ys)


def grey(points: npt.NDArray[np.bool_]) -> Array:
    """Give how much of each pixel is ink, from 0 to 1."""
    count = sum(points[row::FINE, column::FINE].astype(np.uint8) for row in range(FINE) for column in range(FINE))
    return np.asarray(count / FINE**2)


def in_weights(points: npt.NDArray[np.bool_]) -> Array:
    """Draw a letter as it is and heavier by each of WEIGHTS, in grey: (weights, rows, columns)."""
    from scipy.ndimage import distance_transform_edt

    away = distance_transform_edt(~points)
    return np.stack([grey(away <= weight * PIXELS * FINE) for weight in WEIGHTS])


def blurred(images: Array) -> Array:
    """Give images (..., rows, columns) as an eye has them."""
    from scipy.ndimage import gaussian_filter

    sigma = (*(0.0 for _ in images.shape[:-2]), BLUR * PIXELS, BLUR * PIXELS)
    return np.asarray(gaussian_filter(images, sigma, mode="constant"))


def pasted(image: Array, place: Window, onto: Window) -> Array:
    """Give the part of an image (..., rows, columns) that lies in another window, on white."""
    found = np.zeros((*image.shape[:-2], *onto.shape))
    both = Window(max(place.x0, onto.x0), max(place.y0, onto.y0), min(place.x1, onto.x1), min(place.y1, onto.y1))
    if both.x0 < both.x1 and both.y0 < both.y1:
        found[(..., *both.within(onto))] = image[(..., *both.within(place))]
    return found
