import pytest
import strip_workers

from nameplate.nest.effort import improve
from nameplate.nest.layout import Layout
from nameplate.nest.recreate import score
from nameplate.nest.sheets import Blank, Rules, with_usable
from nameplate.nest.squeeze import Squeeze, _relaid, squeeze, strip_of
from nameplate.nest.strip import Outcome, Solved, available
from nameplate.nest.trueshape import Stamps, greedy, largest_first, pack_shapes
from nameplate.nest.verify import verify

from .letters import words

RULES = Rules(gap=1.5, edge=5)
BLANK = with_usable(Blank(0, "lettering", 200, 100), RULES)


def start_of(pieces):
    packed = pack_shapes(pieces, [BLANK] * 6, RULES)
    return [(BLANK, rows) for rows in packed.placements if rows]


def layout_of(sheets):
    return Layout(tuple(blank.sheet(rows) for blank, rows in sheets))


@pytest.mark.parametrize("worker", [strip_workers.hangs, strip_workers.dies, strip_workers.raises, strip_workers.lies])
def test_a_failing_worker_leaves_a_valid_layout_no_worse_and_says_so(worker, monkeypatch, capfd):
    monkeypatch.setattr("nameplate.nest.effort.available", lambda: True)
    pieces = words(8)
    start = start_of(pieces)
    sheets, findings = improve(start, pieces, RULES, 2.5, worker=worker)
    assert verify(layout_of(sheets), pieces, RULES) == ()
    assert len(sheets) <= len(start)
    if worker is not strip_workers.lies:  # a false solution is simply not taken
        assert [f.code for f in findings] == ["strip-solver-failed"]


def test_without_the_solver_the_time_is_used_otherwise_and_that_is_said(monkeypatch):
    monkeypatch.setattr("nameplate.nest.effort.available", lambda: False)
    pieces = words(6)
    sheets, findings = improve(start_of(pieces), pieces, RULES, 0.5)
    assert [f.code for f in findings] == ["no-strip-solver"]
    assert "nameplate[long]" in findings[0].message
    assert verify(layout_of(sheets), pieces, RULES) == ()


def test_an_interrupt_keeps_the_best_and_is_told():
    pieces = words(6)

    def report(progress):
        assert progress.sheets >= 1
        assert 0 < progress.density < 1
        raise KeyboardInterrupt

    sheets, findings = improve(start_of(pieces), pieces, RULES, "normal", report=report)
    assert [f.code for f in findings] == ["nest-interrupted"]
    assert verify(layout_of(sheets), pieces, RULES) == ()


def test_a_heap_from_the_solver_is_refused():
    pieces = words(5)
    stamps = Stamps(pieces, RULES, 0.5)
    tables, _ = greedy(pieces, [BLANK], RULES, largest_first(pieces), stamps=stamps)
    job = Squeeze(pieces, stamps, [BLANK], RULES)
    heap = Outcome(Solved(1.0, ((0.0, 0.0, 0.0),) * 5))
    assert _relaid(tables[0], list(range(5)), heap, job) is None


def test_the_strip_asks_for_what_the_sheet_has():
    pieces = words(5)
    stamps = Stamps(pieces, RULES, 0.5)
    tables, _ = greedy(pieces, [BLANK], RULES, largest_first(pieces), stamps=stamps)
    strip = strip_of(tables[0], range(5), Squeeze(pieces, stamps, [BLANK], RULES), 3.0, seed=0)
    assert strip.height == pytest.approx(100 - 2 * 5 + 1.5)
    assert len(strip.outlines) == 5
    assert all(abs(min(x for x, _ in ring)) < 60 for ring in strip.outlines)


@pytest.mark.skipif(not available(), reason="the strip solver is an optional extra and not installed")
def test_squeezing_is_never_worse_and_holds_exactly():
    pieces = words(10)
    stamps = Stamps(pieces, RULES, 0.5)
    tables, _ = greedy(pieces, [BLANK] * 4, RULES, largest_first(pieces), stamps=stamps)
    before = score(tables)
    after = squeeze(tables, Squeeze(pieces, stamps, [BLANK] * 4, RULES), 5.0)
    assert not before.better(score(after))
    sheets = [(BLANK, tuple(ly.at for ly in t.lying)) for t in after if t and t.lying]
    assert verify(layout_of(sheets), pieces, RULES) == ()
