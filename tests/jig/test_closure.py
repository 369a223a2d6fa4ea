import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nameplate.jig.closure import Contacts, is_closed, joined, pin_contacts, pin_tilt, relieved_pin_float, wrenches

# Lynch and Park, Modern Robotics (2017), section 12.1.7: four contacts that close, and three of them with one that
# does not; the two pinwheels are worked out from the same theorem.
A = [(1.5, 1, 225), (-1.5, 1, 315), (-1.5, -1, 45), (1.5, -1, 135)]
A_BENT = [*A[:3], (1.5, -1, 154)]
B = [(1, 0, 180), (-1, 0, 0), (0, 1, 270), (0, -1, 90)]
C = [(1, 0.5, 180), (-1, -0.5, 0), (-0.5, 1, 270), (0.5, -1, 90)]
D = [(1, 0.5, 180), (-1, -0.5, 0), (0.5, 1, 270), (-0.5, -1, 90)]


def contacts(rows):
    x, y, angle = np.array(rows, dtype=float).T
    return Contacts(np.column_stack([x, y]), np.column_stack([np.cos(np.radians(angle)), np.sin(np.radians(angle))]))


@pytest.mark.parametrize(("rows", "closed"), [(A, True), (A_BENT, False), (B, False), (C, False), (D, True)])
def test_published_contact_sets(rows, closed):
    assert is_closed(contacts(rows)) is closed


def test_fewer_than_four_contacts_never_close():
    # Reuleaux 1875
    assert not is_closed(contacts(D[:3]))
    assert not is_closed(joined())


@given(
    st.lists(st.floats(0, 360), min_size=4, max_size=20),
    st.floats(-200, 200),
    st.floats(-200, 200),
    st.floats(0.5, 80),
)
@settings(max_examples=30, deadline=None)
def test_a_disc_is_never_held(angles, x, y, radius):
    # Reuleaux 1875: every normal of a disc goes through its centre
    around = [(x - radius * math.cos(math.radians(a)), y - radius * math.sin(math.radians(a)), a) for a in angles]
    assert not is_closed(contacts(around))


@given(st.floats(0, 360), st.floats(-300, 300), st.floats(-300, 300), st.floats(0.05, 3000))
@settings(max_examples=20, deadline=None)
def test_closure_does_not_depend_on_place_turn_or_size(turn, x, y, size):
    c, s = math.cos(math.radians(turn)) * size, math.sin(math.radians(turn)) * size
    for rows, closed in ((A, True), (A_BENT, False), (B, False), (C, False), (D, True)):
        moved = [(c * p - s * q + x, s * p + c * q + y, n + turn) for p, q, n in rows]
        assert is_closed(contacts(moved)) is closed


def test_a_set_that_closes_lets_no_small_motion_through():
    # the meaning of the theorem, by brute force: every motion direction moves some contact point against its normal
    rng = np.random.default_rng(5)
    motions = rng.normal(size=(4000, 3))
    for rows, closed in ((A, True), (A_BENT, False), (C, False), (D, True)):
        speed = motions @ wrenches(contacts(rows))
        free = (speed >= 0).all(axis=1)
        assert not free.any() if closed else free.any()


def test_round_hole_and_slot_on_the_line_of_centres_close():
    # Drake (ed.), Dimensioning and Tolerancing Handbook, 1999, ch. 24, in principle
    hole, slot = pin_contacts(np.array([-40.0, 3.0])), np.array([60.0, 3.0])
    assert is_closed(joined(hole, pin_contacts(slot, slot=0)))
    assert not is_closed(joined(hole, pin_contacts(slot, slot=90)))
    assert not is_closed(hole)


def test_relieved_pin_and_tilt():
    # worked values: pin 6.30 in hole 6.35 with lands of 2; two clearances of 0.1 at a pitch of 50
    assert relieved_pin_float(6.30, 6.35, 2.0) == pytest.approx(0.0762, abs=5e-5)
    assert relieved_pin_float(6.30, 6.35, 0.0) == pytest.approx(math.sqrt(6.35**2 - 6.30**2) / 2)
    assert pin_tilt(0.1, 50) == pytest.approx(0.1146, abs=5e-5)
