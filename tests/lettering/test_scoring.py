import numpy as np
import pytest
from shapely.geometry import LineString, Point

from nameplate.errors import GeometryError
from nameplate.geometry import region as geo
from nameplate.geometry.measure import section
from nameplate.lettering.scoring import LEAST_LINE, hatch, outline

RING = geo.difference(geo.as_region(Point(3, 4).buffer(10, 64)), geo.as_region(Point(3, 4).buffer(6, 64)))


def test_outline_walks_every_ring_once():
    lines = outline(RING)
    assert len(lines) == 2
    assert all((line[0] == line[-1]).all() for line in lines)
    assert sum(np.hypot(*np.diff(line, axis=0).T).sum() for line in lines) == pytest.approx(RING.length)
    assert outline(geo.EMPTY) == ()


@pytest.mark.parametrize("angle", [0, 30, 45, 90, 135])
def test_hatching_lies_inside_at_the_angle_and_measures_the_area(angle):
    # Cavalieri: length of the lines times their spacing is the area
    lines = hatch(RING, 0.2, angle)
    inside = RING.buffer(1e-6)
    way = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    total = 0.0
    for line in lines:
        assert inside.covers(LineString(line))
        run = line[1] - line[0]
        assert abs(run[0] * way[1] - run[1] * way[0]) < 1e-9
        total += np.hypot(*run)
    assert total * 0.2 == pytest.approx(RING.area, rel=5e-3)


def test_rows_run_to_and_fro():
    lines = hatch(geo.rectangle(0, 0, 10, 5), 0.7, 0)
    directions = [np.sign((line[1] - line[0])[0]) for line in lines]
    assert directions == [(-1) ** i * directions[0] for i in range(len(lines))]


@pytest.mark.parametrize("spacing", [0, -1, float("nan"), float("inf")])
def test_impossible_spacings_are_refused(spacing):
    with pytest.raises(GeometryError, match="apart"):
        hatch(RING, spacing)


def test_a_tip_that_a_row_only_touches_gets_no_line():
    # at 45 degrees the rows meet the corners of this square; one of them by a thousandth of a millimetre
    row = 0.7 / np.sqrt(2)
    square = geo.rectangle(row * 10 - 0.001, -row * 10, row * 20, row * 10)
    lines = hatch(square, 0.7, 45)
    assert all(np.hypot(*(line[1] - line[0])) >= LEAST_LINE for line in lines)
    assert any(0 < length < LEAST_LINE for length in _lengths(square, 0.7))


def _lengths(region, spacing):
    upright = geo.moved(region, turn=45)
    box = geo.bounds(upright)
    rows = range(int(box.x0 // spacing), int(box.x1 // spacing) + 2)
    return [float(y1 - y0) for row in rows for y0, y1 in section(upright, row * spacing)]


def test_more_rows_than_anyone_wants_to_wait_for_are_refused_with_a_figure_that_works(monkeypatch):
    with pytest.raises(GeometryError, match=r"with 40000 rows, and 10000 are the most; set lettering.hatch to 0\.2 mm"):
        hatch(geo.rectangle(0, 0, 2000, 100), 0.05, 90)
    monkeypatch.setattr("nameplate.lettering.scoring.MOST_ROWS", 1000)
    wide = geo.rectangle(0, 0, 200, 10)
    with pytest.raises(GeometryError, match=r"with 4000 rows, and 1000 are the most; set lettering.hatch to 0\.2 mm"):
        hatch(wide, 0.05, 90)
    assert len(hatch(wide, 0.2, 90)) == pytest.approx(1000, abs=1)
