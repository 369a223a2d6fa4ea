"""A piece lies inside an offcut by one rule: what is placed passes the check, what passes that the inspection."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nameplate.cut.expectation import SheetExpectation
from nameplate.cut.inspect import _past_outline
from nameplate.geometry.region import bounds, difference, from_ring, moved, offset, rectangle
from nameplate.geometry.room import PLAY, Room
from nameplate.nest.layout import Piece, placed
from nameplate.nest.search.budget import LARGEST_FIRST
from nameplate.nest.sheets import Offcut, rules_of
from nameplate.nest.verify import verify
from nameplate.ticket.schema import NestKeys

from .letters import nested, piece, word

#: Parts laid once: the rule is the same however they are laid.
ONCE = {"lettering": LARGEST_FIRST}


def circle(radius, corners):
    turn = np.linspace(0, 2 * math.pi, corners, endpoint=False)
    return from_ring(np.column_stack([np.cos(turn), np.sin(turn)]) * radius)


def slanted(width, height, slant):
    return from_ring([(0, 0), (width, slant), (width - slant, height + slant), (-slant, height)])


SHAPES = st.one_of(
    st.builds(circle, st.floats(40, 90), st.sampled_from([12, 90, 360, 1440])),
    st.builds(
        lambda outer, inner: difference(circle(outer, 360), circle(inner, 180)), st.floats(70, 100), st.floats(8, 30)
    ),
    st.builds(slanted, st.floats(70, 140), st.floats(70, 140), st.floats(0, 25)),
)


def offcut(shape, turn):
    shape = moved(shape, turn=turn)
    box = bounds(shape)
    return Offcut("lettering", "rest", box.width, box.height, moved(shape, -box.x0, -box.y0))


def inspected(layout, pieces, rules):
    """Inspect each sheet as if every piece came out exactly as it lies; give the findings."""
    by_key = {piece.key: piece for piece in pieces}
    found = []
    for sheet in layout.sheets:
        burned = {at.key: placed(by_key[at.key], at) for at in sheet.placements}
        room = offset(sheet.outline, -rules.edge)
        expected = SheetExpectation("lettering", sheet.width, sheet.height, 0.1, rules.gap, rules.edge, (), room=room)
        found += _past_outline(burned, expected)
    return found


@settings(max_examples=60, deadline=None)
@given(SHAPES, st.floats(0, 360), st.sampled_from([(0.0, 90.0, 180.0, 270.0), (), (17.3, 45.0)]), st.integers(0, 99))
def test_what_is_placed_on_an_offcut_of_any_form_passes_check_and_inspection(shape, turn, turns, seed):
    keys = NestKeys(edge_margin=2.0, turns=turns)
    pieces = [piece("1", word(seed, 34.0)), Piece("disc", "blank", 1, 1, "lettering", circle(11.0, 360))]
    rules = rules_of(keys)
    layout = nested(pieces, (), keys, offcuts=[offcut(shape, turn)], budgets=ONCE)
    assert {f.code for f in layout.findings} <= {"stock-used-up", "too-large-for-stock"}
    assert verify(layout, pieces, rules) == ()
    assert inspected(layout, pieces, rules) == []


@pytest.mark.parametrize("turn", [0.0, 0.5, 13.7, 89.9])
def test_a_disc_that_just_fits_a_round_offcut_is_laid_or_left_but_never_called_faulty(turn):
    keys = NestKeys(edge_margin=2.0, turns=(0.0,))
    rules = rules_of(keys)
    for less in (-0.002, 0.0, 0.004, 0.008, 0.012, 0.3):
        piece = Piece("1", "blank", 1, 1, "lettering", moved(circle(38.0 - less, 360), turn=turn))
        layout = nested([piece], (), keys, offcuts=[offcut(circle(40.0, 360), 0.0)], budgets=ONCE)
        assert {f.code for f in layout.findings} <= {"stock-used-up", "too-large-for-stock"}
        assert verify(layout, [piece], rules) == ()


def test_a_room_is_left_at_its_play_and_no_sooner():
    room = Room(circle(50.0, 360))
    for angle in range(0, 360, 7):
        apothem = 50.0 * math.cos(math.pi / 360)
        assert room.holds(moved(circle(apothem + 0.9 * PLAY, 360), turn=angle))
        assert not room.holds(moved(circle(50.0 + 2 * PLAY, 720), turn=angle))
        assert not room.holds(circle(apothem, 360), slack=0.01 + PLAY + 0.01)
    assert room.outside(rectangle(0, -1, 53, 1)) == pytest.approx(3.0, abs=0.02)
