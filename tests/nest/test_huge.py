"""Legal but huge values: the work they make is bounded, counted in steps and never in seconds."""

import numpy as np
import pytest

from nameplate.geometry.region import rectangle, union
from nameplate.nest import groups, sheets
from nameplate.nest.groups import pack_groups, pack_in_turn
from nameplate.nest.layout import Piece
from nameplate.nest.search import by_sheet, free_rectangle
from nameplate.nest.search.board import BORDER
from nameplate.nest.search.part_masks import CELL, GAP_CELLS, MOST_CELLS, MOST_OF_ALL, cell_side
from nameplate.nest.search.table import open_table
from nameplate.nest.sheets import Blank, Rules, blanks_of, fitting, on_hand_note, on_hand_of, rules_of, with_usable
from nameplate.nest.verify import verify
from nameplate.ticket.schema import NestKeys
from nameplate.ticket.workshop_schema import StockKeys

from .letters import nested, word, words

RULES = rules_of(NestKeys())


def copies(region, count):
    return [Piece("1", "lettering", copy, 1, "lettering", region) for copy in range(1, count + 1)]


def counted(monkeypatch, module, name):
    """Count the calls of a function of a module."""
    calls, real = [], getattr(module, name)
    monkeypatch.setattr(module, name, lambda *a, **k: calls.append(a) or real(*a, **k))
    return calls


@pytest.mark.parametrize("engine", ["shape", "rectangle"])
def test_a_million_sheets_on_hand_are_one_kind_and_not_a_million_things(engine, monkeypatch):
    stock = (StockKeys(on_hand=1_000_000),)
    made = counted(monkeypatch, sheets, "with_usable")
    opened = counted(monkeypatch, by_sheet, "open_table")
    pieces = words(4)
    layout = nested(pieces, stock, NestKeys(engine=engine))
    assert [s.on_hand for s in layout.sheets] == [True]
    assert len(made) == 2 and len(opened) <= 4
    assert len(blanks_of(stock, "lettering", RULES, most=4)[0]) == 4
    note = on_hand_note(on_hand_of(stock, "lettering", RULES), layout.sheets)
    assert "used: 600 x 300 mm; not needed: 999999 x 600 x 300 mm" in note


def test_sheets_on_hand_that_take_nothing_are_tried_once(monkeypatch):
    opened = counted(monkeypatch, by_sheet, "open_table")
    few = (StockKeys(width=90, height=40, on_hand=2), StockKeys())
    many = (StockKeys(width=90, height=40, on_hand=900), StockKeys())
    pieces = words(2)
    nested(pieces, few, NestKeys(turns=(90.0,)))
    before = len(opened)
    nested(pieces, many, NestKeys(turns=(90.0,)))
    assert len(opened) - before <= before + 1


@pytest.mark.parametrize("gap", [0.0, 1.5, 40.0, 1000.0, 10_000.0])
@pytest.mark.parametrize(
    "size", [(600, 300), (10_000, 10_000), (10_000, 10.5), (10.5, 10_000), (10.5, 10.5), (10_000, 2000)]
)
def test_the_cells_of_a_sheet_are_bounded_whatever_its_size_and_gap(size, gap):
    rules = Rules(gap, 5.0)
    blank = with_usable(Blank("lettering", *size, 0), rules)
    table = open_table(blank, rules, cell_side([blank], gap))
    assert table.board.occupied.size <= 3 * MOST_OF_ALL


def test_cells_of_usual_sheets_are_as_fine_as_ever():
    for size in ((600, 300), (600, 400), (1000, 600), (1200, 900)):
        assert cell_side([with_usable(Blank("lettering", *size, 0), RULES)], RULES.gap) == 0.5


def test_a_very_wide_gap_leaves_one_part_a_sheet():
    pieces = words(3)
    layout = nested(pieces, (StockKeys(),), NestKeys(gap=1000))
    assert [len(s.placements) for s in layout.sheets] == [1, 1, 1]
    assert layout.findings == ()


@pytest.mark.parametrize("turn", [360000000.5, -1e9, 1e15, 360.0, -0.5])
def test_turns_are_taken_within_one_round_exactly(turn):
    rules = rules_of(NestKeys(turns=(turn,)))
    assert rules.turns == (turn % 360,)
    pieces = words(2)
    layout = nested(pieces, (StockKeys(),), NestKeys(turns=(turn,)))
    assert verify(layout, pieces, rules) == () and layout.findings == ()


def test_copies_of_one_part_are_nested_once_and_laid_many_times(monkeypatch, in_this_process):
    nested = counted(monkeypatch, groups, "nest_group")
    monkeypatch.setattr(groups, "GROUP", 50)
    pieces = copies(word(1), 250)
    size = with_usable(Blank("lettering", 300, 150, 0), RULES)
    rows = pack_groups(pieces, size, RULES, workers=1, say=pytest.fail)
    assert sorted(at.copy for row in rows for at in row) == list(range(1, 251))
    assert len(nested) <= 3


def test_what_fits_is_asked_once_for_all_copies(monkeypatch):
    asked = counted(monkeypatch, sheets, "_first_turn")
    pieces = copies(word(1), 500)
    assert fitting(pieces, blanks_of((StockKeys(),), "lettering", RULES, most=500)[1], RULES) == pieces
    assert len(asked) == 1


def test_each_sheet_on_hand_is_filled_from_a_hand_and_not_from_all_that_wait(monkeypatch):
    filled = counted(monkeypatch, by_sheet, "fill")
    monkeypatch.setattr(groups, "GROUP", 50)
    pieces = [Piece(str(n), "blank", 1, 1, "lettering", rectangle(0, 0, 20 + n % 7, 10)) for n in range(300)]
    blank = with_usable(Blank("lettering", 200, 120, 0, on_hand=True), RULES)
    packed = pack_in_turn(pieces, [blank] * 4, RULES)
    assert filled and all(len(way.order) <= 100 for _, way, _ in filled)
    assert len(packed.left) + sum(map(len, packed.placements)) == len(pieces)
    assert all(packed.placements)


def test_the_largest_rectangle_of_a_huge_sheet_is_sought_on_a_coarser_grid(monkeypatch):
    drawn = counted(monkeypatch, free_rectangle, "rasterise")
    upper, post = rectangle(0, 4_000, 10_000, 10_000), rectangle(0, 0, 1_000, 10_000)
    box = free_rectangle.largest_rectangle(union(upper, post))
    ((_, _, _, _, nx, ny),) = drawn
    assert nx * ny <= free_rectangle.MOST_CELLS
    assert tuple(box) == pytest.approx((0, 4_000, 10_000, 10_000), abs=100)


def test_cells_are_no_coarser_than_their_number_asks_for():
    def count(size, gap, cell):
        return np.prod([(side - 2 * RULES.edge + gap) / cell + 2 * BORDER for side in size])

    rng = np.random.default_rng(2)
    for _ in range(300):
        size, gap = 10 ** rng.uniform((1.1, 1.1), (6, 4)), float(rng.choice([0, 1.5, 200]))
        cell = cell_side([with_usable(Blank("lettering", *size.tolist(), 0), RULES)], gap)
        assert count(size, gap, cell) <= MOST_OF_ALL
        asked = (np.sqrt(np.prod(size - 2 * RULES.edge) / MOST_CELLS), gap / GAP_CELLS, CELL)
        assert cell <= CELL or cell / 2 < max(asked) or count(size, gap, cell / 2) > MOST_OF_ALL
