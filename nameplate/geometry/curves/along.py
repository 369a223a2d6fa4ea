"""A closed curve by its length: where along it a place is, and the stretch between two places.

Lengths are those of chords over equal steps of each segment's parameter: a circle of 5 mm radius is 0.02 % too short.
"""

from __future__ import annotations

import numpy as np

from nameplate.geometry.counting import members
from nameplate.geometry.curves.curve import Curve, points_at
from nameplate.geometry.planar import as_complex, as_points
from nameplate.geometry.region import Array

#: Length of a chord (mm), about.
CHORD = 0.1


class Along:
    """A closed curve, measured once; places on it are told by the length (mm) from its start."""

    def __init__(self, curve: Curve) -> None:
        self.curve = curve
        segments = as_complex(curve.segments)
        counts = np.maximum(1, np.ceil(np.abs(np.diff(segments, axis=1)).sum(axis=1) / CHORD)).astype(np.intp)
        which, nth = members(counts)
        t = nth / counts[which]
        self._at = np.append(which + t, len(counts))  # segment and parameter in one number
        self._points = np.append(points_at(segments[which], t), segments[-1, 3])
        self._lengths = np.append(0.0, np.abs(np.diff(self._points)).cumsum())

    @property
    def length(self) -> float:
        """The length of the whole curve, mm."""
        return float(self._lengths[-1])

    def points(self, places: Array) -> Array:
        """Give the points (n, 2) at places along the curve, which goes round and round."""
        at = self._parameter(places)
        which = np.minimum(at.astype(np.intp), len(self.curve.segments) - 1)
        return as_points(points_at(as_complex(self.curve.segments)[which], at - which))

    def place_of(self, point: Array) -> float:
        """Give the place along the curve that is nearest to a point (2,), to half a chord."""
        return float(self._lengths[np.abs(self._points - complex(*point)).argmin()])

    def stretch(self, begin: float, end: float) -> Curve:
        """Give the open curve from one place on to another, past the start where that lies between.

        >>> from nameplate.geometry.curves.curve import polygon
        >>> square = Along(polygon([(0, 0), (4, 0), (4, 4), (0, 4)]))
        >>> square.stretch(15, 2).segments[:, [0, 3]].round(9).tolist()
        [[[0.0, 1.0], [0.0, 0.0]], [[0.0, 0.0], [2.0, 0.0]]]
        """
        count = len(self.curve.segments)
        low, high = (float(self._parameter(np.array([place]))[0]) for place in (begin, end))
        high += count if high <= low else 0
        segments, lines = [], []
        for number in range(int(low), int(np.ceil(high))):
            inner = max(low - number, 0.0), min(high - number, 1.0)
            if inner[1] > inner[0]:
                segments.append(_between(self.curve.segments[number % count], *inner))
                lines.append(self.curve.lines[number % count])
        return Curve(np.array(segments), np.array(lines), closed=False)

    def _parameter(self, places: Array) -> Array:
        at: Array = np.interp(np.mod(places, self.length), self._lengths, self._at)
        return at


def _between(segment: Array, begin: float, end: float) -> Array:
    """Give the piece of a cubic (4, 2) between two parameters: its blossom there (de Casteljau)."""
    rows = []
    for k in range(4):
        points = segment
        for t in (end,) * k + (begin,) * (3 - k):
            points = (1 - t) * points[:-1] + t * points[1:]
        rows.append(points[0])
    return np.array(rows)
