"""Which straight walls hold a shape in its place: the rows of a linear programme that are true near a given fit.

Terms. *Walls* are the edges of a boundary, each with its normal pointing out of the free side. A *run* is a chain of
walls that all turn the same way, so that the free side is convex along it. *Reach* is how far anything may move before
the rows are made anew. For a point on the free side the nearest wall is looked up; it must stay behind that wall and
behind all walls of the same run within reach, which is exact there. A point nearest to a corner that juts into the
free side stays behind the tangent through that corner, which is cautious: it gives up what lies round the corner.

Known limit: two runs that face each other across a passage are each replaced by the one wall nearest to a point, so
that passages take more rounds than corners.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nameplate.geometry.nearby import Segments
from nameplate.geometry.region import Array, Flags, Indices

#: A corner turning back by less than this (radians) is rounding, not a change of direction.
STRAIGHT = 1e-7


@dataclass(frozen=True, slots=True)
class Walls:
    """The edges of rings that keep the free side on their left.

    `starts`, `along` (unit vectors), `normals` are (n, 2), `lengths`, `limits` (normal times start) and `runs` (n,);
    `juts_first` and `juts_last` tell whether the corner at a wall's start or end juts into the free side.
    """

    starts: Array
    along: Array
    lengths: Array
    normals: Array
    limits: Array
    runs: Indices
    juts_first: Flags
    juts_last: Flags
    index: Segments


def walls(rings: tuple[Array, ...]) -> Walls:
    """Make walls from rings, (n, 2) each, that keep the free side on their left."""
    parts, count = [], 0
    for ring in rings:
        steps = np.roll(ring, -1, axis=0) - ring
        lengths = np.hypot(steps[:, 0], steps[:, 1])
        ring, steps, lengths = ring[lengths > 0], steps[lengths > 0], lengths[lengths > 0]
        along = steps / lengths[:, None]
        after = np.roll(along, -1, axis=0)
        juts = along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0] < -STRAIGHT
        normals = np.column_stack([along[:, 1], -along[:, 0]])
        limits = (normals * ring).sum(axis=1)
        runs = np.concatenate([[0], np.cumsum(juts[:-1])])
        if not juts[-1]:  # the last chain goes on into the first
            runs[runs == runs[-1]] = 0
        parts.append((ring, along, lengths, normals, limits, runs + count, np.roll(juts, 1), juts))
        count += len(ring)
    starts, along, lengths, normals, limits, runs, first, last = map(np.concatenate, zip(*parts, strict=True))
    index = Segments(starts, starts + along * lengths[:, None])
    return Walls(starts, along, lengths, normals, limits, runs, first, last, index)


@dataclass(frozen=True, slots=True)
class Behind:
    """Half planes: `normals` (n, 2), `limits` (n,), and for each the `point` (n,) that is farthest out, by number."""

    normals: Array
    limits: Array
    point: Indices


def behind(points: Array, barrier: Walls, reach: float) -> Behind:
    """Give the half planes that points must stay in while nothing moves farther than `reach`."""
    i, w = barrier.index.within(points, reach)
    if len(i) == 0:
        return Behind(np.empty((0, 2)), np.empty(0), np.empty(0, dtype=np.intp))
    place, along, normals = points[i], barrier.along[w], barrier.normals[w]
    out = (place * normals).sum(axis=1) - barrier.limits[w]
    from_start = ((place - barrier.starts[w]) * along).sum(axis=1)
    past = from_start - np.clip(from_start, 0.0, barrier.lengths[w])
    far = np.hypot(past, out)
    group = np.cumsum(np.diff(i, prepend=i[0]) > 0)
    nearest = np.flatnonzero(far == np.minimum.reduceat(far, np.flatnonzero(np.diff(i, prepend=-1)))[group])
    first = nearest[np.diff(group[nearest], prepend=-1) > 0]  # the pair of each point with its nearest wall
    juts = np.where(past > 0, barrier.juts_last[w], barrier.juts_first[w] & (past < 0)) & (far > STRAIGHT)
    same_run = (barrier.runs[w] == barrier.runs[w[first]][group]) & ~juts[first][group]
    faced = (past == 0) & (out <= 0)
    # a run that turns by more than a half circle has walls that a point may rightly be beyond
    beyond = out > np.where(out[first] > 0, far[first], 0.0)[group] + STRAIGHT
    possible = np.flatnonzero((same_run & ~beyond) | faced)
    possible = possible[np.lexsort((-out[possible], w[possible]))]
    flat = possible[np.flatnonzero(np.diff(w[possible], prepend=-1))]  # of each wall, the point that is farthest out
    corner = first[juts[first]]
    tips = barrier.starts[w[corner]] + along[corner] * np.where(past > 0, barrier.lengths[w], 0.0)[corner][:, None]
    tangents = (tips - place[corner]) / far[corner][:, None]
    return Behind(
        np.vstack([normals[flat], tangents]),
        np.concatenate([barrier.limits[w[flat]], (tips * tangents).sum(axis=1)]),
        np.concatenate([i[flat], i[corner]]),
    )
