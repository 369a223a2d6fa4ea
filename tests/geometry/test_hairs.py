import pytest

from nameplate.geometry import region as rg
from nameplate.geometry.hairs import HAIR, without_hairs

SQUARE = rg.rectangle(0, 0, 4, 4)


def test_what_has_no_hairs_stays_as_it_is():
    shape = rg.difference(SQUARE, rg.disc((2, 2), 1))
    assert without_hairs(shape).equals_exact(shape, 0)
    assert without_hairs(rg.EMPTY).is_empty


@pytest.mark.parametrize("out", [1.0, -1.0])
def test_a_spike_is_cut_off_and_a_slit_is_filled(out):
    ring = [(0, 0), (4, 0), (4, 2), (4 + out, 2), (4, 2 + HAIR / 4), (4, 4), (0, 4)]
    assert without_hairs(rg.from_ring(ring)).area == pytest.approx(16, abs=1e-6)
    assert rg.bounds(without_hairs(rg.from_ring(ring))).x1 == 4


def test_a_bent_hair_goes_step_by_step():
    ring = [(0, 0), (4, 0), (4, 2), (5, 2), (6, 2.5), (6, 2.5001), (5, 2.0002), (4, 2.0002), (4, 4), (0, 4)]
    assert rg.bounds(without_hairs(rg.from_ring(ring))).x1 == pytest.approx(4, abs=1e-9)


def test_hairs_of_holes_go_too_and_tips_stay():
    hole = [(1, 1), (1, 2), (2, 2), (2, 1.5), (3, 1.5), (2, 1.4999), (2, 1)]
    shape = without_hairs(rg.from_ring([(0, 0), (4, 0), (4, 4), (0, 4)], [hole]))
    assert shape.area == pytest.approx(15, abs=1e-6) and rg.hole_count(shape) == 1
    needle = rg.from_ring([(0, 0), (4, 0), (0, 0.1)])
    assert without_hairs(needle).area == pytest.approx(0.2)
