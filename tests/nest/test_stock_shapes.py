import math

import pytest

from nameplate.errors import TicketError
from nameplate.nest.stock_shapes import check_stock_shapes
from nameplate.ticket.workshop_schema import StockKeys


def sheet(outline=(), keep_out=()):
    return StockKeys(width=600, height=300, offcut=True, outline=tuple(outline), keep_out=tuple(keep_out))


def refused(*sheets):
    with pytest.raises(TicketError) as caught:
        check_stock_shapes(sheets, margin=5, gap=1.5)
    return caught.value.problems


def circle(corners):
    return [
        (300 + 140 * math.cos(math.tau * i / corners), 150 + 140 * math.sin(math.tau * i / corners))
        for i in range(corners)
    ]


BOW_TIE = [(0, 0), (600, 300), (600, 0), (0, 300)]


def test_ordinary_outlines_and_places_pass():
    check_stock_shapes([sheet(), sheet(circle(360)), sheet((), [(9, 9, 20, 20)] * 400)], margin=5, gap=1.5)


def test_every_sheet_with_a_bad_shape_is_named_at_once():
    first, second = refused(sheet(BOW_TIE), sheet(circle(90)), sheet([(0, 0), (600, 0), (300, 0)]))
    assert "stock 1.outline: it crosses or touches itself near x 300.0, y 150.0 mm" in first
    assert "stock 3.outline: it has no area" in second


def test_a_scribble_is_told_by_its_first_crossing():
    scribble = [(i * 7919 % 593, i * 104_729 % 293) for i in range(1999)]
    assert "crosses or touches itself" in refused(sheet(scribble))[0]


def test_too_many_corners_teeth_or_places_are_refused_with_a_figure():
    teeth = [(i * 20 / 1900, i % 2 * 5) for i in range(1900)] + [(600, 300), (0, 300)]
    assert "2001 corners; at most 2000" in refused(sheet(circle(2001)))[0]
    assert "the most is 5e+05" in refused(sheet(teeth))[0]
    assert "501 places are given; at most 500" in refused(sheet((), [(9, 9, 1, 1)] * 501))[0]
