import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from nameplate.geometry import linear


def problem(seed, rows, columns):
    rng = np.random.default_rng(seed)
    normals = rng.normal(size=(rows, columns))
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    return rng, normals, rng.uniform(-0.3 if seed % 3 == 0 else 0.05, 1.0, rows)


@settings(max_examples=150, deadline=None)
@given(seed=st.integers(0, 100_000), rows=st.integers(1, 60))
def test_best_agrees_with_an_independent_solver(seed, rows):
    from scipy.optimize import linprog  # HiGHS, an independent implementation

    rng, normals, limits = problem(seed, rows, 3)
    objective = rng.normal(size=3)
    found = linear.best(objective, normals, limits, reach=10)
    other = linprog(-objective, A_ub=normals, b_ub=limits, bounds=[(-10, 10)] * 3, method="highs")
    if found is None:
        assert other.status == 2  # infeasible
    else:
        assert (normals @ found - limits).max() < 1e-9
        assert objective @ found == np.float64(-other.fun) or abs(objective @ found + other.fun) < 1e-6


@settings(max_examples=150, deadline=None)
@given(seed=st.integers(0, 100_000), rows=st.integers(1, 40))
def test_nearest_satisfies_the_conditions_of_kuhn_and_tucker(seed, rows):
    # the nearest point of a convex set to a target: target - point is a non-negative sum of the normals it touches
    # (Kuhn and Tucker, 1951)
    from scipy.optimize import nnls

    rng, normals, limits = problem(seed, rows, 2)
    target = rng.uniform(-3, 3, 2)
    point = linear.nearest(target, normals, limits)
    if point is None:
        best = linear.best(np.array([1.0, 0.0]), normals, limits - 1e-9, reach=100)
        assert best is None
        return
    assert (normals @ point - limits).max() < 1e-9
    touching = normals[normals @ point - limits > -1e-8]
    gap = target - point
    assert np.linalg.norm(gap) < 1e-9 or (len(touching) and nnls(touching.T, gap)[1] < 1e-6)
