import pytest

from nameplate.geometry.region import rectangle
from nameplate.nest.buying.figures import estimate
from nameplate.nest.layout import Piece
from nameplate.ticket.schema import NestKeys
from nameplate.ticket.workshop_schema import StockKeys

from ..letters import nested


def test_the_figures_of_two_materials_on_sheets_of_their_own_are_worked_out_by_hand():
    # squares of 100 mm2: six of brass on two sheets of 20 x 20, three of card on one of 40 x 10
    def squares(n, material):
        return [Piece(f"{i}", "lettering", 1, 1, material, rectangle(0, 0, 10, 10)) for i in range(n)]

    pieces = squares(6, "brass") + squares(3, "card")
    stock = [StockKeys("brass", 20, 20, price=4.0), StockKeys("card", 40, 10, price=1.0)]
    keys = NestKeys(engine="rectangle", gap=0, edge_margin=0)
    found = estimate(nested(pieces, stock, keys), pieces, keys)
    assert [(line.material, line.count, line.density, line.cost) for line in found.sizes] == [
        ("brass", 2, pytest.approx(0.75), 8.0),
        ("card", 1, pytest.approx(0.75), 1.0),
    ]
    assert found.density == pytest.approx(0.75)
    assert [(m, bound.sheets, bound.density) for m, bound in found.bounds] == [
        ("brass", 2, pytest.approx(0.75)),
        ("card", 1, pytest.approx(0.75)),
    ]
    assert found.sheets_used == (("brass", pytest.approx(2.0)), ("card", pytest.approx(0.75)))
