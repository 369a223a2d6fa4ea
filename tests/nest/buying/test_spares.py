"""Spares by the binomial law, and the names that get them."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import bdtrc

from nameplate.geometry.region import rectangle
from nameplate.model import Lettering, Neck, Order, Part, Plate
from nameplate.nest.buying.spares import Spares, choose_spares, enough, spares_message, spares_needed, with_spares


@pytest.mark.parametrize(("n", "loss", "cut"), [(50, 0.04, 55), (20, 0.05, 23), (100, 0.02, 105), (50, 0.10, 60)])
def test_known_values(n, loss, cut):
    # derived from P(Binomial(m, 1 - p) >= n) >= 0.95 and checked numerically
    assert n + spares_needed(n, loss, 0.95) == cut


@pytest.mark.parametrize(("loss", "accepted"), [(0.01, 0.9106), (0.04, 0.4005), (0.10, 0.0338)])
def test_a_published_table(loss, accepted):
    # Devore, Probability and Statistics, 9th edition, chapter 16: B(1; 50, p), at most one failure among 50
    assert enough(49, 1, loss) == pytest.approx(accepted, abs=5e-5)


@given(st.integers(1, 400), st.floats(0.001, 0.5), st.floats(0.5, 0.999))
def test_the_least_number_that_scipy_agrees_with(n, loss, confidence):
    spares = spares_needed(n, loss, confidence)
    assert bdtrc(n - 1, n + spares, 1 - loss) >= confidence - 1e-9
    if spares:
        assert bdtrc(n - 1, n + spares - 1, 1 - loss) <= confidence + 1e-9


def test_large_batches_stay_within_the_range_of_floats():
    spares = spares_needed(5000, 0.5, 0.95)
    assert bdtrc(4999, 5000 + spares, 0.5) >= 0.95 > bdtrc(4999, 4999 + spares, 0.5)


def plate(name, *, stress=None, size=20.0, copies=1, made=True):
    neck = None if stress is None else Neck(0, 0, 1, 1, stress)
    region = rectangle(0, 0, 10, 5)
    order = Order(name, ord(name[0]), name, copies=copies)
    parts = (Part(name, "lettering", "lettering", region, copies=copies), Part(name, "template", "template", region))
    return Plate(order, Lettering(region, size, size / 2, (name,), 1, neck) if made else None, parts if made else ())


def test_the_fragile_names_come_first():
    plates = [
        plate("a", size=30),
        plate("b", stress=20),
        plate("c", size=10),
        plate("d", stress=90),
        plate("x", made=False),
    ]
    spares = choose_spares(plates, loss=0.3, confidence=0.8)
    assert [name for name, _ in spares.pieces] == ["d", "b", "c"][: spares.total]
    assert spares.total == spares_needed(4, 0.3, 0.8)
    assert spares.of("x") == 0


def test_more_spares_than_names_go_round():
    spares = choose_spares([plate("a", stress=9, copies=20), plate("b", copies=20)], loss=0.2, confidence=0.95)
    assert spares.total == spares_needed(40, 0.2, 0.95)
    assert 0 <= spares.of("a") - spares.of("b") <= 1


def test_the_chance_that_no_name_is_cut_again_by_counting_every_outcome():
    plates = [plate("a", stress=9), plate("b", copies=2), plate("c")]
    spares = choose_spares(plates, loss=0.25, confidence=0.7)
    owners = [p.order.id for p in plates for _ in range(p.order.copies + spares.of(p.order.id))]
    chance = 0.0
    for good in itertools.product((True, False), repeat=len(owners)):
        left = {p.order.id: sum(g for g, o in zip(good, owners, strict=True) if o == p.order.id) for p in plates}
        if all(left[p.order.id] >= p.order.copies for p in plates):
            chance += 0.75 ** sum(good) * 0.25 ** (len(good) - sum(good))
    assert spares.chance == pytest.approx(chance, abs=1e-9)


def test_the_message_counts_pieces_and_names_and_says_how_good_the_odds_are():
    said = spares_message(Spares((("7", 2), ("3", 1)), 0.83), loss=0.04, confidence=0.95)
    assert said.startswith("3 spare pieces of 2 names are cut with the rest, the fragile names first (plates 7 (2), 3)")
    assert "where 4.0% of all" in said and "at least 95%" in said and said.endswith("of each name in 83%")
    one = spares_message(Spares((("7", 1),), 0.9), loss=0.04, confidence=0.95)
    assert one.startswith("1 spare piece of 1 name is cut with the rest, the fragile names first (plate 7):")
    none = spares_message(Spares(), loss=0.01, confidence=0.5)
    assert none.startswith("no spare pieces are needed: where 1.0% of all pieces are lost")


def test_a_message_names_no_more_plates_than_a_person_reads():
    many = Spares(tuple((str(n), 1) for n in range(20)))
    assert ", 11 and 8 more):" in spares_message(many, loss=0.1, confidence=0.95)


def test_no_loss_no_spares():
    assert choose_spares([plate("a")], loss=0.0, confidence=0.95) == Spares()


def test_spares_are_copies_of_the_lettering_alone():
    with_two = with_spares(plate("a", copies=3), 2)
    assert [(p.kind, p.copies) for p in with_two.parts] == [("lettering", 5), ("template", 1)]
    other = plate("b")
    assert with_spares(other, 0) is other
