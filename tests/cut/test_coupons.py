"""The coupons: their files keep the form and burn to what they say; a simulated burn gives its kerf back."""

from itertools import pairwise

import numpy as np
import pytest

from nameplate.cut.burn import burn
from nameplate.cut.coupons import (
    OPENING,
    RIM,
    SIDE,
    SQUARES,
    STRIPS,
    coupon_sheet,
    kerf_parts,
    web_parts,
)
from nameplate.cut.inspect import examine
from nameplate.cut.laid_sheet import laid_expectation, laid_svg
from nameplate.cut.measured_kerf import joined_kerf, kerf_by_axis, kerf_of_gap, kerf_of_row
from nameplate.cut.read_back import read_text
from nameplate.geometry import region as rg
from nameplate.geometry.beam import Kerf, Strip


def written(parts, kerf):
    sheet = coupon_sheet(parts, kerf=kerf)
    return read_text(laid_svg(sheet), "coupon.svg"), laid_expectation(sheet)


def measured(kerf):
    """Burn the kerf coupon with a kerf and measure it as a caliper would: the row pressed together, the room left."""
    sheet, _ = written(kerf_parts("lettering"), 0.0)
    burned = burn(sheet, kerf)
    row = sum(rg.bounds(solids).width for (_, _, _, layer), solids in burned.items() if layer == 1)
    (window,) = (rg.from_ring(ring) for ring in rg.hole_rings(burned["kerf", "coupon", 1, 2]))
    return row, rg.bounds(window).width - row


@pytest.mark.parametrize("kerf", [0.05, 0.18, 0.31])
def test_a_simulated_burn_gives_its_kerf_back_in_both_ways(kerf):
    row, gap = measured(kerf)
    assert kerf_of_row([row]).kerf == pytest.approx(kerf, abs=0.001)
    assert kerf_of_gap([gap]).kerf == pytest.approx(kerf, abs=0.001)
    joined = joined_kerf([kerf_of_row([row]), kerf_of_gap([gap])])
    assert joined.kerf == pytest.approx(kerf, abs=0.001)


def test_a_simulated_burn_of_an_ellipse_gives_the_kerf_of_each_axis_back():
    sheet, _ = written(kerf_parts("lettering"), 0.0)
    squares = [left for key, left in burn(sheet, Kerf.of_strip(Strip(0.22, 0.16))).items() if key[3] == 1]
    rows = (sum(rg.bounds(square).width for square in squares), sum(rg.bounds(square).height for square in squares))
    kerf, _ = kerf_by_axis(*(kerf_of_row([row]) for row in rows))
    assert (kerf.inside, kerf.outside) == (Strip(0.22, 0.16), Strip(0.22, 0.16))


def test_a_caliper_that_is_off_by_its_limit_stays_within_what_is_told():
    row, gap = measured(0.2)
    for found in (kerf_of_row([row + 0.03]), kerf_of_gap([gap - 0.03])):
        assert 0.002 < abs(found.kerf - 0.2) <= found.off


@pytest.mark.parametrize(("parts", "kerf"), [(kerf_parts("blank"), 0.0), (web_parts("blank"), 0.2)])
def test_coupons_keep_the_form_of_cut_files_and_burn_to_what_they_say(parts, kerf):
    sheet, wanted = written(parts, kerf)
    assert examine(sheet, wanted, "coupon.svg").findings == ()
    worse = examine(sheet, laid_expectation(coupon_sheet(parts, kerf=kerf + 0.2)), "coupon.svg")
    assert {f.code for f in worse.findings} != set()  # the judge sees a kerf that the lines do not allow for


def test_there_are_as_many_squares_as_the_formula_counts_and_the_window_is_as_long_as_their_row():
    sheet, _ = written(kerf_parts("lettering"), 0.0)
    squares = [p for p in sheet.paths if p.operation == "cut-outside" and p.layer == 1]
    (window,) = (p for p in sheet.paths if p.operation == "cut-inside")
    assert len(squares) == SQUARES
    assert [np.ptp(p.points, axis=0) == pytest.approx(SIDE) for p in squares] == [True] * SQUARES
    assert np.ptp(window.points[:, 0]) == pytest.approx(SQUARES * SIDE)
    assert np.ptp(window.points[:, 1]) == pytest.approx(SIDE + 1.0, abs=0.2)  # they drop in, and stay upright


def test_strips_come_out_as_wide_as_they_say():
    sheet, _ = written(web_parts("lettering"), 0.2)
    (left,) = burn(sheet, 0.2).values()
    boxes = sorted((rg.bounds(rg.from_ring(ring)) for ring in rg.hole_rings(left)), key=lambda box: box.x0)
    got = [right.x0 - left.x1 for left, right in pairwise(boxes)]
    assert got == pytest.approx(STRIPS, abs=0.005) and got == sorted(got)


def test_the_text_of_the_kerf_coupon_stands_in_the_middle_of_its_rim_and_a_score_in_that_of_each_square():
    frame, square = kerf_parts("lettering")
    (window,) = (rg.bounds(hole) for hole in rg.solids(rg.holes(frame.region)))
    rim = (window.x0, window.y1, window.x1, rg.bounds(frame.region).y1)
    for marks, (x0, y0, x1, y1) in ((frame.marks, rim), (square.marks, rg.bounds(square.region))):
        strokes = np.concatenate(marks)
        assert (strokes.min(axis=0) + strokes.max(axis=0)) / 2 == pytest.approx([(x0 + x1) / 2, (y0 + y1) / 2], abs=0.5)
    (score,) = square.marks
    assert score.mean(axis=0) == pytest.approx((0, 0)) and np.ptp(score[:, 1]) == 0 < np.ptp(score[:, 0]) < SIDE


def test_figures_stand_in_the_middle_of_the_rim_each_under_its_strip():
    (part,) = web_parts("lettering")
    windows = sorted((rg.bounds(hole) for hole in rg.solids(rg.holes(part.region))), key=lambda box: box.x0)
    middles = np.array([(left.x1 + right.x0) / 2 for left, right in pairwise(windows)])
    strokes = np.concatenate(part.marks)
    assert (strokes[:, 1].min() + strokes[:, 1].max()) / 2 == pytest.approx(
        (rg.bounds(part.region).y0 + windows[0].y0) / 2
    )
    nearest = np.abs(strokes[:, :1] - middles).argmin(axis=1)
    for strip, middle in enumerate(middles):
        xs = strokes[nearest == strip, 0]
        assert (xs.min() + xs.max()) / 2 == pytest.approx(middle, abs=0.5)


def test_the_strips_of_a_web_coupon_have_their_widths_and_openings_and_rims_are_alike():
    (coupon,) = web_parts("ply")
    body = rg.bounds(coupon.region)
    openings = sorted(rg.bounds(hole) for hole in rg.solids(rg.holes(coupon.region)))
    sides = [body.x0, *(x for opening in openings for x in (opening.x0, opening.x1)), body.x1]
    widths = np.diff(sides)
    assert widths[0::2] == pytest.approx(np.array([RIM, *STRIPS, RIM]))
    assert widths[1::2] == pytest.approx(np.full(len(STRIPS) + 1, OPENING))
