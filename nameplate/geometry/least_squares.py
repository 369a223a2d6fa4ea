"""Least-squares cubic Beziers through stretches of sampled outlines, thousands at once.

Each cubic starts and ends at its stretch's ends. At a smooth end its control point lies on the given tangent (one
unknown); at a corner it is free (two unknowns). A stretch's samples get parameters by length, then a few rounds of
solving for the control points and of moving each parameter to the nearest point of the curve (Newton).
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from nameplate.geometry.region import Array

#: Rounds of solving and re-parametrising. Each costs as much as a fit; after three little is gained.
ROUNDS = 3

#: A first fit off by more than this many times what is allowed never gets there by further rounds.
HOPELESS = 12.0

#: Weight that holds a smooth end to its tangent (against 1 per sample): leaves about a millionth of the freedom.
HOLD = 1e6

#: Weight that keeps an unknown near a third of the stretch where the samples say nothing.
REST = 1e-4

#: A first fit within this share of what is allowed is not worked on further either.
GOOD_ENOUGH = 0.5

#: A control arm shorter or longer than these shares of the stretch makes kinks and loops; such a fit is refused.
ARM_RANGE = (0.02, 1.2)


Complex: TypeAlias = npt.NDArray[np.complex128]
Indices: TypeAlias = npt.NDArray[np.intp]


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


class _Work(NamedTuple):
    """Stretches laid out sample by sample; points and vectors are complex numbers, which halves the work.

    `points`, `t` (n,): the samples and their parameters; `own` (n,): which stretch; `start` (k,): its first sample;
    `ends`, `tangents` (k, 2): first and last point and direction; `length` (k,); `hold` (k, 2).
    """

    points: Complex
    t: Array
    own: Indices
    start: Indices
    ends: Complex
    tangents: Complex
    length: Array
    hold: npt.NDArray[np.bool_]


def fit_cubics(s: Stretches, aim: float) -> tuple[Array, Array]:
    """Fit one cubic to each stretch; give control points (k, 4, 2) and errors (k,) in mm.

    The error is the larger of: the farthest sample from its point on the curve; the farthest of the curve's points
    halfway between two samples from the chord joining them. It is infinite for a cubic that could have a kink. A
    stretch that is hopelessly off (HOPELESS times `aim` mm) after the first round is not worked on further.
    """
    work, control = _rounds(_laid_out(s), 1)
    errors = _errors(work, control)
    hopeful = (errors > GOOD_ENOUGH * aim) & ((errors < HOPELESS * aim) | np.isinf(errors))
    if hopeful.any():
        again, better = _rounds(_kept(work, hopeful), ROUNDS)
        control[hopeful], errors[hopeful] = better, _errors(again, better)
    return np.stack([control.real, control.imag], axis=2), errors


def _laid_out(s: Stretches) -> _Work:
    count = s.last - s.first + 1
    start = np.cumsum(count) - count
    own = np.repeat(np.arange(len(count)), count)
    index = np.arange(len(own)) - start[own] + s.first[own]
    length = s.along[s.last] - s.along[s.first]
    t = (s.along[index] - s.along[s.first][own]) / length[own]
    points = s.points[:, 0] + 1j * s.points[:, 1]
    tangents = [v[:, 0] + 1j * v[:, 1] for v in (s.leaving, s.arriving)]
    return _Work(
        points[index],
        t,
        own,
        start,
        np.column_stack([points[s.first], points[s.last]]),
        np.column_stack(tangents),
        length,
        np.column_stack([s.hold_first, s.hold_last]),
    )


def _kept(w: _Work, keep: npt.NDArray[np.bool_]) -> _Work:
    samples = keep[w.own]
    own = (np.cumsum(keep) - 1)[w.own[samples]]
    start = np.searchsorted(own, np.arange(int(keep.sum())))
    return _Work(
        w.points[samples], w.t[samples], own, start, w.ends[keep], w.tangents[keep], w.length[keep], w.hold[keep]
    )


def _rounds(w: _Work, rounds: int) -> tuple[_Work, Complex]:
    """Solve, then improve the parameters and solve again; give the last parameters and control points (k, 4)."""
    control = _solve(w)
    for _ in range(rounds):
        w = w._replace(t=_nearest(w, control))
        control = _solve(w)
    return w, control


def _solve(w: _Work) -> Complex:
    """Solve for the two inner control points of each stretch, as offsets from the ends."""
    t, v = w.t, 1 - w.t
    b1, b2 = 3 * t * v * v, 3 * t * t * v
    near = v * v * (1 + 2 * t)  # weight of the start with its control point folded in
    first, last = w.ends.T
    rest = w.points - last[w.own] - near * (first - last)[w.own]
    a11, a12, a22 = (np.add.reduceat(b, w.start) for b in (b1 * b1, b1 * b2, b2 * b2))
    r1, r2 = (np.add.reduceat(b * rest, w.start) for b in (b1, b2))
    system = np.zeros((len(w.start), 4, 4))
    right = np.column_stack([r1.real, r1.imag, r2.real, r2.imag])
    for axis in (0, 1):
        system[:, axis, axis] = a11
        system[:, 2 + axis, 2 + axis] = a22
        system[:, axis, 2 + axis] = system[:, 2 + axis, axis] = a12
    for end, sign in ((0, 1.0), (1, -1.0)):
        tangent, at = w.tangents[:, end], 2 * end
        normal = np.column_stack([-tangent.imag, tangent.real])
        across = normal[:, :, None] * normal[:, None, :]
        system[:, at : at + 2, at : at + 2] += (HOLD * w.hold[:, end])[:, None, None] * across + REST * np.eye(2)
        right[:, at] += REST * sign * tangent.real * w.length / 3
        right[:, at + 1] += REST * sign * tangent.imag * w.length / 3
    solved = np.linalg.solve(system, right[:, :, None])[:, :, 0]
    offsets = np.column_stack([solved[:, 0] + 1j * solved[:, 1], solved[:, 2] + 1j * solved[:, 3]])
    offsets = np.where(w.hold, _dot(offsets, w.tangents) * w.tangents, offsets)
    return np.column_stack([first, first + offsets[:, 0], last + offsets[:, 1], last])


def _dot(a: Complex, b: Complex) -> Array:
    dot: Array = a.real * b.real + a.imag * b.imag
    return dot


def _powers(control: Complex) -> tuple[Complex, Complex, Complex, Complex]:
    """Give the coefficients of 1, t, t^2, t^3 of cubics (k, 4)."""
    p0, p1, p2, p3 = control.T
    return p0, 3 * (p1 - p0), 3 * (p0 - 2 * p1 + p2), p3 - p0 + 3 * (p1 - p2)


def _nearest(w: _Work, control: Complex) -> Array:
    """Move each parameter one Newton step towards the nearest point of its cubic."""
    c0, c1, c2, c3 = (c[w.own] for c in _powers(control))
    t = w.t
    away = ((c3 * t + c2) * t + c1) * t + c0 - w.points
    speed = (3 * c3 * t + 2 * c2) * t + c1
    square = _dot(speed, speed)
    slope = square + _dot(away, 6 * c3 * t + 2 * c2)
    step = _dot(away, speed) / np.where(slope > 0.1 * square, slope, square + 1e-12)
    nearer: Array = np.clip(t - step, 0.0, 1.0)
    return nearer


def _errors(w: _Work, control: Complex) -> Array:
    t = _nearest(w, control)
    c0, c1, c2, c3 = (c[w.own] for c in _powers(control))
    miss = np.abs(((c3 * t + c2) * t + c1) * t + c0 - w.points)
    inner = w.own[:-1] == w.own[1:]
    m = (t[:-1] + t[1:]) / 2
    halfway = ((c3[:-1] * m + c2[:-1]) * m + c1[:-1]) * m + c0[:-1]
    miss[:-1] = np.maximum(miss[:-1], np.where(inner, _to_chord(halfway, w.points[:-1], w.points[1:]), 0.0))
    error: Array = np.maximum.reduceat(miss, w.start)
    back = np.logical_or.reduceat(np.append(inner & (t[1:] < t[:-1] - 1e-9), False), w.start)
    return np.where(_sane(w, control) & ~back, error, np.inf)


def _sane(w: _Work, control: Complex) -> npt.NDArray[np.bool_]:
    """Tell which cubics have arms of a reasonable length that point the right way."""
    arms = np.column_stack([control[:, 1] - control[:, 0], control[:, 3] - control[:, 2]])
    share = np.abs(arms) / w.length[:, None]
    fit = (share > ARM_RANGE[0]) & (share < ARM_RANGE[1]) & (_dot(arms, w.tangents) > 0)
    sane: npt.NDArray[np.bool_] = fit[:, 0] & fit[:, 1]
    return sane


def _to_chord(points: Complex, a: Complex, b: Complex) -> Array:
    """Give the distance of each point from the piece of line between its a and b."""
    d = b - a
    square = _dot(d, d)
    share = np.clip(_dot(points - a, d) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    distance: Array = np.abs(points - a - share * d)
    return distance


def direction_at(cubic: Array, point: Array) -> Array:
    """Give the unit tangent (2,) of one cubic (4, 2) where it is nearest to a point, to within a 64th of it."""
    c0, c1, c2, c3 = _powers(cubic[None, :, 0] + 1j * cubic[None, :, 1])
    t = np.linspace(0, 1, 65)
    at = t[np.argmin(np.abs(((c3 * t + c2) * t + c1) * t + c0 - complex(*point)))]
    d = complex(((3 * c3 * at + 2 * c2) * at + c1)[0])
    return np.array([d.real, d.imag]) / abs(d)
