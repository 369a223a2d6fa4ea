import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nameplate.errors import FaceError
from nameplate.face.drawing.face_outline import asymmetry, rebuilt, rebuilt_outline
from nameplate.geometry import region


def test_asymmetry_of_a_shifted_rectangle_is_twice_the_shift():
    assert asymmetry(region.rectangle(-10 + 0.3, 0, 10 + 0.3, 5)) == pytest.approx(0.6)


places = st.tuples(st.integers(-50, 50), st.integers(-50, 50))


@settings(max_examples=40, deadline=None)
@given(ring=st.lists(places, min_size=3, max_size=8), side=st.sampled_from(["left", "right"]))
def test_what_is_rebuilt_is_symmetric_and_keeps_its_half(ring, side):
    shape = region.from_ring(ring)
    whole = rebuilt(shape, side)
    half = region.rectangle(-99, -99, 0, 99) if side == "left" else region.rectangle(0, -99, 99, 99)
    kept = region.intersection(shape, half)
    assert region.difference(whole, region.mirrored(whole)).area < 0.05
    assert whole.area == pytest.approx(2 * kept.area, abs=0.05)


def test_a_half_that_does_not_reach_the_middle_is_no_outline():
    with pytest.raises(FaceError, match="leaves 0 pieces"):
        rebuilt_outline(region.rectangle(1, 0, 5, 5), "left")
