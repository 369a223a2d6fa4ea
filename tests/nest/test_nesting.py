import os
import re
import signal
import sys
import threading
import time
from dataclasses import replace
from functools import partial

import pytest

from nameplate.errors import TicketError
from nameplate.geometry.region import capsule, difference, rectangle
from nameplate.nest.buying.figures import estimate
from nameplate.nest.layout import Piece, layout_to_json
from nameplate.nest.search.budget import NEST, ROUGH_ESTIMATE
from nameplate.nest.search.by_sheet import pack_shapes
from nameplate.nest.search.part_masks import PartMasks
from nameplate.nest.sheets import Blank, Rules, fitting, rules_of, sizes_of, with_usable
from nameplate.pool import processes
from nameplate.pool.processes import run_all
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.schema import NestKeys
from nameplate.ticket.workshop_schema import StockKeys
from tests.jobs import write_job

from .ill_workers import hanging, stopped
from .letters import nested, words


def bar(plate, width, height, material="lettering"):
    return Piece(plate, "lettering", 1, 1, material, rectangle(-width / 2, -height / 2, width / 2, height / 2))


BARS = [bar(f"{i:02d}", 30 + i, 8 + i % 5) for i in range(8)]
KEYS = NestKeys(turns=(0.0, 180.0))

#: Parts laid once, for tests of which sheets are taken and what is said.
ONCE = {"lettering": ROUGH_ESTIMATE, "template": ROUGH_ESTIMATE}


def test_sheets_on_hand_are_used_first_and_cost_nothing():
    stock = [StockKeys(width=90, height=45, price=5, on_hand=1)]
    layout = nested(BARS, stock, KEYS)
    figures = estimate(layout, BARS, KEYS)
    assert layout.findings == ()
    assert layout.sheets[0].on_hand
    assert len(layout.sheets) > 1
    assert figures.cost == 5 * (len(layout.sheets) - 1)
    assert figures.sizes[0].on_hand == 1


def test_the_cheaper_size_is_bought():
    dear, cheap = StockKeys(width=200, height=100, price=9), StockKeys(width=200, height=101, price=4)
    assert {s.stock for s in nested(BARS, [dear, cheap], KEYS, budgets=ONCE).sheets} == {1}


def test_the_last_sheet_takes_a_cheaper_size_when_that_is_enough():
    stock = [StockKeys(width=200, height=100, price=9), StockKeys(width=60, height=30, price=3.5)]
    layout = nested([bar("long", 150, 80), bar("short", 40, 15)], stock, KEYS)
    assert [(s.stock, len(s.placements)) for s in layout.sheets] == [(0, 1), (1, 1)]


def test_a_part_only_the_larger_size_takes_goes_there():
    stock = [StockKeys(width=450, height=70, price=50), StockKeys(width=100, height=60, price=1)]
    layout = nested([*BARS, bar("long", 400, 20)], stock, KEYS)
    assert layout.findings == ()
    # the large sheet must be bought anyway and takes all the others too, so buying small ones would be waste
    assert [(s.stock, len(s.placements)) for s in layout.sheets] == [(0, 9)]


def test_a_part_too_large_for_every_sheet_is_named_with_its_size_and_what_to_do():
    layout = nested([*BARS, bar("huge", 300, 20)], [StockKeys(width=200, height=100)], KEYS, budgets=ONCE)
    (fault,) = layout.findings
    assert (fault.severity, fault.plate) == ("error", "huge")
    assert "300.0 x 20.0 mm" in fault.message
    assert "190 x 90 mm" in fault.message
    assert layout.unplaced == (("huge", "lettering", 1, 1),)
    assert sum(len(s.placements) for s in layout.sheets) == len(BARS)


@pytest.mark.parametrize(
    ("size", "turns", "says"),
    [
        ((300, 200), (0.0, 90.0), "add a larger [[stock]] size, or make it smaller"),
        ((20, 150), (0.0, 180.0), "size, add 90 to nest.turns, or make it smaller"),
        ((20, 150), (0.0,), "size, put 90 first in nest.turns, or make it smaller"),
        ((205, 4), (0.0, 90.0), "size, add 24 to nest.turns, or make it smaller"),
        ((260, 4), (), "size, or make it smaller"),
    ],
)
def test_a_turn_is_advised_only_where_it_helps(size, turns, says):
    piece, stock = [bar("long", *size)], [StockKeys(width=200, height=100)]
    (fault,) = nested(piece, stock, NestKeys(turns=turns)).findings
    assert fault.message.endswith(says)
    advised = re.search(r"(?:add|put) (\d+)", fault.message)
    each = [rules_of(NestKeys(turns=(float(turn),))) for turn in range(180)]
    every = [r.turns[0] for r in each if fitting(piece, [with_usable(Blank("lettering", 200, 100, 0), r)], r)]
    assert bool(every) == bool(advised) and (not advised or int(advised[1]) in every)


