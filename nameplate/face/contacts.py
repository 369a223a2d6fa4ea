"""Which straight walls hold a shape in its place: the rows of a linear programme that are true near a given fit.

Terms. *Walls* are the edges of a boundary, each with its normal pointing out of the free side. A *run* is a chain of
walls that all turn the same way, so that the free side is convex along it. *Reach* is how far anything may move before
the rows are made anew. For a point on the free side the nearest wall is looked up; it must stay behind that wall and
behind all walls of the same run within reach, which is exact there. A point nearest to a corner that juts into the
free side stays behind the tangent through that corner, which is cautious: it gives up what lies round the corner.

Known limit: all points are measured against all walls, so the caller passes only those that are near.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nameplate.geometry.region import Array

#: A corner turning back by less than this (radians) is rounding, not a change of direction.
STRAIGHT = 1e-7

Flags = npt.NDArray[np.bool_]


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
    runs: npt.NDArray[np.int64]
    juts_first: Flags
    juts_last: Flags

    def near(self, low: Array, high: Array) -> Walls:
        """Keep the walls that touch the box from `low` to `high`."""
        ends = self.starts + self.along * self.lengths[:, None]
        keep = ((np.minimum(self.starts, ends) <= high) & (np.maximum(self.starts, ends) >= low)).all(axis=1)
        return Walls(*(getattr(self, name)[keep] for name in self.__slots__))


def walls(rings: tuple[Array, ...]) -> Walls:
    """Make walls from rings, (n, 2) each, that keep the free side on their left."""
    parts, first = [], 0
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
        parts.append((ring, along, lengths, normals, limits, runs + first, np.roll(juts, 1), juts))
        first += len(ring)
    return Walls(*(np.concatenate(column) for column in zip(*parts, strict=True)))


@dataclass(frozen=True, slots=True)
class Behind:
    """Half planes: `normals` (n, 2), `limits` (n,), and for each the `point` (n,) that is farthest out, by number."""

    normals: Array
    limits: Array
    point: npt.NDArray[np.int64]


def behind(points: Array, barrier: Walls, reach: float) -> Behind:
    """Give the half planes that points must stay in while nothing moves farther than `reach`."""
    if len(points) == 0 or len(barrier.lengths) == 0:
        return Behind(np.empty((0, 2)), np.empty(0), np.empty(0, dtype=np.int64))
    # along and across each wall, for all points at once
    from_start = points @ barrier.along.T - (barrier.starts * barrier.along).sum(axis=1)
    out = points @ barrier.normals.T - barrier.limits
    past = from_start - np.clip(from_start, 0.0, barrier.lengths)
    far = np.hypot(past, out)
    index, nearest = np.arange(len(points)), np.argmin(far, axis=1)
    beyond, least = past[index, nearest], far[index, nearest]
    juts = np.where(beyond > 0, barrier.juts_last[nearest], barrier.juts_first[nearest] & (beyond < 0))
    at_corner = (least < reach) & juts & (least > STRAIGHT)
    same_run = (barrier.runs == barrier.runs[nearest][:, None]) & ~at_corner[:, None]
    faced = (past == 0) & (out <= 0)
    most = np.where((far < reach) & (same_run | faced), out, -np.inf)
    who = np.argmax(most, axis=0)
    used = np.flatnonzero(np.isfinite(most[who, np.arange(len(who))]))
    corner = np.flatnonzero(at_corner)
    wall = nearest[corner]
    tips = (
        barrier.starts[wall] + barrier.along[wall] * np.where(beyond[corner] > 0, barrier.lengths[wall], 0.0)[:, None]
    )
    tangents = (tips - points[corner]) / least[corner][:, None]
    return Behind(
        np.vstack([barrier.normals[used], tangents]),
        np.concatenate([barrier.limits[used], (tips * tangents).sum(axis=1)]),
        np.concatenate([who[used], corner]),
    )
