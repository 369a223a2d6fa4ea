"""Labels on a crowded map, none over another: greedy point-feature label placement.

Terms. A *label* is a text in a box of known size; its *feature* is what it names, told by points of its outline and of
its solid. A label stands in the solid of its feature, where it covers no outline, as near to the middle as may be; else
on its feature where it covers least of the others; where all places there are taken it stands in the nearest free one,
with a *leader* to its feature. A label wider than a feature that is higher than wide stands upright.
Labels that have no place at all are made smaller, all of them.

Known limit: a leader may cross other features, and in a very crowded map another leader.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import sqrt

import numpy as np
import numpy.typing as npt

from nameplate.geometry.box import Box
from nameplate.geometry.counting import sums_of
from nameplate.geometry.nearby import along, grid_inside
from nameplate.geometry.region import Array, Region, bounds

#: Widths of capitals and figures, of other letters, and of narrow ones, and height of a line, in em, about those of
#: common bold sans-serif faces. Texts are drawn to that width, so that a box is true whatever font there is.
LETTER, SMALL, NARROW, LINE = 0.62, 0.56, 0.36, 1.05

_NARROW = frozenset("fijlrtI.,:;-'’|/() ")

#: Blank space round a label, em: labels nearer than twice this read as one.
SPACE = 0.12

#: Labels without room are made smaller by this factor, and tried again.
SMALLER = 0.85

#: Places that are tried on one feature, along its outline; and along each side of its box in its solid.
TRIED = 48
TRIED_A_SIDE = 24

#: Places aside that are looked at, the nearest first: a leader from farther away would be hard to follow, so smaller
#: labels are tried instead.
ASIDE = 600

#: Labels cover at most this share of the map; more find no places beside one another, and smaller ones are begun with.
MOST_COVERED = 0.3

#: Side of the squares (em) in which the points of outlines are counted.
_SQUARE = 0.25


@dataclass(frozen=True, slots=True)
class Feature:
    """What a label names: its text, points of its outline, (n, 2), close together, and places in its solid, (n, 2)."""

    text: str
    outline: Array
    solid: Array = field(default_factory=lambda: np.empty((0, 2)))

    @property
    def middle(self) -> Array:
        """The middle of its box."""
        return np.asarray((self.outline.min(axis=0) + self.outline.max(axis=0)) / 2)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of its box."""
        width, height = np.ptp(self.outline, axis=0)
        return float(width), float(height)


@dataclass(frozen=True, slots=True)
class MapLabel:
    """A label where it stands: its middle, its em, the width of its text, whether it reads upward, and the end of its
    leader, if it has one."""

    text: str
    at: tuple[float, float]
    em: float
    width: float
    upright: bool = False
    to: tuple[float, float] | None = None


def feature_of(text: str, region: Region, step: float) -> Feature:
    """Give a region as a feature, by points of its outline so far apart and by places of a lattice in it.

    >>> from nameplate.geometry.region import difference, rectangle
    >>> len(feature_of("1", difference(rectangle(0, 0, 9, 9), rectangle(3, 3, 6, 6)), 1.0).solid)
    72
    """
    box = bounds(region)
    apart = max(step, max(box.width, box.height) / TRIED_A_SIDE)
    xs, ys = (np.arange(low + apart / 2, high, apart) for low, high in ((box.x0, box.x1), (box.y0, box.y1)))
    lattice: Array = np.stack(np.meshgrid(xs, ys), axis=-1)
    return Feature(text, along(region, step), lattice[grid_inside(region, xs, ys)])


def ems(text: str) -> float:
    """Give about how wide a text is, in em.

    >>> round(ems("W-001"), 2), round(ems("carrier 1"), 2), ems("")
    (2.84, 4.1, 0)
    """
    return sum(NARROW if c in _NARROW else SMALL if c.islower() else LETTER for c in text)


def place_labels(features: Sequence[Feature], frame: Box, em: float) -> tuple[MapLabel, ...]:
    """Give each feature a label within the frame, in their order; no two boxes touch. `em` is the size wanted.

    >>> place_labels([], Box(0.0, 0.0, 1.0, 1.0), 1.0)
    ()
    """
    length = sum(ems(feature.text) for feature in features)
    em = min(em, sqrt(MOST_COVERED * frame.width * frame.height / (length * LINE))) if length else em
    while True:
        placed = _Map(features, frame, em).labels()
        if placed is not None:
            return placed
        em *= SMALLER


