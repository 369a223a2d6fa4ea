import pytest

from nameplate.geometry.region import rectangle
from nameplate.nest.estimate import estimate
from nameplate.nest.layout import Piece, layout_to_json
from nameplate.nest.nesting import nest
from nameplate.ticket import NestKeys, StockKeys


def bar(plate, width, height, material="lettering"):
    return Piece(plate, "lettering", 1, 1, material, rectangle(-width / 2, -height / 2, width / 2, height / 2))


BARS = [bar(f"{i:02d}", 30 + i, 8 + i % 5) for i in range(20)]
KEYS = NestKeys()


def test_sheets_on_hand_are_used_first_and_cost_nothing():
    stock = [StockKeys(width=120, height=80, price=5, on_hand=1)]
    layout = nest(BARS, stock, KEYS)
    figures = estimate(layout, BARS, stock, KEYS)
    assert layout.findings == ()
    assert layout.sheets[0].on_hand
    assert len(layout.sheets) > 1
    assert figures.cost == 5 * (len(layout.sheets) - 1)
    assert figures.sizes[0].on_hand == 1


def test_the_cheaper_size_is_bought():
    dear, cheap = StockKeys(width=200, height=100, price=9), StockKeys(width=200, height=101, price=4)
    assert {s.stock for s in nest(BARS, [dear, cheap], KEYS).sheets} == {1}


def test_the_last_sheet_takes_a_cheaper_size_when_that_is_enough():
    stock = [StockKeys(width=200, height=100, price=9), StockKeys(width=60, height=30, price=3.5)]
    layout = nest([bar("long", 150, 80), bar("short", 40, 15)], stock, KEYS)
    assert [(s.stock, len(s.placements)) for s in layout.sheets] == [(0, 1), (1, 1)]


def test_a_part_only_the_larger_size_takes_goes_there():
    stock = [StockKeys(width=600, height=300, price=50), StockKeys(width=100, height=60, price=1)]
    layout = nest([*BARS, bar("long", 400, 20)], stock, KEYS)
    assert layout.findings == ()
    # the large sheet must be bought anyway and takes all the others too, so buying small ones would be waste
    assert [(s.stock, len(s.placements)) for s in layout.sheets] == [(0, 21)]


def test_a_part_too_large_for_every_sheet_is_named_with_its_size_and_what_to_do():
    layout = nest([*BARS, bar("huge", 300, 20)], [StockKeys(width=200, height=100)], KEYS)
    (fault,) = layout.findings
    assert (fault.severity, fault.plate) == ("error", "huge")
    assert "300.0 x 20.0 mm" in fault.message
    assert "190 x 90 mm" in fault.message
    assert layout.unplaced == (("huge", "lettering", 1, 1),)
    assert sum(len(s.placements) for s in layout.sheets) == len(BARS)


def test_a_quarter_turn_is_used_only_when_allowed():
    tall, stock = [bar("tall", 20, 150)], [StockKeys(width=200, height=100)]
    assert nest(tall, stock, KEYS).unplaced
    layout = nest(tall, stock, NestKeys(turns=(0.0, 90.0)))
    assert layout.findings == ()
    assert layout.sheets[0].placements[0].turn == 90


def test_materials_do_not_share_a_sheet():
    pieces = [*BARS, bar("t", 40, 40, "template")]
    layout = nest(pieces, [StockKeys(), StockKeys(material="template")], KEYS)
    assert [(s.material, s.number) for s in layout.sheets] == [("lettering", 1), ("template", 1)]


def test_a_material_without_stock_is_a_finding():
    layout = nest([bar("t", 40, 40, "felt")], [StockKeys()], KEYS)
    assert [f.code for f in layout.findings] == ["no-stock"]


def test_parts_are_never_nearer_than_one_kerf():
    layout = nest(
        BARS[:2], [StockKeys()], NestKeys(engine="rectangle", gap=0.0, edge_margin=0.0), kerf={"lettering": 0.3}
    )
    a, b = layout.sheets[0].placements
    assert abs(a.y - b.y) == pytest.approx((8 + 9) / 2 + 0.3)
    assert layout.findings == ()


def test_the_same_job_gives_the_same_text():
    assert layout_to_json(nest(BARS, [StockKeys()], KEYS)) == layout_to_json(nest(BARS, [StockKeys()], KEYS))


def test_nothing_to_nest_is_an_empty_layout():
    assert nest([], [StockKeys()], KEYS).sheets == ()