def test_a_quarter_turn_is_used_only_when_allowed():
    tall, stock = [bar("tall", 20, 150)], [StockKeys(width=200, height=100)]
    assert nested(tall, stock, KEYS).unplaced
    layout = nested(tall, stock, NestKeys(turns=(0.0, 90.0)))
    assert layout.findings == ()
    assert layout.sheets[0].placements[0].turn == 90


def test_materials_do_not_share_a_sheet():
    pieces = [*BARS, bar("t", 40, 40, "template")]
    layout = nested(pieces, [StockKeys(), StockKeys(material="template")], KEYS, budgets=ONCE)
    assert [(s.material, s.number) for s in layout.sheets] == [("lettering", 1), ("template", 1)]


def test_a_material_without_stock_is_a_finding():
    layout = nested([bar("t", 40, 40, "felt")], [StockKeys()], KEYS)
    assert [f.code for f in layout.findings] == ["no-stock"]


def test_parts_are_never_nearer_than_one_kerf():
    layout = nested(
        BARS[:2], [StockKeys()], replace(KEYS, engine="rectangle", gap=0.0, edge_margin=0.0), kerf={"lettering": 0.3}
    )
    a, b = layout.sheets[0].placements
    assert abs(a.y - b.y) == pytest.approx((8 + 9) / 2 + 0.3)
    assert layout.findings == ()


def test_the_same_job_gives_the_same_text():
    stock = [StockKeys(width=100, height=70)]
    assert layout_to_json(nested(BARS, stock, KEYS)) == layout_to_json(nested(BARS, stock, KEYS))


def test_nothing_to_nest_is_an_empty_layout():
    assert nested([], [StockKeys()], KEYS).sheets == ()


def test_on_a_grain_all_parts_lie_the_same_way():
    keys = NestKeys(turns=(180.0, 0.0))
    layout = nested(words(4), [StockKeys(width=120, height=80)], keys, grain=["lettering"])
    assert layout.findings == ()
    assert {p.turn for s in layout.sheets for p in s.placements} == {180.0}


def test_free_turns_lie_at_any_angle_and_still_hold():
    # a bar longer than the sheet's sides fits only across it
    long = [bar("long", 150, 8)]
    assert nested(long, [StockKeys(width=140, height=140)], KEYS).unplaced
    layout = nested(long, [StockKeys(width=140, height=140)], NestKeys(turns=()))
    assert layout.findings == ()
    assert layout.sheets[0].placements[0].turn % 90 != 0


def test_a_strip_that_fits_a_square_only_along_its_diagonal_is_laid_there():
    # turned by t, 130 x 5 measures 130 cos t + 5 sin t: 95.5 at 45 degrees, over 115 at 30 and 60
    rules = rules_of(NestKeys(turns=(), gap=0, edge_margin=0))
    strip, square = [bar("strip", 130, 5)], with_usable(Blank("lettering", 96, 96, 0), rules)
    assert fitting(strip, [square], rules) == strip
    assert not fitting(strip, [square], rules_of(NestKeys(turns=(0.0, 30.0, 60.0, 90.0))))
    assert {(turn + 90) % 360 for turn in rules.turns} == {*rules.turns}, "a sheet on its side takes the same"


def test_an_effort_of_older_tickets_gives_the_layout_that_quick_gives():
    stock, pieces = [StockKeys(width=80, height=60)], words(3)
    quick = nested(pieces, stock, KEYS)
    for effort in ("normal", "long", 30.0):
        assert nested(pieces, stock, replace(KEYS, effort=effort)) == quick, effort


@pytest.mark.parametrize(
    ("line", "value"),
    [('effort = "long"', "long"), ("effort = 30", 30.0), ('turns = "free"', ()), ("turns = [0, 90]", (0.0, 90.0))],
)
def test_the_ticket_says_how_hard_to_try_and_how_parts_may_lie(line, value, tmp_path):
    keys = read(tmp_path, f"[nest]\n{line}\n").nest
    assert getattr(keys, line.split()[0]) == value


