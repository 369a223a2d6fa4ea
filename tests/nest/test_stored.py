"""Stored layouts and offcuts that somebody changed: refused in words, or used for what they are."""

import json
import os
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings

from nameplate.errors import LayoutError, NameplateError
from nameplate.geometry.region import rectangle
from nameplate.nest.layout import Layout, layout_to_json, strangers
from nameplate.nest.offcuts import offcuts_to_json, read_offcuts
from nameplate.nest.sheets import Offcut, rules_of
from nameplate.nest.stored import as_stocked, left_out, read_layout
from nameplate.nest.verify import verify
from nameplate.ticket.schema import NestKeys
from nameplate.ticket.workshop_schema import StockKeys

from .hostile import CATALOGUE, nodes, replaced, spoiled
from .letters import nested, rests, words
from .stored_text import layout_of_text, offcuts_of_text

KEYS = NestKeys(turns=(0.0, 180.0))
RULES = {"lettering": rules_of(KEYS)}
STOCK = (
    StockKeys(width=160, height=100, price=4.5, on_hand=1, keep_out=((20, 30, 50, 10),)),
    StockKeys(width=120, height=80, offcut=True, outline=((0, 0), (120, 0), (90, 80), (0, 80))),
    StockKeys(width=400, height=300, price=9),
)
SHELF = (Offcut("lettering", "rest of lettering 01", 90, 60, rectangle(0, 0, 90, 60)),)
PIECES = words(8)
LAYOUT = nested(PIECES, STOCK, KEYS, offcuts=SHELF)
DOCUMENT = json.loads(layout_to_json(LAYOUT))
OFFCUTS = json.loads(offcuts_to_json(rests(LAYOUT, PIECES, 1.5)))


def used_as_stored(text):
    """Do what a run does with a stored layout; give what is wrong with it."""
    layout = layout_of_text(text)
    stocked, problems = as_stocked(layout, STOCK, RULES, SHELF)
    return [*strangers(layout, PIECES), *problems, *verify(stocked, PIECES, RULES), *left_out(layout, PIECES)]


def test_the_layout_uses_every_kind_of_stock_and_agrees_with_it():
    assert {(s.stock, s.on_hand) for s in LAYOUT.sheets} >= {(0, True), (1, True), (-1, True)}
    stored = layout_of_text(layout_to_json(LAYOUT))
    assert strangers(stored, PIECES) == []
    stocked, problems = as_stocked(stored, STOCK, RULES, SHELF)
    assert problems == []
    assert layout_to_json(stocked) == layout_to_json(replace(LAYOUT, findings=()))
    assert verify(stocked, PIECES, RULES) == ()


@pytest.mark.parametrize("value", range(len(CATALOGUE)))
def test_no_node_of_a_layout_can_hold_a_value_that_ends_in_a_fault(value):
    every = list(nodes(DOCUMENT))
    for path in every[:60] + every[60 :: max(1, len(every) // 40)]:
        try:
            used_as_stored(json.dumps(replaced(DOCUMENT, path, CATALOGUE[value])))
        except NameplateError as error:
            assert error.problems and all(problem.strip() for problem in error.problems)


@settings(max_examples=150, deadline=None)
@given(spoiled(DOCUMENT))
def test_a_spoiled_layout_is_refused_in_words_or_used_for_what_it_is(document):
    try:
        used_as_stored(json.dumps(document))
    except NameplateError as error:
        assert error.problems


@settings(max_examples=150, deadline=None)
@given(spoiled(OFFCUTS))
def test_spoiled_offcuts_are_refused_in_words_or_used_for_what_they_are(document):
    try:
        found = offcuts_of_text(json.dumps(document))
    except NameplateError as error:
        assert error.problems
        return
    nested(PIECES[:1], (), KEYS, offcuts=found[:1])


@pytest.mark.parametrize("value", range(len(CATALOGUE)))
def test_no_node_of_an_offcuts_file_can_hold_a_value_that_ends_in_a_fault(value):
    for path in list(nodes(OFFCUTS))[:40]:
        try:
            offcuts_of_text(json.dumps(replaced(OFFCUTS, path, CATALOGUE[value])))
        except NameplateError as error:
            assert error.problems


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"width": 500.0}, "is 160 x 100 mm in the ticket's stock"),
        ({"price": 0.0}, "costs 0 in the layout and 4.5"),
        ({"on_hand": False}, "damaged|outline|keep_outs"),
        ({"stock": 7}, "not in the ticket's stock"),
        ({"stock": -1}, "not in the ticket's stock"),
        ({"offcut": "another"}, "another"),
        ({"material": "template"}, "no parts of"),
        ({"keep_outs": [{"outer": [[20, 30], [60, 30], [60, 40], [20, 40]]}]}, "has another keep_outs"),
        ({"keep_outs": [{"outer": [[20, 30], [80, 30], [80, 40], [20, 40]]}]}, "has another keep_outs"),
    ],
)
def test_a_sheet_that_is_not_the_tickets_is_refused(change, said):
    at = next(n for n, sheet in enumerate(DOCUMENT["sheets"]) if sheet["stock"] == 0 and sheet["on_hand"])
    document = json.loads(json.dumps(DOCUMENT))
    document["sheets"][at] |= change
    _, problems = as_stocked(layout_of_text(json.dumps(document)), STOCK, RULES, SHELF)
    assert len(problems) == 1

    assert re.search(said, problems[0]), problems


