import math

import numpy as np
import pytest

from nameplate.errors import GeometryError
from nameplate.geometry import region
from nameplate.geometry.nearby import Index, contains_points, distances, grid_inside, nearest, points_within

#: by elementary geometry: (3, 4) lies 5 from the corner at the origin, (1, 1) inside
CORNER = region.rectangle(0, 0, 2, 2)
PLACES = np.array([(-3.0, -4.0), (1.0, 1.0), (2.0, 1.0)])


def test_distances_and_nearness_of_points_agree():
    assert distances(CORNER, PLACES).tolist() == [5.0, 0.0, 0.0]
    assert points_within(CORNER, PLACES, 4.99).tolist() == [False, True, True]
    assert points_within(CORNER, PLACES, 5.01).tolist() == [True, True, True]


def test_nothing_is_near_an_empty_region():
    assert distances(region.EMPTY, PLACES).tolist() == [math.inf] * 3
    assert not points_within(region.EMPTY, PLACES, 1e9).any()
    with pytest.raises(GeometryError):
        nearest(region.EMPTY, CORNER)


def test_nearest_places_of_two_regions():
    a, b = nearest(CORNER, region.rectangle(5, 6, 7, 8))
    assert (a.tolist(), b.tolist()) == ([2.0, 2.0], [5.0, 6.0])


class TestIndex:
    def test_finds_only_what_is_near(self):
        squares = [region.rectangle(x, 0, x + 1, 1) for x in (0, 2, 4, 6)]
        assert Index(squares).near(squares[1], 1.0) == (0, 1, 2)
        assert Index(squares).near(squares[1], 0.5) == (1,)

    def test_of_nothing(self):
        assert Index([]).near(region.rectangle(0, 0, 3, 2)) == ()


@pytest.mark.parametrize("seed", range(6))
def test_a_grid_is_judged_like_single_points(seed):
    rng = np.random.default_rng(seed)
    discs = [region.disc(at, size) for at, size in zip(rng.uniform(0, 20, (8, 2)), rng.uniform(2, 9, 8), strict=True)]
    shape = region.difference(region.union(*discs[:5]), region.union(*discs[5:]))
    xs, ys = np.sort(rng.uniform(-3, 23, 60)), np.sort(rng.uniform(-3, 23, 50))
    singly = contains_points(shape, np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2))
    assert 100 < singly.sum() < len(singly) - 100
    assert (grid_inside(shape, xs, ys).ravel() == singly).all()
    assert not grid_inside(region.EMPTY, xs, ys).any()
