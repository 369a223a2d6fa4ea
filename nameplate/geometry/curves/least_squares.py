"""Least-squares cubic Beziers through stretches of sampled outlines, thousands at once.

Each cubic starts and ends at its stretch's ends. At a smooth end its control point lies on the given tangent (one
unknown); at a corner it is free (two unknowns). A stretch's samples get parameters by length, then a few rounds of
solving for the control points and of moving each parameter to the nearest point of the curve (Newton). Between two
smooth ends distances count across the curve only, nearly: parameters and control points then settle together, instead
of each waiting for the other (W. Wang, H. Pottmann and Y. Liu, Fitting B-spline curves to point clouds by curvature-
based squared distance minimization, ACM Transactions on Graphics 25, 2006, call it tangent distance; from memory).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from nameplate.geometry.counting import members
from nameplate.geometry.planar import Complex, dot, to_chord, unit
from nameplate.geometry.region import Array, Flags, Indices

#: Rounds of solving and re-parametrising, at most. Each costs as much as a fit; after three little is gained.
ROUNDS = 3

#: A fit off by more than this many times what is allowed after so many rounds never gets there by further rounds.
HOPELESS = (12.0, 3.0, 1.5)

#: Weight of a sample's difference along the curve against 1 for across. With 1 each round gains little, and a sixth
#: more cubics are needed; below 0.01 the first rounds lose their way.
SLIDE = 0.02

#: A fit within this share of what is allowed is not worked on further. Higher leaves burned parts off by a micrometre.
GOOD_ENOUGH = 0.5

#: Weight that keeps an unknown near a third of the stretch where the samples say nothing.
REST = 1e-4

#: A control arm shorter or longer than these shares of the stretch makes kinks and loops; such a fit is refused.
ARM_RANGE = (0.02, 1.2)


class Stretches(NamedTuple):
    """What to fit: samples (N,) with their length along the ring (N,), and k stretches of them.

    `first` and `last` (k,) are sample positions, both included; `leaving` and `arriving` (k,) unit tangents in the
    direction of travel; `hold_first` and `hold_last` (k,) tell whether the end must follow its tangent.
    """

    points: Complex
    along: Array
    first: Indices
    last: Indices
    leaving: Complex
    arriving: Complex
    hold_first: Flags
    hold_last: Flags


class _Work(NamedTuple):
    """Stretches laid out sample by sample.

    `points`, `t` (n,): the samples and their parameters; `start`, `sizes` (k,): where each stretch's samples lie in
    these; `first`, `last`, `leaving`, `arriving` (k,): end points and directions; `length` (k,); which are held (k,).
    """

    points: Complex
    t: Array
    start: Indices
    sizes: Indices
    first: Complex
    last: Complex
    leaving: Complex
    arriving: Complex
    length: Array
    hold_first: Flags
    hold_last: Flags

    def own(self, of_stretch: Complex) -> Complex:
        """Give each sample the value of its stretch."""
        return np.repeat(of_stretch, self.sizes)


def fit_cubics(s: Stretches, tolerance: Array) -> tuple[Complex, Array]:
    """Fit one cubic to each stretch; give control points (k, 4) and errors (k,) in mm.

    The error is the larger of: the farthest sample from its point on the curve; the farthest of the curve's points
    halfway between two samples from the chord joining them. It is infinite for a cubic that could have a kink. A
    stretch is worked on until its error is well under its `tolerance` (k,) in mm (GOOD_ENOUGH), or hopelessly above it
    (HOPELESS).
    """
    work = _laid_out(s)
    control = _solve(work)
    latest, errors = control, np.full(len(control), np.inf)
    control, left = control.copy(), np.arange(len(control))
    work = work._replace(t=_nearest(work, control))
    for number in range(ROUNDS):
        better = _solve_across(work, latest)
        miss, work = _misses(work, better)
        farthest = np.maximum.reduceat(miss, work.start)
        error = _errors(work, better, miss, farthest, farthest <= tolerance[left])
        gain = error < errors[left]
        control[left[gain]], errors[left[gain]] = better[gain], error[gain]
        hopeless = HOPELESS[min(number, len(HOPELESS) - 1)] * tolerance[left]
        open_ = (error > GOOD_ENOUGH * tolerance[left]) & (farthest < hopeless)
        if not open_.any():
            break
        left, work, latest = left[open_], _kept(work, open_), better[open_]
    return control, errors


def plain_cubics(s: Stretches, arm: float) -> tuple[Complex, Array]:
    """Give each stretch the cubic with arms of a given share of it, along its tangents; as `fit_cubics` gives them."""
    work = _laid_out(s)
    reach = arm * work.length
    out, back = reach * work.leaving, reach * work.arriving
    control = np.stack([work.first, work.first + out, work.last - back, work.last], axis=1)
    for _ in range(ROUNDS):
        miss, work = _misses(work, control)
    farthest = np.maximum.reduceat(miss, work.start)
    return control, _errors(work, control, miss, farthest, np.ones(len(control), dtype=bool))


def _laid_out(s: Stretches) -> _Work:
    count = s.last - s.first + 1
    start = np.cumsum(count) - count
    which, nth = members(count)
    index = s.first[which] + nth
    begin = s.along[s.first]
    length = s.along[s.last] - begin
    t = (s.along[index] - begin[which]) / length[which]
    ends = (s.points[s.first], s.points[s.last], s.leaving, s.arriving, length, s.hold_first, s.hold_last)
    return _Work(s.points[index], t, start, count, *ends)


def _kept(w: _Work, keep: Flags) -> _Work:
    samples = np.repeat(keep, w.sizes)
    sizes = w.sizes[keep]
    by_stretch = (each[keep] for each in w[4:])
    return _Work._make([w.points[samples], w.t[samples], np.cumsum(sizes) - sizes, sizes, *by_stretch])


def _weights(w: _Work) -> tuple[Array, Array, Complex]:
    """Give what each sample is of the offsets p from the start and q from the end, and what these must make up for."""
    t, v = w.t, 1 - w.t
    tv = 3 * t * v
    b1, b2 = tv * v, tv * t
    rest = w.points - w.own(w.last) - v * v * (1 + 2 * t) * w.own(w.first - w.last)
    return b1, b2, rest


def _solve(w: _Work) -> Complex:
    """Solve for the two inner control points of each stretch; give all four (k, 4).

    The offsets p from the start and q from the end minimise the sum of |b1 p + b2 q - rest|^2: two linear equations,
    a11 p + a12 q = r1 and a12 p + a22 q = r2, with p or q a multiple of its tangent where that is held. q is
    eliminated, then p found; both by hand, since a general solver costs more than all the rest.
    """
    b1, b2, rest = _weights(w)
    a11, a12, a22 = (np.add.reduceat(b, w.start) for b in (b1 * b1, b1 * b2, b2 * b2))
    r1: Complex = np.add.reduceat(b1 * rest, w.start)
    r2: Complex = np.add.reduceat(b2 * rest, w.start)
    a11, a22, third = a11 + REST, a22 + REST, REST * w.length / 3
    r1, r2 = r1 + third * w.leaving, r2 - third * w.arriving
    ratio = a12 / a22
    left, taken = a11, ratio * a12  # what p weighs, and what q takes of it (along q's tangent only, if that is held)
    r2_held = dot(r2, w.arriving) * w.arriving
    r = r1 - ratio * np.where(w.hold_last, r2_held, r2)
    align = np.where(w.hold_last, dot(w.leaving, w.arriving) ** 2, 1.0)
    p_held = dot(r, w.leaving) / (left - taken * align) * w.leaving
    along = dot(r, w.arriving) * w.arriving
    p_free = np.where(w.hold_last, (r - along) / left + along / (left - taken), r / (left - taken))
    p = np.where(w.hold_first, p_held, p_free)
    q = (r2 - a12 * p) / a22
    q = np.where(w.hold_last, dot(q, w.arriving) * w.arriving, q)
    return np.stack([w.first, w.first + p, w.last + q, w.last], axis=1)


def _solve_across(w: _Work, control: Complex) -> Complex:
    """Solve again, with what lies along the cubics found before counted for little (SLIDE); free ends as in `_solve`.

    Of each difference z only the part across the unit tangent u counts in full: h z - k u^2 conj(z), where h + k = 1
    and h - k = SLIDE. So the samples may slide along the curve, as their parameters will do next.
    """
    b1, b2, rest = _weights(w)
    _, c1, c2, c3 = (w.own(c) for c in powers(control))
    across = (1 - SLIDE) / 2 * unit((3 * c3 * w.t + 2 * c2) * w.t + c1) ** 2
    pull = (1 + SLIDE) / 2 * rest - across * np.conj(rest)
    third = REST * w.length / 3
    r1 = dot(np.add.reduceat(b1 * pull, w.start), w.leaving) + third
    r2 = dot(np.add.reduceat(b2 * pull, w.start), w.arriving) - third
    a11 = _shared(w, b1 * b1, across, w.leaving, w.leaving) + REST
    a12 = _shared(w, b1 * b2, across, w.leaving, w.arriving)
    a22 = _shared(w, b2 * b2, across, w.arriving, w.arriving) + REST
    determinant = a11 * a22 - a12 * a12
    p = (a22 * r1 - a12 * r2) / determinant * w.leaving
    q = (a11 * r2 - a12 * r1) / determinant * w.arriving
    solved = np.stack([w.first, w.first + p, w.last + q, w.last], axis=1)
    free = ~(w.hold_first & w.hold_last)
    if free.any():
        solved[free] = _solve(_kept(w, free))
    return solved


def _shared(w: _Work, weight: Array, across: Complex, one: Complex, other: Complex) -> Array:
    """Give the sums of weights times the inner product of two directions, as far as it counts."""
    plain: Array = np.add.reduceat(weight, w.start)
    turned: Complex = np.add.reduceat(weight * across, w.start)
    return (1 + SLIDE) / 2 * plain * dot(one, other) - dot(turned * np.conj(one), other)


def powers(control: Complex) -> tuple[Complex, Complex, Complex, Complex]:
    """Give the coefficients of 1, t, t^2, t^3 of cubics (k, 4)."""
    p0, p1, p2, p3 = control.T
    return p0, 3 * (p1 - p0), 3 * (p0 - 2 * p1 + p2), p3 - p0 + 3 * (p1 - p2)


def _nearest(w: _Work, control: Complex) -> Array:
    """Move each parameter one Newton step towards the nearest point of its cubic."""
    c0, c1, c2, c3 = (w.own(c) for c in powers(control))
    return _newton(w, c0 - w.points, c1, c2, c3)


def _newton(w: _Work, from_sample: Complex, c1: Complex, c2: Complex, c3: Complex) -> Array:
    t = w.t
    c3t = c3 * t
    away = ((c3t + c2) * t + c1) * t + from_sample
    bend = 3 * c3t + c2
    speed = (bend + c2) * t + c1
    square = dot(speed, speed)
    slope = square + 2 * dot(away, bend)
    step = dot(away, speed) / np.where(slope > 0.1 * square, slope, square + 1e-12)
    return np.minimum(np.maximum(t - step, 0.0), 1.0)


def _misses(w: _Work, control: Complex) -> tuple[Array, _Work]:
    """Give the samples' distances from their points on the cubics, with their parameters improved once more."""
    c0, c1, c2, c3 = (w.own(c) for c in powers(control))
    c0 = c0 - w.points
    t = _newton(w, c0, c1, c2, c3)
    return np.abs(((c3 * t + c2) * t + c1) * t + c0), w._replace(t=t)