@dataclass
class _Map:
    """One try with labels of one size."""

    features: Sequence[Feature]
    frame: Box
    em: float
    taken: list[Box] = field(default_factory=list)
    leaders: list[Array] = field(default_factory=list)

    def labels(self) -> tuple[MapLabel, ...] | None:
        """Place all labels, those of the smallest features first; None where one finds no place."""
        found: dict[int, MapLabel] = {}
        small_first = sorted(range(len(self.features)), key=lambda i: max(self.features[i].size))
        for index in small_first:
            feature = self.features[index]
            if (label := self._in_solid(feature) or self._on_feature(feature)) is not None:
                found[index] = label
        for index in small_first:  # aside only once all others have their places
            if index not in found:
                label = self._aside(self.features[index])
                if label is None:
                    return None
                found[index] = label
        return tuple(found[i] for i in range(len(self.features)))

    def _in_solid(self, feature: Feature) -> MapLabel | None:
        half = self._half(feature)
        free = feature.solid[self._free(feature.solid, half)]
        clear = free[self._covered(free, half) == 0]
        if not len(clear):
            return None
        return self._put(feature, clear[int(np.argmin(np.linalg.norm(clear - feature.middle, axis=1)))])

    def _on_feature(self, feature: Feature) -> MapLabel | None:
        points = feature.outline[:: max(1, len(feature.outline) // TRIED)]
        places = np.vstack([feature.middle, points])
        half = self._half(feature)
        free = places[self._free(places, half)]
        if not len(free):
            return None
        own = (np.abs(feature.outline[None] - free[:, None]) <= half).all(axis=2).sum(axis=1)
        others = self._covered(free, half) - own
        far = np.linalg.norm(free - feature.middle, axis=1) / (max(feature.size) + self.em)
        cost = np.where((own > 0) | (others <= 0), others + far * max(1.0, float(own.max())), np.inf)
        best = int(np.argmin(cost))
        return self._put(feature, free[best]) if np.isfinite(cost[best]) else None

    def _aside(self, feature: Feature) -> MapLabel | None:
        """Find a free place near by whose leader crosses no label, or else the nearest free one."""
        half = self._half(feature)
        near = self._lattice[np.argsort(np.linalg.norm(self._lattice - feature.middle, axis=1), kind="stable")]
        free = near[:ASIDE][self._free(near[:ASIDE], half)]
        if not len(free):
            return None
        ends = [_nearest(feature.outline, at) for at in free]
        clear = (n for n, end in enumerate(ends) if not self._crosses(self._leader(free[n], end)))
        best = next(clear, 0)
        return self._put(feature, free[best], ends[best])

    def _put(self, feature: Feature, at: Array, to: Array | None = None) -> MapLabel:
        half = self._half(feature)
        self.taken.append(Box(*(at - half), *(at + half)))
        if to is not None:
            self.leaders.append(self._leader(at, to))
        where = (float(at[0]), float(at[1]))
        end = None if to is None else (float(to[0]), float(to[1]))
        return MapLabel(feature.text, where, self.em, self._width(feature), self._upright(feature), end)

    def _leader(self, at: Array, to: Array) -> Array:
        """Give points along a leader, close enough that no label comes between them."""
        count = max(2, int(np.ceil(np.linalg.norm(to - at) / (self.em * LETTER / 2))))
        return at + (to - at) * np.linspace(0.0, 1.0, count)[:, None]

    def _width(self, feature: Feature) -> float:
        return self.em * max(NARROW, ems(feature.text))

    def _upright(self, feature: Feature) -> bool:
        width, height = feature.size
        return width < self._width(feature) and width < height

    def _half(self, feature: Feature) -> Array:
        """Half the width and height that a label takes, its blank space included."""
        size = np.array([self._width(feature), self.em * LINE])
        return np.asarray((size[::-1] if self._upright(feature) else size) / 2 + self.em * SPACE)

    def _free(self, places: Array, half: Array) -> npt.NDArray[np.bool_]:
        """Tell at which places a label would lie within the frame, on no other label and no leader."""
        low, high = places - half, places + half
        frame = np.array(self.frame)
        free = np.all((low >= frame[:2]) & (high <= frame[2:]), axis=1)
        if self.taken:
            boxes = np.array(self.taken)
            apart = (low[:, None] > boxes[None, :, 2:]) | (high[:, None] < boxes[None, :, :2])
            free &= np.all(np.any(apart, axis=2), axis=1)
        if self.leaders:
            under = np.abs(np.vstack(self.leaders)[None] - places[:, None]) <= half
            free &= ~np.any(np.all(under, axis=2), axis=1)
        return np.asarray(free)

    def _crosses(self, leader: Array) -> bool:
        """Tell whether a leader comes under a label that stands."""
        boxes = np.array(self.taken).reshape(-1, 4)
        inside = (leader[:, None] >= boxes[None, :, :2]) & (leader[:, None] <= boxes[None, :, 2:])
        return bool(inside.all(axis=2).any())

    def _covered(self, places: Array, half: Array) -> Array:
        """Count the points of all outlines under labels at some places, by a summed-area table."""
        origin, side = np.array(self.frame[:2]), self.em * _SQUARE
        most = np.array(self._sums.shape) - 1
        low, high = (np.clip(np.rint((places + sign * half - origin) / side).astype(int), 0, most) for sign in (-1, 1))
        (x0, y0), (x1, y1) = low.T, high.T
        s = self._sums
        return np.asarray(s[x1, y1] - s[x0, y1] - s[x1, y0] + s[x0, y0])

    @cached_property
    def _sums(self) -> npt.NDArray[np.int32]:
        """How many points of outlines lie left of and below each corner of a lattice of squares."""
        points = np.vstack([feature.outline for feature in self.features])
        side = self.em * _SQUARE
        counts = [max(1, int(np.ceil(length / side))) for length in (self.frame.width, self.frame.height)]
        ends = [(low, low + n * side) for low, n in zip(self.frame[:2], counts, strict=True)]
        found, _, _ = np.histogram2d(points[:, 0], points[:, 1], bins=counts, range=ends)
        return sums_of(found)

    @cached_property
    def _lattice(self) -> Array:
        """Places all over the frame, half a line apart."""
        x0, y0, x1, y1 = self.frame
        xs, ys = (np.arange(low, high, self.em * LINE / 2) for low, high in ((x0, x1), (y0, y1)))
        return np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)


def _nearest(points: Array, at: Array) -> Array:
    return np.asarray(points[int(np.argmin(np.linalg.norm(points - at, axis=1)))])
