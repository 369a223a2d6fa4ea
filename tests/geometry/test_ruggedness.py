import math

import numpy as np
import pytest

from nameplate.geometry.region import EMPTY, from_ring, rectangle
from nameplate.geometry.ruggedness import ruggedness


def comb(teeth):
    x = np.arange(teeth) * 100 / teeth
    return from_ring(np.vstack([[(0, 70)], np.column_stack([x, np.arange(teeth) % 2 * 5]), [(100, 70)]]))


def test_four_times_as_much_for_twice_as_many_teeth():
    assert ruggedness(comb(2000), 6) == pytest.approx(4 * ruggedness(comb(1000), 6), rel=0.05)


def test_smooth_and_plain_outlines_have_hardly_any():
    turn = np.linspace(0, math.tau, 50_000, endpoint=False)
    assert ruggedness(from_ring(100 * np.column_stack([np.cos(turn), np.sin(turn)])), 6) < 20
    assert ruggedness(EMPTY, 6) == 0
    assert ruggedness(rectangle(0.5, 0.5, 99.5, 99.5), 0.1) == pytest.approx(4)
