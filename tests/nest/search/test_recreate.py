import pytest

from nameplate.nest.layout import Layout
from nameplate.nest.search.orders import largest_first
from nameplate.nest.search.recreate import Score, recreate, restore, score, snapshot
from nameplate.nest.search.trueshape import Stamps, as_packed, greedy
from nameplate.nest.sheets import Blank, Rules, with_usable
from nameplate.nest.verify import verify

from ..letters import words

RULES = Rules(gap=1.5, edge=5)
BLANK = with_usable(Blank(0, "lettering", 200, 100), RULES)


def nest_of(pieces):
    stamps = Stamps(pieces, RULES, 0.5)
    tables, left = greedy(pieces, [BLANK] * 6, RULES, largest_first(pieces), stamps=stamps)
    assert left == []
    return tables, stamps


def layout_of(tables):
    return Layout(tuple(BLANK.sheet(rows) for rows in as_packed(tables, [], len(tables)).placements if rows))


def test_a_nest_gets_no_worse_and_stays_correct():
    pieces = words(14)
    tables, stamps = nest_of(pieces)
    before = score(tables)
    after = recreate(tables, pieces, stamps, rounds=15)
    assert after == score(tables)
    assert not before.better(after)
    assert verify(layout_of(tables), pieces, RULES) == ()


def test_the_same_rounds_give_the_same_nest():
    pieces = words(9)
    results = []
    for _ in range(2):
        tables, stamps = nest_of(pieces)
        recreate(tables, pieces, stamps, rounds=6)
        results.append(layout_of(tables))
    assert results[0] == results[1]


def test_an_interrupt_in_the_middle_leaves_a_whole_nest():
    pieces = words(9)
    tables, stamps = nest_of(pieces)

    def interrupt(number):
        if number == 3:
            raise KeyboardInterrupt
        return True

    with pytest.raises(KeyboardInterrupt):
        recreate(tables, pieces, stamps, rounds=10, go_on=interrupt)
    assert verify(layout_of(tables), pieces, RULES) == ()


def test_restoring_brings_every_part_back():
    pieces = words(6)
    tables, _ = nest_of(pieces)
    noted = snapshot(tables)
    before = layout_of(tables)
    table = tables[0]
    for lying in list(table.lying[:3]):
        table.take(lying)
    restore(tables, noted)
    assert layout_of(tables) == before


def test_fewer_sheets_are_better_than_a_shorter_last_one():
    assert Score(1, 500.0).better(Score(2, 10.0))
    assert not Score(2, 10.0).better(Score(2, 10.0))
    assert score([]) == Score(0, 0.0)