def _errors(w: _Work, control: Complex, miss: Array, farthest: Array, judged: Flags) -> Array:
    """Give the errors of the stretches to be judged, and for the others their `farthest` misses, which are less."""
    if not judged.any():
        return farthest
    samples = np.repeat(judged, w.sizes)
    errors = farthest.copy()
    errors[judged] = _whole_errors(_kept(w, judged), control[judged], miss[samples])
    return errors


def _whole_errors(w: _Work, control: Complex, miss: Array) -> Array:
    t = w.t
    inner = np.ones(len(t), dtype=bool)
    inner[w.start] = False  # a sample that has one of its own stretch before it
    inner = inner[1:]
    c0, c1, c2, c3 = (w.own(c)[:-1] for c in powers(control))
    m = (t[:-1] + t[1:]) / 2
    halfway = ((c3 * m + c2) * m + c1) * m + c0
    off = np.where(inner, to_chord(halfway, w.points[:-1], w.points[1:]), 0.0)
    error: Array = np.maximum.reduceat(np.maximum(miss, np.append(off, 0.0)), w.start)
    back = np.logical_or.reduceat(np.append(inner & (t[1:] < t[:-1] - 1e-9), False), w.start)
    return np.where(_sane(w, control) & ~back, error, np.inf)


def _sane(w: _Work, control: Complex) -> Flags:
    """Tell which cubics have arms of a reasonable length that point the right way."""
    sane = np.ones(len(control), dtype=bool)
    for arm, tangent in ((control[:, 1] - control[:, 0], w.leaving), (control[:, 3] - control[:, 2], w.arriving)):
        share = np.abs(arm) / w.length
        sane &= (share > ARM_RANGE[0]) & (share < ARM_RANGE[1]) & (dot(arm, tangent) > 0)
    return sane
