"""Drawn lines with what is known of them, whatever file they are from, and open ones joined end to end.

Terms. A *stroke* is one continuous line in drawing millimetres, y down. A *trace* is one or more strokes, one after the
other; closed or not. Method of joining: ends that lie within a reach of each other are paired, nearest first, each end
once; chains of pairs that come back to where they began are closed outlines.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from nameplate import tolerances
from nameplate.errors import FaceError
from nameplate.face.drawing import paths, units
from nameplate.geometry.region import Array

#: Ends that are looked at round each end: more than a drawing has in one point, and a bound on the work.
MOST_NEAR = 8


@dataclass(frozen=True, slots=True)
class Polyline:
    """A stroke of points, (n, 2): what a curve became that is flattened already. It answers what a contour does."""

    points: Array

    def reach(self) -> Array:
        """Give its points."""
        return self.points

    def ends(self) -> Array:
        """Give its first and its last point, (2, 2)."""
        ends: Array = self.points[[0, -1]]
        return ends

    def flat(self, matrix: Array, tolerance: float, *, most: int) -> Array:
        """Give it under a matrix, whatever the tolerance; raises FaceError above `most` points."""
        if len(self.points) > most:
            raise FaceError(f"the outline takes more than {paths.MOST_POINTS} points to draw; it is too detailed")
        return np.asarray(self.points @ matrix[:2, :2].T + matrix[:2, 2])

    @property
    def is_single(self) -> bool:
        """Whether it is one segment."""
        return len(self.points) < 3


Stroke: TypeAlias = paths.Contour | Polyline


@dataclass(frozen=True, slots=True)
class Unsized:
    """How a drawing without a unit is taken, and how much larger it would be in the other usual unit."""

    taken: str
    times: float
    other: str


@dataclass(frozen=True, slots=True)
class Traced:
    """What a file draws. `ignored` names what was left out, `unsized` is None where the file says its unit.

    `page` has two opposite corners of the page in drawing millimetres, (2, 2), where there is one.
    """

    traces: tuple[Trace, ...]
    ignored: tuple[str, ...]
    unsized: Unsized | None
    page: Array | None


@dataclass(frozen=True, slots=True)
class Trace:
    """One or more strokes, each with whether it is followed backwards.

    `names` are those of the drawing that it goes by, `role` what it is for ("" while nothing says), `fill` as in
    `tree.Drawn`; `element` tells which drawn shape it is part of.
    """

    label: str
    strokes: tuple[tuple[Stroke, bool], ...]
    closed: bool
    names: tuple[str, ...] = ()
    role: str = ""
    fill: str = ""
    element: int = 0

    def reach(self) -> Array:
        """Give points, (n, 2), whose box holds the trace."""
        return np.vstack([stroke.reach() for stroke, _ in self.strokes])

    def ends(self) -> Array:
        """Give its first and its last point, (2, 2)."""
        (first, first_back), (last, last_back) = self.strokes[0], self.strokes[-1]
        return np.vstack([first.ends()[1 if first_back else 0], last.ends()[0 if last_back else 1]])

    def flat(self, matrix: Array, tolerance: float = tolerances.FLATTEN, *, most: int = paths.MOST_POINTS) -> Array:
        """Give it as an (n, 2) polyline under a matrix; raises FaceError above `most` points."""
        pieces = []
        for stroke, backwards in self.strokes:
            points = stroke.flat(matrix, tolerance, most=most)
            most -= len(points)
            pieces.append(points[::-1] if backwards else points)
        return np.vstack(pieces)

    @property
    def is_single(self) -> bool:
        """Whether it is one segment, whose ends meet only by being a point."""
        return len(self.strokes) == 1 and self.strokes[0][0].is_single

    @property
    def gap(self) -> float:
        """How far (mm) its ends are apart."""
        first, last = self.ends()
        return float(np.hypot(*(last - first)))


def flattened(traces: Sequence[Trace], scale: float) -> Iterator[Array]:
    """Yield traces as polylines (n, 2), scaled, y up; raises FaceError once they take more than MOST_POINTS."""
    left = paths.MOST_POINTS
    for trace in traces:
        points = trace.flat(units.scaling(scale, -scale), most=left)
        left -= len(points)
        yield points


@dataclass(frozen=True, slots=True)
class Joined:
    """Curves after joining: those that came out closed with the widest gap (mm) in each, and what is open still."""

    closed: tuple[tuple[Trace, float], ...]
    open: tuple[Trace, ...]


def without_doubles(traces: Sequence[Trace]) -> tuple[list[Trace], list[Trace]]:
    """Part straight lines that are drawn again, in either direction, from all else: what is kept, and the doubles."""
    seen: set[tuple[object, ...]] = set()
    kept: list[Trace] = []
    doubles: list[Trace] = []
    for trace in traces:
        if not trace.is_single or len(trace.reach()) > 2:
            kept.append(trace)
            continue
        key = (trace.role, *sorted(map(tuple, np.round(trace.ends(), 3).tolist())))
        (doubles if key in seen else kept).append(trace)
        seen.add(key)
    return kept, doubles


def join(traces: Sequence[Trace], reach: float) -> Joined:
    """Join open traces whose ends lie within `reach` mm of each other. Curves of different roles stay apart."""
    closed: list[tuple[Trace, float]] = []
    left: list[Trace] = []
    for role in dict.fromkeys(trace.role for trace in traces):
        own = [trace for trace in traces if trace.role == role]
        ends = np.vstack([trace.ends() for trace in own])
        for chain, comes_back in _chains(_partners(ends, reach)):
            whole = _one(own, chain, closed=comes_back)
            if comes_back:
                closed.append((whole, _widest(ends, chain)))
            else:
                left.append(whole)
    return Joined(tuple(closed), tuple(left))


def _partners(ends: Array, reach: float) -> list[int]:
    """Give for each end, two a trace, the one that it is joined to, -1 for none."""
    from scipy.spatial import cKDTree

    partner = [-1] * len(ends)
    query = cKDTree(ends).query(ends, k=min(MOST_NEAR, len(ends)), distance_upper_bound=reach)
    far, near = (np.asarray(found) for found in query)
    one, other = np.repeat(np.arange(len(ends)), far.shape[1]), near.ravel()
    wanted = np.isfinite(far.ravel()) & (one < other) & (one // 2 != other // 2)
    pairs = sorted(zip(far.ravel()[wanted].tolist(), one[wanted].tolist(), other[wanted].tolist(), strict=True))
    for _, a, b in pairs:
        if partner[a] < 0 and partner[b] < 0:
            partner[a], partner[b] = b, a
    return partner


def _chains(partner: Sequence[int]) -> Iterator[tuple[list[int], bool]]:
    """Give each chain as the ends by which its traces are entered, and whether it comes back to where it began."""
    used = [False] * (len(partner) // 2)
    loose = [end for end, other in enumerate(partner) if other < 0]
    for first in (*loose, *range(0, len(partner), 2)):
        if used[first // 2]:
            continue
        chain, end = [], first
        while end >= 0 and not used[end // 2]:
            used[end // 2] = True
            chain.append(end)
            end = partner[end ^ 1]
        yield chain, end >= 0


def _one(traces: Sequence[Trace], chain: Sequence[int], *, closed: bool) -> Trace:
    """Put the traces of a chain together."""
    first = traces[chain[0] // 2]
    if len(chain) == 1:
        return first
    strokes: list[tuple[Stroke, bool]] = []
    for end in chain:
        own = traces[end // 2].strokes
        strokes += [(s, not back) for s, back in reversed(own)] if end % 2 else own
    more = len({traces[end // 2].element for end in chain}) - 1
    label = f"{first.label} and {more} more" if more else first.label
    return replace(first, label=label, strokes=tuple(strokes), closed=closed)


def _widest(ends: Array, chain: Sequence[int]) -> float:
    leaving, entered = ends[[end ^ 1 for end in chain]], ends[[*chain[1:], chain[0]]]
    return float(np.hypot(*(leaving - entered).T).max())


def gaps(traces: Sequence[Trace]) -> list[tuple[float, Array]]:
    """Give for each open trace its least gap (mm) to an open end, its own other one or another's, and where that is."""
    from scipy.spatial import cKDTree

    ends = np.vstack([trace.ends() for trace in traces])
    far = np.asarray(cKDTree(ends).query(ends, k=2)[0])[:, 1]
    at = [2 * i + int(far[2 * i + 1] < far[2 * i]) for i in range(len(traces))]
    return [(float(far[i]), ends[i]) for i in at]