@pytest.mark.parametrize(
    ("line", "word"),
    [('effort = "lazy"', "quick, normal, long"), ("effort = -3", "more than 0"), ("effort = true", "seconds")],
)
def test_a_wrong_effort_is_refused_in_words(line, word, tmp_path):
    with pytest.raises(TicketError, match=word):
        read(tmp_path, f"[nest]\n{line}\n")


def test_the_ticket_describes_offcuts_and_damaged_sheets(tmp_path):
    text = (
        "[[stock]]\nwidth = 600\nheight = 300\non_hand = 1\nkeep_out = [[10, 20, 30, 40]]\n"
        "[[stock]]\nwidth = 200\nheight = 100\noffcut = true\noutline = [[0, 0], [200, 0], [0, 100]]\n"
    )
    whole, cut = read(tmp_path, text).stock[:2]
    assert whole.keep_out == ((10, 20, 30, 40),)
    assert cut.offcut
    assert cut.outline == ((0, 0), (200, 0), (0, 100))
    with pytest.raises(TicketError, match="three corners"):
        read(tmp_path, text.replace("[[0, 0], [200, 0], [0, 100]]", "[[0, 0]]"))
    with pytest.raises(TicketError, match="above 0"):
        read(tmp_path, text.replace("[[10, 20, 30, 40]]", "[[10, 20, 0, 40]]"))


def read(folder, text):
    face = '[job]\nroster = "names.csv"\n[face]\nshape = "ellipse"\nwidth = 90\nheight = 60\n'
    sheet = "" if "[[stock]]" in text else "[[stock]]\nwidth = 600\nheight = 300\n"
    return read_ticket(write_job(folder, face + text + sheet))


def test_an_interrupt_before_all_parts_have_a_place_packs_them_by_boxes_and_says_so(monkeypatch):
    def interrupted(*_, **__):
        raise KeyboardInterrupt

    pieces = [*words(9), bar("t", 40, 40, "template")]
    stock = [StockKeys(width=200, height=120), StockKeys(material="template")]
    monkeypatch.setattr("nameplate.nest.engines.pack_shapes", interrupted)
    layout = nested(pieces, stock, KEYS)
    assert [(f.code, f.severity) for f in layout.findings] == [("nest-interrupted", "warning")]
    assert layout.unplaced == ()
    boxes = nested(pieces, stock, replace(KEYS, engine="rectangle"))
    assert layout.sheets == boxes.sheets


def test_templates_of_one_outline_are_laid_as_one_shape():
    # three rows of three bars fill the sheet exactly: 9 = floor(190 / 61.5) x floor(90 / 29.5)
    face = rectangle(0, 0, 60, 28)
    pieces = [
        Piece(f"{i}", "template", 1, 1, "template", difference(face, rectangle(5 + i, 9, 40 + i, 20))) for i in range(9)
    ]
    layout = nested(pieces, [StockKeys(material="template", width=200, height=100)], KEYS)
    assert layout.findings == ()
    assert len(layout.sheets) == 1
    assert len({PartMasks(pieces, Rules(gap=1.5, edge=5), 0.5).digest(i) for i in range(9)}) == 1


def notched(number, width=110, height=70):
    """A template of a rectangular face: a window of its own, and two finger notches, so many points."""
    window = capsule([(-width / 5, 0), (width / 5 + number / 10, 0)], height / 2)
    notches = (capsule([(side * (width / 2 + 6.5), 0), (side * width, 0)], 18) for side in (-1, 1))
    outline = rectangle(-width / 2, -height / 2, width / 2, height / 2)
    for hole in (window, *notches):
        outline = difference(outline, hole)
    return Piece(f"{number:02d}", "template", 1, 1, "template", outline)


CARD = StockKeys(material="template", width=600, height=400, price=2)
QUARTER = NestKeys(gap=1.5, edge_margin=5, turns=(0.0, 90.0, 180.0, 270.0))


@pytest.mark.parametrize("budget", [NEST, ROUGH_ESTIMATE], ids=["make", "estimate"])
@pytest.mark.parametrize("count", [18, 20, 25])
def test_rectangles_with_finger_notches_take_no_more_sheets_than_rectangles(count, budget):
    # upright 25 of them fill a sheet: floor((590 + 1.5) / 111.5) x floor((390 + 1.5) / 71.5) = 5 x 5
    layout = nested([notched(i) for i in range(count)], [CARD], QUARTER, budgets={"template": budget})
    assert layout.findings == ()
    assert [len(sheet.placements) for sheet in layout.sheets] == [count]


