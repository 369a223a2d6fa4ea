"""Shifts on a raster, against trying every one."""

import numpy as np
import pytest
import shapely

from nameplate.geometry import region
from nameplate.placement.objective import Level, Objective
from nameplate.placement.raster import raster

ZONE = region.difference(region.disc((0, 0), 2), region.rectangle(-0.1, 0.3, 0.5, 0.5))
AIM = Objective(np.zeros(2), np.zeros(2))


def points_of_a_word(seed):
    rng = np.random.default_rng(seed)
    return rng.uniform([-1, -0.4], [1, 0.4], (60, 2))


def every_shift(grid, points, scale):
    """The least depth at each shift that keeps all points on the raster, by the definition."""
    cells = np.rint(points * scale / grid.cell).astype(int)
    (up, across), found = grid.depths.shape, {}
    for y in range(-cells[:, 1].min(), up - cells[:, 1].max()):
        for x in range(-cells[:, 0].min(), across - cells[:, 0].max()):
            found[x, y] = grid.depths[cells[:, 1] + y, cells[:, 0] + x].min()
    return found


def by_cells(grid, shifts):
    return [tuple(c) for c in np.rint((shifts - grid.origin) / grid.cell).astype(int).tolist()]


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("scale", [0.05, 0.4, 0.62, 0.8, 3.0])
def test_shifts_and_their_depths_are_those_of_trying_every_one(seed, scale):
    grid, points = raster(ZONE, 30), points_of_a_word(seed)
    depths = every_shift(grid, points, scale)
    assert by_cells(grid, grid.shifts(points, AIM, scale)) == sorted(
        (s for s, d in depths.items() if d >= 0), key=lambda s: s[::-1]
    )
    assert set(by_cells(grid, grid.shifts(points, AIM, scale, deep=True))) == {
        s for s, d in depths.items() if d > grid.cell
    }
    score, shifts = grid.scores(points, AIM, scale)
    assert [depths[s] for s in by_cells(grid, shifts)] == pytest.approx(score.tolist())


@pytest.mark.parametrize("at", [-0.3, 0.011, 0.2])
def test_with_a_level_only_the_shifts_next_to_it_are_left_and_lie_on_it(at):
    grid, points = raster(ZONE, 30), points_of_a_word(1)
    level = Objective(np.zeros(2), np.zeros(2), level=Level(0.5, at))
    free, held = grid.shifts(points, AIM, 0.5), grid.shifts(points, level, 0.5)
    wanted = at - 0.5 * 0.5
    near = free[np.abs(free[:, 1] - wanted) <= grid.cell / 2]
    assert sorted(held[:, 0]) == pytest.approx(sorted(near[:, 0]))
    assert held[:, 1] == pytest.approx(np.full(len(held), wanted))


def test_depths_between_places_are_never_too_large():
    grid = raster(ZONE, 60)
    places = np.random.default_rng(0).uniform(-1, 1, (500, 2))
    exact = np.array([ZONE.boundary.distance(p) * (1 if ZONE.contains(p) else -1) for p in shapely.points(places)])
    read = grid.read(places)
    assert (read <= exact + 1e-9).all() and (read >= exact - 2 * grid.cell).all()
