"""Where the beam may begin a closed line: the place where it pierces the sheet is a little wider than the kerf.

Nobody looks at the edge of a jig. On parts that are looked at, the mark is least seen in a nook (where two letters
meet, in a small counter), and on a plaque in a corner; it is seen on an open edge, and it weakens a tip, a tie or
another thin place. What a place is worth is told in mm of travel that it may cost to begin elsewhere.

Method: of each line a few knots are candidates, the best one of each of some equally long stretches. A place is thin
where the middle of a disc that touches the edge there from inside is nearer to another edge; a nook, where that of a
disc outside is. So the ends of a thin tie are thin, too, and so is every corner of a letter that points outward.

Known limit: only knots of the fitted curve are candidates, not the places between them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from nameplate.cut.kerf import SHOWN, Toolpath
from nameplate.geometry.counting import Laid, members
from nameplate.geometry.curves.curve import Curve, points_at
from nameplate.geometry.planar import Complex, as_complex, as_points, turn, unit
from nameplate.geometry.region import Array, Flags, Indices

#: How long a stretch of a line (mm) is that gets a candidate, and how many candidates a line has: more make the way
#: shorter by a per cent or two, and every search longer.
EVERY, FEWEST, MOST = 5.0, 4, 40

#: What beginning on an open edge that is looked at counts (mm of travel), and what beginning on a thin place does.
SEEN, WEAK = 5.0, 60.0

#: A line bends by more than this (radians) at a corner; less is the rest that fitting leaves.
CORNER = math.radians(25)

#: A corner that bends by this much or more (radians) is a tip.
TIP = math.radians(100)

#: Where a part is narrower than about this (mm, kerf included) it is thin: ties and tips are, letters seldom.
THIN = 1.9

#: Where what is round a part is narrower than about this (mm), it is a nook.
NOOK = 3.0

#: The share of a disc's radius that its middle must be nearer to another edge: less is what STEP blurs.
NEARER = 0.9

#: Points on the edges (mm apart) by which thin places are found: half of that is lost in their width.
STEP = 0.4

#: Plates share their coordinates; so far apart (mm) their parts are laid while thin places are looked for.
_APART = 1e5


@dataclass(frozen=True, slots=True, eq=False)
class Starts:
    """Candidates of one closed line: the numbers of their knots, rising, and what each costs (mm of travel)."""

    knots: Indices
    costs: Array


def start_points(paths: Sequence[Toolpath]) -> tuple[tuple[Starts, ...], ...]:
    """Give the candidates of every contour of every toolpath, in plate coordinates.

    >>> start_points([])
    ()
    """
    contours = [(number, contour) for number, path in enumerate(paths) for contour in path.contours]
    if not contours:
        return tuple(() for _ in paths)
    holes = np.array([contour.operation == "cut-inside" for _, contour in contours])
    knots = _Knots([contour.curve for _, contour in contours], holes)
    chosen = _chosen(knots, _costs(knots, [paths[number] for number, _ in contours]))
    found: list[list[Starts]] = [[] for _ in paths]
    for (number, _), starts in zip(contours, chosen, strict=True):
        found[number].append(starts)
    return tuple(map(tuple, found))


class _Knots:
    """All knots of many closed curves: which curve each is of, where, how far along, how the edge bends there.

    `bends` (radians) are positive where the part's corner points outward; `normals` are unit vectors into the part, of
    the edge ahead and of the one behind; `shorter` is the shorter of the two segments that meet (mm).
    """

    def __init__(self, curves: Sequence[Curve], holes: Flags) -> None:
        laid = Laid.of(np.array([len(curve.segments) for curve in curves]))
        self.curve, self.first = laid.ring, laid.first
        self.segments = as_complex(np.concatenate([curve.segments for curve in curves]))
        self.points = self.segments[:, 0]
        ahead, behind = leaving(self.segments), -leaving(self.segments[laid.before, ::-1])
        p, q = self.segments[:, 0], self.segments[:, 3]
        anticlockwise = np.add.reduceat((np.conj(p) * q).imag, self.first) > 0
        left = np.where(anticlockwise != holes, 1, -1)[self.curve]
        self.bends = turn(behind, ahead) * left
        self.normals = unit(ahead) * 1j * left, unit(behind) * 1j * left
        lengths = np.abs(np.diff(self.segments, axis=1)).sum(axis=1)
        self.shorter = np.minimum(lengths, lengths[laid.before])
        self.lengths = np.add.reduceat(lengths, self.first)
        ends = np.cumsum(lengths)
        self.along = ends - lengths - (ends - lengths)[self.first][self.curve]


def leaving(segments: Complex, gone: float = 1e-9) -> Complex:
    """Give the direction in which each cubic (n, 4) leaves its start, by the first handle that is not `gone` (mm)."""
    ways = segments[:, 1:] - segments[:, :1]
    first = np.argmax(np.abs(ways) > gone, axis=1)
    return np.asarray(ways[np.arange(len(ways)), first])


def _costs(knots: _Knots, paths: Sequence[Toolpath]) -> Array:
    """Give what it costs to begin at each knot; `paths` says whose each curve is."""
    shown = np.array([path.kind in SHOWN for path in paths])[knots.curve]
    costs = np.zeros(len(shown))
    if not shown.any():
        return costs
    letters = np.array([path.kind == "lettering" for path in paths])[knots.curve]
    numbers = {id(path): number for number, path in enumerate(paths)}
    shifts = np.array([numbers[id(path)] * _APART for path in paths])[knots.curve][shown]
    edges = _Edges(knots.segments[shown] + shifts[:, None], knots.points[shown] + shifts)
    ahead, behind = (normals[shown] for normals in knots.normals)
    thin = edges.meet(ahead * THIN) | edges.meet(behind * THIN)
    square = (knots.bends > CORNER) & (knots.bends < TIP) & (knots.shorter > THIN)
    costs[shown] = np.select(
        [(square & ~letters)[shown], thin, edges.meet(-unit(ahead + behind) * NOOK)], [0.0, WEAK, 0.0], SEEN
    )
    return costs


class _Edges:
    """The edges of parts, cubics (n, 4), and places on them."""

    def __init__(self, segments: Complex, places: Complex) -> None:
        from scipy.spatial import KDTree

        self._tree, self._places = KDTree(as_points(_sampled(segments))), places

    def meet(self, across: Complex) -> Flags:
        """Tell at which places a disc that touches there meets another edge; `across` are diameters from there (mm)."""
        apart = np.asarray(self._tree.query(as_points(self._places + across / 2))[0])
        return apart < NEARER * np.abs(across) / 2


def _sampled(segments: Complex) -> Complex:
    """Give points on cubics (n, 4), about STEP apart."""
    counts = np.ceil(np.abs(np.diff(segments, axis=1)).sum(axis=1) / STEP).astype(int) + 1
    which, nth = members(counts)
    return points_at(segments[which], nth / counts[which])


def _chosen(knots: _Knots, costs: Array) -> list[Starts]:
    """Take the cheapest knot of each stretch of every curve."""
    stretches = np.clip(np.ceil(knots.lengths / EVERY), FEWEST, MOST)[knots.curve]
    stretch = np.floor(knots.along / knots.lengths[knots.curve] * stretches)
    ranked = np.lexsort((costs, stretch, knots.curve))
    key = np.stack([knots.curve[ranked], stretch[ranked]])
    best = np.sort(ranked[np.append(True, (np.diff(key, axis=1) != 0).any(axis=0))])
    bounds = np.searchsorted(knots.curve[best], np.arange(len(knots.lengths) + 1))
    return [
        Starts(best[low:high] - knots.first[number], costs[best[low:high]])
        for number, (low, high) in enumerate(pairwise(bounds.tolist()))
    ]
