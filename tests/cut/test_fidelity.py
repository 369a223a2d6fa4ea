"""The judgement of a burned part: the same however it is turned, moved and rounded, and no laxer for that."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from nameplate.cut.expectation import ExpectedPart
from nameplate.cut.fidelity import farthest_off
from nameplate.geometry import region
from nameplate.model import Part
from nameplate.plates.trial import cut_true, tried
from nameplate.tolerances import ARC, BURN, DECIMALS
from tests.benchmarks.sweep import Case, Swept, sweep_one

TURNS = (0.0, 33.0, 90.0, 180.0, 217.4, 270.0)

#: The place where the letters of one name meet: a spike of no width over a pocket of a tenth of a millimetre.
POCKET = [
    *((4.0, 10.0), (4.4, 8.0), (4.48, 7.90), (4.52, 7.87), (4.58, 7.86), (4.6036, 7.8767), (4.6192, 7.9663)),
    *((4.5985, 7.9666), (4.5986, 7.9667), (4.66, 7.98), (4.74, 8.05), (4.78, 8.15), (5.2, 10.0)),
]


def notched(width, depth, lean):
    """A tile with a notch in its upper edge, `width` mm wide at its mouth, that leans and ends in a point or flat."""
    x = 10.0
    tip = (x + depth * lean, 10 - depth)
    return region.from_ring([(0, 0), (20, 0), (20, 10), (x + width, 10), tip, (x, 10), (0, 10)])


def pocketed():
    return region.from_ring([(0, 0), (20, 0), (20, 10), *POCKET[::-1], (0, 10)])


def judged(shape, kerf, turn):
    part = Part("1", "lettering", "lettering", shape)
    expected = ExpectedPart("1", "lettering", 1, 1, shape)
    return [f.code for f in tried(cut_true(part, expected, kerf)[0], expected, kerf, turn)]


@settings(max_examples=40)
@given(st.floats(1e-4, 0.4), st.floats(0.02, 4.0), st.floats(-0.8, 0.8), st.sampled_from((0.1, 0.18, 0.3)))
@example(0.18, 3.0, 0.0, 0.18)
@example(0.1799, 1.0, 0.5, 0.18)
@example(0.1, 0.06, 0.0, 0.18)
def test_a_notch_of_any_width_passes_at_every_angle(width, depth, lean, kerf):
    shape = notched(width, depth, lean)
    assert {turn: judged(shape, kerf, turn) for turn in TURNS} == {turn: [] for turn in TURNS}


def test_a_pocket_under_a_spike_of_no_width_passes_at_every_angle():
    assert {turn: judged(pocketed(), 0.18, turn) for turn in TURNS} == {turn: [] for turn in TURNS}


@settings(max_examples=40)
@given(st.floats(0, 360), st.floats(0, 500), st.floats(0, 500), st.integers(0, 2**32 - 1))
def test_the_distance_hangs_on_the_shapes_and_not_on_where_they_lie(turn, x, y, seed):
    """A part as burned, both turned, moved and rounded like a file, is as far off as before, to arcs' facets."""
    nominal = region.union(pocketed(), region.moved(notched(0.1, 0.7, 0.3), 0, -9.5))
    burned = region.offset(region.offset(nominal, 0.15), -0.16)
    before = farthest_off(burned, nominal, 0.18).distance
    noise = np.random.default_rng(seed)

    def laid(shape):
        there = region.moved(shape, x, y, turn=turn)
        rings = [np.round(r + noise.uniform(-5e-5, 5e-5, r.shape), DECIMALS) for r in region.outer_rings(there)]
        return region.union(*(region.from_ring(r) for r in rings))

    assert farthest_off(laid(burned), laid(nominal), 0.18).distance == pytest.approx(before, abs=2 * ARC)


@pytest.mark.parametrize("by", [-0.05, -0.035, 0.035, 0.05])
def test_what_is_off_where_there_is_no_crevice_is_off(by):
    shape = notched(0.1, 1.0, 0.2)
    assert farthest_off(region.offset(shape, by, join="mitre"), shape, 0.18).distance > BURN


def test_a_wide_notch_must_be_cut_and_a_tile_must_not():
    shape = notched(0.5, 1.0, 0.0)
    tile = region.rectangle(0, 0, 20, 10)
    assert farthest_off(tile, shape, 0.18).distance > 0.3
    assert farthest_off(shape, tile, 0.18).distance > 0.9
    hole = region.difference(tile, region.rectangle(5, 5, 6, 6))
    assert farthest_off(tile, hole, 0.18).distance > 0.3 and farthest_off(hole, tile, 0.18).distance > 0.9


@pytest.mark.parametrize("kerf", [0.2, 5.0])
def test_what_is_judged_about_single_corners_is_judged_as_in_the_whole_shape(monkeypatch, kerf):
    """Notches of half a beam to one and a half, burned as they are, filled, or with something left at one side."""
    tile, judged = region.rectangle(-20 * kerf, -20 * kerf, 20 * kerf, 0), []
    for width, depth in itertools.product((0.5, 0.9, 0.99, 1.2, 1.5), (0.3, 1.0, 4.0)):
        notch = region.rectangle(-width * kerf / 2, -depth * kerf, width * kerf / 2, kerf)
        slanted = region.from_ring([(4 * kerf, kerf), (4.8 * kerf, kerf), (3 * kerf, -depth * kerf)])
        shape = region.difference(tile, region.union(notch, slanted))
        left = region.rectangle(-width * kerf / 2, -depth * kerf, (0.3 - width / 2) * kerf, (0.3 - depth) * kerf)
        for burned in (tile, region.difference(tile, notch), region.union(shape, left)):
            for few in (0, 100):
                monkeypatch.setattr("nameplate.cut.fidelity.FEW", few)
                judged.append(farthest_off(burned, shape, kerf, beyond=BURN).distance / kerf)
    assert judged[::2] == pytest.approx(judged[1::2], abs=1e-6)
    assert min(judged) < 0.05 and max(judged) > 3.5


def test_a_beam_without_width_excuses_nothing():
    assert farthest_off(region.rectangle(0, 0, 20, 10), notched(0.01, 1.0, 0.0), 0.0).distance > 0.9


def test_a_crevice_excuses_nothing_beside_it():
    """A notch as narrow as the kerf may come out filled, but a mound on it may not stand out."""
    shape = notched(0.1, 1.0, 0.0)
    mound = region.union(region.rectangle(0, 0, 20, 10), region.disc((10.05, 10.0), 0.2))
    assert farthest_off(mound, shape, 0.18).distance == pytest.approx(0.1, abs=0.005)


@pytest.mark.parametrize("mount", ["applied", "backed"])
@pytest.mark.parametrize("name", ["Zoë Yost", "Zoë Vance", "Éloïse Łaski"])
def test_unlucky_names_pass_at_every_angle(name, mount):
    face = ("ellipse", 110.0, 80.0)
    assert sweep_one(TURNS, Case(name, "Pacifico", mount, "none", face)) == Swept()


def test_the_area_of_a_turned_spike_is_not_lost():
    """The library takes an outline that crosses itself by a rounding for another shape; turning must not make one."""
    shape = pocketed()
    for turn in np.linspace(0, 360, 97):
        there = region.moved(shape, 150, 150, turn=float(turn))
        assert there.is_valid and math.isclose(there.area, shape.area, rel_tol=1e-6)
