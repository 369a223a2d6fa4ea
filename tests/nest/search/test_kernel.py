"""The compiled loop against numpy's, which the other tests hold to brute force."""

import importlib.util

import numpy as np
import pytest

from nameplate.nest.search import board, kernel
from nameplate.nest.search.trueshape import pack_shapes
from nameplate.nest.sheets import Blank, Rules, with_usable

from ..letters import words

needs_numba = pytest.mark.skipif(
    importlib.util.find_spec("numba") is None, reason="numba, the optional extra `fast`, is not installed"
)

RULES = Rules(gap=1.5, edge=5)


@pytest.fixture
def loops():
    found = kernel.compiled()
    assert found is not None
    return found


@needs_numba
@pytest.mark.parametrize("share", [0.0, 0.02, 0.2, 1.0])
def test_the_open_positions_are_those_of_numpy(loops, share):
    rng = np.random.default_rng(1)
    planes = np.packbits(rng.random(8 * 40_000) < share, bitorder="little")
    tests = rng.integers(0, 20_000, 37)
    forbidden = np.packbits(rng.random(8 * 12) < 0.3, bitorder="little")
    alone = board._open(planes, tests, forbidden, 5, 60, None)
    assert np.array_equal(board._open(planes, tests, forbidden, 5, 60, loops), alone)
    assert (len(alone) > 0) == (share < 1)
    none = np.empty(0, dtype=np.int64)
    assert np.array_equal(
        board._open(planes, none, forbidden, 5, 60, loops), board._open(planes, none, forbidden, 5, 60, None)
    )


@needs_numba
def test_nests_are_the_same_to_the_last_digit(monkeypatch):
    pieces, blanks = words(24), [with_usable(Blank(0, "lettering", 200, 100), RULES)] * 6
    alone = pack_shapes(pieces, blanks, RULES)
    monkeypatch.setattr(board, "kernel", kernel.compiled)
    assert pack_shapes(pieces, blanks, RULES) == alone


def test_the_compiled_loops_are_loaded_after_many_looks_only(monkeypatch):
    loops = kernel.Kernel(len, kept=True)
    monkeypatch.setattr(kernel, "compiled", lambda: loops)
    monkeypatch.setattr(kernel, "_LOOKS", kernel._Counter())
    assert [kernel.kernel() for _ in range(kernel.WARM_UP)] == [None] * kernel.WARM_UP
    assert kernel.kernel() is loops


def test_compiling_for_the_first_time_waits_longer(monkeypatch):
    loops = kernel.Kernel(len, kept=False)
    counter = kernel._Counter()
    monkeypatch.setattr(kernel, "compiled", lambda: loops)
    monkeypatch.setattr(kernel, "_LOOKS", counter)
    counter.count = kernel.COLD_START - 1
    assert kernel.kernel() is None
    assert kernel.kernel() is loops


def test_without_numba_there_are_no_compiled_loops(monkeypatch):
    monkeypatch.setattr(importlib.util, "find_spec", lambda _: None)
    kernel.compiled.cache_clear()
    try:
        assert kernel.compiled() is None
    finally:
        kernel.compiled.cache_clear()
