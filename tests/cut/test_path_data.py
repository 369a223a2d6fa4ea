"""Path data against Bernstein's polynomials, and what is said of data that is refused."""

import numpy as np
import pytest
import shapely

from nameplate.cut.path_data import FLAT, outline


def chain(rng):
    """Path data of random lines and cubics, and points on it that are far closer than it is flattened."""
    at = rng.uniform(0, 40, 2).round(4)
    data, on_it = [f"M {at[0]:g} {at[1]:g}"], [at]
    t = np.linspace(0, 1, 300)[:, None]
    for cubic in rng.random(rng.integers(3, 7)) < 0.6:
        places = rng.uniform(0, 40, (3 if cubic else 1, 2)).round(2)
        data.append(("C " if cubic else "L ") + ", ".join(f"{x:g} {y:g}" for x, y in places))
        if cubic:
            one, two, end = places
            on_it += [*((1 - t) ** 3 * at + 3 * (1 - t) ** 2 * t * one + 3 * (1 - t) * t**2 * two + t**3 * end)]
        at = places[-1]
        on_it.append(at)
    return " ".join(data), np.array(on_it)


@pytest.mark.parametrize("ends", ["", " Z"])
def test_random_paths_are_drawn_as_near_as_is_said(ends):
    rng = np.random.default_rng(11)
    for _ in range(4):
        data, on_it = chain(rng)
        points, closed, count = outline(data + ends)
        assert (closed, count) == (bool(ends), data.count("L") + data.count("C"))
        drawn, exact = (shapely.LineString(line) for line in (points, np.vstack([on_it, on_it[:1]]) if ends else on_it))
        assert shapely.distance(drawn, shapely.points(on_it)).max() <= FLAT * 1.001
        assert shapely.distance(exact, shapely.points(points)).max() <= 1e-3


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ("M 0 0 L 9 0 Z M 1 1 Z", "path data must be one M, then L and C, then Z at most; found 'MLZMZ'"),
        ("M 0 0 L 9 0 Z 1", "command Z takes 0 numbers, not 1"),
        ("M 0 0 L 9 0 9", "command L takes 2 numbers, not 3"),
        ("M 0 0 C 9 0 9 9", "command C takes 6 numbers, not 4"),
        ("M 0 L 9 0", "command M takes 2 numbers, not 1"),
        ("M 0 0 H 9", "path command 'H' is not one of M L C Z"),
        ("M 0 0 L 9 1e3", "path command 'e' is not one of M L C Z"),
        ("M 0 0 L 9 .5", "'.5' is not a plain number below 1000000 of at most four decimals"),
        ("0 0 L 9 0", "path data '0 0 L 9 0' does not begin with a command"),
        ("M 0 0 L 9 0 Z", "a closed outline needs three different points"),
    ],
)
def test_what_is_wrong_with_path_data_is_said(data, said):
    with pytest.raises(ValueError) as refused:
        outline(data)
    assert str(refused.value) == said