def test_a_turn_is_read_within_one_round_either_way_and_no_further():
    def turned(turn):
        return layout_of_text(json.dumps(replaced(DOCUMENT, ("sheets", 0, "placements", 0, "turn"), turn)))

    assert [turned(turn).sheets[0].placements[0].turn for turn in (-360, -90, 360)] == [0.0, 270.0, 0.0]
    for turn in (-360.5, 360.5):
        with pytest.raises(LayoutError, match="turn"):
            turned(turn)


@pytest.mark.parametrize(
    ("key", "read", "refused"), [("width", 0.5, 0), ("height", 0.5, 0), ("stock", -1, -2), ("price", 0, -0.5)]
)
def test_the_least_of_each_figure_of_a_sheet_is_read_and_less_is_refused(key, read, refused):
    # a sheet's size is above 0, its place in the ticket's stock is -1 for an offcut
    stored = layout_of_text(json.dumps(replaced(DOCUMENT, ("sheets", 0, key), read)))
    assert getattr(stored.sheets[0], key) == read
    with pytest.raises(LayoutError, match=f"sheets 1, {key}: found {refused}, expected "):
        layout_of_text(json.dumps(replaced(DOCUMENT, ("sheets", 0, key), refused)))


def test_no_more_sheets_are_on_hand_than_the_ticket_says():
    twice = Layout((*LAYOUT.sheets, *(replace(s, number=90 + n) for n, s in enumerate(LAYOUT.sheets) if s.on_hand)))
    _, problems = as_stocked(twice, STOCK, RULES, SHELF)
    assert len(problems) == sum(s.on_hand for s in LAYOUT.sheets)
    assert all("one more than lie on hand" in problem for problem in problems)


def test_a_sheet_number_used_twice_is_refused_because_one_file_would_overwrite_the_other():
    first = LAYOUT.sheets[0]
    with pytest.raises(LayoutError, match="2 times"):
        layout_of_text(layout_to_json(Layout((first, replace(first, placements=())))))


def test_what_a_stored_layout_leaves_out_is_an_error_and_not_silence():
    short = replace(LAYOUT, unplaced=(PIECES[0].key,))
    assert [f.severity for f in left_out(short, PIECES)] == ["error"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in folders here")
@pytest.mark.parametrize("reader", [read_layout, read_offcuts])
def test_what_is_no_ordinary_file_is_refused_at_once(reader, tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", tmp_path, tmp_path / "none.json"):
        with pytest.raises(LayoutError):
            reader(path)


@pytest.mark.parametrize("reader", [read_layout, read_offcuts])
@pytest.mark.parametrize(
    "text", ["[" * 200_000, "1" * 400, '{"version": 1, "sheets": [{"width": NaN}]}', '"\\ud800"', "\xff"]
)
def test_deep_large_and_broken_documents_are_refused_with_their_file(reader, text, tmp_path):
    path = tmp_path / "stored.json"
    path.write_bytes(text.encode("latin-1"))
    with pytest.raises(LayoutError, match=r"stored\.json"):
        reader(path)


def test_an_outline_that_crosses_itself_is_refused_without_being_sorted_out():
    star = [[float(x * 7919 % 1000), float(x * 104729 % 997)] for x in range(5000)]
    document = {"version": 1, "offcuts": [{"name": "a", "material": "lettering", "outline": [{"outer": star}]}]}
    with pytest.raises(LayoutError, match="crosses itself"):
        offcuts_of_text(json.dumps(document))


def test_a_file_may_have_as_many_offcuts_as_are_looked_through_and_no_more(monkeypatch):
    many = OFFCUTS["offcuts"][:1] * 5
    text, count = json.dumps({**OFFCUTS, "offcuts": many}), len(many)
    monkeypatch.setattr("nameplate.nest.offcuts.MOST_OFFCUTS", count)
    assert len(offcuts_of_text(text)) == count
    monkeypatch.setattr("nameplate.nest.offcuts.MOST_OFFCUTS", count - 1)
    with pytest.raises(LayoutError, match=f"{count} are more than the {count - 1} that are looked through"):
        offcuts_of_text(text)


def test_outlines_may_have_as_many_corners_as_the_limit_and_no_more(monkeypatch):
    tile = [{"outer": [[0, 0], [9, 0], [9, 9], [0, 9]], "holes": [[[1, 1], [2, 1], [2, 2]]]}]
    changed = replaced(replaced(DOCUMENT, ("sheets", 0, "outline"), tile), ("sheets", 1, "keep_outs"), tile)
    for sheet in changed["sheets"]:
        sheet |= {name: tile for name in ("outline", "keep_outs") if name in sheet}
    count = sum(7 for sheet in changed["sheets"] for name in ("outline", "keep_outs") if name in sheet)
    monkeypatch.setattr("nameplate.nest.stored_form.MOST_CORNERS", count)
    layout_of_text(json.dumps(changed))
    monkeypatch.setattr("nameplate.nest.stored_form.MOST_CORNERS", count - 1)
    with pytest.raises(LayoutError, match=f"the outlines have {count} corners in all; expected at most {count - 1}"):
        layout_of_text(json.dumps(changed))


def test_an_outline_of_very_many_corners_is_refused():
    ring = [[float(n), float(n % 2)] for n in range(100_002)]
    document = {"version": 1, "offcuts": [{"name": "a", "material": "lettering", "outline": [{"outer": ring}]}]}
    with pytest.raises(LayoutError, match="corners"):
        offcuts_of_text(json.dumps(document))
