import os

import pytest

from nameplate.geometry.region import rectangle
from nameplate.nest.layout import Layout, Piece
from nameplate.nest.search import exchange as module
from nameplate.nest.search.exchange import exchange
from nameplate.nest.search.trueshape import pack_shapes
from nameplate.nest.sheets import Blank, Rules, with_usable
from nameplate.nest.verify import verify
from nameplate.pool.processes import Failure

from ..letters import words

RULES = Rules(gap=1.5, edge=5)
BLANK = with_usable(Blank(0, "lettering", 200, 100), RULES)


def start_of(pieces):
    packed = pack_shapes(pieces, [BLANK] * 8, RULES)
    return [(BLANK, rows) for rows in packed.placements if rows]


def area_on_last(sheets, pieces):
    by_key = {piece.key: piece for piece in pieces}
    return sum(by_key[at.key].region.area for at in sheets[-1][1])


def checked(sheets, pieces):
    assert verify(Layout(tuple(blank.sheet(rows) for blank, rows in sheets)), pieces, RULES) == ()
    return sheets


@pytest.fixture(scope="module")
def nest():
    pieces = words(17)
    return pieces, start_of(pieces)


def last_of(steps):
    return list(steps)[-1]


def test_the_last_sheet_carries_no_more_and_everything_still_lies_once(nest):
    pieces, start = nest
    assert len(start) > 1
    after = checked(last_of(exchange(start, pieces, RULES, rounds=12, workers=1)), pieces)
    assert (len(after), area_on_last(after, pieces)) <= (len(start), area_on_last(start, pieces))


def test_processes_give_the_same_as_none(nest):
    pieces, start = nest
    alone = last_of(exchange(start, pieces, RULES, rounds=4, workers=1))
    assert last_of(exchange(start, pieces, RULES, rounds=4, workers=2)) == alone


def test_a_sheet_that_nothing_is_left_for_is_saved():
    # four squares, each alone on a sheet that takes two
    pieces = [Piece(str(i), "lettering", 1, 1, "lettering", rectangle(0, 0, 80, 80)) for i in range(4)]
    start = [(BLANK, pack_shapes([piece], [BLANK], RULES).placements[0]) for piece in pieces]
    after = checked(last_of(exchange(start, pieces, RULES, rounds=5, workers=1)), pieces)
    assert [len(rows) for _, rows in after] == [2, 2]


def dies(shared, job):
    os._exit(3)


def raises(shared, job):
    raise RuntimeError("no room in the workshop")


def hangs(shared, job):
    import time

    time.sleep(3600)


@pytest.mark.parametrize("worker", [dies, raises, hangs])
def test_a_failing_worker_leaves_its_sheet_as_it_was_and_that_is_said(worker, monkeypatch, nest):
    pieces, start = nest
    monkeypatch.setattr(module, "run_all", lambda function, jobs, shared, **_: _run(worker, jobs, shared))
    said = []
    after = checked(last_of(exchange(start, pieces, RULES, rounds=4, say=said.append)), pieces)
    assert after == start
    assert said
    assert all("was made no fuller, because its worker" in text for text in said)


def _run(worker, jobs, shared):
    from nameplate.pool.processes import ProcessPool, run_all

    with ProcessPool(2) as crew:
        crew.hire(4)
        outcomes = run_all(worker, jobs, shared, workers=crew, limit_s=2.0)
    assert all(isinstance(outcome, Failure) for outcome in outcomes)
    return outcomes


def test_nothing_is_done_when_time_is_up(nest):
    pieces, start = nest
    assert list(exchange(start, pieces, RULES, rounds=4, go_on=lambda: False)) == []
