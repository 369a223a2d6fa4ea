import math

import pytest

from nameplate.cut.measured_kerf import MeasuredKerf, joined_kerf, kerf_of_gap, kerf_of_row


def test_a_row_of_ten_squares():
    # k = a - S / N: 10 squares of 20 mm in a row of 198.0 mm
    assert kerf_of_row([198.0], squares=10, side=20).kerf == pytest.approx(0.20)


def test_ten_pieces_in_their_frame():
    # published worked example (engi210.blogs.rice.edu): 10 pieces leave 0.037 in, which is 11 kerfs of 0.00336 in
    assert kerf_of_gap([0.037 * 25.4], squares=10).kerf == pytest.approx(0.00336 * 25.4, abs=0.0002)


def test_uncertainty_of_one_reading_is_the_calipers_alone():
    # JCGM 100:2008, 4.3.7: limits of +-a have the standard uncertainty a / sqrt(3); twice that over ten squares
    assert kerf_of_row([138.2]).off == pytest.approx(2 * 0.03 / math.sqrt(3) / 10)
    assert kerf_of_gap([1.98]).off == pytest.approx(2 * 0.03 / math.sqrt(3) / 11)


def test_readings_that_scatter_add_the_deviation_of_their_mean():
    # mean 138.2, deviation 0.1, of the mean 0.1 / sqrt(3) (JCGM 100:2008, 4.2.3)
    found = kerf_of_row([138.1, 138.2, 138.3])
    assert found.kerf == pytest.approx(0.18)
    assert found.off == pytest.approx(2 * math.hypot(0.1 / math.sqrt(3), 0.03 / math.sqrt(3)) / 10)


def test_two_kerfs_are_joined_by_their_weights():
    # inverse variance: weights 4 to 1
    joined = joined_kerf([MeasuredKerf(0.20, 0.01), MeasuredKerf(0.21, 0.02)])
    assert joined.kerf == pytest.approx(0.202)
    assert joined.off == pytest.approx(0.01 * 2 / math.sqrt(5))
    assert joined_kerf([joined]).kerf == pytest.approx(joined.kerf)


def test_two_kerfs_that_differ_too_much_are_none():
    with pytest.raises(ValueError, match=r"0\.180 and 0\.250 mm, which differ"):
        joined_kerf([MeasuredKerf(0.25, 0.01), MeasuredKerf(0.18, 0.01)])


@pytest.mark.parametrize(("formula", "reading"), [(kerf_of_row, 140.0), (kerf_of_row, 13.82), (kerf_of_gap, 30.0)])
def test_a_reading_that_comes_to_no_kerf(formula, reading):
    with pytest.raises(ValueError, match="expected one above 0 and at most 2 mm"):
        formula([reading])