def test_the_search_lays_straight_edges_just_a_gap_apart():
    # turned by a quarter, 24 = floor((590 + 1.5) / 71.5) x floor((390 + 1.5) / 111.5)
    rules = Rules(gap=1.5, edge=5, turns=(90.0,))
    packed = pack_shapes([notched(i) for i in range(25)], sizes_of([CARD], "template", rules), rules)
    assert [len(rows) for rows in packed.placements] == [24]


def test_notched_rectangles_of_two_sizes_share_a_sheet():
    # without the gaps they would cover 60 % of it
    pieces = [*(notched(i) for i in range(10)), *(notched(i, 80, 50) for i in range(10, 26))]
    layout = nested(pieces, [CARD], QUARTER)
    assert layout.findings == ()
    assert [len(sheet.placements) for sheet in layout.sheets] == [26]


def test_notched_rectangles_fill_what_is_on_hand_before_a_sheet_is_bought():
    # 12 fill the offcut, turned by a quarter: floor((290 + 1.5) / 71.5) x floor((390 + 1.5) / 111.5) = 4 x 3
    offcut = StockKeys(material="template", width=300, height=400, offcut=True)
    layout = nested([notched(i) for i in range(13)], [offcut, CARD], QUARTER)
    assert layout.findings == ()
    assert [(sheet.on_hand, len(sheet.placements)) for sheet in layout.sheets] == [(True, 12), (False, 1)]


def test_materials_nested_side_by_side_lie_as_they_would_one_after_the_other():
    pieces = [*words(3), *(bar(f"t{i}", 40 + i, 30, "template") for i in range(3))]
    stock = [StockKeys(width=100, height=60), StockKeys(material="template", width=110, height=60)]
    with processes.ProcessPool(2) as pool:
        pool.hire(4)
        assert nested(pieces, stock, KEYS, pool=pool) == nested(pieces, stock, KEYS)


def test_a_material_whose_worker_fails_is_nested_here(monkeypatch):
    pieces = [*words(2), bar("t", 40, 40, "template")]
    stock = [StockKeys(width=120, height=80), StockKeys(material="template")]
    monkeypatch.setattr("nameplate.nest.nesting._nest_job", stopped)
    with processes.ProcessPool(2) as pool:
        pool.hire(4)
        assert nested(pieces, stock, KEYS, pool=pool) == nested(pieces, stock, KEYS)


@pytest.mark.skipif(sys.platform == "win32", reason="a process cannot send itself an interrupt there")
@pytest.mark.parametrize("taken_elsewhere", [False, True], ids=["by this thread", "by another"])
def test_an_interrupt_while_materials_are_nested_side_by_side_packs_them_by_boxes_and_frees_the_crew(
    monkeypatch, tmp_path, taken_elsewhere
):
    pieces = [*words(2), bar("t", 40, 40, "template")]
    stock = [StockKeys(width=120, height=80), StockKeys(material="template")]
    monkeypatch.setattr("nameplate.nest.nesting._nest_job", partial(hanging, tmp_path / "begun"))
    with processes.ProcessPool(2) as pool:
        pool.hire(4)
        threading.Thread(target=_interrupt_once_begun, args=(tmp_path / "begun",), daemon=True).start()
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT} if taken_elsewhere else ())
        try:
            layout = nested(pieces, stock, KEYS, pool=pool)
        except KeyboardInterrupt:
            pytest.fail("the interrupt came through")  # by itself it would end the process that runs the tests
        finally:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
        assert run_all(divmod, [3, 4], 7, workers=pool) == ((2, 1), (1, 3))
    assert [(f.code, f.severity) for f in layout.findings] == [("nest-interrupted", "warning")]
    assert layout.sheets == nested(pieces, stock, replace(KEYS, engine="rectangle")).sheets


def _interrupt_once_begun(begun):
    while not begun.exists():
        time.sleep(0.01)
    os.kill(os.getpid(), signal.SIGINT)


def test_any_angle_means_the_hours_of_a_clock_and_half_right_angles():
    turns = rules_of(NestKeys(turns=())).turns
    assert turns == tuple(sorted({float(turn) for step in (30, 45) for turn in range(0, 360, step)}))
