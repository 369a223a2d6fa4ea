"""Least-squares cubic Beziers through stretches of sampled outlines, thousands at once.

Each cubic starts and ends at its stretch's ends. At a smooth end its control point lies on the given tangent (one
unknown); at a corner it is free (two unknowns). A stretch's samples get parameters by length, then a few rounds of
solving for the control points and of moving each parameter to the nearest point of the curve (Newton).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from nameplate.geometry.region import Array

#: Rounds of solving and re-parametrising. Each costs as much as a fit; after four little is gained.
ROUNDS = 4

#: A first fit off by more than this many times what is allowed never gets there by further rounds.
HOPELESS = 12.0

#: Weight that holds a smooth end to its tangent (against 1 per sample): leaves about a millionth of the freedom.
HOLD = 1e6

#: Weight that keeps an unknown near a third of the stretch where the samples say nothing.
REST = 1e-4

#: A control arm shorter or longer than these shares of the stretch makes kinks and loops; such a fit is refused.
ARM_RANGE = (0.02, 1.2)


class Stretches(NamedTuple):
    """What to fit: samples (N, 2) with their length along the ring (N,), and k stretches of them.

    `first` and `last` (k,) are sample positions, both included; `leaving` and `arriving` (k, 2) unit tangents in the
    direction of travel; `hold_first` and `hold_last` (k,) tell whether the end must follow its tangent.
    """

    points: Array
    along: Array
    first: npt.NDArray[np.intp]
    last: npt.NDArray[np.intp]
    leaving: Array
    arriving: Array
    hold_first: npt.NDArray[np.bool_]
    hold_last: npt.NDArray[np.bool_]


def fit_cubics(s: Stretches, aim: float) -> tuple[Array, Array]:
    """Fit one cubic to each stretch; give control points (k, 4, 2) and errors (k,) in mm.

    The error is the larger of: the farthest sample from its point on the curve; the farthest of the curve's points
    between two samples from the chord joining them. It is infinite for a cubic that could have a kink. A stretch that
    is hopelessly off (HOPELESS times `aim` mm) after the first round is not worked on further.
    """
    control, errors = _fit_rounds(s, 1)
    hopeful = np.flatnonzero((errors > 0.5 * aim) & ((errors < HOPELESS * aim) | np.isinf(errors)))
    if len(hopeful):
        again = Stretches(
            s.points,
            s.along,
            s.first[hopeful],
            s.last[hopeful],
            s.leaving[hopeful],
            s.arriving[hopeful],
            s.hold_first[hopeful],
            s.hold_last[hopeful],
        )
        control[hopeful], errors[hopeful] = _fit_rounds(again, ROUNDS)
    return control, errors


def _fit_rounds(s: Stretches, rounds: int) -> tuple[Array, Array]:
    count = s.last - s.first + 1
    start = np.cumsum(count) - count
    own = np.repeat(np.arange(len(count)), count)
    index = np.arange(len(own)) - start[own] + s.first[own]
    points = s.points[index]
    length = s.along[s.last] - s.along[s.first]
    t = (s.along[index] - s.along[s.first][own]) / length[own]
    control = _solve(s, points, t, start, length)
    for _ in range(rounds):
        t = _nearest(control[own], points, t)
        control = _solve(s, points, t, start, length)
    return control, _errors(s, control, points, t, start, own, length)


def _solve(s: Stretches, points: Array, t: Array, start: npt.NDArray[np.intp], length: Array) -> Array:
    """Solve for the two inner control points of each stretch, as offsets from the ends."""
    p0, p3 = s.points[s.first], s.points[s.last]
    count = np.diff(np.append(start, len(t)))
    b1, b2 = 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t)
    near = (1 - t) ** 2 * (1 + 2 * t)  # weight of the start with its control point folded in
    rest = points - near[:, None] * np.repeat(p0, count, axis=0) - (1 - near)[:, None] * np.repeat(p3, count, axis=0)
    sums = np.add.reduceat(
        np.column_stack([b1 * b1, b1 * b2, b2 * b2, b1[:, None] * rest, b2[:, None] * rest]), start, axis=0
    )
    system = np.zeros((len(start), 4, 4))
    right = sums[:, 3:].copy()
    for axis in (0, 1):
        system[:, axis, axis] = sums[:, 0]
        system[:, 2 + axis, 2 + axis] = sums[:, 2]
        system[:, axis, 2 + axis] = system[:, 2 + axis, axis] = sums[:, 1]
    for at, tangent, hold, sign in ((0, s.leaving, s.hold_first, 1.0), (2, s.arriving, s.hold_last, -1.0)):
        normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
        across = normal[:, :, None] * normal[:, None, :]
        system[:, at : at + 2, at : at + 2] += (HOLD * hold)[:, None, None] * across + REST * np.eye(2)
        right[:, at : at + 2] += REST * sign * tangent * length[:, None] / 3
    offsets: Array = np.linalg.solve(system, right[:, :, None])[:, :, 0].astype(np.float64)
    leave = np.where(s.hold_first[:, None], _onto(offsets[:, :2], s.leaving), offsets[:, :2])
    arrive = np.where(s.hold_last[:, None], _onto(offsets[:, 2:], s.arriving), offsets[:, 2:])
    return np.stack([p0, p0 + leave, p3 + arrive, p3], axis=1)


def _onto(offsets: Array, tangents: Array) -> Array:
    along: Array = np.einsum("ij,ij->i", offsets, tangents)[:, None] * tangents
    return along


def evaluate(control: Array, t: Array) -> Array:
    """Give the points (n, 2) at parameters t (n,) of the cubics (n, 4, 2), one each."""
    u, v = t[:, None], 1 - t[:, None]
    point: Array = (
        v**3 * control[:, 0] + 3 * v * v * u * control[:, 1] + 3 * v * u * u * control[:, 2] + u**3 * control[:, 3]
    )
    return point


def derivative(cubic: Array, t: float) -> Array:
    """Give the derivative (2,) of one cubic (4, 2) at parameter t."""
    edges = np.diff(cubic, axis=0)
    d: Array = 3 * ((1 - t) ** 2 * edges[0] + 2 * t * (1 - t) * edges[1] + t * t * edges[2])
    return d


def _nearest(control: Array, points: Array, t: Array) -> Array:
    """Move each parameter one Newton step towards the nearest point of its cubic."""
    u, v = t[:, None], 1 - t[:, None]
    edges = np.diff(control, axis=1)
    bends = np.diff(edges, axis=1)
    away = evaluate(control, t) - points
    speed = 3 * (v * v * edges[:, 0] + 2 * v * u * edges[:, 1] + u * u * edges[:, 2])
    change = 6 * (v * bends[:, 0] + u * bends[:, 1])
    square = np.einsum("ij,ij->i", speed, speed)
    slope = square + np.einsum("ij,ij->i", away, change)
    step = np.einsum("ij,ij->i", away, speed) / np.where(slope > 0.1 * square, slope, square + 1e-12)
    moved: Array = np.clip(t - step, 0.0, 1.0)
    return moved


def _errors(
    s: Stretches,
    control: Array,
    points: Array,
    t: Array,
    start: npt.NDArray[np.intp],
    own: npt.NDArray[np.intp],
    length: Array,
) -> Array:
    t = _nearest(control[own], points, t)
    miss = np.hypot(*(evaluate(control[own], t) - points).T)
    inner = own[:-1] == own[1:]
    for share in (0.25, 0.5, 0.75):
        between = evaluate(control[own[:-1]], t[:-1] + share * (t[1:] - t[:-1]))
        gap = _to_chord(between, points[:-1], points[1:])
        miss[:-1] = np.maximum(miss[:-1], np.where(inner, gap, 0.0))
    error: Array = np.maximum.reduceat(miss, start)
    back = np.add.reduceat(np.append(inner & (t[1:] < t[:-1] - 1e-9), False), start) > 0
    arms = np.hypot(*(control[:, (1, 2)] - control[:, (0, 3)]).transpose(2, 0, 1)) / length[:, None]
    ahead = (np.einsum("ij,ij->i", control[:, 1] - control[:, 0], s.leaving) > 0) & (
        np.einsum("ij,ij->i", control[:, 3] - control[:, 2], s.arriving) > 0
    )
    sane = ((arms > ARM_RANGE[0]) & (arms < ARM_RANGE[1])).all(axis=1) & ahead & ~back
    return np.where(sane, error, np.inf)


def _to_chord(points: Array, a: Array, b: Array) -> Array:
    """Give the distance of each point from the piece of line between its a and b."""
    d = b - a
    square = np.einsum("ij,ij->i", d, d)
    share = np.clip(np.einsum("ij,ij->i", points - a, d) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    distance: Array = np.hypot(*(points - a - share[:, None] * d).T)
    return distance
