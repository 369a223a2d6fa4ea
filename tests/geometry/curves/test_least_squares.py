import itertools

import numpy as np
import pytest

from nameplate.geometry.curves.least_squares import Stretches, fit_cubics

#: Some cubics (mm) without kinks: start, two control points, end, as complex numbers.
CUBICS = (
    np.array(
        [
            [0, 1 + 1j, 2 + 1j, 3],
            [0, 2j, 4 + 3j, 5 + 1j],
            [1 + 1j, 3 + 1j, 5 + 2j, 6 + 4j],
            [0, -1 + 2j, 1 + 5j, 4 + 5j],
        ]
    )
    / 2
)


def bezier(control, t):
    """De Casteljau's construction, so that the fit and its measure share no formula."""
    points = [np.full(t.shape, c) for c in control]
    while len(points) > 1:
        points = [a + (b - a) * t for a, b in itertools.pairwise(points)]
    return points[0]


def stretches(samples, tangents, hold):
    """Lay stretches of samples end to end; `hold` is (first, last) for all."""
    sizes = np.array([len(s) for s in samples])
    last = np.cumsum(sizes) - 1
    along = np.concatenate([np.concatenate([[0.0], np.cumsum(np.abs(np.diff(s)))]) for s in samples])
    begin, end = np.array(tangents).T
    count = len(samples)
    return Stretches(
        np.concatenate(samples),
        along,
        last - sizes + 1,
        last,
        begin,
        end,
        np.full(count, hold[0]),
        np.full(count, hold[1]),
    )


def directions(control):
    d = np.array([control[1] - control[0], control[3] - control[2]])
    return d / np.abs(d)


def off(control, samples):
    """How far the samples lie from a cubic, by 20,000 of its points."""
    line = bezier(control, np.linspace(0, 1, 20_000))
    return max(np.abs(line - s).min() for s in samples)


@pytest.mark.parametrize("hold", [(True, True), (True, False), (False, True), (False, False)])
def test_samples_of_a_cubic_are_met_whatever_is_held(hold):
    samples = [bezier(c, np.linspace(0, 1, 60)) for c in CUBICS]
    cubics, errors = fit_cubics(stretches(samples, [directions(c) for c in CUBICS], hold), np.full(len(CUBICS), 0.02))
    for cubic, error, own in zip(cubics, errors, samples, strict=True):
        assert off(cubic, own) <= error + 1e-3
        assert error < 0.02
        assert cubic[0] == own[0] and cubic[3] == own[-1]


def test_held_tangents_are_kept():
    turned = [directions(c) * np.exp(0.05j) for c in CUBICS]
    samples = [bezier(c, np.linspace(0, 1, 60)) for c in CUBICS]
    cubics, _ = fit_cubics(stretches(samples, turned, (True, True)), np.full(len(CUBICS), 0.02))
    for cubic, tangents in zip(cubics, turned, strict=True):
        assert directions(cubic) == pytest.approx(tangents, abs=1e-12)


@pytest.mark.parametrize("hold", [(True, True), (True, False), (False, True), (False, False)])
def test_one_solution_is_the_least_squares_one(hold):
    # against numpy.linalg.lstsq on the same equations, written as real rows: the samples, and the weak pull to a third
    from nameplate.geometry.curves import least_squares as own

    rng = np.random.default_rng(4)
    samples = bezier(CUBICS[1], np.linspace(0, 1, 30)) + 0.05 * (rng.normal(size=30) + 1j * rng.normal(size=30))
    tangents = directions(CUBICS[1])
    work = own._laid_out(stretches([samples], [tangents], hold))
    t, length = work.t, work.length[0]
    b1, b2 = 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t)
    fixed = samples[0] * ((1 - t) ** 3 + b1) + samples[-1] * (t**3 + b2)

    def columns(weights, tangent, held):
        return [weights * tangent] if held else [weights * 1, weights * 1j]

    pull = np.sqrt(own.REST)
    zero = np.zeros(1)
    rows = [np.concatenate(part) for part in ((b1, [pull], zero), (b2, zero, [pull]))]
    first, last = (columns(w, d, h) for w, d, h in zip(rows, tangents, hold, strict=True))
    matrix = np.array([*first, *last]).T
    right = np.concatenate([samples - fixed, [pull * tangents[0] * length / 3], [-pull * tangents[1] * length / 3]])
    real = np.concatenate([matrix.real, matrix.imag]), np.concatenate([right.real, right.imag])
    found, *_ = np.linalg.lstsq(*real, rcond=None)
    p, q = (
        (c[0] * tangent if held else c[0] + 1j * c[1])
        for c, tangent, held in zip((found[: len(first)], found[len(first) :]), tangents, hold, strict=True)
    )
    assert own._solve(work)[0, 1:3] == pytest.approx([samples[0] + p, samples[-1] + q], abs=1e-9)


def test_a_round_across_the_curve_is_the_least_squares_one_too():
    # against numpy.linalg.lstsq: for each sample one row across the tangent and one, counted for SLIDE, along it
    from nameplate.geometry.curves import least_squares as own

    rng = np.random.default_rng(5)
    samples = bezier(CUBICS[2], np.linspace(0, 1, 30)) + 0.02 * (rng.normal(size=30) + 1j * rng.normal(size=30))
    tangents = directions(CUBICS[2])
    work = own._laid_out(stretches([samples], [tangents], (True, True)))
    before = own._solve(work)
    t, third = work.t, work.length[0] / 3
    b1, b2 = 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t)
    rest = samples - samples[0] * ((1 - t) ** 3 + b1) - samples[-1] * (t**3 + b2)
    step = 1e-6
    u = bezier(before[0], np.clip(t + step, 0, 1)) - bezier(before[0], np.clip(t - step, 0, 1))
    u /= np.abs(u)

    def rows(z):
        turned = z * np.conj(u)
        return np.concatenate([turned.imag, np.sqrt(own.SLIDE) * turned.real])

    pull = np.sqrt(own.REST)
    first = np.concatenate([rows(b1 * tangents[0]), [pull, 0]])
    last = np.concatenate([rows(b2 * tangents[1]), [0, pull]])
    found, *_ = np.linalg.lstsq(
        np.array([first, last]).T, np.concatenate([rows(rest), [pull * third, -pull * third]]), rcond=None
    )
    want = [samples[0] + found[0] * tangents[0], samples[-1] + found[1] * tangents[1]]
    assert own._solve_across(work, before)[0, 1:3] == pytest.approx(want, abs=1e-6)


def test_what_no_cubic_meets_is_told():
    zigzag = np.arange(9) + 1j * (np.arange(9) % 2)
    _, (error,) = fit_cubics(stretches([zigzag], [(1, 1)], (False, False)), np.array([0.02]))
    assert error > 0.02


def test_a_kink_is_refused():
    # there and back: the only cubics near the samples turn round on the spot
    back = np.concatenate([np.linspace(0, 5, 20), np.linspace(4.9, 2, 15)]) + 0j
    _, (error,) = fit_cubics(stretches([back], [(1, -1)], (True, True)), np.array([0.02]))
    assert error > 0.02
